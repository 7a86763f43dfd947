"""What the owner will ask: water and energy a day, heat to the room, how long the visit takes."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from procgen.engineering import sources_general as s
from procgen.engineering.kernel import kernel

DAY = 86_400.0


@kernel(
    counts="1/day", volumes="m**3", fixed="m**3/day", returns="m**3/day", source=s.ARITHMETIC,
    valid={"fixed": (0, 100)},
)  # fmt: skip
def water_per_day(counts: Sequence[float], volumes: Sequence[float], fixed: float = 0.0) -> float:
    """Water drawn in a day.

    Formula: sum(count * volume) + fixed

    Args:
        counts: how often each kind of draw happens [1/day]
        volumes: water of each kind, in the same order [m**3]
        fixed: rinsing, cleaning and steam, whatever is sold [m**3/day]
    Returns: volume in a day [m**3/day]
    Valid: counts 0 to 1e5; volumes 0 to 1 m**3; fixed 0 to 100 m**3
    Raises: OutOfRangeError outside these ranges; ValueError for lists of different length
    Source: arithmetic
    """
    s.same_length("water_per_day", "counts", len(counts), "volumes", len(volumes))
    for count, volume in zip(counts, volumes, strict=True):
        s.require("water_per_day", "counts", count, (0.0, 1e5), "1/day")
        s.require("water_per_day", "volumes", volume, (0.0, 1.0), "m**3")
    return math.fsum(c * v for c, v in zip(counts, volumes, strict=True)) + fixed


@kernel(
    heat_up="J", starts="1/day", standby="W", hours="hour/day", drawn="J/day", returns="J/day",
    source=s.ARITHMETIC,
    valid={"heat_up": (0, 1e9), "starts": (0, 24), "standby": (0, 1e5), "hours": (0, 24), "drawn": (0, 1e10)},
)  # fmt: skip
def energy_per_day(heat_up: float, starts: float, standby: float, hours: float, drawn: float) -> float:
    """Energy used in a day.

    Formula: heat-up * starts + standby * hours * 3600 + drawn

    Args:
        heat_up: energy from cold to ready [J]
        starts: cold starts [1/day]
        standby: power that holds the temperatures [W]
        hours: switched on [hour/day]
        drawn: heat carried off by drinks, hot water and steam [J/day]
    Returns: energy in a day [J/day]
    Valid: heat-up 0 to 1e9 J; starts 0 to 24; standby 0 to 1e5 W; hours 0 to 24; drawn 0 to 1e10 J
    Raises: OutOfRangeError outside these ranges
    Source: arithmetic
    """
    return heat_up * starts + standby * hours * 3600.0 + drawn


@kernel(
    mass="kg/day", cold="K", hot="K", heat_capacity="J/(kg*K)", returns="J/day", source=s.ARITHMETIC,
    valid={
        "mass": (0, 1e5), "cold": (273.15, 373.15), "hot": (273.15, 473.15),
        "heat_capacity": (4000, 4500),
    },
)  # fmt: skip
def heat_drawn(mass: float, cold: float, hot: float, heat_capacity: float = 4190.0) -> float:
    """Heat that drawn water carries off in a day.

    Formula: m c (T_hot - T_cold)

    Args:
        mass: drawn [kg/day]
        cold: temperature of the feed [K]
        hot: temperature at which it leaves [K]
        heat_capacity: of water [J/(kg*K)]
    Returns: heat in a day [J/day]
    Valid: mass 0 to 1e5 kg; temperatures of liquid water; hot not below cold
    Raises: OutOfRangeError outside these ranges
    Source: arithmetic
    """
    s.require("heat_drawn", "hot", hot, (cold, None), "K")
    return mass * heat_capacity * (hot - cold)


@kernel(
    energy="J/day", drawn_away="J/day", hours="hour/day", returns="W", source=s.ARITHMETIC,
    valid={"energy": (0, 1e11), "drawn_away": (0, 1e11), "hours": (0.01, 24)},
)  # fmt: skip
def heat_to_room(energy: float, drawn_away: float, hours: float) -> float:
    """Mean heat given to the room while the machine is on.

    Formula: (energy - heat leaving with drinks and waste)/(hours * 3600)

    Args:
        energy: used in a day [J/day]
        drawn_away: of it, what leaves the room with drinks and down the drain [J/day]
        hours: switched on [hour/day]
    Returns: heat flow [W]
    Valid: energy 0 to 1e11 J; drawn away not above energy; hours 0.01 to 24
    Raises: OutOfRangeError outside these ranges
    Source: energy balance
    """
    s.require("heat_to_room", "drawn_away", drawn_away, (0.0, energy), "J/day")
    return (energy - drawn_away) / (hours * 3600.0)


@kernel(hands="s", waits="s", returns="s", source=s.ARITHMETIC)
def planned_time(hands: Sequence[float], waits: Sequence[float]) -> float:
    """Planned duration: work and waits one after the other (someone stays with the machine while it waits).

    Formula: sum(hands) + sum(waits)

    Args:
        hands: durations of work [s]
        waits: computed waits: filling, heating, soaking [s]
    Returns: time [s]
    Valid: each 0 to 1e6 s
    Raises: OutOfRangeError outside the range
    Source: arithmetic
    """
    for found in (*hands, *waits):
        s.require("planned_time", "durations", found, (0.0, 1e6), "s")
    return math.fsum(hands) + math.fsum(waits)


def time_by_role(steps: Iterable[tuple[str, float]]) -> dict[str, float]:
    """Time each role is needed.

    Formula: sum of its steps

    Args:
        steps: role id and duration [s]
    Returns: seconds by role, in order of first appearance [s]
    Valid: each 0 to 1e6 s
    Raises: OutOfRangeError outside the range
    Source: arithmetic
    """
    totals: dict[str, float] = {}
    for role, duration in steps:
        s.require("time_by_role", "duration", duration, (0.0, 1e6), "s")
        totals[role] = totals.get(role, 0.0) + duration
    return totals
