"""Protective measures against the tables of the standards (from memory where they say so)."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from procgen.engineering import earthing as e
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.sources_general import UnknownEntryError

from . import outside
from .bounds_general import check_bounds
from .oracle import agrees, standard


@pytest.mark.parametrize(
    ("curve", "rating", "ohms"),
    # BS 7671 table 41.3, 230 V, Cmin 0.95: from memory.
    [
        ("B", 6, 7.28), ("B", 16, 2.73), ("B", 32, 1.37), ("C", 16, 1.37), ("C", 32, 0.68),
        ("D", 16, 0.68), ("D", 32, 0.34),
    ],
)  # fmt: skip
def test_loop_impedance_maximum(curve: str, rating: float, ohms: float) -> None:
    agrees(
        e.loop_impedance_maximum,
        e.loop_impedance_maximum(rating, curve, 230.0),
        ohms,
        outside.recalled("BS 7671, table 41.3"),
        abs=5.1e-3,
    )


@pytest.mark.parametrize(("curve", "multiple"), [("B", 5), ("C", 10), ("D", 20)])
def test_loop_impedance_lets_the_tripping_current_flow(curve: str, multiple: float) -> None:
    # Multiples of IEC 60898-1: from memory.
    ohms = e.loop_impedance_maximum(16.0, curve, 230.0, 1.0)
    agrees(
        e.loop_impedance_maximum,
        230.0 / ohms,
        multiple * 16.0,
        outside.recalled("IEC 60898-1, instantaneous tripping"),
        rel=1e-6,
    )
    agrees(
        e.loop_impedance_maximum,
        e.loop_impedance_maximum(16.0, curve, 230.0),
        0.95 * ohms,
        outside.HAND,
        rel=1e-6,
    )


def test_unknown_curve() -> None:
    with pytest.raises(UnknownEntryError, match="breaker curve: no entry for 'K'; known: 'B', 'C', 'D'"):
        e.loop_impedance_maximum(16.0, "K", 230.0)


def test_measured_share() -> None:
    # IEC 60364-6 Annex D, two thirds; BS 7671 guidance, 0.8: from memory.
    agrees(
        e.loop_impedance_measured_maximum,
        e.loop_impedance_measured_maximum(3.0),
        2.0,
        outside.recalled("IEC 60364-6, Annex D"),
        rel=1e-6,
    )
    agrees(
        e.loop_impedance_measured_maximum,
        e.loop_impedance_measured_maximum(2.73, "BS 7671"),
        2.184,
        outside.recalled("BS 7671 guidance, 0.8"),
        rel=1e-6,
    )


def test_loop_impedance_behind_a_residual_current_device() -> None:
    # BS 7671 table 41.5: 30 mA 1667 ohm, 100 mA 500 ohm, 300 mA 167 ohm: from memory.
    for residual, ohms in {0.030: 1667, 0.100: 500, 0.300: 167}.items():
        agrees(
            e.residual_loop_impedance_maximum,
            e.residual_loop_impedance_maximum(residual),
            ohms,
            outside.recalled("BS 7671, table 41.5"),
            abs=0.5,
        )


def test_loop_impedance_expected() -> None:
    agrees(
        e.loop_impedance_expected, e.loop_impedance_expected(0.35, 0.15, 0.2), 0.70, outside.HAND, rel=1e-6
    )


@pytest.mark.parametrize(
    ("volts", "tn", "tt"),
    # IEC 60364-4-41 table 41.1: from memory.
    [
        (50.001, 0.8, 0.3), (120.0, 0.8, 0.3), (120.5, 0.4, 0.2), (230.0, 0.4, 0.2),
        (230.5, 0.2, 0.07), (400.0, 0.2, 0.07), (401.0, 0.1, 0.04), (1000.0, 0.1, 0.04),
    ],
)  # fmt: skip
def test_disconnection_time(volts: float, tn: float, tt: float) -> None:
    agrees(
        e.disconnection_time,
        e.disconnection_time(volts, "TN"),
        tn,
        outside.recalled("IEC 60364-4-41, table 41.1"),
    )
    agrees(
        e.disconnection_time,
        e.disconnection_time(volts, "TT"),
        tt,
        outside.recalled("IEC 60364-4-41, table 41.1"),
    )
    agrees(
        e.disconnection_time,
        e.disconnection_time(volts, "TN", final=False),
        5.0,
        outside.recalled("IEC 60364-4-41, table 41.1"),
    )
    agrees(
        e.disconnection_time,
        e.disconnection_time(volts, "TT", final=False),
        1.0,
        outside.recalled("IEC 60364-4-41, table 41.1"),
    )


def test_disconnection_time_of_another_system() -> None:
    with pytest.raises(UnknownEntryError, match="earthing system: no entry for 'IT'"):
        e.disconnection_time(230.0, "IT")


def test_residual_current_limits() -> None:
    # Standing leakage 30 % of the rating (common practice, from memory); no trip up to half (IEC 61008-1).
    agrees(
        e.standing_leakage_limit,
        e.standing_leakage_limit(0.030),
        0.009,
        standard(e.standing_leakage_limit),
        rel=1e-6,
    )
    agrees(e.residual_no_trip, e.residual_no_trip(0.030), 0.015, standard(e.residual_no_trip), rel=1e-6)
    agrees(e.standing_leakage_share, e.standing_leakage_share(0.0045, 0.030), 0.15, outside.HAND, rel=1e-6)


def test_break_times() -> None:
    # IEC 61008-1, general type: from memory.
    agrees(
        e.residual_break_time,
        [e.residual_break_time(k) for k in (1, 2, 5)],
        [0.3, 0.15, 0.04],
        standard(e.residual_break_time),
    )
    with pytest.raises(UnknownEntryError):
        e.residual_break_time(3)


@pytest.mark.parametrize("rating", [0.005, 0.006, 0.010, 0.030, 0.100, 0.300, 0.500])
def test_residual_rating_minimum(rating: float) -> None:
    agrees(
        e.residual_rating_minimum,
        e.residual_rating_minimum(0.2999 * rating),
        rating,
        standard(e.residual_rating_minimum),
    )
    above = [r for r in e.RESIDUAL_RATINGS if r > rating]
    if above:
        agrees(
            e.residual_rating_minimum,
            e.residual_rating_minimum(0.3001 * rating),
            min(above),
            standard(e.residual_rating_minimum),
        )
    else:
        with pytest.raises(OutOfRangeError) as caught:
            e.residual_rating_minimum(0.3001 * rating)
        assert caught.value.high == pytest.approx(0.15)


@given(st.floats(0, 0.149))
def test_residual_rating_leaves_room(leakage: float) -> None:
    rating = e.residual_rating_minimum(leakage)
    assert leakage <= e.standing_leakage_limit(rating)
    assert leakage < e.residual_no_trip(rating)


@pytest.mark.parametrize(
    ("volts", "extra_low", "test", "ohms"),
    # IEC 60364-6 table 6.1: from memory.
    [
        (24.0, True, 250.0, 0.5e6), (50.0, True, 250.0, 0.5e6), (230.0, False, 500.0, 1e6),
        (500.0, False, 500.0, 1e6), (501.0, False, 1000.0, 1e6), (1000.0, False, 1000.0, 1e6),
    ],
)  # fmt: skip
def test_insulation(volts: float, extra_low: bool, test: float, ohms: float) -> None:
    agrees(
        e.insulation_test_voltage,
        e.insulation_test_voltage(volts, extra_low),
        test,
        outside.recalled("IEC 60364-6, table 6.1"),
    )
    agrees(
        e.insulation_minimum,
        e.insulation_minimum(volts, extra_low),
        ohms,
        outside.recalled("IEC 60364-6, table 6.1"),
    )


def test_extra_low_voltage_ends_at_50_volts() -> None:
    with pytest.raises(OutOfRangeError) as caught:
        e.insulation_minimum(50.1, True)
    assert (caught.value.low, caught.value.high) == (0.0, 50.0)


def test_protective_conductor() -> None:
    # IEC 60228, published: 2.5 mm2 class 2 7.41, class 5 7.98 ohm/km at 20 degC.
    agrees(
        e.protective_conductor_resistance,
        e.protective_conductor_resistance(20.0, 2.5e-6),
        0.1482,
        outside.IEC_60228,
        rel=1e-6,
    )
    agrees(
        e.protective_conductor_resistance,
        e.protective_conductor_resistance(20.0, 2.5e-6, 5),
        0.1596,
        outside.IEC_60228,
        rel=1e-6,
    )
    warm = e.protective_conductor_resistance(20.0, 2.5e-6, 2, 303.15)
    agrees(e.protective_conductor_resistance, warm, 0.1482 * 1.0393, outside.IEC_60228, rel=1e-6)
    # IEC 60335-1, 27.5, 0.1 ohm inside the appliance: from memory.
    agrees(
        e.continuity_maximum, e.continuity_maximum(0.1482), 0.2482, standard(e.continuity_maximum), rel=1e-6
    )


@pytest.mark.parametrize(
    ("line", "protective"),
    # IEC 60364-5-54 table 54.2: from memory.
    [(2.5, 2.5), (16, 16), (16.5, 16), (25, 16), (35, 16), (35.2, 17.6), (36, 18), (70, 35)],
)
def test_protective_section_minimum(line: float, protective: float) -> None:
    agrees(
        e.protective_section_minimum,
        e.protective_section_minimum(line * 1e-6),
        protective * 1e-6,
        standard(e.protective_section_minimum),
        rel=1e-6,
    )


IDN = (0.001, 30)


@pytest.mark.parametrize(
    ("kernel", "good", "bounds"),
    [
        (
            e.loop_impedance_maximum,
            {"rating": 16.0, "curve": "B", "voltage": 230.0, "c_min": 0.95},
            {"rating": (0.5, 1000), "voltage": (50, 1000), "c_min": (0.8, 1)},
        ),
        (e.loop_impedance_measured_maximum, {"maximum": 1.0}, {"maximum": (0, 1e4)}),
        (e.residual_loop_impedance_maximum, {"residual": 0.03}, {"residual": IDN}),
        (
            e.loop_impedance_expected,
            {"external": 0.3, "line": 0.1, "protective": 0.1},
            {"external": (0, 1e4), "line": (0, 1e3), "protective": (0, 1e3)},
        ),
        (e.disconnection_time, {"voltage": 230.0, "system": "TN"}, {"voltage": (50.001, 1000)}),
        (e.standing_leakage_limit, {"residual": 0.03}, {"residual": IDN}),
        (
            e.standing_leakage_share,
            {"leakage": 0.003, "residual": 0.03},
            {"leakage": (0, 30), "residual": IDN},
        ),
        (e.residual_no_trip, {"residual": 0.03}, {"residual": IDN}),
        (e.residual_rating_minimum, {"leakage": 0.003}, {"leakage": (0, 30)}),
        (e.insulation_test_voltage, {"voltage": 230.0}, {"voltage": (0, 1000)}),
        (e.insulation_minimum, {"voltage": 230.0}, {"voltage": (0, 1000)}),
        (
            e.protective_conductor_resistance,
            {"length": 20.0, "section": 2.5e-6, "T": 293.15},
            {"length": (0, 1000), "section": (0.5e-6, 50e-6), "T": (233.15, 423.15)},
        ),
        (e.continuity_maximum, {"conductor": 0.1}, {"conductor": (0, 1000)}),
        (e.protective_section_minimum, {"section": 2.5e-6}, {"section": (0.5e-6, 1e-3)}),
    ],
    ids=lambda found: getattr(getattr(found, "info", None), "name", ""),
)
def test_valid_ranges(kernel, good, bounds) -> None:
    check_bounds(kernel, good, bounds)


def test_no_figure_is_not_a_number() -> None:
    assert math.isfinite(e.loop_impedance_maximum(1000.0, "D", 50.0, 0.8))
