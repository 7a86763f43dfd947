"""Heating a whole machine: boilers that share a supply, groups that soak, and when each is ready."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from procgen.engineering import heating_alone
from procgen.engineering.heating import AMBIENT, NOT_REACHED, STEP, time_soak
from procgen.engineering.heating_alone import GRID_TOP, LONGEST_STEP, PATIENCE, STEPS_PER_LAG
from procgen.engineering.heating_run import REACHED, HeatedBoiler, Run
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.unavailable import UnavailableError
from procgen.engineering.water import LIQUID_T, saturation_temperature

#: A boiler or group that follows its neighbours faster than this is none of an espresso machine's, s.
SHORTEST_LAG = 4.0
#: Equal steps that are looked ahead at once.
STRIDE = 16


@dataclass(frozen=True)
class BoilerHeat:
    """When one boiler is at set point and ready (s), its curves (s, K), its energy to the last ready (J)."""

    mark: str
    #: Within the thermostat's hysteresis, at set point, and with its group soaked.
    time_within: float
    time_setpoint: float
    time_ready: float
    #: Steam boiler only: local boiling, from which steam drives the air out through the vacuum breaker.
    time_boil: float | None
    curve: tuple[tuple[float, float], ...]
    group_curve: tuple[tuple[float, float], ...]
    energy: float
    T_group: float
    #: Energy its elements gave until its set point, J.
    energy_setpoint: float


@dataclass(frozen=True)
class MachineHeat:
    """The machine: last set point, last ready (s), energy until then (J), highest power at one moment (W)."""

    boilers: tuple[BoilerHeat, ...]
    time_setpoint: float
    time_ready: float
    energy: float
    peak_power: float


def _check(boilers: tuple[HeatedBoiler, ...], T_amb: float, T_start: float, limit: float) -> None:
    def bound(name: str, found: float, low: float, high: float, unit: str) -> None:
        if not low <= found <= high:
            raise OutOfRangeError("machine_heating", name, found, low, high, unit)

    bound("boilers", len(boilers), 1, 20, "")
    bound("T_amb", T_amb, LIQUID_T[0], AMBIENT[1], "K")
    bound("T_start", T_start, LIQUID_T[0], GRID_TOP - STEP, "K")
    bound("limit", limit, 0.0, math.inf, "W")
    for b in boilers:
        bound("T_set", b.T_set, max(T_start, T_amb), GRID_TOP - STEP, "K")
        bound("m_water", b.m_water, 0.0, 1e4, "kg")
        bound("C_metal", b.C_metal, 0.0, 1e8, "J/K")
        bound("heat capacity", b.m_water * 4180.0 + b.C_metal, 1.0, 1e9, "J/K")
        bound("hysteresis", b.hysteresis, 0.0, 50.0, "K")
        for name, found in (("UA", b.UA), ("UA_group", b.UA_group), ("UA_room", b.UA_room)):
            bound(name, found, 0.0, 1e4, "W/K")
        bound("UA_steam", b.UA_steam, 0.0, 1e4, "W/K")
        bound("C_group", b.C_group, 0.0 if b.UA_group == 0.0 else 1.0, 1e8, "J/K")
        for power in b.elements:
            bound("elements", power, 0.0, 1e6, "W")
    for lag in _lags(boilers):
        bound("lag", lag, SHORTEST_LAG, math.inf, "s")


def _lags(boilers: tuple[HeatedBoiler, ...]) -> list[float]:
    """Time constants of boilers and groups, s; the shortest sets the step."""
    shared = sum(b.UA_steam for b in boilers)
    lags = []
    for b in boilers:
        out = b.UA + b.UA_group + (shared if b.steam else b.UA_steam)
        if out > 0.0:
            lags.append((b.m_water * 4180.0 + b.C_metal) / out)
        if b.UA_group > 0.0:
            lags.append(b.C_group / (b.UA_group + b.UA_room))
    return lags


def _step_length(boilers: tuple[HeatedBoiler, ...]) -> float:
    return min([LONGEST_STEP, *(lag / STEPS_PER_LAG for lag in _lags(boilers))])


def _crossing(points: Sequence[tuple[float, float]], level: float) -> float:
    """Time at which a rising curve passes a level, between its points."""
    before = points[0]
    if before[1] >= level:
        return before[0]
    for point in points[1:]:
        if point[1] >= level:
            share = (level - before[1]) / (point[1] - before[1])
            return before[0] + share * (point[0] - before[0])
        before = point
    return points[-1][0]


@lru_cache(maxsize=512)
def machine_heating(
    boilers: tuple[HeatedBoiler, ...],
    T_amb: float,
    T_start: float,
    soak_difference: float = 2.0,
    *,
    limit: float = math.inf,
    p_atm: float = 101325.0,
) -> MachineHeat:
    """Heating all boilers of a machine from cold under a limit of the supply.

    Formula: C_i(T)·dT_i/dt = P_i − UA_i·(T_i − T_amb) − UA_g,i·(T_i − T_g,i) + UA_s,i·(T_steam − T_i), the
        last term with the opposite sign at the steam boiler; C_g·dT_g/dt = UA_g·(T_i − T_g) − UA_r·(T_g −
        T_amb). C_i(T) = m·Δh/ΔT on steps of 5 K + C_metal. Heun's method, steps of at most 30 s and an eighth
        of the shortest lag; the moment at which a set point is reached is located within the step.
        Staging: in the order of ``boilers``, an element is switched on where the sum stays within ``limit``;
        a boiler at set point takes its losses first, and shares time with those that do not fit beside it.
        A boiler at set point stays there. Ready is set point and, after it, time_soak of its group (which
        starts at room temperature). Not in it: the water that expansion pushes out of a brew boiler (its heat
        is at most 2 % too high), and the steam that leaves with the purged air (about 1.4 kJ a litre).
    Args:
        boilers: boilers in the order of priority.
        T_amb: room temperature, K.
        T_start: temperature of boilers and water at the start, K.
        soak_difference: difference from a group's final temperature that counts as there, K.
        limit: highest power of all elements at one moment, W.
        p_atm: absolute pressure of the air, Pa.
    Returns: MachineHeat.
    Valid: 1..20 boilers; T_amb 273.15..333.15 K; T_start 273.15..468.15 K; T_set not below T_amb and T_start,
        at most 468.15 K; limit not negative; heat capacity over
        conductance of each boiler and group at least 4 s; soak_difference 0.001..100 K.
    Raises: OutOfRangeError; UnavailableError heat.not_reached.
    Source: heat balance of lumped masses; IAPWS R7-97.
    """
    _check(boilers, T_amb, T_start, limit)
    if limit >= sum(sum(b.elements) for b in boilers) and not any(b.UA_steam for b in boilers):
        return _independent(boilers, T_amb, T_start, soak_difference, p_atm)
    run = Run(boilers, T_amb, T_start, limit)
    curves = [[(0.0, T_start)] for _ in boilers]
    groups = [[(0.0, T_amb)] for _ in boilers]
    reached = [0.0] * run.n
    group_then = [T_amb] * run.n
    given = [0.0] * run.n
    run.held = [b.T_set <= T_start for b in boilers]
    longest = _step_length(boilers)
    while not all(run.held):
        while (
            not run.shared
            and run.clock + STRIDE * longest < PATIENCE
            and run.stride(longest, STRIDE, curves, groups) == STRIDE
        ):
            pass
        powers = run.powers()
        h = longest
        T, G, used = run.step(h, powers)
        first = _first_over(run, T)
        for _ in range(4):
            if first is None:
                break
            # Shorten the step until the first boiler over its set point lands on it.
            h *= (boilers[first].T_set - run.T[first]) / (T[first] - run.T[first])
            T, G, used = run.step(h, powers)
            other = _first_over(run, T)
            first = other if other is not None else first
            if abs(T[first] - boilers[first].T_set) < 1e-9:
                break
        run.clock += h
        for i, b in enumerate(boilers):
            run.energy[i] += used[i]
            if not run.held[i] and T[i] >= b.T_set - REACHED:
                run.held[i], T[i] = True, b.T_set
                reached[i], group_then[i] = run.clock, G[i]
                given[i] = run.energy[i]
            curves[i].append((run.clock, T[i]))
            groups[i].append((run.clock, G[i]))
        run.T, run.G = T, G
        if run.clock > PATIENCE:
            cold = next(i for i in range(run.n) if not run.held[i])
            raise UnavailableError(NOT_REACHED, boiler=cold, reached=T[cold], wanted=boilers[cold].T_set)
    return _finish(run, curves, groups, reached, group_then, given, soak_difference, p_atm)


def _independent(
    boilers: tuple[HeatedBoiler, ...], T_amb: float, T_start: float, difference: float, p_atm: float
) -> MachineHeat:
    """Boilers that share neither a limit nor a wall: each heats by itself."""
    alone = []
    for i, b in enumerate(boilers):
        lag = heating_alone.step_length(b.m_water, b.C_metal, b.UA, b.C_group, b.UA_group, b.UA_room)
        try:
            alone.append(
                heating_alone.heat(
                    b.m_water,
                    b.C_metal,
                    b.UA,
                    sum(b.elements),
                    (b.C_group, b.UA_group, b.UA_room),
                    T_amb,
                    T_start,
                    b.T_set,
                    lag,
                )
            )
        except heating_alone.StaysColdError as cold:
            raise UnavailableError(NOT_REACHED, boiler=i, reached=cold.reached, wanted=b.T_set) from None
    ready = [a.reached + _soak(b, T_amb, a.T_group, difference) for a, b in zip(alone, boilers, strict=True)]
    end = max(ready)
    results = []
    for a, b, done in zip(alone, boilers, ready, strict=True):
        held = heating_alone.hold(a, b.UA, (b.C_group, b.UA_group, b.UA_room), T_amb, b.T_set, end)
        curve = (*a.curve, (end, b.T_set)) if end > a.reached else a.curve
        results.append(
            _boiler_heat(
                b, a.reached, done, curve, held.groups, a.energy + held.energy, held.T_group, a.energy, p_atm
            )
        )
    reached = max(a.reached for a in alone)
    peak = sum(sum(b.elements) for b, a in zip(boilers, alone, strict=True) if a.reached > 0.0)
    return MachineHeat(tuple(results), reached, end, sum(r.energy for r in results), peak)


def _boiler_heat(
    b: HeatedBoiler,
    reached: float,
    ready: float,
    curve: tuple[tuple[float, float], ...],
    groups: tuple[tuple[float, float], ...],
    energy: float,
    T_group: float,
    given: float,
    p_atm: float,
) -> BoilerHeat:
    boiling = saturation_temperature(p_atm)
    boil = _crossing(curve, boiling) if b.steam and b.T_set >= boiling else None
    within = min(reached, _crossing(curve, b.T_set - b.hysteresis))
    shown = groups if b.UA_group else ()
    return BoilerHeat(b.mark, within, reached, ready, boil, curve, shown, energy, T_group, given)


def _first_over(run: Run, T: list[float]) -> int | None:
    """The heating boiler that passed its set point earliest in a step."""
    first, share = None, math.inf
    for i, b in enumerate(run.boilers):
        if not run.held[i] and T[i] > b.T_set + 1e-9:
            found = (b.T_set - run.T[i]) / (T[i] - run.T[i])
            if found < share:
                first, share = i, found
    return first


def _soak(b: HeatedBoiler, T_amb: float, T_group: float, difference: float) -> float:
    if not b.UA_group:
        return 0.0
    return time_soak(b.C_group, b.UA_group, b.UA_room, b.T_set, T_amb, T_start=T_group, difference=difference)


def _finish(
    run: Run,
    curves: list[list[tuple[float, float]]],
    groups: list[list[tuple[float, float]]],
    reached: list[float],
    group_then: list[float],
    given: list[float],
    difference: float,
    p_atm: float,
) -> MachineHeat:
    """Everything is held now: groups approach their final temperatures exponentially, powers follow."""
    clock = curves[0][-1][0]
    ready = [reached[i] + _soak(b, run.T_amb, group_then[i], difference) for i, b in enumerate(run.boilers)]
    end = max(ready)
    span = end - clock if end > clock else 0.0
    loss = run.loss(run.T, run.G)
    results = []
    for i, b in enumerate(run.boilers):
        G = run.G[i]
        energy, T_end = loss[i] * span, G
        if b.UA_group and span > 0.0:
            total = b.UA_group + b.UA_room
            lag = b.C_group / total
            final = (b.UA_group * run.T[i] + b.UA_room * run.T_amb) / total
            for k in range(1, 13):
                groups[i].append(
                    (clock + span * k / 12, final + (G - final) * math.exp(-span * k / 12 / lag))
                )
            T_end = groups[i][-1][1]
            # The group draws less as it warms: the part of the heat flow that has faded.
            warming = (final - G) * (span - lag * (1.0 - math.exp(-span / lag)))
            energy -= b.UA_group * warming
        if span > 0.0:
            curves[i].append((end, run.T[i]))
        run.energy[i] += max(0.0, energy)
        results.append(
            _boiler_heat(
                b,
                reached[i],
                ready[i],
                tuple(curves[i]),
                tuple(groups[i]),
                run.energy[i],
                T_end,
                given[i],
                p_atm,
            )
        )
    return MachineHeat(tuple(results), max(reached), end, sum(run.energy), run.peak)
