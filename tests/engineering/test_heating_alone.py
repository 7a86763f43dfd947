"""One boiler alone, step by step: against integrations, another steam table, and by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from iapws import IAPWS97
from scipy.integrate import solve_ivp

from procgen.engineering import heating as h
from procgen.engineering import heating_alone as alone

from . import outside
from .oracle import agrees

C = 273.15
ROOM, START, SET = 20 + C, 15 + C, 93 + C
#: Capacity of a group J/K, conductance to the boiler and to the room W/K.
GROUP = (1540.0, 5.0, 1.0)


def cp(T: float) -> float:
    """Specific heat of liquid water under its own pressure or one atmosphere."""
    return float(PropsSI("C", "T", T, "P", 1e6, "Water"))


def integrated(mass: float, metal: float, power: float):
    """Boiler and group as two masses, to the set point."""
    UA, (C_group, inner, outer) = 0.8, GROUP

    def rates(_: float, y: list[float]) -> list[float]:
        across = inner * (y[0] - y[1])
        return [
            (power - UA * (y[0] - ROOM) - across) / (mass * cp(y[0]) + metal),
            (across - outer * (y[1] - ROOM)) / C_group,
        ]

    def there(_: float, y: list[float]) -> float:
        return y[0] - SET

    there.terminal = True  # type: ignore[attr-defined]
    return solve_ivp(
        rates, (0, 2e4), [START, ROOM], events=there, rtol=1e-9, atol=1e-9, max_step=5.0, dense_output=True
    )


def test_mean_heats_by_another_implementation() -> None:
    found = alone.heats()
    assert len(found) == 40
    for k in (0, 3, 15, 25, 39):
        low, high = C + 5.0 * k, C + 5.0 * (k + 1)
        h_low, h_high = (IAPWS97(T=T, P=max(0.101325, _boiling(T) + 1e-9)).h for T in (low, high))
        agrees(alone.heats, found[k], (h_high - h_low) * 1e3 / 5.0, outside.IAPWS, rel=1e-6)


def _boiling(T: float) -> float:
    """Saturation pressure, MPa."""
    return float(IAPWS97(T=T, x=0).P)


def test_step_is_half_a_minute_or_an_eighth_of_the_shorter_lag() -> None:
    # Lags: (0.8 x 4180 + 577.5)/(0.8 + 5) = 676 s and 1540/6 = 256.67 s, so 32.08 s: 30 s is shorter.
    agrees(alone.step_length, alone.step_length(0.8, 577.5, 0.8, *GROUP), 30.0, outside.HAND, rel=1e-9)
    # A light group: 600/6 = 100 s, an eighth of it.
    agrees(
        alone.step_length, alone.step_length(0.8, 577.5, 0.8, 600.0, 5.0, 1.0), 12.5, outside.HAND, rel=1e-9
    )
    # A leaky little boiler without a group: (0.1 x 4180 + 82)/5 = 100 s.
    agrees(alone.step_length, alone.step_length(0.1, 82.0, 5.0, 0.0, 0.0, 0.0), 12.5, outside.HAND, rel=1e-9)


@pytest.mark.parametrize(("mass", "metal", "power"), [(0.8, 577.5, 1000.0), (1.5, 900.0, 1400.0)])
def test_a_boiler_with_its_group_against_an_integration(mass: float, metal: float, power: float) -> None:
    run = integrated(mass, metal, power)
    step = alone.step_length(mass, metal, 0.8, *GROUP)
    found = alone.heat(mass, metal, 0.8, power, GROUP, ROOM, START, SET, step)
    agrees(alone.heat, found.reached, run.t_events[0][0], outside.INTEGRATED, rel=2e-3)
    agrees(alone.heat, found.T_group, run.y[1, -1], outside.INTEGRATED, abs=0.1, unit="K")
    agrees(alone.heat, found.energy, power * run.t_events[0][0], outside.INTEGRATED, rel=2e-3)


def test_a_held_boiler_against_an_integration() -> None:
    start = alone.heat(0.8, 577.5, 0.8, 1000.0, GROUP, ROOM, START, SET, 30.0)
    C_group, inner, outer = GROUP
    span = 900.0

    def rates(_: float, y: list[float]) -> list[float]:
        across = inner * (SET - y[0])
        return [(across - outer * (y[0] - ROOM)) / C_group, 0.8 * (SET - ROOM) + across]

    run = solve_ivp(rates, (0, span), [start.T_group, 0.0], rtol=1e-10, atol=1e-8, dense_output=True)
    held = alone.hold(start, 0.8, GROUP, ROOM, SET, start.reached + span)
    agrees(alone.hold, held.T_group, run.y[0, -1], outside.GROUP_INTEGRATED, abs=1e-4, unit="K")
    agrees(alone.hold, held.energy, run.y[1, -1], outside.GROUP_INTEGRATED, rel=1e-6)
    after = held.groups[len(start.groups) :]
    expected = [run.sol(t - start.reached)[0] for t, _ in after]
    agrees(alone.hold, [T for _, T in after], expected, outside.GROUP_INTEGRATED, abs=1e-4, unit="K")


def test_curve_on_its_way_against_an_integration() -> None:
    metal, UA, power = ((5.0, 385.0), (2.0, 500.0)), 6.0, 2500.0

    def rate(_: float, T: list[float]) -> list[float]:
        return [(power - UA * (T[0] - ROOM)) / (10.0 * cp(T[0]) + 2925.0)]

    run = solve_ivp(rate, (0, 3000), [START], rtol=1e-9, max_step=20, dense_output=True)
    points = [
        point for point in h.heat_curve(10.0, metal, UA, power, ROOM, START, 125 + C) if point[0] < 3000
    ]
    assert len(points) > 15
    for seconds, kelvin in points[1:]:
        agrees(h.heat_curve, kelvin, run.sol(seconds)[0], outside.INTEGRATED, abs=0.15, unit="K")
    assert np.all(np.diff([t for t, _ in points]) > 0)
    assert math.isfinite(points[-1][0])
