"""Heating one boiler with its group, where it shares nothing with the other boilers."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from functools import lru_cache

from procgen.engineering.heating import STEP
from procgen.engineering.water import LIQUID_T, enthalpy_liquid

#: Longest step of the integration, s; and how many steps make the shortest lag.
LONGEST_STEP, STEPS_PER_LAG = 30.0, 8.0
#: After this time a machine that is still not hot counts as one that never will be, s.
PATIENCE = 6 * 3600.0
GRID_TOP = 473.15
#: Points of a group's curve while its boiler is held.
SOAK_POINTS = 12

Curve = tuple[tuple[float, float], ...]
#: Group and casing: heat capacity J/K, conductance to the boiler and to the room W/K.
Group = tuple[float, float, float]


class StaysColdError(Exception):
    """The set point is not reached in PATIENCE; ``reached`` is where the boiler then stands, K."""

    def __init__(self, reached: float) -> None:
        self.reached = reached
        super().__init__(reached)


@dataclass(frozen=True)
class Alone:
    """Until the set point: when, s; the group then, K; energy given, J; curves of both, s and K."""

    reached: float
    T_group: float
    energy: float
    curve: Curve
    groups: Curve


@dataclass(frozen=True)
class Held:
    """From the set point to an end: energy, J; group at the end, K; the group's whole curve."""

    energy: float
    T_group: float
    groups: Curve


@lru_cache(maxsize=1)
def heats() -> tuple[float, ...]:
    """Mean specific heat of water on a grid of 5 K, from its enthalpy.

    Formula: (h(T + 5 K) - h(T))/5 K from 273.15 K on.
    Args: none
    Returns: specific heats, J/(kg·K).
    Valid: 273.15..473.15 K.
    Raises: nothing.
    Source: IAPWS R7-97.
    """
    count = round((GRID_TOP - LIQUID_T[0]) / STEP)
    h = [enthalpy_liquid(LIQUID_T[0] + STEP * k) for k in range(count + 1)]
    return tuple((b - a) / STEP for a, b in itertools.pairwise(h))


@lru_cache(maxsize=1024)
def _capacities(m_water: float, C_metal: float) -> tuple[float, ...]:
    """Heat capacity of a boiler on the grid of its water's specific heat, J/K."""
    return tuple(m_water * heat + C_metal for heat in heats())


def step_length(
    m_water: float, C_metal: float, UA: float, C_group: float, UA_group: float, UA_room: float
) -> float:
    """Step of the integration of one boiler and its group.

    Formula: 30 s, or an eighth of the shorter lag.
    Args:
        m_water: mass of water, kg.
        C_metal: heat capacity of the shell, J/K.
        UA: loss to the room, W/K.
        C_group: heat capacity of the group, J/K.
        UA_group: conductance between boiler and group, W/K.
        UA_room: conductance between group and room, W/K.
    Returns: step, s.
    Valid: not negative.
    Raises: nothing.
    Source: own convention.
    """
    lags = [LONGEST_STEP * STEPS_PER_LAG]
    if UA + UA_group > 0.0:
        lags.append((m_water * 4180.0 + C_metal) / (UA + UA_group))
    if UA_group > 0.0:
        lags.append(C_group / (UA_group + UA_room))
    return min(lags) / STEPS_PER_LAG


@lru_cache(maxsize=2048)
def heat(
    m_water: float,
    C_metal: float,
    UA: float,
    power: float,
    group: Group,
    T_amb: float,
    T_start: float,
    T_set: float,
    step: float,
) -> Alone:
    """One boiler from cold to its set point at constant power.

    Formula: as heating_machine.machine_heating for a boiler that shares nothing, by Heun's method.
    Args:
        m_water: mass of water, kg.
        C_metal: heat capacity of the shell, J/K.
        UA: loss to the room, W/K.
        power: power of its elements, W.
        group: capacity J/K, conductance to boiler and room W/K; conductance 0 for none.
        T_amb: room temperature, K.
        T_start: temperature at the start, K.
        T_set: set point, K.
        step: longest step, s.
    Returns: Alone.
    Valid: checked by machine_heating.
    Raises: StaysColdError.
    Source: heat balance of lumped masses; IAPWS R7-97.
    """
    C_group, UA_group, UA_room = group
    capacity, low = _capacities(m_water, C_metal), LIQUID_T[0]
    top = len(capacity) - 1
    T, G, clock = T_start, T_amb, 0.0
    curve, groups = [(0.0, T)], [(0.0, G)]
    per_group = 1.0 / C_group if UA_group else 0.0
    while T_set - T > 1e-7:
        across = UA_group * (T - G)
        k = int((T - low) / STEP)
        dT = (power - UA * (T - T_amb) - across) / capacity[k if k < top else top]
        dG = (across - UA_room * (G - T_amb)) * per_group
        h = step
        for _ in range(6):
            T2, G2 = T + h * dT, G + h * dG
            across2 = UA_group * (T2 - G2)
            k = int((T2 - low) / STEP)
            eT = (power - UA * (T2 - T_amb) - across2) / capacity[k if k < top else top]
            new_T = T + 0.5 * h * (dT + eT)
            new_G = G + 0.5 * h * (dG + (across2 - UA_room * (G2 - T_amb)) * per_group)
            if new_T <= T_set + 1e-9:
                break
            # Shorten the step until it lands on the set point.
            h *= (T_set - T) / (new_T - T)
        T, G, clock = new_T, new_G, clock + h
        curve.append((clock, min(T, T_set)))
        groups.append((clock, G))
        if clock > PATIENCE:
            raise StaysColdError(T)
    return Alone(clock, G, power * clock, tuple(curve), tuple(groups))


def hold(start: Alone, UA: float, group: Group, T_amb: float, T_set: float, end: float) -> Held:
    """The same boiler held at its set point while its group approaches its final temperature.

    Formula: G(t) = G_inf + (G_0 - G_inf)·exp(-t/lag); the element gives UA·(T - T_amb) + UA_g·(T - G).
    Args:
        start: the boiler at its set point.
        UA: loss to the room, W/K.
        group: capacity J/K, conductance to boiler and room W/K.
        T_amb: room temperature, K.
        T_set: set point, K.
        end: time to which it is held, s.
    Returns: Held.
    Valid: end not before the set point.
    Raises: nothing.
    Source: first-order lag of a lumped mass, integrated.
    """
    C_group, UA_group, UA_room = group
    span = max(0.0, end - start.reached)
    energy, G = UA * (T_set - T_amb) * span, start.T_group
    if not UA_group or span == 0.0:
        return Held(energy, G, start.groups)
    total = UA_group + UA_room
    lag, final = C_group / total, (UA_group * T_set + UA_room * T_amb) / total
    energy += UA_group * ((T_set - final) * span - (G - final) * lag * (1.0 - math.exp(-span / lag)))
    steps = [span * k / SOAK_POINTS for k in range(1, SOAK_POINTS + 1)]
    after = tuple((start.reached + t, final + (G - final) * math.exp(-t / lag)) for t in steps)
    return Held(energy, after[-1][1], start.groups + after)
