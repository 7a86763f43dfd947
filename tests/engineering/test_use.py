"""What the owner asks, by arithmetic and energy balance."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from procgen.engineering import use as u
from procgen.engineering.kernel import OutOfRangeError

from . import outside
from .bounds_general import check_bounds
from .oracle import agrees

LITRE = 1e-3


def test_water_per_day() -> None:
    # 200 cups of 60 mL, 40 pots of 0.4 L, 12 L of rinsing: 40 L, by arithmetic.
    found = u.water_per_day([200, 40], [0.06 * LITRE, 0.4 * LITRE], 12 * LITRE)
    agrees(u.water_per_day, found, 40 * LITRE, outside.HAND, rel=1e-6)
    agrees(u.water_per_day, u.water_per_day([], []), 0.0, outside.HAND)
    agrees(u.water_per_day, u.water_per_day([1e5], [1.0]), 1e5, outside.HAND)


@pytest.mark.parametrize(
    ("counts", "volumes", "argument", "high"),
    [
        ([-1], [0.1], "counts", 1e5), ([1.001e5], [0.1], "counts", 1e5), ([1], [-0.1], "volumes", 1.0),
        ([1], [1.001], "volumes", 1.0), ([math.nan], [0.1], "counts", 1e5),
    ],
)  # fmt: skip
def test_water_per_day_refuses(counts, volumes, argument, high) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        u.water_per_day(counts, volumes)
    assert (caught.value.argument, caught.value.low, caught.value.high) == (argument, 0.0, high)


def test_water_per_day_of_lists_that_do_not_match() -> None:
    with pytest.raises(ValueError, match="water_per_day: counts has 1 entries, volumes has 2"):
        u.water_per_day([1], [0.1, 0.2])


def test_energy_per_day() -> None:
    # Published worked example, 20 L from 20 to 100 degC: 1.867 kWh at c = 4200 J/(kg K).
    heat_up = u.heat_drawn(20.0, 293.15, 373.15, 4200.0)
    agrees(u.heat_drawn, heat_up / 3.6e6, 1.867, outside.KETTLE, abs=5e-4, unit="kWh/day")
    # One cold start, 500 W for 10 h (5 kWh), nothing drawn; then 1 kWh drawn.
    agrees(
        u.energy_per_day,
        u.energy_per_day(heat_up, 1, 500.0, 10.0, 0.0) / 3.6e6,
        6.867,
        outside.HAND,
        abs=5e-4,
        unit="kWh/day",
    )
    agrees(
        u.energy_per_day,
        u.energy_per_day(heat_up, 2, 500.0, 10.0, 3.6e6) / 3.6e6,
        9.733,
        outside.HAND,
        abs=1e-3,
        unit="kWh/day",
    )


def test_heat_drawn_with_the_usual_heat_capacity() -> None:
    # 10 L from 20 to 93 degC; enthalpies 83.91 and 389.6 kJ/kg of the steam table, within half a per cent.
    agrees(
        u.heat_drawn,
        u.heat_drawn(10.0, 293.15, 366.15),
        10 * (389.6 - 83.91) * 1e3,
        outside.STEAM_TABLE,
        rel=5e-3,
    )
    with pytest.raises(OutOfRangeError) as caught:
        u.heat_drawn(10.0, 300.0, 299.0)
    assert (caught.value.argument, caught.value.low) == ("hot", 300.0)


def test_heat_to_room() -> None:
    # 10 kWh used, 4 kWh down drain and cup, 12 h on: 500 W.
    agrees(u.heat_to_room, u.heat_to_room(10 * 3.6e6, 4 * 3.6e6, 12.0), 500.0, outside.HAND, rel=1e-6)
    with pytest.raises(OutOfRangeError) as caught:
        u.heat_to_room(1e6, 1.1e6, 12.0)
    assert (caught.value.argument, caught.value.high) == ("drawn_away", 1e6)


@given(st.floats(0, 2000), st.floats(1, 24), st.floats(0, 1e8))
def test_an_idle_machine_gives_its_standby_to_the_room(standby: float, hours: float, drawn: float) -> None:
    energy = u.energy_per_day(0.0, 0.0, standby, hours, drawn)
    assert u.heat_to_room(energy, drawn, hours) == pytest.approx(standby, abs=1e-6 * (1 + drawn / hours))


def test_planned_time() -> None:
    agrees(u.planned_time, u.planned_time([600, 1200], [264, 1500.0]), 3564.0, outside.HAND, rel=1e-6)
    agrees(u.planned_time, u.planned_time([], []), 0.0, outside.HAND)
    agrees(u.planned_time, u.planned_time([1e6], []), 1e6, outside.HAND)
    for hands, waits in (([-1], []), ([], [1.001e6]), ([math.nan], [])):
        with pytest.raises(OutOfRangeError) as caught:
            u.planned_time(hands, waits)
        assert (caught.value.low, caught.value.high) == (0.0, 1e6)


def test_time_by_role() -> None:
    steps = [("technician", 600.0), ("electrician", 300.0), ("technician", 60.0)]
    found = u.time_by_role(iter(steps))
    agrees(u.time_by_role, found, {"technician": 660.0, "electrician": 300.0}, outside.HAND)
    assert list(found) == ["technician", "electrician"]
    agrees(u.time_by_role, u.time_by_role([("owner", 1e6)]), {"owner": 1e6}, outside.HAND)
    for wrong in (-1.0, 1.001e6):
        with pytest.raises(OutOfRangeError) as caught:
            u.time_by_role([("owner", wrong)])
        assert (caught.value.low, caught.value.high) == (0.0, 1e6)


def test_a_day() -> None:
    assert u.DAY == 24 * 60 * 60


@pytest.mark.parametrize(
    ("kernel", "good", "bounds"),
    [
        (u.water_per_day, {"counts": [1], "volumes": [0.1], "fixed": 0.1}, {"fixed": (0, 100)}),
        (
            u.energy_per_day,
            {"heat_up": 1e6, "starts": 1.0, "standby": 500.0, "hours": 10.0, "drawn": 1e6},
            {
                "heat_up": (0, 1e9), "starts": (0, 24), "standby": (0, 1e5), "hours": (0, 24),
                "drawn": (0, 1e10),
            },
        ),
        (
            u.heat_drawn,
            {"mass": 10.0, "cold": 293.15, "hot": 370.0, "heat_capacity": 4190.0},
            {
                "mass": (0, 1e5), "cold": (273.15, 373.15), "hot": (273.15, 473.15),
                "heat_capacity": (4000, 4500),
            },
        ),
        (
            u.heat_to_room,
            {"energy": 1e7, "drawn_away": 1e6, "hours": 10.0},
            {"energy": (0, 1e11), "drawn_away": (0, 1e11), "hours": (0.01, 24)},
        ),
    ],
    ids=lambda found: getattr(getattr(found, "info", None), "name", ""),
)  # fmt: skip
def test_valid_ranges(kernel, good, bounds) -> None:
    check_bounds(kernel, good, bounds)
