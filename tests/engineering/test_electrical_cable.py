"""Cables and devices against the tables of the standards (from memory where they say so)."""

from __future__ import annotations

import math

import pytest

from procgen.engineering import electrical_cable as cable
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.sources_general import UnknownEntryError

from . import outside
from .bounds_general import check_bounds
from .oracle import agrees, standard

ROOT3 = math.sqrt(3.0)


# IEC 60228, ohm/km at 20 degC, published.
RESISTANCES = {
    2: {1.5: 12.1, 2.5: 7.41, 4: 4.61, 6: 3.08, 10: 1.83, 16: 1.15},
    5: {1.5: 13.3, 2.5: 7.98, 4: 4.95, 6: 3.30, 10: 1.91, 16: 1.21},
}


@pytest.mark.parametrize("conductor_class", [2, 5])
def test_conductor_resistance(conductor_class: int) -> None:
    for section, per_km in RESISTANCES[conductor_class].items():
        found = cable.conductor_resistance(section * 1e-6, 1000.0, conductor_class)
        agrees(cable.conductor_resistance, found, per_km, outside.IEC_60228, rel=1e-12)
    # 50 K warmer: 1 + 0.00393 x 50.
    warm = cable.conductor_resistance(2.5e-6, 1000.0, 2, 343.15)
    agrees(cable.conductor_resistance, warm, 7.41 * 1.1965, outside.HAND, rel=1e-6)


def test_conductor_resistance_between_the_sections_is_on_the_safe_side() -> None:
    # NEC chapter 9 table 8, uncoated stranded copper at 75 degC, ohm/km (14, 12, 10, 8 AWG): from memory.
    for section, per_km in {2.08: 10.3, 3.31: 6.50, 5.26: 4.07, 8.37: 2.551}.items():
        found = cable.conductor_resistance(section * 1e-6, 1000.0, 2, 348.15)
        assert per_km < found < 1.07 * per_km
    # Never below resistance times section of any tabulated conductor, and close to the largest.
    for conductor_class, table in RESISTANCES.items():
        largest = max(section * per_km for section, per_km in table.items())
        found = cable.conductor_resistance(3.31e-6, 1000.0, conductor_class) * 3.31
        assert largest <= found * (1 + 1e-9)
        assert found == pytest.approx(largest, rel=1e-3)


def test_nominal_sections_are_met_within_half_a_per_cent() -> None:
    assert cable.conductor_resistance(2.5124e-6, 1000.0) == pytest.approx(7.41)
    assert cable.conductor_resistance(2.5126e-6, 1000.0) == pytest.approx(18.53 / 2.5126, rel=1e-3)
    for section in RESISTANCES[5]:
        close = 1.02 * section
        assert cable.conductor_resistance(close * 1e-6, 1000.0, 5) == pytest.approx(19.95 / close, rel=1e-6)
    assert cable.conductor_resistance(2.4874e-6, 1000.0) != pytest.approx(7.41, rel=1e-4)


def test_voltage_drop() -> None:
    # IEC 60364-5-52 Annex G, by arithmetic: 5.76 V, 2.504 %; 2.811 V, 1.217 % of 400/sqrt 3 V.
    single = cable.voltage_drop(16.0, 20.0, 2.5e-6, 1.0, 1)
    agrees(cable.voltage_drop, single, 5.76, outside.ANNEX_G, abs=1e-6)
    agrees(cable.voltage_drop, single / 230.0, 0.02504, outside.ANNEX_G, abs=1e-5, unit="")
    three = cable.voltage_drop(100.0, 50.0, 35e-6, 0.8, 3)
    agrees(cable.voltage_drop, three, 2.811, outside.ANNEX_G, abs=6e-4)
    agrees(cable.voltage_drop, three / (400.0 / ROOT3), 0.01217, outside.ANNEX_G, abs=5e-6, unit="")
    # Reactance alone: 0.08 mohm/m.
    agrees(cable.voltage_drop, cable.voltage_drop(100.0, 50.0, 35e-6, 0.0, 3), 0.4, outside.ANNEX_G, rel=1e-6)
    with pytest.raises(UnknownEntryError, match="phases: no entry for 2"):
        cable.voltage_drop(16.0, 20.0, 2.5e-6, 1.0, 2)


@pytest.mark.parametrize(
    ("purpose", "owner", "share"),
    # IEC 60364-5-52 Annex G: 3/5 % public, 6/8 % private, published.
    [
        ("lighting", "public", 0.03),
        ("lighting", "private", 0.06),
        ("other", "public", 0.05),
        ("other", "private", 0.08),
    ],
)
def test_voltage_drop_limit(purpose: str, owner: str, share: float) -> None:
    agrees(
        cable.voltage_drop_limit,
        cable.voltage_drop_limit(purpose, owner),
        share,
        standard(cable.voltage_drop_limit),
    )


@pytest.mark.parametrize(
    ("celsius", "factor"),
    # IEC 60364-5-52 table B.52.14, PVC: from memory; the table is rounded to two decimals.
    [
        (10, 1.22), (15, 1.17), (20, 1.12), (25, 1.06), (30, 1.00), (35, 0.94), (40, 0.87),
        (45, 0.79), (50, 0.71), (55, 0.61), (60, 0.50),
    ],
)  # fmt: skip
def test_ambient_factor(celsius: float, factor: float) -> None:
    agrees(
        cable.ambient_factor,
        cable.ambient_factor(celsius + 273.15),
        factor,
        outside.recalled("IEC 60364-5-52, table B.52.14"),
        abs=6e-3,
    )
    assert cable.ambient_factor(celsius + 273.15, "AS/NZS 3000") == cable.ambient_factor(celsius + 273.15)


def test_cold_air_earns_no_more_than_the_table_gives() -> None:
    assert cable.ambient_factor(263.15) == cable.ambient_factor(283.15) == pytest.approx(math.sqrt(1.5))
    assert cable.ambient_factor(284.15) < cable.ambient_factor(283.15)


def test_ambient_factor_at_60_degree_conductors() -> None:
    # NEC 310.15(B), 60 degC column, 36 to 40 degC 0.82: from memory.
    agrees(
        cable.ambient_factor,
        cable.ambient_factor(313.15, "NEC"),
        0.816,
        outside.recalled("NEC 310.15(B), 60 degC"),
        abs=1e-3,
    )
    for code, highest in {"IEC 60364": 338.15, "NEC": 328.15}.items():
        assert cable.ambient_factor(highest, code) > 0
        with pytest.raises(OutOfRangeError) as caught:
            cable.ambient_factor(highest + 0.01, code)
        assert (caught.value.low, caught.value.high) == (263.15, highest)


def test_grouping_factor() -> None:
    # IEC 60364-5-52 table B.52.17: from memory.
    bunched = [1.00, 0.80, 0.70, 0.65, 0.60, 0.57, 0.54, 0.52, 0.50]
    layer = [1.00, 0.85, 0.79, 0.75, 0.73, 0.72, 0.72, 0.71, 0.70]
    agrees(
        cable.grouping_factor,
        [cable.grouping_factor(n) for n in range(1, 10)],
        bunched,
        outside.recalled("IEC 60364-5-52, table B.52.17"),
    )
    agrees(
        cable.grouping_factor,
        [cable.grouping_factor(n, "single_layer") for n in range(1, 10)],
        layer,
        outside.recalled("IEC 60364-5-52, table B.52.17"),
    )
    agrees(
        cable.grouping_factor,
        cable.grouping_factor(30, "single_layer"),
        0.70,
        outside.recalled("IEC 60364-5-52, table B.52.17"),
    )
    with pytest.raises(OutOfRangeError) as caught:
        cable.grouping_factor(10)
    assert (caught.value.low, caught.value.high) == (1, 9)


# Method C, PVC, 30 degC: three loaded 1.5 to 10 mm2 and two loaded 2.5 mm2 from the check list, the rest
# from memory; the gauges 14 to 6 of NEC table 310.16, 60 degC: from memory.
CAPACITIES = {
    ("IEC 60364", 3): {1.5: 17.5, 2.5: 24, 4: 32, 6: 41, 10: 57, 16: 76},
    ("IEC 60364", 2): {1.5: 19.5, 2.5: 27, 4: 36, 6: 46, 10: 63, 16: 85},
    ("NEC", 2): {2.08: 15, 3.31: 20, 5.26: 30, 8.37: 40, 13.3: 55},
}


@pytest.mark.parametrize(("code", "loaded"), list(CAPACITIES))
def test_cable_capacity(code: str, loaded: int) -> None:
    table = CAPACITIES[code, loaded]
    for section, amps in table.items():
        for close in (0.996, 1.0, 1.005):
            agrees(
                cable.cable_capacity,
                cable.cable_capacity(close * section * 1e-6, loaded, code),
                amps,
                outside.recalled("IEC 60364-5-52, method C, PVC; NEC table 310.16"),
            )
        # A conductor a little too thin takes the next smaller figure, or none.
        thin = 0.994 * section * 1e-6
        if section == min(table):
            with pytest.raises(OutOfRangeError):
                cable.cable_capacity(thin, loaded, code)
        else:
            assert cable.cable_capacity(thin, loaded, code) < amps
    agrees(
        cable.cable_capacity,
        cable.cable_capacity(50e-6, loaded, code),
        max(table.values()),
        outside.recalled("IEC 60364-5-52, method C, PVC; NEC table 310.16"),
    )


def test_derated_capacity_and_minimum_section() -> None:
    # 2.5 mm2, three loaded, 40 degC, two circuits: 24 x 0.866 x 0.80 = 16.63 A.
    agrees(
        cable.derated_capacity, cable.derated_capacity(2.5e-6, 3, 313.15, 2), 16.63, outside.HAND, abs=5e-3
    )
    agrees(cable.minimum_section, cable.minimum_section(16.0, 3, 313.15, 2), 2.5e-6, outside.HAND, rel=1e-6)
    agrees(cable.minimum_section, cable.minimum_section(16.7, 3, 313.15, 2), 4e-6, outside.HAND, rel=1e-6)
    agrees(
        cable.minimum_section,
        cable.minimum_section(30.0, 2, 303.15, 1, "NEC"),
        5.26e-6,
        outside.HAND,
        rel=1e-6,
    )
    with pytest.raises(OutOfRangeError) as caught:
        cable.minimum_section(77.0, 3, 303.15, 1)
    assert caught.value.high == pytest.approx(76.0)


def test_unknown_electrical_code() -> None:
    for call in (
        lambda: cable.cable_capacity(2.5e-6, 3, "none"),
        lambda: cable.ambient_factor(303.15, "none"),
        lambda: cable.device_minimum(10.0, "none"),
    ):
        with pytest.raises(UnknownEntryError, match="electrical code: no entry for 'none'"):
            call()


IEC_RATINGS = [6, 10, 13, 16, 20, 25, 32, 40, 50, 63, 80, 100, 125]
NEC_RATINGS = [15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125]


@pytest.mark.parametrize(
    ("code", "ratings", "factor"),
    # Standard ratings, NEC 240.6(A); 125 % for continuous loads, NEC 210.20(A): from memory.
    [("IEC 60364", IEC_RATINGS, 1.0), ("AS/NZS 3000", IEC_RATINGS, 1.0), ("NEC", NEC_RATINGS, 1.25)],
)
def test_device_minimum(code: str, ratings: list[float], factor: float) -> None:
    previous = 0.0
    for rating in ratings:
        agrees(
            cable.device_minimum,
            cable.device_minimum(rating / factor, code),
            rating,
            outside.recalled("standard ratings; NEC 210.20(A) and 240.6(A)"),
        )
        agrees(
            cable.device_minimum,
            cable.device_minimum((previous + 0.01) / factor, code),
            rating,
            outside.recalled("standard ratings; NEC 210.20(A) and 240.6(A)"),
        )
        previous = rating
    with pytest.raises(OutOfRangeError) as caught:
        cable.device_minimum(125.1 / factor, code)
    assert (caught.value.low, caught.value.high) == (0.0, 125.0)


@pytest.mark.parametrize(
    ("currents", "broken"),
    # I_B <= I_n <= I_z and I_2 <= 1.45 I_z, IEC 60364-4-43: from memory.
    [
        ((13.0, 16.0, 24.0), ()),
        ((16.0, 16.0, 16.0), ()),
        ((17.0, 16.0, 24.0), ("device_below_load",)),
        ((13.0, 25.0, 24.0), ("device_above_cable", "trip_above_cable")),
        ((13.0, 16.0, 17.0, 1.6), ("trip_above_cable",)),
        ((13.0, 16.0, 17.6, 1.6), ("trip_above_cable",)),
        ((13.0, 16.0, 17.7, 1.6), ()),
        ((30.0, 25.0, 24.0), ("device_below_load", "device_above_cable", "trip_above_cable")),
    ],
)
def test_coordination(currents: tuple, broken: tuple) -> None:
    agrees(
        cable.coordination, cable.coordination(*currents), broken, outside.recalled("IEC 60364-4-43, 433.1")
    )


@pytest.mark.parametrize(
    ("currents", "argument", "low", "high"),
    [
        ((-1.0, 16.0, 24.0), "design_current", 0.0, 1000.0),
        ((1.0, 1001.0, 24.0), "rating", 0.0, 1000.0),
        ((1.0, 16.0, math.nan), "capacity", 0.0, 1000.0),
        ((1.0, 16.0, 24.0, 0.99), "trip_factor", 1.0, 3.0),
        ((1.0, 16.0, 24.0, 3.01), "trip_factor", 1.0, 3.0),
    ],
)
def test_coordination_refuses(currents: tuple, argument: str, low: float, high: float) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        cable.coordination(*currents)
    assert (caught.value.argument, caught.value.low, caught.value.high) == (argument, low, high)


SECTION = (0.5e-6, 50e-6)


@pytest.mark.parametrize(
    ("kernel", "good", "bounds"),
    [
        (
            cable.conductor_resistance,
            {"section": 2.5e-6, "length": 1.0, "T": 293.15},
            {"section": SECTION, "length": (0, 1000), "T": (233.15, 423.15)},
        ),
        (
            cable.voltage_drop,
            {"current": 16.0, "length": 20.0, "section": 2.5e-6, "power_factor": 1.0, "phases": 1},
            {"current": (0, 1000), "length": (0, 1000), "section": SECTION, "power_factor": (0, 1)},
        ),
        (cable.ambient_factor, {"T": 303.15}, {"T": (263.15, 343.15)}),
        (cable.grouping_factor, {"circuits": 3}, {"circuits": (1, 100)}),
        (cable.cable_capacity, {"section": 2.5e-6, "loaded": 3}, {"section": SECTION}),
        (
            cable.derated_capacity,
            {"section": 2.5e-6, "loaded": 3, "T": 303.15, "circuits": 2},
            {"section": SECTION, "T": (263.15, 343.15), "circuits": (1, 100)},
        ),
        (
            cable.minimum_section,
            {"current": 16.0, "loaded": 3, "T": 303.15, "circuits": 2},
            {"current": (0, 1000), "T": (263.15, 343.15), "circuits": (1, 100)},
        ),
        (cable.device_minimum, {"design_current": 10.0}, {"design_current": (0, 1000)}),
    ],
    ids=lambda found: getattr(getattr(found, "info", None), "name", ""),
)
def test_valid_ranges(kernel, good, bounds) -> None:
    check_bounds(kernel, good, bounds)
