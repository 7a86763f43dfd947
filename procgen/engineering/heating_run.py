"""One simulation of boilers that share a supply: Heun's method, step by step or many equal steps at once."""

from __future__ import annotations

import math
from dataclasses import dataclass

from procgen.engineering import heating_alone
from procgen.engineering.heating import STEP
from procgen.engineering.heating_alone import _capacities
from procgen.engineering.water import LIQUID_T

#: A boiler this near its set point has reached it, K.
REACHED = 1e-7
#: Time and temperature of a boiler or group, s and K.
Track = list[tuple[float, float]]


@dataclass(frozen=True)
class HeatedBoiler:
    """A boiler with its elements, and a group or casing that hangs on it: kg, J/K, W/K, W, K."""

    mark: str
    m_water: float
    C_metal: float
    UA: float
    T_set: float
    #: Powers of its elements at the voltage that is there, W, in the order in which they are switched on.
    elements: tuple[float, ...]
    #: Group and casing: heat capacity, conductance to the boiler, conductance to the room.
    C_group: float = 0.0
    UA_group: float = 0.0
    UA_room: float = 0.0
    #: Conductance to the steam boiler (shared wall, exchanger without flow), W/K.
    UA_steam: float = 0.0
    hysteresis: float = 1.0
    steam: bool = False


class Run:
    """One simulation; temperatures of boilers and groups side by side."""

    def __init__(self, boilers: tuple[HeatedBoiler, ...], T_amb: float, T_start: float, limit: float) -> None:
        self.boilers, self.T_amb, self.limit = boilers, T_amb, limit
        self.n = len(boilers)
        self.T = [T_start] * self.n
        # Where no group hangs on a boiler its temperature has no influence.
        self.G = [T_amb] * self.n
        self.held = [False] * self.n
        self.steam = next((i for i, b in enumerate(boilers) if b.steam), None)
        self.full = [sum(b.elements) for b in boilers]
        self.shared = any(b.UA_steam for b in boilers)
        self.energy = [0.0] * self.n
        self.peak = 0.0
        self.clock = 0.0
        self.switched: dict[tuple[tuple[bool, ...], float], list[float]] = {}
        self.heats = heating_alone.heats()
        self.capacities = [_capacities(b.m_water, b.C_metal) for b in boilers]

    def loss(self, T: list[float], G: list[float]) -> list[float]:
        """Net heat flow out of each boiler, W."""
        out = []
        for i, b in enumerate(self.boilers):
            out.append(b.UA * (T[i] - self.T_amb) + b.UA_group * (T[i] - G[i]))
        if self.steam is not None:
            for i, b in enumerate(self.boilers):
                if b.UA_steam and i != self.steam:
                    across = b.UA_steam * (T[self.steam] - T[i])
                    out[i] -= across
                    out[self.steam] += across
        return out

    def _switch(self, busy: float) -> list[float]:
        """Powers of what is switched on beside ``busy``: the same as long as the same boilers are held."""
        key = (tuple(self.held), busy)
        known = self.switched.get(key)
        if known is not None:
            return known
        left = self.limit - busy
        powers = [0.0] * self.n
        for i, b in enumerate(self.boilers):
            if not self.held[i]:
                for power in b.elements:
                    if power <= left:
                        powers[i] += power
                        left -= power
        self.peak = max(self.peak, busy + sum(powers))
        self.switched[key] = powers
        return powers

    def powers(self) -> list[float]:
        """Power of each heating boiler: all elements that fit, less the time that held boilers need."""
        alone = self._switch(0.0)
        if not any(self.held):
            return alone
        loss = self.loss(self.T, self.G)
        keeping = [i for i in range(self.n) if self.held[i] and loss[i] > 0.0]
        if not keeping:
            return alone
        duty = min(1.0, sum(loss[i] / self.full[i] for i in keeping))
        beside = self._switch(min(self.limit, max(self.full[i] for i in keeping)))
        return [(1.0 - duty) * a + duty * b for a, b in zip(alone, beside, strict=True)]

    def slopes(
        self, T: list[float], G: list[float], powers: list[float]
    ) -> tuple[list[float], list[float], list[float]]:
        """Rates of boilers and groups, K/s, and the power drawn by each boiler, W."""
        loss = self.loss(T, G)
        dT, dG, drawn = [], [], []
        for i, b in enumerate(self.boilers):
            power = powers[i]
            if self.held[i]:
                # A neighbour may heat a held boiler beyond its set point; its own element then stays off.
                power = max(0.0, loss[i]) if T[i] <= b.T_set + 1e-6 else 0.0
            drawn.append(power)
            heat = self.heats[min(max(int((T[i] - LIQUID_T[0]) / STEP), 0), len(self.heats) - 1)]
            dT.append((power - loss[i]) / (b.m_water * heat + b.C_metal))
            if b.UA_group:
                dG.append((b.UA_group * (T[i] - G[i]) - b.UA_room * (G[i] - self.T_amb)) / b.C_group)
            else:
                dG.append(0.0)
        return dT, dG, drawn

    def step(self, h: float, powers: list[float]) -> tuple[list[float], list[float], list[float]]:
        """Heun's method over ``h`` seconds: new temperatures and the energy drawn, J."""
        return self._coupled(h, powers) if self.shared else self._each(h, powers)

    def _coupled(self, h: float, powers: list[float]) -> tuple[list[float], list[float], list[float]]:
        dT, dG, p1 = self.slopes(self.T, self.G, powers)
        T = [a + h * b for a, b in zip(self.T, dT, strict=True)]
        G = [a + h * b for a, b in zip(self.G, dG, strict=True)]
        eT, eG, p2 = self.slopes(T, G, powers)
        half = 0.5 * h
        T = [a + half * (b + c) for a, b, c in zip(self.T, dT, eT, strict=True)]
        G = [a + half * (b + c) for a, b, c in zip(self.G, dG, eG, strict=True)]
        return T, G, [half * (a + b) for a, b in zip(p1, p2, strict=True)]

    def _each(self, h: float, powers: list[float]) -> tuple[list[float], list[float], list[float]]:
        """The same where boilers share no wall: each boiler and its group by themselves."""
        new_T, new_G, used = [], [], []
        for i, power in enumerate(powers):
            if self.held[i]:
                G, drawn = self._held_step(i, self.G[i], h)
                T = self.T[i]
            else:
                T, G = self._heated_step(i, self.T[i], self.G[i], power, h)
                drawn = power * h
            new_T.append(T)
            new_G.append(G)
            used.append(drawn)
        return new_T, new_G, used

    def _held_step(self, i: int, G: float, h: float) -> tuple[float, float]:
        """A boiler at its set point: its group's new temperature, and the energy drawn."""
        b, T, room = self.boilers[i], self.T[i], self.T_amb
        per_group = 1.0 / b.C_group if b.UA_group else 0.0
        across = b.UA_group * (T - G)
        dG = (across - b.UA_room * (G - room)) * per_group
        G2 = G + h * dG
        across2 = b.UA_group * (T - G2)
        lost = b.UA * (T - room)
        new = G + 0.5 * h * (dG + (across2 - b.UA_room * (G2 - room)) * per_group)
        return new, 0.5 * h * (lost + across + lost + across2)

    def _heated_step(self, i: int, T: float, G: float, power: float, h: float) -> tuple[float, float]:
        """A boiler below its set point: its and its group's new temperatures."""
        tracks = self._heated(i, T, G, [power], h, math.inf)
        return tracks[0][0], tracks[1][0]

    def _heated(
        self, i: int, T: float, G: float, powers: list[float], h: float, stop: float
    ) -> tuple[list[float], list[float]]:
        """Equal steps with the power of each, as long as the boiler stays below ``stop``."""
        b, room, low, half = self.boilers[i], self.T_amb, LIQUID_T[0], 0.5 * h
        UA, UA_g, UA_r = b.UA, b.UA_group, b.UA_room
        capacity, top = self.capacities[i], len(self.heats) - 1
        per_group = 1.0 / b.C_group if UA_g else 0.0
        temperatures, groups = [], []
        for power in powers:
            across = UA_g * (T - G)
            dG = (across - UA_r * (G - room)) * per_group
            G2 = G + h * dG
            k = int((T - low) / STEP)
            dT = (power - (UA * (T - room) + across)) / capacity[k if k < top else top]
            T2 = T + h * dT
            across = UA_g * (T2 - G2)
            k = int((T2 - low) / STEP)
            eT = (power - UA * (T2 - room) - across) / capacity[k if k < top else top]
            T += half * (dT + eT)
            if stop <= T:
                break
            G += half * (dG + (across - UA_r * (G2 - room)) * per_group)
            temperatures.append(T)
            groups.append(G)
        return temperatures, groups

    def stride(self, h: float, count: int, curves: list[Track], groups: list[Track]) -> int:
        """At most ``count`` equal steps, up to the one in which a boiler reaches its set point; how many.

        Boilers that share no wall meet only in the time that held ones need, and that follows from the held
        ones alone: so each is taken through all steps by itself.
        """
        keeping = [i for i in range(self.n) if self.held[i]]
        tracks: list[tuple[list[float], list[float]]] = [([], []) for _ in range(self.n)]
        drawn: list[list[float]] = [[] for _ in range(self.n)]
        needs = [0.0] * count
        for i in keeping:
            b, T, G = self.boilers[i], self.T[i], self.G[i]
            for j in range(count):
                loss = b.UA * (T - self.T_amb) + b.UA_group * (T - G)
                if loss <= 0.0:
                    return 0
                needs[j] += loss / self.full[i]
                G, used = self._held_step(i, G, h)
                tracks[i][1].append(G)
                drawn[i].append(used)
            tracks[i][0].extend([T] * count)
        powers = self._stride_powers(keeping, needs)
        steps = count
        for i, b in enumerate(self.boilers):
            if not self.held[i]:
                tracks[i] = self._heated(i, self.T[i], self.G[i], powers[i][:steps], h, b.T_set - REACHED)
                drawn[i] = [power * h for power in powers[i]]
                steps = len(tracks[i][0])
        times = []
        for _ in range(steps):
            self.clock += h
            times.append(self.clock)
        for i, (T_track, G_track) in enumerate(tracks):
            if steps:
                self.T[i], self.G[i] = T_track[steps - 1], G_track[steps - 1]
            for used in drawn[i][:steps]:
                self.energy[i] += used
            curves[i].extend(zip(times, T_track, strict=False))
            groups[i].extend(zip(times, G_track, strict=False))
        return steps

    def _stride_powers(self, keeping: list[int], needs: list[float]) -> list[list[float]]:
        """Power of each boiler in each step, with what held boilers need of each."""
        alone = self._switch(0.0)
        if not keeping:
            return [[power] * len(needs) for power in alone]
        beside = self._switch(min(self.limit, max(self.full[i] for i in keeping)))
        duties = [min(1.0, need) for need in needs]
        return [[(1.0 - duty) * a + duty * b for duty in duties] for a, b in zip(alone, beside, strict=True)]
