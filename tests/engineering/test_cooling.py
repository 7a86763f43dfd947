"""Cooling of a vessel against the integration of its heat balance."""

from __future__ import annotations

import math

import pytest
from scipy.integrate import solve_ivp

from procgen.engineering import cooling
from procgen.engineering.kernel import OutOfRangeError
from tests.engineering import outside
from tests.engineering.oracle import agrees


@pytest.mark.parametrize(
    ("capacity", "loss", "start", "end", "room"),
    [
        (35_800.0, 2.1, 364.4, 316.15, 289.15),
        (43_000.0, 3.1, 371.0, 313.15, 296.15),
        (9e3, 0.5, 350.0, 340.0, 260.0),
    ],
)
def test_cooling_time(capacity: float, loss: float, start: float, end: float, room: float) -> None:
    def reached(_: float, T: list[float]) -> float:
        return T[0] - end

    reached.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(
        lambda _, T: [-loss * (T[0] - room) / capacity],
        (0, 1e6),
        [start],
        events=reached,
        rtol=1e-10,
        atol=1e-9,
    )
    got = cooling.cooling_time(capacity, loss, start, end, room)
    agrees(cooling.cooling_time, got, float(run.t_events[0][0]), outside.GROUP_INTEGRATED, rel=1e-6)


def test_what_is_cold_need_not_cool() -> None:
    assert cooling.cooling_time(1e4, 2.0, 310.0, 316.0, 290.0) == 0.0


def test_a_room_as_warm_as_that_never_lets_it_cool() -> None:
    with pytest.raises(OutOfRangeError):
        cooling.cooling_time(1e4, 2.0, 370.0, 316.0, 316.0)
    assert cooling.cooling_time(1e4, 2.0, 370.0, 316.0, 315.9) > 0.0


CASE = {"capacity": 1e4, "loss": 2.0, "start": 370.0, "end": 316.0, "room": 290.0}


@pytest.mark.parametrize(
    ("argument", "low", "high"),
    [
        ("capacity", 0.0, 1e7),
        ("loss", 1e-3, 1e4),
        ("start", 233.15, 473.15),
        ("end", 233.15, 473.15),
        ("room", 233.15, 473.15),
    ],
)
def test_ends_of_what_it_takes(argument: str, low: float, high: float) -> None:
    for outside_ in (math.nextafter(low, -math.inf), math.nextafter(high, math.inf)):
        with pytest.raises(OutOfRangeError) as caught:
            cooling.cooling_time(**{**CASE, argument: outside_})
        assert (caught.value.argument, caught.value.low, caught.value.high) == (argument, low, high)
    for inside in (low, high):
        try:
            assert cooling.cooling_time(**{**CASE, argument: inside}) >= 0.0
        except OutOfRangeError as refused:
            # An end in itself, too near the other temperature.
            assert (refused.argument, refused.high) == (
                "room",
                pytest.approx({**CASE, argument: inside}["end"] - 0.1),
            )


def test_how_near_the_room_may_come() -> None:
    near = 316.0 - 0.1
    assert cooling.cooling_time(1e4, 2.0, 370.0, 316.0, near) > 0.0
    with pytest.raises(OutOfRangeError) as caught:
        cooling.cooling_time(1e4, 2.0, 370.0, 316.0, math.nextafter(near, 400.0))
    assert (caught.value.argument, caught.value.high) == ("room", near)
