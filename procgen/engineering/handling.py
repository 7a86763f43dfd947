"""Lifting and setting down: what one person may lift, how many are needed, what the counter bears."""

from __future__ import annotations

import math
from dataclasses import dataclass

from procgen.engineering import sources_general as s
from procgen.engineering.kernel import kernel

GRAVITY = 9.80665
POUND = 0.45359237
INCH = 0.0254

#: Frequency multipliers by lifts per minute, for work up to 1, 2 and 8 hours.
FREQUENCY: tuple[tuple[float, dict[int, float]], ...] = (
    (0.2, {1: 1.00, 2: 0.95, 8: 0.85}),
    (0.5, {1: 0.97, 2: 0.92, 8: 0.81}),
    (1.0, {1: 0.94, 2: 0.88, 8: 0.75}),
)
#: Coupling multipliers: hands below 75 cm (30 in), and at or above.
COUPLING = {"good": (1.00, 1.00), "fair": (0.95, 1.00), "poor": (0.90, 0.90)}

#: Above this a third person steadies what a lifting aid carries, kg (common practice, no source).
HEAVY_ON_AID = 100.0

#: Share of the summed capability of a team, by people.
TEAM_SHARE = {1: 1.0, 2: 2.0 / 3.0, 3: 0.5}

_METRIC = {
    "H": (0.0, 0.63), "V": (0.0, 1.75), "D": (0.0, 1.75), "A": (0.0, math.radians(135.0)),
    "FM": (0.0, 1.0), "CM": (0.9, 1.0),
}  # fmt: skip
_US = {**_METRIC, "H": (0.0, 25 * INCH), "V": (0.0, 70 * INCH), "D": (0.0, 70 * INCH)}


@dataclass(frozen=True)
class People:
    """How many lift together; with a lifting aid where people alone do not suffice or on stairs."""

    count: int | None  # None: no team of up to three may lift it
    lifting_aid: bool


@kernel(
    lifts_per_minute="1/min", hours="hour", returns="", source=s.NIOSH_TABLES,
    valid={"lifts_per_minute": (0, 1), "hours": (0, 8)},
)  # fmt: skip
def frequency_multiplier(lifts_per_minute: float, hours: float) -> float:
    """Frequency multiplier; between two rows or columns of the table the lower one holds.

    Formula: table for up to one lift a minute

    Args:
        lifts_per_minute: mean over fifteen minutes [1/min]
        hours: of such work in the day [hour]
    Returns: multiplier FM []
    Valid: 0 to 1 lift per minute; 0 to 8 hours
    Raises: OutOfRangeError outside these ranges
    Source: DHHS 94-110, table 5, from memory
    """
    row = next(columns for highest, columns in FREQUENCY if lifts_per_minute <= highest)
    return next(factor for longest, factor in row.items() if hours <= longest)


@kernel(coupling="", V="m", returns="", source=s.NIOSH_TABLES, valid={"V": (0, 1.778)})
def coupling_multiplier(coupling: str, V: float) -> float:
    """Coupling multiplier by how well the hands hold.

    Formula: table: good 1; fair 0.95 below 75 cm, else 1; poor 0.9

    Args:
        coupling: "good", "fair" or "poor" []
        V: height of the hands [m]
    Returns: multiplier CM []
    Valid: V 0 to 1.778 m
    Raises: OutOfRangeError outside the range; UnknownEntryError for another coupling
    Source: DHHS 94-110, table 7, from memory
    """
    low, high = s.entry("coupling", COUPLING, coupling)
    return low if V < 0.75 else high


@kernel(H="m", V="m", D="m", A="radian", FM="", CM="", returns="kg", source=s.NIOSH, valid=_METRIC)
def rwl(*, H: float, V: float, D: float, A: float = 0.0, FM: float = 1.0, CM: float = 1.0) -> float:
    """Recommended weight limit for one person, metric form of the revised NIOSH equation.

    Formula: 23 (25/H)(1 - 0.003 |V - 75|)(0.82 + 4.5/D)(1 - 0.0032 A) FM CM, lengths in cm, A in degrees;
        H below 25 counts as 25, D below 25 as 25

    Args:
        H: from the ankles to the hands, horizontal [m]
        V: height of the hands at the origin [m]
        D: vertical travel [m]
        A: twist of the trunk [radian]
        FM: frequency multiplier []
        CM: coupling multiplier []
    Returns: mass [kg]
    Valid: H up to 0.63 m; V and D 0 to 1.75 m; A 0 to 135 degrees; FM 0 to 1; CM 0.9 to 1
    Raises: OutOfRangeError outside these ranges, where the equation allows no lift
    Source: DHHS 94-110
    """
    h, v, d = max(100.0 * H, 25.0), 100.0 * V, max(100.0 * D, 25.0)
    vm = 1.0 - 0.003 * abs(v - 75.0)
    am = 1.0 - 0.0032 * math.degrees(A)
    return 23.0 * (25.0 / h) * vm * (0.82 + 4.5 / d) * am * FM * CM


@kernel(H="m", V="m", D="m", A="radian", FM="", CM="", returns="kg", source=s.NIOSH, valid=_US)
def rwl_us(*, H: float, V: float, D: float, A: float = 0.0, FM: float = 1.0, CM: float = 1.0) -> float:
    """Recommended weight limit for one person, US form; not an exact conversion of the metric one.

    Formula: 51 (10/H)(1 - 0.0075 |V - 30|)(0.82 + 1.8/D)(1 - 0.0032 A) FM CM, in pounds, lengths in inches,
        A in degrees; H below 10 counts as 10, D below 10 as 10

    Args:
        H: from the ankles to the hands, horizontal [m]
        V: height of the hands at the origin [m]
        D: vertical travel [m]
        A: twist of the trunk [radian]
        FM: frequency multiplier []
        CM: coupling multiplier []
    Returns: mass [kg]
    Valid: H up to 25 in; V and D 0 to 70 in; A 0 to 135 degrees; FM 0 to 1; CM 0.9 to 1
    Raises: OutOfRangeError outside these ranges, where the equation allows no lift
    Source: DHHS 94-110, example 4

    >>> inch = 0.0254
    >>> round(rwl_us(H=10 * inch, V=22 * inch, D=37 * inch, FM=0.88, CM=0.95) / 0.45359237, 1)
    34.8
    """
    h, v, d = max(H / INCH, 10.0), V / INCH, max(D / INCH, 10.0)
    vm = 1.0 - 0.0075 * abs(v - 30.0)
    am = 1.0 - 0.0032 * math.degrees(A)
    return 51.0 * POUND * (10.0 / h) * vm * (0.82 + 1.8 / d) * am * FM * CM


@kernel(mass="kg", limit="kg", returns="", source=s.NIOSH, valid={"mass": (0, 1e4), "limit": (0.1, 60)})
def lifting_index(mass: float, limit: float) -> float:
    """How many times the recommended limit one person would lift.

    Formula: LI = mass/RWL

    Args:
        mass: lifted [kg]
        limit: recommended weight limit [kg]
    Returns: index; above 1 not for one person alone []
    Valid: mass 0 to 10 000 kg; limit 0.1 to 60 kg
    Raises: OutOfRangeError outside these ranges
    Source: DHHS 94-110
    """
    return mass / limit


@kernel(people="", returns="", source=s.HSE_L23)
def team_share(people: int) -> float:
    """Share of the summed capability of its members that a team can count on.

    Formula: table: one 1, two 2/3, three 1/2

    Args:
        people: in the team []
    Returns: share []
    Valid: 1 to 3; more need a lifting aid
    Raises: UnknownEntryError for another number
    Source: HSE L23
    """
    return s.entry("team_share", TEAM_SHARE, people)


@kernel(people="", limit="kg", returns="kg", source=s.HSE_L23, valid={"limit": (0, 60)})
def team_capability(people: int, limit: float) -> float:
    """What a team may lift together.

    Formula: people * limit * share

    Args:
        people: in the team []
        limit: of one person [kg]
    Returns: mass [kg]
    Valid: 1 to 3 people; limit 0 to 60 kg
    Raises: UnknownEntryError for another number; OutOfRangeError for the limit
    Source: HSE L23
    """
    return people * limit * team_share(people)


def people_needed(mass: float, limit: float, stairs: bool = False) -> People:
    """How many must lift, and whether a lifting aid is needed.

    On stairs a team of two at least, with an aid, whatever the mass (common practice, no source).

    Formula: least n with mass <= n limit share(n); beyond three people a lifting aid

    Args:
        mass: lifted [kg]
        limit: of one person [kg]
        stairs: true where steps are in the way []
    Returns: `People`
    Valid: mass 0 to 10 000 kg; limit 0 to 60 kg
    Raises: OutOfRangeError outside these ranges
    Source: HSE L23; stairs: common practice, no source
    """
    s.require("people_needed", "mass", mass, (0.0, 1e4), "kg")
    s.require("people_needed", "limit", limit, (0.0, 60.0), "kg")
    count = next((n for n in TEAM_SHARE if mass <= team_capability(n, limit)), None)
    if stairs:
        return People(None if count is None else max(2, count), lifting_aid=True)
    return People(count, lifting_aid=count is None)


@kernel(mass="kg", returns="", source=s.STEADYING, valid={"mass": (0, 1e4)})
def people_at_aid(mass: float) -> int:
    """People who steady what a lifting aid carries: one on each side, a third for a heavy load.

    Formula: 2 up to 100 kg; 3 above

    Args:
        mass: on the aid [kg]
    Returns: people []
    Valid: mass 0 to 10 000 kg
    Raises: OutOfRangeError outside this range
    Source: common practice, no source
    """
    return 2 if mass <= HEAVY_ON_AID else 3


@kernel(
    mass="kg", feet="", uneven="", returns="N", source=s.STATICS,
    valid={"mass": (0, 1e4), "feet": (3, 12)},
)  # fmt: skip
def foot_load(mass: float, feet: int, uneven: bool = True) -> float:
    """Load on the worst foot; on an uneven counter two diagonal feet carry all.

    Formula: m g/2 uneven with four feet or more; m g/feet otherwise; g = 9.80665 m/s2

    Args:
        mass: operating mass with what stands on the machine [kg]
        feet: number of feet []
        uneven: true unless levelled on a flat counter (three feet never rock) []
    Returns: force [N]
    Valid: mass 0 to 10 000 kg; 3 to 12 feet
    Raises: OutOfRangeError outside these ranges
    Source: equilibrium of forces
    """
    carrying = 2 if uneven and feet > 3 else feet
    return mass * GRAVITY / carrying


@kernel(
    force="N", diameter="m", returns="Pa", source=s.STATICS,
    valid={"force": (0, 1e6), "diameter": (0.005, 1)},
)  # fmt: skip
def counter_pressure(force: float, diameter: float) -> float:
    """Mean pressure under a round foot.

    Formula: p = F/(pi/4 d^2)

    Args:
        force: on the foot [N]
        diameter: of its bearing face [m]
    Returns: pressure [Pa]
    Valid: force 0 to 1e6 N; diameter 5 mm to 1 m
    Raises: OutOfRangeError outside these ranges
    Source: equilibrium of forces
    """
    return force / (math.pi / 4.0 * diameter * diameter)
