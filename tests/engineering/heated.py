"""Boilers heated by scipy's integrator with CoolProp's water: the staging rule written once more."""

from __future__ import annotations

import math
from functools import cache
from typing import NamedTuple

import numpy as np
from CoolProp.CoolProp import PropsSI
from scipy.integrate import solve_ivp

from procgen.engineering.heating_stretch import HeatedBoiler

_GRID = np.linspace(273.16, 470.0, 400)
_PRESSURE = [max(101325.0, 1.0001 * PropsSI("P", "T", T, "Q", 0, "Water")) for T in _GRID]
_HEAT = np.array([PropsSI("C", "T", T, "P", p, "Water") for T, p in zip(_GRID, _PRESSURE, strict=True)])


def cp(T: float) -> float:
    """Specific heat of liquid water at one atmosphere, just above saturation where it would boil."""
    return float(np.interp(T, _GRID, _HEAT))


def enthalpy(T: float) -> float:
    """Of liquid water at one atmosphere, saturated where it would boil, J/kg."""
    given = ("P", 101325) if T < 373.0 else ("Q", 0)
    return float(PropsSI("H", "T", max(T, 273.16), *given, "Water"))


class Way(NamedTuple):
    """When a boiler is at its set point, its group then; energy given and lost until then, kept after it."""

    reached: float
    T_group: float
    energy: float
    lost: float
    kept: float


def fitting(elements: tuple[float, ...], left: float) -> float:
    on = 0.0
    for power in elements:
        on += power if on + power <= left else 0.0
    return on


@cache
def integrated(
    boilers: tuple[HeatedBoiler, ...], T_amb: float, T_start: float, limit: float = math.inf, end: float = 0.0
) -> tuple[Way, ...]:
    """All to their set points under a limit, and held to an end (where that is later)."""
    n = len(boilers)
    full = [fitting(b.elements, limit) for b in boilers]

    def flows(y):
        return [(b.UA * (y[i] - T_amb), b.UA_group * (y[i] - y[n + i])) for i, b in enumerate(boilers)]

    def switched(held, busy):
        left, given = limit - busy, []
        for b, done in zip(boilers, held, strict=True):
            given.append(0.0 if done else fitting(b.elements, left))
            left -= given[-1]
        return given

    def rates(y, held):
        out = flows(y)
        powers = switched(held, 0.0)
        keeping = [i for i in range(n) if held[i] and full[i] and sum(out[i]) > 0]
        if keeping:
            duty = min(1.0, sum(sum(out[i]) / full[i] for i in keeping))
            beside = switched(held, max(full[i] for i in keeping))
            powers = [(1 - duty) * a + duty * b for a, b in zip(powers, beside, strict=True)]
        T, G, E, L = [], [], [], []
        for i, b in enumerate(boilers):
            power = sum(out[i]) if held[i] else powers[i]
            T.append(0.0 if held[i] else (power - sum(out[i])) / (b.m_water * cp(y[i]) + b.C_metal))
            G.append((out[i][1] - b.UA_room * (y[n + i] - T_amb)) / b.C_group if b.UA_group else 0.0)
            E.append(power)
            L.append(sum(out[i]))
        return [*T, *G, *E, *L]

    def run(y, held, clock, until):
        events = []
        for i, b in enumerate(boilers):
            if not held[i]:

                def there(_, y, i=i, b=b):
                    return y[i] - b.T_set

                there.terminal, there.direction = True, 1
                events.append(there)
        return solve_ivp(
            lambda _, y: rates(y, held), (clock, until), y, events=events, rtol=1e-9, atol=1e-7, max_step=20.0
        )

    held = [b.T_set <= T_start for b in boilers]
    y, clock = [T_start] * n + [T_amb] * n + [0.0] * 2 * n, 0.0
    found: dict[int, tuple[float, float, float, float]] = {
        i: (0.0, T_amb, 0.0, 0.0) for i in range(n) if held[i]
    }
    while not all(held):
        done = run(y, tuple(held), clock, clock + 4e4)
        assert done.status == 1, "a set point is never reached"
        clock, y = float(done.t[-1]), [float(x) for x in done.y[:, -1]]
        for i, b in enumerate(boilers):
            if not held[i] and y[i] >= b.T_set - 1e-6:
                held[i], y[i] = True, b.T_set
                found[i] = (clock, y[n + i], y[2 * n + i], y[3 * n + i])
    if end > clock:
        y = [float(x) for x in run(y, tuple(held), clock, end).y[:, -1]]
    return tuple(Way(*found[i], y[2 * n + i] - found[i][2]) for i in range(n))


def ready(boilers: tuple[HeatedBoiler, ...], T_amb: float, ways: tuple[Way, ...]) -> float:
    """When the last group is within 2 K of its final temperature."""
    times = []
    for b, way in zip(boilers, ways, strict=True):
        times.append(way.reached)
        if b.UA_group:
            total = b.UA_group + b.UA_room
            gap = (b.UA_group * b.T_set + b.UA_room * T_amb) / total - way.T_group
            times[-1] += b.C_group / total * math.log(gap / 2.0)
    return max(times)
