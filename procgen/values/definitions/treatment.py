"""Water analysis to verdict and cartridge life."""

from __future__ import annotations

from procgen.engineering import treatment
from procgen.engineering.kernel import Source
from procgen.engineering.sources import ARITHMETIC
from procgen.engineering.sources_general import (
    CARBONIC_ACID,
    ION_CONDUCTANCE,
    LANGELIER,
    LARSON_SKOLD,
    MEMBRANE,
    RYZNAR,
    SOLIDS,
)
from procgen.profiles.site import FeedAnalysis, Site, Treatment, WaterAnalysis
from procgen.values.define import VALUES, UnavailableError
from procgen.values.reader import Facts, Reader

#: The index's method ends here (K); hotter water is judged at this temperature, and the page says so.
METHOD_END = 363.15
#: Share of the salts that passes a membrane and its bypass, as formula text.
PASSED = "(b + (1 - b) * (1 - R))"


def analysis(r: Reader) -> FeedAnalysis:
    """The site's water analysis."""
    if r.site is None:
        raise UnavailableError("needs_site")
    if r.site.water is None:
        raise UnavailableError("not_surveyed", field="water analysis")
    return r.site.water


def _acting(site: Site | None) -> Treatment | None:
    """The treatment between the sample and the machine: none, where the sample was taken behind it."""
    if site is None or (site.water is not None and site.water.treated):
        return None
    return site.treatment


def _is_treated(facts: Facts) -> bool:
    return facts.site is not None and facts.site.water is not None and facts.site.water.treated


def _blends(treated: Treatment | None) -> bool:
    return treated is not None and treated.filtered_hardness is not None and treated.bypass is not None


def _removes_carbonate(treated: Treatment | None) -> bool:
    return treated is not None and treated.kind == "decarbonising"


def _desalts(treated: Treatment | None) -> bool:
    return treated is not None and treated.kind == "reverse_osmosis"


def _share_text(treated: Treatment | None) -> str:
    """The formula text that goes with ``_share_left``."""
    declared = treated is not None and treated.rejection is not None
    return PASSED if declared else "min(1, H / H_raw)"


def _share_left(r: Reader, treated: Treatment, of_hardness: bool = True) -> float:
    """Share of the raw water's salts that reaches the machine behind a membrane, by one balance for all.

    Where only its hardness was measured, that stands for the others: a membrane holds hardness back best, so
    that at least this share is left. Chloride slips through more easily and is not judged by it.
    """
    if treated.rejection is not None:
        return treatment.membrane_share(r.leaf(treated, "rejection", "R"), r.leaf(treated, "bypass", "b"))
    if not of_hardness or not _blends(treated):
        raise UnavailableError("not_surveyed", field="rejection")
    raw = r.value("treatment.raw_hardness", "H_raw")
    if raw <= 0:
        raise UnavailableError("no_hardness")
    return min(1.0, float(r.value("treatment.hardness", "H")) / raw)


def _frees_carbon_dioxide(treated: Treatment | None) -> bool:
    return _removes_carbonate(treated) and _blends(treated)


def _hardness_formula(facts: Facts) -> str:
    if _is_treated(facts):
        return _analysed_formula(facts)
    treated = _acting(facts.site)
    if _blends(treated):
        return "b * H_raw + (1 - b) * min(H_filtered, H_raw)"
    return f"H_raw * {_share_text(treated)}" if _desalts(treated) else "H_raw"


@VALUES.value("treatment.hardness", "hardness", formula=_hardness_formula, source=ARITHMETIC, step=1.0)
def hardness(r: Reader) -> float:
    """Total hardness that reaches the machine: filtered and bypassed water mixed; a cartridge adds none.
    What was measured behind a membrane counts before what its plant's rejection says."""
    sample = analysis(r)
    if sample.treated:
        return _analysed_hardness(r, sample)
    raw = r.value("treatment.raw_hardness", "H_raw")
    treated = _acting(r.site)
    if treated is None or not _blends(treated):
        return float(raw) * (_share_left(r, treated) if treated and _desalts(treated) else 1.0)
    bypass, filtered = r.leaf(treated, "bypass", "b"), r.leaf(treated, "filtered_hardness", "H_filtered")
    return treatment.blended_hardness(bypass, min(filtered, raw), raw)


def _analysed_formula(facts: Facts) -> str:
    water = facts.site.water if facts.site else None
    return "H" if water is not None and water.hardness is not None else "2.497 * Ca + 4.118 * Mg"


@VALUES.value("treatment.raw_hardness", "hardness", formula=_analysed_formula, source=ARITHMETIC, step=1.0)
def raw_hardness(r: Reader) -> float:
    """Total hardness of the raw water; a sample from behind the treatment says nothing of it."""
    sample = analysis(r)
    if sample.treated:
        raise UnavailableError("sampled_treated")
    return _analysed_hardness(r, sample)


def _analysed_hardness(r: Reader, sample: WaterAnalysis) -> float:
    """Total hardness of a sample; from calcium and magnesium where nobody measured it."""
    if sample.hardness is not None:
        return r.leaf(sample, "hardness", "H")
    return treatment.hardness_from_ions(
        r.surveyed(sample, "calcium", "Ca"), r.surveyed(sample, "magnesium", "Mg")
    )


def _alkalinity_formula(facts: Facts) -> str:
    treated = _acting(facts.site)
    if _frees_carbon_dioxide(treated):
        return "max(0, A_raw - (H_raw - H))"
    if _desalts(treated):
        return f"A_raw * {_share_text(treated)}"
    return "A_raw"


@VALUES.value("treatment.alkalinity", "hardness", formula=_alkalinity_formula, source=ARITHMETIC, step=1.0)
def alkalinity(r: Reader) -> float:
    """Alkalinity that reaches the machine; a decarbonising cartridge takes as much as hardness, a membrane
    keeps back as large a share."""
    raw = r.surveyed(analysis(r), "alkalinity", "A_raw")
    treated = _acting(r.site)
    if _frees_carbon_dioxide(treated):
        return max(
            0.0, raw - (r.value("treatment.raw_hardness", "H_raw") - r.value("treatment.hardness", "H"))
        )
    return raw * _share_left(r, treated) if treated and _desalts(treated) else raw


def _ph_formula(facts: Facts) -> str:
    treated = _acting(facts.site)
    if _frees_carbon_dioxide(treated):
        return "treated_pH(pH, A_raw, A, 1)"
    return "treated_pH(pH, A_raw, A, 0)" if _desalts(treated) else "pH"


@VALUES.value(
    "treatment.ph",
    "number",
    formula=_ph_formula,
    source=lambda facts: ARITHMETIC if _ph_formula(facts) == "pH" else CARBONIC_ACID,
    step=0.1,
)
def ph(r: Reader) -> float:
    """In the closed pipe, before carbon dioxide escapes; the sample's own where no treatment changes it."""
    sample = r.surveyed(analysis(r), "ph", "pH")
    treated = _acting(r.site)
    if _removes_carbonate(treated) and not _blends(treated):
        raise UnavailableError("not_surveyed", field="bypass and hardness behind the cartridge")
    if not (_frees_carbon_dioxide(treated) or _desalts(treated)):
        return sample
    return treatment.treated_pH(
        sample,
        r.surveyed(analysis(r), "alkalinity", "A_raw"),
        r.value("treatment.alkalinity", "A"),
        1.0 if _frees_carbon_dioxide(treated) else 0.0,
    )


@VALUES.value(
    "treatment.calcium_hardness",
    "hardness",
    formula=lambda facts: "2.497 * Ca" if _is_treated(facts) else "2.497 * Ca * H / H_raw",
    source=ARITHMETIC,
    step=1.0,
)
def calcium_hardness(r: Reader) -> float:
    """Calcium's part of the hardness that reaches the machine (calcium and magnesium removed alike)."""
    sample = analysis(r)
    calcium = r.surveyed(sample, "calcium", "Ca")
    if sample.treated:
        return treatment.CA_TO_CACO3 * calcium
    raw = r.value("treatment.raw_hardness", "H_raw")
    if raw <= 0:
        raise UnavailableError("no_hardness")
    return treatment.CA_TO_CACO3 * calcium * r.value("treatment.hardness", "H") / raw


def _index(r: Reader) -> tuple[float, float, float, float, float]:
    hottest = r.value("brew.set_temperature", "T_brew")
    return (
        r.value("treatment.ph", "pH"),
        r.value("treatment.tds", "TDS"),
        r.value("treatment.calcium_hardness", "Ca_h"),
        r.value("treatment.alkalinity", "A"),
        min(float(hottest), METHOD_END),
    )


@VALUES.value(
    "treatment.lsi_brew",
    "number",
    formula="langelier(pH, TDS, Ca_h, A, min(T_brew, 363.15))",
    source=LANGELIER,
    step=0.1,
)
def lsi_brew(r: Reader) -> float:
    """Scaling index in the hottest brew boiler, at the end of the method where it is hotter."""
    return treatment.langelier(*_index(r))


@VALUES.value(
    "treatment.ryznar",
    "number",
    formula="ryznar(pH, TDS, Ca_h, A, min(T_brew, 363.15))",
    source=RYZNAR,
    step=0.1,
)
def ryznar(r: Reader) -> float:
    return treatment.ryznar(*_index(r))


@VALUES.value(
    "treatment.lsi_steam",
    "number",
    formula="langelier(pH, TDS, 2.497 * Ca, A, 363.15)",
    source=LANGELIER,
    step=0.1,
)
def lsi_steam(r: Reader) -> float:
    """Only from an analysis of the boiler's own water: boiling strips CO2 and steam leaves salts behind."""
    sample = r.site.boiler_water if r.site else None
    if sample is None:
        raise UnavailableError("needs_boiler_water")
    return treatment.langelier(
        r.surveyed(sample, "ph", "pH"),
        r.surveyed(sample, "tds", "TDS"),
        treatment.CA_TO_CACO3 * r.surveyed(sample, "calcium", "Ca"),
        r.surveyed(sample, "alkalinity", "A"),
        METHOD_END,
    )


@VALUES.value(
    "treatment.larson_skold",
    "number",
    formula=lambda facts: f"larson_skold(Cl, {_passing_text(facts, 'SO4')}, bicarbonate(A))",
    source=LARSON_SKOLD,
    digits=2,
)
def larson_skold(r: Reader) -> float:
    """Found on mild steel in cold water: no verdict on copper, brass or stainless steel."""
    return treatment.larson_skold(
        r.value("treatment.chloride", "Cl"),
        _passing(r, "sulfate", "SO4"),
        treatment.alkalinity_to_bicarbonate(r.value("treatment.alkalinity", "A")),
    )


def _passing_text(facts: Facts, symbol: str) -> str:
    treated = _acting(facts.site)
    return f"{symbol} * {PASSED}" if _desalts(treated) else symbol


def _passing(r: Reader, field: str, symbol: str) -> float:
    """A salt of the sample that no cartridge takes out, and a membrane by its plant's rejection."""
    sample, treated = r.surveyed(analysis(r), field, symbol), _acting(r.site)
    return sample * _share_left(r, treated, of_hardness=False) if treated and _desalts(treated) else sample


def _by_membrane(facts: Facts) -> Source:
    return MEMBRANE if _desalts(_acting(facts.site)) else ARITHMETIC


@VALUES.value(
    "treatment.chloride",
    "concentration",
    formula=lambda facts: _passing_text(facts, "Cl"),
    source=_by_membrane,
    step=1.0,
)
def chloride(r: Reader) -> float:
    """Only a membrane keeps chloride back."""
    return _passing(r, "chloride", "Cl")


def _solids_formula(facts: Facts) -> str:
    treated = _acting(facts.site)
    if _frees_carbon_dioxide(treated):
        return "max(b * TDS_raw, TDS_raw - (A_raw - A))"
    return f"TDS_raw * {_share_text(treated)}" if _desalts(treated) else "TDS_raw"


@VALUES.value(
    "treatment.tds",
    "concentration",
    formula=_solids_formula,
    source=lambda f: SOLIDS if _frees_carbon_dioxide(_acting(f.site)) else _by_membrane(f),
    step=1.0,
)
def tds(r: Reader) -> float:
    """A softening cartridge exchanges salts for about as much of others."""
    sample, treated = r.surveyed(analysis(r), "tds", "TDS_raw"), _acting(r.site)
    if treated and _frees_carbon_dioxide(treated):
        return treatment.decarbonised_solids(
            sample,
            r.surveyed(analysis(r), "alkalinity", "A_raw"),
            r.value("treatment.alkalinity", "A"),
            r.leaf(treated, "bypass", "b"),
        )
    return sample * _share_left(r, treated) if treated and _desalts(treated) else sample


def _conductivity_formula(facts: Facts) -> str:
    treated = _acting(facts.site)
    if _frees_carbon_dioxide(treated):
        return "decarbonised(kappa, A_raw, A, b)"
    return f"kappa * {_share_text(treated)}" if _desalts(treated) else "kappa"


@VALUES.value(
    "treatment.conductivity_probe",
    "conductivity",
    formula=_conductivity_formula,
    source=lambda f: ION_CONDUCTANCE if _frees_carbon_dioxide(_acting(f.site)) else _by_membrane(f),
    digits=2,
)
def conductivity_probe(r: Reader) -> float:
    """What the level probe meets at the first fill: treated water, not yet concentrated in the boiler."""
    sample = r.surveyed(analysis(r), "conductivity", "kappa")
    treated = _acting(r.site)
    if _frees_carbon_dioxide(treated):
        assert treated is not None
        return treatment.decarbonised_conductivity(
            sample,
            r.surveyed(analysis(r), "alkalinity", "A_raw"),
            r.value("treatment.alkalinity", "A"),
            r.leaf(treated, "bypass", "b"),
        )
    return sample * _share_left(r, treated) if treated and _desalts(treated) else sample


@VALUES.value(
    "treatment.concentration_ratio",
    "number",
    formula="(m_steam + m_liquid) / m_liquid",
    source=ARITHMETIC,
    digits=2,
)
def concentration_ratio(r: Reader) -> float:
    """How far the steam boiler concentrates what enters it: steam leaves the salts behind."""
    liquid = r.value("use.liquid_drawn", "m_liquid")
    if liquid <= 0:
        raise UnavailableError("nothing_drawn")
    return treatment.concentration_ratio(r.value("use.steam_drawn", "m_steam"), liquid)


@VALUES.value("treatment.steam_hardness", "hardness", formula="H * n", source=ARITHMETIC, digits=2)
def steam_hardness(r: Reader) -> float:
    """Hardness that would stand in the steam boiler if nothing fell out as scale."""
    return treatment.steam_boiler_hardness(
        r.value("treatment.hardness", "H"), r.value("treatment.concentration_ratio", "n")
    )


def _by_rejection(treated: Treatment | None) -> bool:
    return treated is not None and treated.filtered_hardness is None and treated.rejection is not None


@VALUES.value(
    "treatment.blend",
    "ratio",
    formula=lambda facts: "(H_target - {0}) / (H_raw - {0})".format(
        "(1 - R) * H_raw" if _by_rejection(facts.site and facts.site.treatment) else "H_filtered"
    ),
    source=ARITHMETIC,
    digits=2,
)
def blend(r: Reader) -> float:
    """Bypass that gives the middle of the maker's hardness window."""
    treated = r.site.treatment if r.site else None
    if treated is None:
        raise UnavailableError("no_treatment" if r.site else "needs_site")
    target = r.value("treatment.hardness_target", "H_target")
    raw = r.value("treatment.raw_hardness", "H_raw")
    if _by_rejection(treated):
        filtered = raw * treatment.membrane_share(r.leaf(treated, "rejection", "R"), 0.0)
    else:
        filtered = r.surveyed(treated, "filtered_hardness", "H_filtered")
    if raw <= filtered or not filtered <= target <= raw:
        raise UnavailableError("no_blend")
    return treatment.blend_fraction(target, filtered, raw)


@VALUES.value(
    "treatment.hardness_target",
    "hardness",
    formula="(H_low + H_high) / 2",
    source=ARITHMETIC,
    step=1.0,
)
def hardness_target(r: Reader) -> float:
    """Middle of the maker's hardness window."""
    limits = r.machine.water.limits
    return (
        r.end(limits, "hardness", "H_low", high=False) + r.end(limits, "hardness", "H_high", high=True)
    ) / 2


def _capacity_formula(facts: Facts) -> str:
    site = facts.site
    if site and site.treatment and site.treatment.capacity_counts == "carbonate_hardness":
        return "C / (min(A_raw, H_raw) * (1 - b)) / 1000"
    return "C / (H_raw * (1 - b)) / 1000"


@VALUES.value("treatment.capacity", "volume", formula=_capacity_formula, source=ARITHMETIC, digits=2)
def capacity(r: Reader) -> float:
    """Water through the head until the cartridge is spent, on the basis its maker counts."""
    treated = r.site.treatment if r.site else None
    if treated is None:
        raise UnavailableError("no_treatment" if r.site else "needs_site")
    stated = r.surveyed(treated, "capacity", "C")
    raw = r.value("treatment.raw_hardness", "H_raw")
    counted = raw
    if treated.capacity_counts == "carbonate_hardness":
        counted = min(r.surveyed(analysis(r), "alkalinity", "A_raw"), raw)
    bypass = r.surveyed(treated, "bypass", "b")
    return treatment.cartridge_litres(stated, counted, bypass) / 1000.0


@VALUES.value(
    "treatment.change_interval", "time", formula="V / V_day * 86400", source=ARITHMETIC, step=86400.0
)
def change_interval(r: Reader) -> float:
    """Days until the cartridge is spent at the expected use; the maker's own time limit may come first."""
    return r.value("treatment.capacity", "V") / r.value("use.water_per_day", "V_day") * 86400.0
