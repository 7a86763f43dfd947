"""Lifting against the examples of the revised NIOSH equation's manual, teams, and the load on the counter."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from procgen.engineering import handling as h
from procgen.engineering.handling import People
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.sources_general import UnknownEntryError

from . import outside
from .bounds_general import check_bounds
from .oracle import agrees, standard

INCH = 0.0254
LB = 0.45359237


def us_pounds(H: float, V: float, D: float, A: float = 0.0, FM: float = 1.0, CM: float = 1.0) -> float:
    found = h.rwl_us(H=H * INCH, V=V * INCH, D=D * INCH, A=math.radians(A), FM=FM, CM=CM)
    return found / LB


def test_manual_example_4() -> None:
    # DHHS 94-110 example 4, published: 34.9 lb on the worksheet with rounded multipliers, 34.8 in full
    # precision; destination 15.2.
    origin = us_pounds(10, 22, 37, FM=0.88, CM=0.95)
    agrees(h.rwl_us, origin, 34.81, outside.NIOSH_EXAMPLE_4, abs=0.01, unit="lb")
    destination = us_pounds(20, 59, 37, FM=0.88)
    agrees(h.rwl_us, destination, 15.2, outside.NIOSH_EXAMPLE_4, abs=0.06, unit="lb")


def test_manual_example_1() -> None:
    # DHHS 94-110 example 1: H 23, V 15, D 48 in, fair coupling, one lift in five minutes: 16.3 lb, index 2.7
    # for 44 lb: from memory. Its multipliers are rounded (.44, .89, .86, .95); full precision gives 16.03.
    limit = us_pounds(23, 15, 48, FM=1.0, CM=0.95)
    assert pytest.approx(16.3, abs=0.05) == 51 * 0.44 * 0.89 * 0.86 * 0.95
    agrees(h.rwl_us, limit, 16.3, outside.NIOSH_EXAMPLE_1, rel=0.02)
    agrees(h.rwl_us, limit, 16.03, outside.NIOSH_FORMULA, abs=0.005, unit="lb")
    agrees(h.lifting_index, h.lifting_index(44.0 * LB, limit * LB), 2.7, outside.NIOSH_EXAMPLE_1, abs=0.05)


def test_the_ideal_lift() -> None:
    # Load constants 23 kg and 51 lb; the two forms are no exact conversions.
    agrees(h.rwl, h.rwl(H=0.25, V=0.75, D=0.25), 23.0, outside.NIOSH_FORMULA, rel=1e-6)
    agrees(h.rwl_us, us_pounds(10, 30, 10), 51.0, outside.NIOSH_FORMULA, rel=1e-6)
    # Closer or shorter than the constants' case earns nothing.
    agrees(h.rwl, h.rwl(H=0.1, V=0.75, D=0.0), 23.0, outside.NIOSH_FORMULA, rel=1e-6)
    agrees(h.rwl_us, us_pounds(5, 30, 0), 51.0, outside.NIOSH_FORMULA, rel=1e-6)


@pytest.mark.parametrize(
    ("change", "factor"),
    # DHHS 94-110, metric multiplier tables, two decimals: HM, VM, DM, AM (from memory).
    [
        ({"H": 0.40}, 0.63), ({"H": 0.63}, 0.40), ({"V": 0.0}, 0.78), ({"V": 1.75}, 0.70),
        ({"V": 1.2}, 0.87), ({"D": 0.70}, 0.88), ({"D": 1.75}, 0.85), ({"A": math.radians(90)}, 0.71),
        ({"A": math.radians(135)}, 0.57),
    ],
)  # fmt: skip
def test_metric_multipliers(change: dict[str, float], factor: float) -> None:
    base = {"H": 0.25, "V": 0.75, "D": 0.25}
    agrees(h.rwl, h.rwl(**{**base, **change}) / 23.0, factor, outside.NIOSH_MULTIPLIERS, abs=5.1e-3, unit="")


def test_metric_multipliers_in_full() -> None:
    found = h.rwl(H=0.50, V=0.25, D=0.50, A=math.radians(45), FM=0.94, CM=0.95)
    expected = 23 * 0.5 * (1 - 0.003 * 50) * (0.82 + 0.09) * (1 - 0.0032 * 45) * 0.94 * 0.95
    agrees(h.rwl, found, expected, outside.NIOSH_FORMULA, rel=1e-9)


def test_us_multipliers_in_full() -> None:
    found = us_pounds(20, 50, 20, 45, 0.94, 0.95)
    expected = 51 * 0.5 * (1 - 0.0075 * 20) * (0.82 + 0.09) * (1 - 0.0032 * 45) * 0.94 * 0.95
    agrees(h.rwl_us, found, expected, outside.NIOSH_FORMULA, rel=1e-9)


LENGTH = st.floats(0.25, 0.62)


@given(LENGTH, st.floats(0.0, 1.7), st.floats(0.25, 1.7), st.floats(0, 2.3))
def test_the_two_forms_differ_by_their_printed_coefficients(H: float, V: float, D: float, A: float) -> None:
    # DHHS 94-110: 23 kg and 51 lb, 25 cm and 10 in, 0.003/75 cm and 0.0075/30 in, 4.5 and 1.8.
    metric, us = h.rwl(H=H, V=V, D=D, A=A), h.rwl_us(H=H, V=V, D=D, A=A)
    ratio = 51 * LB / 23 * (10 / max(H / INCH, 10)) / (25 / max(100 * H, 25))
    ratio *= (1 - 0.0075 * abs(V / INCH - 30)) / (1 - 0.003 * abs(100 * V - 75))
    ratio *= (0.82 + 1.8 / max(D / INCH, 10)) / (0.82 + 4.5 / max(100 * D, 25))
    assert us == pytest.approx(metric * ratio, rel=1e-9)
    assert h.rwl(H=H + 0.01, V=V, D=D, A=A) < metric
    assert h.rwl(H=H, V=V, D=D + 0.01, A=A) < metric
    assert h.rwl(H=H, V=V, D=D, A=A + 0.01) < metric


@pytest.mark.parametrize(
    ("per_minute", "factors"),
    # DHHS 94-110 table 5, up to 1 h, 2 h, 8 h: from memory.
    [
        (0.0, (1.00, 0.95, 0.85)), (0.2, (1.00, 0.95, 0.85)), (0.201, (0.97, 0.92, 0.81)),
        (0.5, (0.97, 0.92, 0.81)), (0.501, (0.94, 0.88, 0.75)), (1.0, (0.94, 0.88, 0.75)),
    ],
)  # fmt: skip
def test_frequency_multiplier(per_minute: float, factors: tuple[float, float, float]) -> None:
    for hours, factor in zip((1.0, 2.0, 8.0), factors, strict=True):
        agrees(
            h.frequency_multiplier,
            h.frequency_multiplier(per_minute, hours),
            factor,
            standard(h.frequency_multiplier),
        )
    agrees(
        h.frequency_multiplier,
        h.frequency_multiplier(per_minute, 1.001),
        factors[1],
        standard(h.frequency_multiplier),
    )
    agrees(
        h.frequency_multiplier,
        h.frequency_multiplier(per_minute, 2.001),
        factors[2],
        standard(h.frequency_multiplier),
    )


@pytest.mark.parametrize(
    ("coupling", "low", "high"),
    # DHHS 94-110 table 7: from memory.
    [("good", 1.0, 1.0), ("fair", 0.95, 1.0), ("poor", 0.90, 0.90)],
)
def test_coupling_multiplier(coupling: str, low: float, high: float) -> None:
    agrees(
        h.coupling_multiplier, h.coupling_multiplier(coupling, 0.7499), low, standard(h.coupling_multiplier)
    )
    agrees(
        h.coupling_multiplier, h.coupling_multiplier(coupling, 0.75), high, standard(h.coupling_multiplier)
    )
    agrees(h.coupling_multiplier, h.coupling_multiplier(coupling, 0.0), low, standard(h.coupling_multiplier))


def test_unknown_coupling() -> None:
    with pytest.raises(UnknownEntryError, match="coupling: no entry for 'slippery'"):
        h.coupling_multiplier("slippery", 0.5)


def test_team_share() -> None:
    # HSE L23, published: two people two thirds, three people half of the summed capability.
    agrees(h.team_share, [h.team_share(n) for n in (1, 2, 3)], [1.0, 0.6667, 0.5], outside.HSE_L23, abs=5e-5)
    agrees(
        h.team_capability,
        [h.team_capability(n, 15.0) for n in (1, 2, 3)],
        [15.0, 20.0, 22.5],
        outside.HSE_L23,
        rel=1e-6,
    )
    for wrong in (0, 4):
        with pytest.raises(UnknownEntryError):
            h.team_share(wrong)


@pytest.mark.parametrize(
    ("mass", "people"),
    [
        (15.0, People(1, False)), (15.1, People(2, False)), (19.9, People(2, False)),
        (20.1, People(3, False)),
        (22.5, People(3, False)), (22.6, People(None, True)),
    ],
)  # fmt: skip
def test_people_needed(mass: float, people: People) -> None:
    agrees(h.people_needed, h.people_needed(mass, 15.0), people, outside.HSE_L23)


@pytest.mark.parametrize(
    ("mass", "people"), [(5.0, People(2, True)), (20.1, People(3, True)), (60.0, People(None, True))]
)
def test_people_on_stairs(mass: float, people: People) -> None:
    # Team and aid: common practice, no source.
    agrees(h.people_needed, h.people_needed(mass, 15.0, stairs=True), people, outside.PRACTICE)


@pytest.mark.parametrize(("mass", "people"), [(41.0, 2), (100.0, 2), (100.1, 3), (146.0, 3)])
def test_people_at_a_lifting_aid(mass: float, people: int) -> None:
    agrees(h.people_at_aid, h.people_at_aid(mass), people, outside.PRACTICE)


@pytest.mark.parametrize(
    ("mass", "limit", "argument", "high"),
    [
        (-1.0, 15.0, "mass", 1e4), (10_010.0, 15.0, "mass", 1e4), (10.0, -1.0, "limit", 60.0),
        (10.0, 60.1, "limit", 60.0), (math.nan, 15.0, "mass", 1e4),
    ],
)  # fmt: skip
def test_people_needed_refuses(mass: float, limit: float, argument: str, high: float) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        h.people_needed(mass, limit)
    assert (caught.value.argument, caught.value.low, caught.value.high) == (argument, 0.0, high)


def test_foot_load() -> None:
    # 80 kg: 784.5 N; two diagonal feet carry all on an uneven counter.
    agrees(h.foot_load, h.foot_load(80.0, 4), 392.27, outside.HAND, abs=0.01)
    agrees(h.foot_load, h.foot_load(80.0, 4, uneven=False), 196.13, outside.HAND, abs=0.01)
    agrees(h.foot_load, h.foot_load(90.0, 3), 294.2, outside.HAND, abs=0.01)
    assert h.foot_load(80.0, 6) == h.foot_load(80.0, 4)


def test_counter_pressure() -> None:
    # 400 N on 40 mm: 318.3 kPa.
    agrees(h.counter_pressure, h.counter_pressure(400.0, 0.040), 318_310.0, outside.HAND, abs=1.0)


METRIC = {
    "H": (0, 0.63), "V": (0, 1.75), "D": (0, 1.75), "A": (0, 135 * math.pi / 180),
    "FM": (0, 1), "CM": (0.9, 1),
}  # fmt: skip
US = {**METRIC, "H": (0, 25 * INCH), "V": (0, 70 * INCH), "D": (0, 70 * INCH)}
LIFT = {"H": 0.3, "V": 0.8, "D": 0.3, "A": 0.1, "FM": 1.0, "CM": 1.0}


@pytest.mark.parametrize(
    ("kernel", "good", "bounds"),
    [
        (h.rwl, LIFT, METRIC),
        (h.rwl_us, LIFT, US),
        (
            h.frequency_multiplier,
            {"lifts_per_minute": 0.1, "hours": 1.0},
            {"lifts_per_minute": (0, 1), "hours": (0, 8)},
        ),
        (h.coupling_multiplier, {"coupling": "fair", "V": 0.5}, {"V": (0, 1.778)}),
        (h.lifting_index, {"mass": 20.0, "limit": 15.0}, {"mass": (0, 1e4), "limit": (0.1, 60)}),
        (h.team_capability, {"people": 2, "limit": 15.0}, {"limit": (0, 60)}),
        (h.people_at_aid, {"mass": 80.0}, {"mass": (0, 1e4)}),
        (h.foot_load, {"mass": 80.0, "feet": 4}, {"mass": (0, 1e4), "feet": (3, 12)}),
        (
            h.counter_pressure,
            {"force": 400.0, "diameter": 0.04},
            {"force": (0, 1e6), "diameter": (0.005, 1)},
        ),
    ],
    ids=lambda found: getattr(getattr(found, "info", None), "name", ""),
)
def test_valid_ranges(kernel, good, bounds) -> None:
    check_bounds(kernel, good, bounds)
