"""Water treatment against published figures, an independent water-chemistry library and mass balances."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from phreeqpython import PhreeqPython

from procgen.engineering import treatment as t
from procgen.engineering.kernel import OutOfRangeError

from . import outside
from .bounds_general import check_bounds
from .oracle import agrees

# Published worked example: pH 7.5, TDS 320, calcium hardness 150, alkalinity 34.
EXAMPLE = {"pH": 7.5, "tds": 320.0, "ca_hardness_caco3": 150.0, "alkalinity_caco3": 34.0}


def test_hardness_from_ions() -> None:
    # Standard Methods 2340 B by arithmetic.
    agrees(t.hardness_from_ions, t.hardness_from_ions(50.0, 10.0), 166.03, outside.SM_2340B, abs=0.005)
    # Molar masses CaCO3 100.087, Ca 40.078, Mg 24.305.
    agrees(
        t.hardness_from_ions, t.hardness_from_ions(1.0, 0.0), 100.087 / 40.078, outside.MOLAR_MASSES, rel=3e-4
    )
    agrees(
        t.hardness_from_ions, t.hardness_from_ions(0.0, 1.0), 100.087 / 24.305, outside.MOLAR_MASSES, rel=3e-4
    )


@pytest.mark.parametrize(
    ("celsius", "lsi", "rsi"),
    # Worked example in full precision; its rounded terms A .15, B 2.09/1.09, C 1.78, D 1.53 agree.
    [(25.0, -0.731, 8.962), (82.0, 0.266, 6.968)],
)
def test_langelier_and_ryznar_example(celsius: float, lsi: float, rsi: float) -> None:
    T = celsius + 273.15
    agrees(t.langelier, t.langelier(**EXAMPLE, T=T), lsi, outside.LANGELIER_EXAMPLE, abs=6e-4)
    agrees(t.ryznar, t.ryznar(**EXAMPLE, T=T), rsi, outside.LANGELIER_EXAMPLE, abs=6e-4)


@pytest.mark.parametrize(("celsius", "b"), [(25.0, 2.09), (82.0, 1.09)])
def test_saturation_pH_with_the_printed_terms(celsius: float, b: float) -> None:
    # pHs = (9.3 + A + B) - (C + D) with the terms as printed, two decimals each.
    printed = (9.3 + 0.15 + b) - (1.78 + 1.53)
    found = t.saturation_pH(320.0, 150.0, 34.0, celsius + 273.15)
    agrees(t.saturation_pH, found, printed, outside.LANGELIER_EXAMPLE, abs=0.012)


@pytest.mark.parametrize(("celsius", "reference"), [(25.0, -0.507), (82.0, 0.182)])
def test_langelier_beside_a_water_chemistry_library(celsius: float, reference: float) -> None:
    # PHREEQC's calcite index for the same water: another method, so only sign and neighbourhood.
    calcium = 150.0 * 40.078 / 100.087
    solution = PhreeqPython().add_solution(
        {
            "units": "mg/l", "temp": celsius, "pH": 7.5, "Ca": calcium,
            "Alkalinity": "34 as CaCO3", "Na": 20.0, "Cl": "100 charge",
        }
    )  # fmt: skip
    calcite = solution.si("Calcite")
    assert calcite == pytest.approx(reference, abs=0.03)
    found = t.langelier(**EXAMPLE, T=celsius + 273.15)
    assert math.copysign(1, found) == math.copysign(1, calcite)
    agrees(t.langelier, found, calcite, outside.PHREEQC, abs=0.25)


@given(st.floats(6.0, 9.0), st.floats(30, 2000), st.floats(5, 500), st.floats(5, 500), st.floats(274, 362))
def test_langelier_grows_with_heat_hardness_and_alkalinity(
    pH: float, tds: float, ca: float, alkalinity: float, T: float
) -> None:
    base = t.langelier(pH, tds, ca, alkalinity, T)
    assert t.langelier(pH, tds, ca, alkalinity, T + 1.0) > base
    assert t.langelier(pH, tds, 1.1 * ca, alkalinity, T) > base
    assert t.langelier(pH, tds, ca, 1.1 * alkalinity, T) > base
    assert t.langelier(pH, 1.1 * tds, ca, alkalinity, T) < base
    # Ryznar = pH - 2 LSI, from the two definitions.
    assert t.ryznar(pH, tds, ca, alkalinity, T) == pytest.approx(pH - 2 * base, abs=1e-9)


def test_langelier_ends_at_90_degrees() -> None:
    assert math.isfinite(t.langelier(**EXAMPLE, T=363.15))
    with pytest.raises(OutOfRangeError, match=r"T = 363\.16 K lies outside 273\.15\.\.363\.15 K"):
        t.langelier(**EXAMPLE, T=363.16)


@pytest.mark.parametrize(
    ("index", "band"),
    # Bounds 5.5 / 6.2 / 6.8 / 8.5 as published.
    [
        (5.5, "heavy_scale"), (5.501, "light_scale"), (6.2, "light_scale"), (6.201, "balanced"),
        (6.8, "balanced"), (6.801, "corrosive"), (8.5, "corrosive"), (8.501, "very_corrosive"),
    ],
)  # fmt: skip
def test_ryznar_band(index: float, band: str) -> None:
    assert t.ryznar_band(index) == band


@pytest.mark.parametrize(
    ("ratio", "band"), [(0.8, "low"), (0.801, "raised"), (1.2, "raised"), (1.201, "high")]
)
def test_larson_skold_band(ratio: float, band: str) -> None:
    # Bounds 0.8 / 1.2 as published.
    assert t.larson_skold_band(ratio) == band


def test_larson_skold() -> None:
    # Published method; figure by arithmetic.
    agrees(t.larson_skold, t.larson_skold(50.0, 60.0, 150.0), 1.082, outside.LARSON_EXAMPLE, abs=6e-4)
    # One milliequivalent of each by molar mass (Cl 35.45, SO4 96.06/2, HCO3 61.017, CO3 60.009/2).
    agrees(t.larson_skold, t.larson_skold(35.45, 0.0, 61.017), 1.0, outside.MOLAR_MASSES, rel=2e-4)
    agrees(t.larson_skold, t.larson_skold(0.0, 96.06 / 2, 61.017), 1.0, outside.MOLAR_MASSES, rel=2e-4)
    agrees(t.larson_skold, t.larson_skold(35.45, 0.0, 0.0, 60.009 / 2), 1.0, outside.MOLAR_MASSES, rel=2e-4)


def test_larson_skold_without_any_buffer() -> None:
    with pytest.raises(OutOfRangeError) as caught:
        t.larson_skold(50.0, 60.0, 0.0)
    assert (caught.value.argument, caught.value.low) == ("hco3", 0.001)
    # The least buffer accepted is a millionth of a milliequivalent per litre.
    assert t.larson_skold(1.0, 0.0, 61.017e-6 * 1.001) == pytest.approx(1e6 / 35.45 / 1.001, rel=1e-3)
    with pytest.raises(OutOfRangeError):
        t.larson_skold(1.0, 0.0, 61.017e-6 * 0.999)


@given(st.floats(0, 1000), st.floats(0, 1000), st.floats(1, 1000), st.floats(0.1, 10))
def test_larson_skold_does_not_depend_on_dilution(cl: float, so4: float, hco3: float, scale: float) -> None:
    scaled = t.larson_skold(cl * scale, so4 * scale, hco3 * scale)
    assert scaled == pytest.approx(t.larson_skold(cl, so4, hco3), rel=1e-9)


def test_alkalinity_to_bicarbonate() -> None:
    # Two bicarbonate ions for each CaCO3: 2 x 61.0168/100.0869 by molar masses.
    agrees(
        t.alkalinity_to_bicarbonate,
        t.alkalinity_to_bicarbonate(100.0),
        100 * 2 * 61.0168 / 100.0869,
        outside.MOLAR_MASSES,
        rel=1e-4,
    )


def test_concentration_ratio_is_a_salt_balance() -> None:
    # 8 kg of steam and 2 kg of hot water from 10 kg of feed: five times, by arithmetic.
    agrees(t.concentration_ratio, t.concentration_ratio(8.0, 2.0), 5.0, outside.HAND, rel=1e-6)
    agrees(t.concentration_ratio, t.concentration_ratio(0.0, 3.0), 1.0, outside.HAND, rel=1e-6)
    ratio = t.concentration_ratio(8.0, 2.0)
    # Salt in = salt out once steady.
    agrees(
        t.steam_boiler_hardness,
        2.0 * t.steam_boiler_hardness(40.0, ratio),
        10.0 * 40.0,
        outside.HAND,
        rel=1e-6,
    )
    agrees(
        t.steam_boiler_hardness_load, t.steam_boiler_hardness_load(40.0, 10.0), 400.0, outside.HAND, rel=1e-6
    )


def test_blend() -> None:
    # 14, 0, target 4, by arithmetic.
    agrees(t.blend_fraction, t.blend_fraction(4.0, 0.0, 14.0), 0.2857, outside.HAND, abs=5e-5)
    agrees(t.blend_fraction, t.blend_fraction(3.0, 2.0, 12.0), 0.1, outside.HAND, rel=1e-6)
    agrees(t.blend_fraction, t.blend_fraction(2.0, 2.0, 12.0), 0.0, outside.HAND)
    agrees(t.blend_fraction, t.blend_fraction(12.0, 2.0, 12.0), 1.0, outside.HAND)


def test_blended_hardness() -> None:
    # 0.3 x 250 + 0.7 x 10 = 82; the blend of 14, 0, target 4, there and back.
    agrees(t.blended_hardness, t.blended_hardness(0.3, 10.0, 250.0), 82.0, outside.HAND, rel=1e-9)
    agrees(t.blended_hardness, t.blended_hardness(2 / 7, 0.0, 14.0), 4.0, outside.HAND, rel=1e-9)


@pytest.mark.parametrize(
    ("target", "filtered", "raw", "argument"),
    [(15.0, 0.0, 14.0, "target_caco3"), (1.0, 2.0, 14.0, "target_caco3"), (3.0, 5.0, 5.0, "raw_caco3")],
)
def test_blend_that_no_bypass_reaches(target: float, filtered: float, raw: float, argument: str) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        t.blend_fraction(target, filtered, raw)
    assert caught.value.argument == argument


@given(st.floats(0, 1), st.floats(0, 100), st.floats(101, 500))
def test_blend_goes_both_ways(bypass: float, filtered: float, raw: float) -> None:
    mixed = t.blended_hardness(bypass, filtered, raw)
    assert t.blend_fraction(min(max(mixed, filtered), raw), filtered, raw) == pytest.approx(bypass, abs=1e-9)


def test_cartridge_and_change_interval() -> None:
    # 10 000 degree-litres, 14 degrees, bypass 0.3 gives 1020 L and at 60 L a day 17.0 days, by arithmetic.
    litres = t.cartridge_litres(10_000 * 17.848, 14 * 17.848, 0.3)
    agrees(t.cartridge_litres, litres, 1020.4, outside.HAND, abs=0.05)
    agrees(t.change_interval, t.change_interval(litres, 60.0), 17.0, outside.HAND, abs=0.01)


def test_conductivity_margin() -> None:
    agrees(t.conductivity_margin, t.conductivity_margin(0.03, 0.02), 0.5, outside.HAND, rel=1e-6)
    agrees(t.conductivity_margin, t.conductivity_margin(0.01, 0.02), -0.5, outside.HAND, rel=1e-6)


def test_tds_from_conductivity() -> None:
    # Common practice, from memory: 0.64 mg/L per uS/cm; 500 uS/cm = 0.05 S/m.
    agrees(t.tds_from_conductivity, t.tds_from_conductivity(0.05), 320.0, outside.PRACTICE, rel=1e-6)
    agrees(t.tds_from_conductivity, t.tds_from_conductivity(0.05, 0.5), 250.0, outside.PRACTICE, rel=1e-6)


@pytest.mark.parametrize(
    ("caco3", "name"),
    # US Geological Survey: 60 / 120 / 180 mg/L as CaCO3.
    [
        (0.0, "soft"), (60.0, "soft"), (60.1, "moderately_hard"), (120.0, "moderately_hard"),
        (120.1, "hard"), (180.0, "hard"), (180.1, "very_hard"),
    ],
)  # fmt: skip
def test_hardness_class(caco3: float, name: str) -> None:
    assert t.hardness_class(caco3) == name


@pytest.mark.parametrize("band", [t.ryznar_band, t.larson_skold_band])
def test_bands_refuse_what_is_no_number(band) -> None:
    for wrong in (math.nan, math.inf):
        with pytest.raises(OutOfRangeError, match="band: index"):
            band(wrong)


@pytest.mark.parametrize("wrong", [-1.0, math.nan, math.inf])
def test_hardness_class_refuses(wrong: float) -> None:
    with pytest.raises(OutOfRangeError):
        t.hardness_class(wrong)


WATER = {"tds": (1, 10_000), "ca_hardness_caco3": (0.1, 10_000), "alkalinity_caco3": (0.1, 10_000)}
WATER_T = {**WATER, "T": (273.15, 363.15)}
NO_PH = {name: found for name, found in EXAMPLE.items() if name != "pH"}
MG = (0, 10_000)


@pytest.mark.parametrize(
    ("kernel", "good", "bounds"),
    [
        (t.hardness_from_ions, {"ca": 50.0, "mg": 10.0}, {"ca": MG, "mg": MG}),
        (t.saturation_pH, {**NO_PH, "T": 298.15}, WATER_T),
        (t.langelier, {**EXAMPLE, "T": 298.15}, {**WATER_T, "pH": (0, 14)}),
        (t.ryznar, {**EXAMPLE, "T": 298.15}, {**WATER_T, "pH": (0, 14)}),
        (
            t.larson_skold,
            {"cl": 50.0, "so4": 60.0, "hco3": 150.0, "co3": 1.0},
            dict.fromkeys(("cl", "so4", "hco3", "co3"), (0, 50_000)),
        ),
        (t.alkalinity_to_bicarbonate, {"alkalinity_caco3": 100.0}, {"alkalinity_caco3": MG}),
        (
            t.concentration_ratio,
            {"steam_drawn": 8.0, "liquid_drawn": 2.0},
            {"steam_drawn": (0, 1e6), "liquid_drawn": (1e-6, 1e6)},
        ),
        (t.steam_boiler_hardness, {"feed_caco3": 40.0, "ratio": 5.0}, {"feed_caco3": MG, "ratio": (1, 1e9)}),
        (
            t.steam_boiler_hardness_load,
            {"feed_caco3": 40.0, "feed_volume": 10.0},
            {"feed_caco3": MG, "feed_volume": (0, 1e6)},
        ),
        (
            t.blend_fraction,
            {"target_caco3": 70.0, "filtered_caco3": 10.0, "raw_caco3": 250.0},
            {"target_caco3": MG, "filtered_caco3": MG, "raw_caco3": MG},
        ),
        (
            t.blended_hardness,
            {"bypass": 0.3, "filtered_caco3": 10.0, "raw_caco3": 250.0},
            {"bypass": (0, 1), "filtered_caco3": MG, "raw_caco3": MG},
        ),
        (
            t.cartridge_litres,
            {"capacity_caco3": 178_480.0, "raw_caco3": 250.0, "bypass": 0.3},
            {"capacity_caco3": (0, 1e9), "raw_caco3": (0.1, 10_000), "bypass": (0, 0.99)},
        ),
        (
            t.change_interval,
            {"litres": 1020.0, "use_per_day": 60.0},
            {"litres": (0, 1e9), "use_per_day": (1e-6, 1e6)},
        ),
        (
            t.conductivity_margin,
            {"conductivity": 0.03, "minimum": 0.02},
            {"conductivity": (0, 10), "minimum": (1e-6, 10)},
        ),
        (
            t.tds_from_conductivity,
            {"conductivity": 0.05, "factor": 0.64},
            {"conductivity": (0, 2), "factor": (0.5, 0.9)},
        ),
    ],
    ids=lambda found: getattr(getattr(found, "info", None), "name", ""),
)
def test_valid_ranges(kernel, good, bounds) -> None:
    check_bounds(kernel, good, bounds)
