"""Water analysis to verdicts: hardness, scaling and corrosion indices, blending, cartridge life.

Hardness and alkalinity are floats in mg/L as CaCO3 (unit ``mgCaCO3`` of the registry, a dimension of its
own); a capacity in mg as CaCO3 is ``mgCaCO3*L``; ions are in mg/L of the ion itself.
"""

from __future__ import annotations

import math

from procgen.engineering import sources_general as s
from procgen.engineering.kernel import OutOfRangeError, kernel

CA_TO_CACO3 = 2.497
MG_TO_CACO3 = 4.118

#: Equivalent masses, mg/meq, from standard atomic weights.
EQUIVALENT_CL = 35.453
EQUIVALENT_SO4 = 48.031
EQUIVALENT_HCO3 = 61.017
EQUIVALENT_CO3 = 30.004
EQUIVALENT_CACO3 = 50.0435

#: What a milliequivalent of calcium bicarbonate in a litre adds to the conductivity, S/m: 59.5 + 44.5 uS/cm.
CARBONATE_CONDUCTANCE = 104.0e-4
#: First dissociation constant of carbonic acid at 25 degrees Celsius, as pK.
PK_CARBONIC = 6.35

#: Upper bound of each class in mg/L as CaCO3; the last class has none.
HARDNESS_CLASSES = (("soft", 60.0), ("moderately_hard", 120.0), ("hard", 180.0))
RYZNAR_BANDS = (("heavy_scale", 5.5), ("light_scale", 6.2), ("balanced", 6.8), ("corrosive", 8.5))
LARSON_SKOLD_BANDS = (("low", 0.8), ("raised", 1.2))

_WATER = {
    "pH": (0.0, 14.0),
    "tds": (1.0, 10_000.0),
    "ca_hardness_caco3": (0.1, 10_000.0),
    "alkalinity_caco3": (0.1, 10_000.0),
    "T": (273.15, 363.15),
}


def _band(index: float, bands: tuple[tuple[str, float], ...], above: str) -> str:
    s.require("band", "index", index, (None, None), "")
    for name, high in bands:
        if index <= high:
            return name
    return above


@kernel(
    ca="mg/L", mg="mg/L", returns="mgCaCO3", source=s.SM_2340B,
    valid={"ca": (0, 10_000), "mg": (0, 10_000)},
)  # fmt: skip
def hardness_from_ions(ca: float, mg: float) -> float:
    """Total hardness as CaCO3 from calcium and magnesium.

    Formula: 2.497 Ca + 4.118 Mg

    Args:
        ca: calcium [mg/L]
        mg: magnesium [mg/L]
    Returns: total hardness as CaCO3 [mg/L]
    Valid: 0 to 10 000 mg/L each
    Raises: OutOfRangeError outside the range
    Source: Standard Methods 2340 B

    >>> round(hardness_from_ions(50.0, 10.0), 2)
    166.03
    """
    return CA_TO_CACO3 * ca + MG_TO_CACO3 * mg


@kernel(
    tds="mg/L", ca_hardness_caco3="mgCaCO3", alkalinity_caco3="mgCaCO3", T="K",
    returns="", source=s.LANGELIER, valid={k: v for k, v in _WATER.items() if k != "pH"},
)  # fmt: skip
def saturation_pH(tds: float, ca_hardness_caco3: float, alkalinity_caco3: float, T: float) -> float:
    """The pH at which the water would be saturated with calcium carbonate.

    Formula: pHs = (9.3 + A + B) - (C + D); A = (log10 TDS - 1)/10; B = -13.12 log10(t + 273) + 34.55;
        C = log10(Ca) - 0.4; D = log10(alkalinity); t in degrees Celsius

    Args:
        tds: total dissolved solids [mg/L]
        ca_hardness_caco3: calcium hardness as CaCO3 [mg/L]
        alkalinity_caco3: alkalinity as CaCO3 [mg/L]
        T: water temperature [K]
    Returns: saturation pH, a plain number []
    Valid: T 273.15 to 363.15 K (90 degrees Celsius, the end of the method); tds 1 to 10 000 mg/L;
        hardness and alkalinity 0.1 to 10 000 mg/L
    Raises: OutOfRangeError outside these ranges
    Source: Langelier index in its published closed form
    """
    a = (math.log10(tds) - 1.0) / 10.0
    b = -13.12 * math.log10(T - 273.15 + 273.0) + 34.55
    c = math.log10(ca_hardness_caco3) - 0.4
    d = math.log10(alkalinity_caco3)
    return (9.3 + a + b) - (c + d)


@kernel(
    pH="", tds="mg/L", ca_hardness_caco3="mgCaCO3", alkalinity_caco3="mgCaCO3", T="K",
    returns="", source=s.LANGELIER, valid=_WATER,
)  # fmt: skip
def langelier(pH: float, tds: float, ca_hardness_caco3: float, alkalinity_caco3: float, T: float) -> float:
    """Langelier saturation index: above zero the water tends to lay down scale.

    Formula: LSI = pH - pHs

    Args:
        pH: measured pH []
        tds: total dissolved solids [mg/L]
        ca_hardness_caco3: calcium hardness as CaCO3 [mg/L]
        alkalinity_caco3: alkalinity as CaCO3 [mg/L]
        T: water temperature [K]
    Returns: index, a plain number []
    Valid: as `saturation_pH`; pH 0 to 14
    Raises: OutOfRangeError outside these ranges, above 90 degrees Celsius too
    Source: Langelier index, published worked example

    >>> round(langelier(7.5, 320.0, 150.0, 34.0, 298.15), 3)
    -0.731
    """
    return pH - saturation_pH(tds, ca_hardness_caco3, alkalinity_caco3, T)


@kernel(
    pH="", tds="mg/L", ca_hardness_caco3="mgCaCO3", alkalinity_caco3="mgCaCO3", T="K",
    returns="", source=s.RYZNAR, valid=_WATER,
)  # fmt: skip
def ryznar(pH: float, tds: float, ca_hardness_caco3: float, alkalinity_caco3: float, T: float) -> float:
    """Ryznar stability index: low lays down scale, high is corrosive.

    Formula: RSI = 2 pHs - pH

    Args:
        pH: measured pH []
        tds: total dissolved solids [mg/L]
        ca_hardness_caco3: calcium hardness as CaCO3 [mg/L]
        alkalinity_caco3: alkalinity as CaCO3 [mg/L]
        T: water temperature [K]
    Returns: index, a plain number []
    Valid: as `saturation_pH`; pH 0 to 14
    Raises: OutOfRangeError outside these ranges
    Source: Ryznar stability index
    """
    return 2.0 * saturation_pH(tds, ca_hardness_caco3, alkalinity_caco3, T) - pH


def ryznar_band(index: float) -> str:
    """Id of the Ryznar band; bounds 5.5, 6.2, 6.8 and 8.5 belong to the lower band."""
    return _band(index, RYZNAR_BANDS, "very_corrosive")


@kernel(
    cl="mg/L", so4="mg/L", hco3="mg/L", co3="mg/L", returns="", source=s.LARSON_SKOLD,
    valid={"cl": (0, 50_000), "so4": (0, 50_000), "hco3": (0, 50_000), "co3": (0, 50_000)},
)  # fmt: skip
def larson_skold(cl: float, so4: float, hco3: float, co3: float = 0.0) -> float:
    """Larson-Skold ratio of chloride and sulphate to bicarbonate and carbonate.

    Found on mild steel in cold water: it gives no verdict on copper, brass or stainless steel.

    Formula: (Cl/35.453 + SO4/48.031)/(HCO3/61.017 + CO3/30.004), in meq/L

    Args:
        cl: chloride [mg/L]
        so4: sulphate [mg/L]
        hco3: bicarbonate [mg/L]
        co3: carbonate [mg/L]
    Returns: ratio, a plain number []
    Valid: 0 to 50 000 mg/L each; bicarbonate and carbonate not both zero
    Raises: OutOfRangeError outside the range, or without any bicarbonate and carbonate
    Source: Larson and Skold; equivalent masses by arithmetic

    >>> round(larson_skold(50.0, 60.0, 150.0), 3)
    1.082
    """
    buffer = hco3 / EQUIVALENT_HCO3 + co3 / EQUIVALENT_CO3
    # Below this the ratio says nothing and would run away.
    if buffer < 1e-6:
        raise OutOfRangeError("larson_skold", "hco3", hco3, 0.001, None, "mg/L")
    return (cl / EQUIVALENT_CL + so4 / EQUIVALENT_SO4) / buffer


def larson_skold_band(ratio: float) -> str:
    """Id of the Larson-Skold band (mild steel, cold water); bounds 0.8 and 1.2 belong to the lower."""
    return _band(ratio, LARSON_SKOLD_BANDS, "high")


@kernel(
    alkalinity_caco3="mgCaCO3", returns="mg/L", source=s.MOLAR_MASSES, valid={"alkalinity_caco3": (0, 10_000)}
)
def alkalinity_to_bicarbonate(alkalinity_caco3: float) -> float:
    """Bicarbonate that an alkalinity stands for; carbonate is neglected, as below about pH 8.3.

    Formula: HCO3 = alkalinity * 61.017/50.0435

    Args:
        alkalinity_caco3: alkalinity as CaCO3 [mg/L]
    Returns: bicarbonate [mg/L]
    Valid: 0 to 10 000 mg/L
    Raises: OutOfRangeError outside the range
    Source: equivalent masses
    """
    return alkalinity_caco3 * EQUIVALENT_HCO3 / EQUIVALENT_CACO3


@kernel(
    conductivity="S/m", raw_caco3="mgCaCO3", treated_caco3="mgCaCO3", bypass="", returns="S/m",
    source=s.ION_CONDUCTANCE,
    valid={
        "conductivity": (0, 10), "raw_caco3": (0, 10_000), "treated_caco3": (0, 10_000), "bypass": (0, 1),
    },
)  # fmt: skip
def decarbonised_conductivity(
    conductivity: float, raw_caco3: float, treated_caco3: float, bypass: float
) -> float:
    """Conductivity behind a decarbonising cartridge: the calcium bicarbonate it takes out conducts no more.

    On the safe side for a level probe: real water, not endlessly thin, loses a little less.

    Formula: max(b kappa, kappa - 0.0104 (A_raw - A)/50.0435), alkalinity in mg/L as CaCO3

    Args:
        conductivity: of the raw water, at 25 degrees Celsius [S/m]
        raw_caco3: its alkalinity as CaCO3 [mg/L]
        treated_caco3: alkalinity behind cartridge and bypass as CaCO3 [mg/L]
        bypass: share of raw water []
    Returns: conductivity at 25 degrees Celsius [S/m]
    Valid: conductivity 0 to 10 S/m; alkalinity 0 to 10 000 mg/L, treated not above raw; bypass 0 to 1
    Raises: OutOfRangeError outside these ranges
    Source: limiting conductances of ions, from memory
    """
    s.require("decarbonised_conductivity", "treated_caco3", treated_caco3, (0.0, raw_caco3), "mg/L")
    removed = (raw_caco3 - treated_caco3) / EQUIVALENT_CACO3
    return max(bypass * conductivity, conductivity - CARBONATE_CONDUCTANCE * removed)


@kernel(
    tds="mg/L", raw_caco3="mgCaCO3", treated_caco3="mgCaCO3", bypass="", returns="mg/L", source=s.SOLIDS,
    valid={"tds": (0, 10_000), "raw_caco3": (0, 10_000), "treated_caco3": (0, 10_000), "bypass": (0, 1)},
)  # fmt: skip
def decarbonised_solids(tds: float, raw_caco3: float, treated_caco3: float, bypass: float) -> float:
    """Dissolved solids behind a decarbonising cartridge.

    It takes calcium out and turns as much bicarbonate into carbon dioxide: dried, calcium carbonate is gone.

    Formula: max(b TDS, TDS - (A_raw - A)), alkalinity in mg/L as CaCO3

    Args:
        tds: dissolved solids of the raw water [mg/L]
        raw_caco3: its alkalinity as CaCO3 [mg/L]
        treated_caco3: alkalinity behind cartridge and bypass as CaCO3 [mg/L]
        bypass: share of raw water []
    Returns: dissolved solids [mg/L]
    Valid: 0 to 10 000 mg/L, treated alkalinity not above raw; bypass 0 to 1
    Raises: OutOfRangeError outside these ranges
    Source: Standard Methods 1030 E, from memory
    """
    s.require("decarbonised_solids", "treated_caco3", treated_caco3, (0.0, raw_caco3), "mg/L")
    return max(bypass * tds, tds - (raw_caco3 - treated_caco3))


@kernel(rejection="", bypass="", returns="", source=s.MEMBRANE, valid={"rejection": (0, 1), "bypass": (0, 1)})
def membrane_share(rejection: float, bypass: float) -> float:
    """Share of the raw water's salts that reaches the machine behind a membrane with a blending valve.

    Formula: b + (1 - b)(1 - R): all of them in the raw share, what the membrane lets through in the permeate

    Args:
        rejection: share that the whole plant keeps back, permeate against feed []
        bypass: share of raw water blended in []
    Returns: share []
    Valid: 0 to 1 each
    Raises: OutOfRangeError outside the range
    Source: mass balance

    >>> round(membrane_share(0.9, 0.0), 12)
    0.1
    """
    return bypass + (1.0 - bypass) * (1.0 - rejection)


@kernel(
    pH="", raw_caco3="mgCaCO3", treated_caco3="mgCaCO3", freed="", returns="", source=s.CARBONIC_ACID,
    valid={"pH": (4.5, 9.0), "raw_caco3": (0.1, 10_000), "treated_caco3": (0.1, 10_000), "freed": (0, 1)},
)  # fmt: skip
def treated_pH(pH: float, raw_caco3: float, treated_caco3: float, freed: float) -> float:
    """The pH of water whose alkalinity a treatment has lowered, as long as no carbon dioxide escapes.

    A decarbonising cartridge turns the alkalinity it takes into carbon dioxide; a membrane keeps alkalinity
    back and lets the carbon dioxide through. Either way the water turns more acid.

    Formula: pK + log10(A/(A_raw 10^(pK - pH) + freed (A_raw - A))), pK = 6.35; carbonate neglected

    Args:
        pH: of the raw water []
        raw_caco3: its alkalinity as CaCO3 [mg/L]
        treated_caco3: alkalinity behind the treatment as CaCO3 [mg/L]
        freed: share of the alkalinity taken out that turns into carbon dioxide; 0 for a membrane []
    Returns: pH, a plain number []
    Valid: pH 4.5 to 9, where alkalinity is bicarbonate within a tenth (to 8 with less than all freed);
        alkalinity 0.1 to 10 000 mg/L, treated not above raw
    Raises: OutOfRangeError outside these ranges
    Source: equilibrium of carbonic acid, pK1 from memory
    """
    s.require("treated_pH", "treated_caco3", treated_caco3, (0.1, raw_caco3), "mg/L")
    # With little carbonic acid left the neglected carbonate would decide.
    if freed < 1.0:
        s.require("treated_pH", "pH", pH, (4.5, 8.0), "")
    acid = raw_caco3 * 10.0 ** (PK_CARBONIC - pH) + freed * (raw_caco3 - treated_caco3)
    return PK_CARBONIC + math.log10(treated_caco3 / acid)


@kernel(
    steam_drawn="kg", liquid_drawn="kg", returns="", source=s.ARITHMETIC,
    valid={"steam_drawn": (0, 1e6), "liquid_drawn": (1e-6, 1e6)},
)  # fmt: skip
def concentration_ratio(steam_drawn: float, liquid_drawn: float) -> float:
    """How many times the salts of the feed end up concentrated in the steam boiler, once it is steady.

    Steam leaves the salts behind; only liquid (hot water drawn, blow-down) carries them out.

    Formula: feed/liquid = (steam + liquid)/liquid

    Args:
        steam_drawn: mass drawn as steam in a period [kg]
        liquid_drawn: mass drawn as liquid in the same period [kg]
    Returns: ratio, 1 or more []
    Valid: steam 0 to 1e6 kg; liquid 1e-6 to 1e6 kg (without any, there is no steady state)
    Raises: OutOfRangeError outside these ranges
    Source: mass balance
    """
    return (steam_drawn + liquid_drawn) / liquid_drawn


@kernel(
    feed_caco3="mgCaCO3", ratio="", returns="mgCaCO3", source=s.ARITHMETIC,
    valid={"feed_caco3": (0, 10_000), "ratio": (1, 1e9)},
)  # fmt: skip
def steam_boiler_hardness(feed_caco3: float, ratio: float) -> float:
    """Hardness the steam boiler's water would reach if nothing were laid down as scale.

    Formula: feed hardness * concentration ratio

    Args:
        feed_caco3: hardness of the feed as CaCO3 [mg/L]
        ratio: concentration ratio []
    Returns: hardness as CaCO3 [mg/L]
    Valid: hardness 0 to 10 000 mg/L; ratio 1 to 1e9
    Raises: OutOfRangeError outside these ranges
    Source: mass balance
    """
    return feed_caco3 * ratio


@kernel(
    feed_caco3="mgCaCO3", feed_volume="L", returns="mgCaCO3*L", source=s.ARITHMETIC,
    valid={"feed_caco3": (0, 10_000), "feed_volume": (0, 1e6)},
)  # fmt: skip
def steam_boiler_hardness_load(feed_caco3: float, feed_volume: float) -> float:
    """Hardness carried into the steam boiler in a period.

    Formula: feed hardness * feed volume

    Args:
        feed_caco3: hardness of the feed as CaCO3 [mg/L]
        feed_volume: feed in the period [L]
    Returns: mass as CaCO3 [mg]
    Valid: hardness 0 to 10 000 mg/L; volume 0 to 1e6 L
    Raises: OutOfRangeError outside these ranges
    Source: mass balance
    """
    return feed_caco3 * feed_volume


@kernel(
    target_caco3="mgCaCO3", filtered_caco3="mgCaCO3", raw_caco3="mgCaCO3", returns="", source=s.ARITHMETIC,
    valid={"target_caco3": (0, 10_000), "filtered_caco3": (0, 10_000), "raw_caco3": (0, 10_000)},
)  # fmt: skip
def blend_fraction(target_caco3: float, filtered_caco3: float, raw_caco3: float) -> float:
    """Share of raw water to mix into filtered water for a target hardness.

    Formula: b = (target - filtered)/(raw - filtered)

    Args:
        target_caco3: hardness wanted as CaCO3 [mg/L]
        filtered_caco3: hardness behind the cartridge as CaCO3 [mg/L]
        raw_caco3: hardness of the mains as CaCO3 [mg/L]
    Returns: share of raw water, 0 to 1 []
    Valid: 0 to 10 000 mg/L; filtered below raw; target between them
    Raises: OutOfRangeError outside these ranges: no setting of a bypass reaches the target
    Source: mass balance

    >>> round(blend_fraction(4.0, 0.0, 14.0), 4)
    0.2857
    """
    if not raw_caco3 > filtered_caco3:
        raise OutOfRangeError("blend_fraction", "raw_caco3", raw_caco3, filtered_caco3, None, "mg/L")
    s.require("blend_fraction", "target_caco3", target_caco3, (filtered_caco3, raw_caco3), "mg/L")
    return (target_caco3 - filtered_caco3) / (raw_caco3 - filtered_caco3)


@kernel(
    bypass="", filtered_caco3="mgCaCO3", raw_caco3="mgCaCO3", returns="mgCaCO3", source=s.ARITHMETIC,
    valid={"bypass": (0, 1), "filtered_caco3": (0, 10_000), "raw_caco3": (0, 10_000)},
)  # fmt: skip
def blended_hardness(bypass: float, filtered_caco3: float, raw_caco3: float) -> float:
    """Hardness behind a filter head whose bypass lets a share of raw water past the cartridge.

    Formula: b raw + (1 - b) filtered

    Args:
        bypass: share of raw water []
        filtered_caco3: hardness behind the cartridge as CaCO3 [mg/L]
        raw_caco3: hardness of the mains as CaCO3 [mg/L]
    Returns: hardness as CaCO3 [mg/L]
    Valid: bypass 0 to 1; hardness 0 to 10 000 mg/L
    Raises: OutOfRangeError outside these ranges
    Source: mass balance
    """
    return bypass * raw_caco3 + (1.0 - bypass) * filtered_caco3


@kernel(
    capacity_caco3="mgCaCO3*L", raw_caco3="mgCaCO3", bypass="", returns="L", source=s.ARITHMETIC,
    valid={"capacity_caco3": (0, 1e9), "raw_caco3": (0.1, 10_000), "bypass": (0, 0.99)},
)  # fmt: skip
def cartridge_litres(capacity_caco3: float, raw_caco3: float, bypass: float) -> float:
    """Litres delivered (raw share included) until the cartridge is spent.

    Capacity and hardness must count the same thing: carbonate hardness or total hardness.

    Formula: capacity/(raw (1 - b))

    Args:
        capacity_caco3: capacity of the cartridge as CaCO3 [mg]
        raw_caco3: hardness of the mains as CaCO3 [mg/L]
        bypass: share of raw water []
    Returns: volume delivered, in litres as the name says [L]
    Valid: capacity 0 to 1e9 mg; hardness 0.1 to 10 000 mg/L; bypass 0 to 0.99
    Raises: OutOfRangeError outside these ranges
    Source: mass balance

    >>> round(cartridge_litres(10_000 * 17.848, 14 * 17.848, 0.3))
    1020
    """
    return capacity_caco3 / (raw_caco3 * (1.0 - bypass))


@kernel(
    litres="L", use_per_day="L/day", returns="day", source=s.ARITHMETIC,
    valid={"litres": (0, 1e9), "use_per_day": (1e-6, 1e6)},
)  # fmt: skip
def change_interval(litres: float, use_per_day: float) -> float:
    """Days until the cartridge is spent.

    Formula: litres/(litres per day)

    Args:
        litres: volume the cartridge delivers [L]
        use_per_day: water used [L/day]
    Returns: time between changes [day]
    Valid: litres 0 to 1e9 L; use 1e-6 to 1e6 L/day
    Raises: OutOfRangeError outside these ranges
    Source: arithmetic
    """
    return litres / use_per_day


@kernel(
    conductivity="S/m", minimum="S/m", returns="", source=s.ARITHMETIC,
    valid={"conductivity": (0, 10), "minimum": (1e-6, 10)},
)  # fmt: skip
def conductivity_margin(conductivity: float, minimum: float) -> float:
    """How far the water's conductivity lies above what the level probe needs; below zero the probe is blind.

    Formula: conductivity/minimum - 1

    Args:
        conductivity: of the water at the probe [S/m]
        minimum: least conductivity at which the probe's controller sees water [S/m]
    Returns: share above the minimum []
    Valid: conductivity 0 to 10 S/m; minimum 1e-6 to 10 S/m
    Raises: OutOfRangeError outside these ranges
    Source: arithmetic
    """
    return conductivity / minimum - 1.0


@kernel(
    conductivity="S/m", factor="", returns="mg/L", source=s.TDS_FACTOR,
    valid={"conductivity": (0, 2), "factor": (0.5, 0.9)},
)  # fmt: skip
def tds_from_conductivity(conductivity: float, factor: float = 0.64) -> float:
    """Estimate dissolved solids where the analysis gives only conductivity (at 25 degrees Celsius).

    Formula: TDS = factor * conductivity in uS/cm; 1 S/m = 10 000 uS/cm

    Args:
        conductivity: at 25 degrees Celsius [S/m]
        factor: mg/L per uS/cm; 0.64 unless the analysis says otherwise []
    Returns: dissolved solids [mg/L]
    Valid: conductivity 0 to 2 S/m; factor 0.5 to 0.9
    Raises: OutOfRangeError outside these ranges
    Source: common practice, no source; factor from memory
    """
    return factor * conductivity * 10_000.0


def hardness_class(hardness_caco3: float) -> str:
    """Id of the hardness class (USGS: 60, 120, 180 mg/L as CaCO3; a bound belongs to the softer class)."""
    s.require("hardness_class", "hardness_caco3", hardness_caco3, (0.0, None), "mg/L")
    return _band(hardness_caco3, HARDNESS_CLASSES, "very_hard")
