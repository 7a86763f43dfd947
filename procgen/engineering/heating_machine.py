"""Heating a whole machine: boilers that share a supply, groups that soak, and when each is ready."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

from procgen.engineering.heating import AMBIENT, NOT_REACHED, time_soak
from procgen.engineering.heating_stretch import GRID, GRID_TOP, HeatedBoiler, Stretch
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.unavailable import UnavailableError
from procgen.engineering.water import LIQUID_T

#: Longest stretch over which the water's specific heat is taken at its mean, and where held boilers change
#: what is left for the others, over which their need is, s.
LONGEST, VARYING = 1200.0, 240.0
#: Least conductance to a group that is one, W/K.
COUPLED = 1e-6
#: After this time a machine that is still not hot counts as one that never will be, s.
PATIENCE = 6 * 3600.0
#: How near the end of a stretch must lie to the moment at which a boiler is at its set point, as a share of
#: the stretch, and how often it is looked for.
SAME_MOMENT, PASSES = 1e-6, 8


class Heating(NamedTuple):
    """How one boiler came to its set point: when, s; its group then, K; energy given, J; its stretches."""

    boiler: HeatedBoiler
    T_amb: float
    reached: float
    T_group: float
    energy: float
    #: (start s, length s, what happens in it), one behind the other.
    stretches: tuple[tuple[float, float, Stretch], ...]

    @property
    def lost(self) -> float:
        """Heat that left the boiler for room and group until its set point, J."""
        return sum(stretch.lost(length) for _, length, stretch in self.stretches)

    def temperature(self, t: float) -> float:
        """Of the boiler at a time, K."""
        for start, length, stretch in self.stretches:
            if t < start + length:
                return stretch.at(t - start)[0]
        return self.boiler.T_set

    def soak(self, difference: float) -> float:
        """From its set point until its group is within a difference of its final temperature, s."""
        b = self.boiler
        if not b.UA_group:
            return 0.0
        return time_soak(b.C_group, b.UA_group, b.UA_room, b.T_set, self.T_amb, self.T_group, difference)

    def kept(self, start: float, end: float) -> float:
        """Heat that holds the boiler at its set point from one moment to another, J.

        Formula: ∫ UA·(T − T_amb) + UA_g·(T − T_g) dt, T_g(t) = T∞ + (T_g0 − T∞)·exp(−t/τ).
        """
        b, span = self.boiler, end - start
        energy = b.UA * (b.T_set - self.T_amb) * span
        if b.UA_group:
            total = b.UA_group + b.UA_room
            final, lag = (b.UA_group * b.T_set + b.UA_room * self.T_amb) / total, b.C_group / total
            cold = (final - self.T_group) * math.exp((self.reached - start) / lag)
            energy += b.UA_group * ((b.T_set - final) * span - cold * lag * math.expm1(-span / lag))
        return energy


class MachineHeat(NamedTuple):
    """The machine: its boilers, last set point and last ready (s), energy until then (J), and the highest
    power at one moment (W)."""

    boilers: tuple[Heating, ...]
    time_setpoint: float
    time_ready: float
    energy: float
    peak_power: float


def _check(
    boilers: Sequence[HeatedBoiler], T_amb: float, T_start: float, limit: float, difference: float
) -> None:
    checks = [
        ("boilers", len(boilers), 1, 20, ""),
        ("T_amb", T_amb, LIQUID_T[0], AMBIENT[1], "K"),
        ("T_start", T_start, LIQUID_T[0], GRID_TOP - GRID, "K"),
        ("limit", limit, 0.0, math.inf, "W"),
        ("soak_difference", difference, 1e-3, 100.0, "K"),
    ]
    coldest = max(T_start, T_amb)
    for m_water, C_metal, UA, T_set, elements, C_group, UA_group, UA_room in boilers:
        checks += [
            ("T_set", T_set, coldest, GRID_TOP - GRID, "K"),
            ("m_water", m_water, 0.0, 1e4, "kg"),
            ("C_metal", C_metal, 0.0, 1e8, "J/K"),
            ("UA", UA, 0.0, 1e4, "W/K"),
            ("UA_room", UA_room, 0.0, 1e4, "W/K"),
            ("heat capacity", m_water * 4180.0 + C_metal, 1.0, 1e9, "J/K"),
            ("UA_group", UA_group, 0.0 if UA_group == 0.0 else COUPLED, 1e4, "W/K"),
            ("C_group", C_group, 0.0 if UA_group == 0.0 else 1.0, 1e8, "J/K"),
        ]
        checks += [("elements", power, 0.0, 1e6, "W") for power in elements]
    for name, found, low, high, unit in checks:
        # The comparison is written so that NaN fails it.
        if not low <= found <= high:
            raise OutOfRangeError("machine_heating", name, found, low, high, unit)


def machine_heating(
    boilers: tuple[HeatedBoiler, ...],
    T_amb: float,
    T_start: float,
    soak_difference: float = 2.0,
    *,
    limit: float = math.inf,
) -> MachineHeat:
    """Heating all boilers of a machine from cold under a limit of the supply.

    Formula: C_i(T)·dT_i/dt = P_i − UA_i·(T_i − T_amb) − UA_g,i·(T_i − T_g,i); C_g·dT_g/dt =
        UA_g·(T_i − T_g) − UA_r·(T_g − T_amb); C_i = m·Δh/ΔT + C_metal. In closed form on stretches of at most
        1200 s (240 s where boilers at set point change what is left), each ending at a set point.
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
    Returns: MachineHeat.
    Valid: 1..20 boilers; T_amb 273.15..333.15 K; T_start 273.15..468.15 K; T_set not below T_amb and T_start,
        at most 468.15 K; limit not negative; soak_difference 0.001..100 K.
    Raises: OutOfRangeError; UnavailableError heat.not_reached.
    Source: heat balance of lumped masses; IAPWS R7-97.
    """
    _check(boilers, T_amb, T_start, limit, soak_difference)
    if limit >= sum([sum(b.elements) for b in boilers]):
        heats, peak = _each(boilers, T_amb, T_start)
    else:
        heats, peak = _until_hot(boilers, T_amb, T_start, limit)
    end = max([heat.reached + heat.soak(soak_difference) for heat in heats])
    energy = sum([heat.energy + heat.kept(heat.reached, end) for heat in heats])
    return MachineHeat(tuple(heats), max([heat.reached for heat in heats]), end, energy, peak)


def _each(boilers: tuple[HeatedBoiler, ...], T_amb: float, T_start: float) -> tuple[list[Heating], float]:
    """Boilers of which none keeps another from heating: those that are alike are looked at once."""
    heats, peak = [], 0.0
    for i, b in enumerate(boilers):
        try:
            (heat,), power = _until_hot((b,), T_amb, T_start, math.inf)
        except UnavailableError as cold:
            raise UnavailableError(cold.id, **{**cold.details, "boiler": i}) from None
        heats.append(heat)
        peak += power
    return heats, peak


#: Boilers at their set point: power of all their elements that fit, and how they came there.
Held = Sequence[tuple[float, Heating]]


class _Supply:
    """What the boilers may draw together."""

    def __init__(self, boilers: tuple[HeatedBoiler, ...], limit: float) -> None:
        self.boilers, self.limit = boilers, limit
        self.full = [fitting(b.elements, limit) for b in boilers]
        self.peak = 0.0
        self.fitted: dict[tuple[tuple[bool, ...], float], tuple[list[float], float]] = {}

    def powers(self, cold: tuple[bool, ...], held: Held, start: float, length: float) -> list[float]:
        """Mean power of each cold boiler: all elements that fit, less the time that held boilers need."""
        alone = self._switch(cold, 0.0)
        duty, largest = 0.0, 0.0
        for full, heat in held:
            need = heat.kept(start, start + length) / length
            if need > 0.0:
                duty += need / full
                largest = max(largest, full)
        if duty == 0.0:
            return alone
        duty = min(1.0, duty)
        beside = self._switch(cold, largest)
        return [(1.0 - duty) * a + duty * b for a, b in zip(alone, beside, strict=True)]

    def vary(self, cold: tuple[bool, ...], held: Held) -> bool:
        """Whether the cold boilers ever have to wait for one that is held."""
        return bool(held) and self._fit(cold, max([full for full, _ in held])) != self._fit(cold, 0.0)

    def _switch(self, cold: tuple[bool, ...], busy: float) -> list[float]:
        """Powers of what is switched on beside ``busy``."""
        powers, total = self._fit(cold, busy)
        self.peak = max(self.peak, busy + total)
        return powers

    def _fit(self, cold: tuple[bool, ...], busy: float) -> tuple[list[float], float]:
        """Powers of what there is room for beside ``busy``, and their sum."""
        known = self.fitted.get((cold, busy))
        if known is not None:
            return known
        left = self.limit - busy
        powers = [0.0] * len(cold)
        for i, b in enumerate(self.boilers):
            if cold[i]:
                powers[i] = fitting(b.elements, left)
                left -= powers[i]
        found = self.fitted[cold, busy] = powers, sum(powers)
        return found


def fitting(elements: tuple[float, ...], left: float) -> float:
    """Power of the elements that are switched on, one after the other, where there is room for them."""
    on = 0.0
    for power in elements:
        if power <= left - on:
            on += power
    return on


@lru_cache(maxsize=2048)
def _until_hot(
    boilers: tuple[HeatedBoiler, ...], T_amb: float, T_start: float, limit: float
) -> tuple[list[Heating], float]:
    """Every boiler to its set point, and the highest power on the way."""
    supply = _Supply(boilers, limit)
    # Where no group hangs on a boiler its temperature has no influence.
    states = [(T_start, T_amb)] * len(boilers)
    done: list[Heating | None] = [
        Heating(b, T_amb, 0.0, T_amb, 0.0, ()) if b.T_set <= T_start else None for b in boilers
    ]
    tracks: list[list[tuple[float, float, Stretch]]] = [[] for _ in boilers]
    energy = [0.0] * len(boilers)
    clock = 0.0
    while None in done:
        if clock >= PATIENCE:
            cold = done.index(None)
            reached, wanted = states[cold][0], boilers[cold].T_set
            raise UnavailableError(NOT_REACHED, boiler=cold, reached=reached, wanted=wanted)
        length, moves = _next(supply, T_amb, states, done, clock)
        end = clock + length
        for i, (stretch, T, G) in moves.items():
            states[i] = T, G
            tracks[i].append((clock, length, stretch))
            energy[i] += stretch.power * length
            if T >= boilers[i].T_set:  # noqa: SIM300
                done[i] = Heating(boilers[i], T_amb, end, G, energy[i], tuple(tracks[i]))
        clock = end
    return [heat for heat in done if heat], supply.peak


def _next(
    supply: _Supply,
    T_amb: float,
    states: list[tuple[float, float]],
    done: list[Heating | None],
    clock: float,
) -> tuple[float, dict[int, tuple[Stretch, float, float]]]:
    """How long the next stretch is; what each heating boiler does in it, and its and its group's temperature
    at the end.

    It ends with the first set point, and powers and heats are means up to its end: so that is found in turns.
    """
    boilers = supply.boilers
    cold = tuple([heat is None for heat in done])
    heating = [i for i, waits in enumerate(cold) if waits]
    held = [(full, heat) for full, heat in zip(supply.full, done, strict=True) if heat and full > 0.0]
    vary = supply.vary(cold, held)
    length = longest = min(VARYING if vary else LONGEST, PATIENCE - clock)
    ways: dict[tuple[int, float], tuple[Stretch, float]] = {}
    for _ in range(PASSES):
        powers = supply.powers(cold, held, clock, length)
        arrivals = [longest]
        for i in heating:
            way = ways.get((i, powers[i]))
            if way is None:
                b = boilers[i]
                stretch = Stretch(b, T_amb, *states[i], powers[i], b.T_set)
                way = ways[i, powers[i]] = stretch, stretch.time_to(b.T_set, longest)
            arrivals.append(way[1])
        before, length = length, min(arrivals)
        # What boilers at set point take changes with the length; where nobody waits for it, powers do not.
        if not vary or abs(length - before) <= SAME_MOMENT * length:
            break
    moves = {}
    for i in heating:
        b, power = boilers[i], powers[i]
        stretch, arrival = ways[i, power]
        T, G = stretch.at(length)
        if arrival <= length * (1.0 + SAME_MOMENT):
            moves[i] = stretch, b.T_set, G
        else:
            # Its mean heat up to where it comes, not up to its set point.
            stretch = Stretch(b, T_amb, *states[i], power, min(max(T, LIQUID_T[0]), b.T_set))
            T, G = stretch.at(length)
            moves[i] = stretch, min(T, b.T_set), G
    return length, moves
