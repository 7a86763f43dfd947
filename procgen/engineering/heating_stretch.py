"""One boiler and the group on it while the power stays the same: two masses in closed form."""

from __future__ import annotations

import itertools
import math
from functools import lru_cache
from typing import NamedTuple

from procgen.engineering.water import LIQUID_T, enthalpy_liquid

#: Grid of the water's enthalpy: width and upper end, K.
GRID, GRID_TOP = 5.0, 473.15
#: How near a temperature looked for must be met, K, and in how many steps at most.
MET, TRIES = 1e-9, 100
#: Nearer than this two temperatures have one specific heat, K: their enthalpies differ by rounding.
APART = 1e-6
#: Below this share of a mode's decay in a stretch its integral is taken from the series.
SERIES = 1e-4


class HeatedBoiler(NamedTuple):
    """A boiler with its elements, and a group or casing that hangs on it: kg, J/K, W/K, K, W."""

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


@lru_cache(maxsize=1)
def enthalpies() -> tuple[tuple[float, float], ...]:
    """Enthalpy of water at the start of each 5 K, and its mean specific heat up to the next.

    Formula: h(T), (h(T + 5 K) - h(T))/5 K from 273.15 K on.
    Args: none
    Returns: (enthalpy J/kg, specific heat J/(kg·K)) of each 5 K.
    Valid: 273.15..473.15 K.
    Raises: nothing.
    Source: IAPWS R7-97.
    """
    count = round((GRID_TOP - LIQUID_T[0]) / GRID)
    h = [enthalpy_liquid(LIQUID_T[0] + GRID * k) for k in range(count + 1)]
    return tuple((a, (b - a) / GRID) for a, b in itertools.pairwise(h))


def mean_heat(T1: float, T2: float) -> float:
    """Mean specific heat of water between two temperatures.

    Formula: (h(T2) - h(T1))/(T2 - T1), h piecewise linear on 5 K.
    Args:
        T1: one temperature, K.
        T2: the other, K.
    Returns: specific heat, J/(kg·K).
    Valid: 273.15..473.15 K, which is not checked.
    Raises: nothing.
    Source: IAPWS R7-97.
    """
    table = enthalpies()
    k1, k2 = int((T1 - LIQUID_T[0]) / GRID), int((T2 - LIQUID_T[0]) / GRID)
    h1, heat = table[k1]
    if k1 == k2 or -APART < T2 - T1 < APART:
        return heat
    h2, heat2 = table[k2]
    start, end = T1 - LIQUID_T[0] - GRID * k1, T2 - LIQUID_T[0] - GRID * k2
    return (h2 + heat2 * end - h1 - heat * start) / (T2 - T1)


class Stretch:
    """A boiler and its group from one moment on at constant power.

    Formula: C·dT/dt = P − UA·(T − T_amb) − UA_g·(T − T_g); C_g·dT_g/dt = UA_g·(T − T_g) − UA_r·(T_g − T_amb);
        C = m·Δh/ΔT + C_metal, from T_0 to ``T_end``. Two linear equations, so
        T(t) = T_0 + Σ r_j·(1 − exp(−λ_j·t))/λ_j with the eigenvalues λ_j of the system; the r_j follow from
        the rates of both at the start.
    Args:
        boiler: what is heated.
        T_amb: room temperature, K.
        T: temperature of the boiler at the start, K.
        G: temperature of its group at the start, K; without influence where none hangs on it.
        power: of its elements, W.
        T_end: about where the boiler is at the end, K.
    Returns: temperatures (``at``), when one is reached (``time_to``), the heat that left (``lost``).
    Valid: as machine_heating, which checks it.
    Raises: nothing.
    Source: heat balance of lumped masses; IAPWS R7-97.
    """

    __slots__ = ("G", "G_fast", "G_slow", "T", "T_amb", "T_fast", "T_slow", "boiler", "fast", "power", "slow")

    def __init__(
        self, boiler: HeatedBoiler, T_amb: float, T: float, G: float, power: float, T_end: float
    ) -> None:
        self.boiler, self.T_amb, self.T, self.G, self.power = boiler, T_amb, T, G, power
        m_water, C_metal, UA, _, _, C_group, UA_group, UA_room = boiler
        C = m_water * mean_heat(T, T_end) + C_metal
        across = UA_group * (T - G)
        T_rate = (power - UA * (T - T_amb) - across) / C
        a = (UA + UA_group) / C
        if not UA_group:
            self.slow, self.fast = a, 0.0
            self.T_slow, self.T_fast, self.G_slow, self.G_fast = T_rate, 0.0, 0.0, 0.0
            return
        b, c, d = UA_group / C, UA_group / C_group, (UA_group + UA_room) / C_group
        G_rate = (across - UA_room * (G - T_amb)) / C_group
        root = math.sqrt(0.25 * (a - d) ** 2 + b * c)
        fast = 0.5 * (a + d) + root
        # The product of both is a·d − b·c, written without the difference.
        slow = (UA * UA_group + UA * UA_room + UA_group * UA_room) / (C * C_group * fast)
        self.slow, self.fast = slow, fast
        apart = 2.0 * root
        self.T_fast = ((a - slow) * T_rate - b * G_rate) / apart
        self.G_fast = ((d - slow) * G_rate - c * T_rate) / apart
        self.T_slow, self.G_slow = T_rate - self.T_fast, G_rate - self.G_fast

    def at(self, t: float) -> tuple[float, float]:
        """Temperatures of boiler and group after a time, K."""
        slow = _decayed(self.slow, t)
        if not self.fast:
            return self.T + self.T_slow * slow, self.G
        fast = _decayed(self.fast, t)
        return (
            self.T + self.T_slow * slow + self.T_fast * fast,
            self.G + self.G_slow * slow + self.G_fast * fast,
        )

    def time_to(self, level: float, end: float) -> float:
        """When the boiler comes to a temperature above that of the start, s; infinite where not until an end.

        Without a group the inverse of its curve. With one Newton's method, at first as if it warmed evenly,
        and halving where that leads out of what is left: long after a short lag nothing moves any more, and a
        cold group may cool its boiler first.
        """
        last = self.at(end)[0]
        if last < level:
            return math.inf
        if not self.fast:
            return min(_undecayed(self.slow, (level - self.T) / self.T_slow), end)
        low, high = 0.0, end
        t = end * (level - self.T) / (last - self.T)
        for _ in range(TRIES):
            missing = level - self.at(t)[0]
            if -MET <= missing <= MET:
                break
            if missing > 0.0:
                low = t
            else:
                high = t
            rate = self.T_slow * math.exp(-self.slow * t) + self.T_fast * math.exp(-self.fast * t)
            t = t + missing / rate if rate > 0.0 else low
            if not low < t < high:
                t = 0.5 * (low + high)
        return t

    def lost(self, t: float) -> float:
        """Heat that left the boiler for room and group in a time, J: the integral of both flows."""
        b = self.boiler
        slow, fast = _twice_decayed(self.slow, t), _twice_decayed(self.fast, t)
        T = (self.T - self.T_amb) * t + self.T_slow * slow + self.T_fast * fast
        G = (self.G - self.T_amb) * t + self.G_slow * slow + self.G_fast * fast
        return b.UA * T + b.UA_group * (T - G)


def _decayed(rate: float, t: float) -> float:
    """(1 − exp(−λ·t))/λ, and t without decay."""
    return -math.expm1(-rate * t) / rate if rate > 0.0 else t


def _undecayed(rate: float, decayed: float) -> float:
    """Its inverse, infinite where it is never reached."""
    if rate > 0.0:
        return -math.log1p(-rate * decayed) / rate if rate * decayed < 1.0 else math.inf
    return decayed


def _twice_decayed(rate: float, t: float) -> float:
    """Its integral: (t − (1 − exp(−λ·t))/λ)/λ, and t²/2 without decay."""
    if rate * t < SERIES:
        return t * t * (0.5 - rate * t / 6.0)
    return (t - _decayed(rate, t)) / rate
