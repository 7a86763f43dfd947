"""Carrying and standing: lift mass, people, lifting aid, load on feet and counter."""

from __future__ import annotations

from procgen.engineering import handling, water
from procgen.engineering.sources import ARITHMETIC
from procgen.engineering.sources_general import HSE_L23, NIOSH, STATICS
from procgen.values.constants import COUNTER_HEIGHT
from procgen.values.define import VALUES, UnavailableError
from procgen.values.definitions.place import boiler_marks, brew_boiler
from procgen.values.reader import Facts, Reader

#: The application manual's estimate: hands 20 cm beyond half the depth of what is carried.
REACH = 0.20
#: The manual's coupling of a bulky body: over 40 cm long and 30 cm high, no handles made for it.
GRIP = "poor"


@VALUES.value("handling.mass", "mass", formula="m_dry", source=ARITHMETIC, step=1.0)
def mass(r: Reader) -> float:
    return r.leaf(r.machine.body, "dry_mass", "m_dry")


def counter_height(r: Reader) -> float:
    """Height the machine is lifted to."""
    if r.site is not None and r.site.counter is not None:
        return r.leaf(r.site.counter, "height", "h")
    return r.constant(COUNTER_HEIGHT, "h")


@VALUES.value(
    "handling.weight_limit",
    "mass",
    formula="niosh_limit(0.2 + w / 2, g, h)",
    source=NIOSH,
    digits=2,
    limit="at_most",
)
def weight_limit(r: Reader) -> float:
    """Recommended limit for one person who lifts such a body from the floor to the counter.

    Hands and feet of the body travel alike. A body too long and high for both hands is a poor grip.
    """
    body = r.machine.body
    grip = r.leaf(body, "grip_height", "g")
    reach = REACH + r.leaf(body, "depth", "w") / 2
    return handling.rwl(H=reach, V=grip, D=counter_height(r), CM=handling.coupling_multiplier(GRIP, grip))


@VALUES.value("handling.lift_index", "number", formula="m / m_limit", source=NIOSH, digits=2)
def lift_index(r: Reader) -> float:
    """How many times the limit of one person: above 1 nobody lifts it alone."""
    return handling.lifting_index(r.value("handling.mass", "m"), r.value("handling.weight_limit", "m_limit"))


def _stairs(r: Reader) -> bool:
    access = r.site.access if r.site else None
    return access is not None and access.stairs > 0 and not access.lift


def _team(r: Reader) -> handling.People:
    try:
        limit = r.value("handling.weight_limit", "m_limit")
    except UnavailableError:
        # Too deep to be held close: no team may lift it by hand.
        return handling.People(None, lifting_aid=True)
    return handling.people_needed(r.value("handling.mass", "m"), limit, _stairs(r))


@VALUES.value(
    "handling.people",
    "count",
    formula=lambda facts: (
        "team_people(m, m_limit)" if not _stairs_of(facts) else "team_people_stairs(m, m_limit)"
    ),
    source=HSE_L23,
    step=1.0,
)
def people(r: Reader) -> int:
    """People who lift; with a lifting aid, people who steady it."""
    team = _team(r)
    return team.count if team.count is not None else handling.people_at_aid(r.value("handling.mass", "m"))


@VALUES.value(
    "handling.lifting_aid",
    "count",
    formula=lambda facts: "team_aid(m, m_limit)" if not _stairs_of(facts) else "1",
    source=HSE_L23,
    step=1.0,
)
def lifting_aid(r: Reader) -> int:
    """1 where more than three people would have to lift, or where stairs are in the way."""
    return int(_team(r).lifting_aid)


def _stairs_of(facts: Facts) -> bool:
    access = facts.site.access if facts.site else None
    return access is not None and access.stairs > 0 and not access.lift


def _operating(facts: Facts) -> str:
    return (
        "m_dry + rho * (V_steam + "
        + " + ".join(f"V_{b.mark}" for b in facts.machine.brew_boilers)
        + ") + m_cups"
    )


@VALUES.value(
    "handling.operating_mass",
    "mass",
    formula=lambda f: _operating(f).replace("rho", "density(293.15)"),
    source=ARITHMETIC,
    step=1.0,
)
def operating_mass(r: Reader) -> float:
    """Filled, with as many cups on top as it may carry."""
    volume = r.leaf(r.machine.steam_boiler, "volume_to_probe", "V_steam")
    volume += sum(r.leaf(brew_boiler(r, m), "volume", f"V_{m}") for m in boiler_marks(r))
    body = r.machine.body
    filled = r.leaf(body, "dry_mass", "m_dry") + water.density(293.15) * volume
    return filled + r.leaf(body, "cups_mass", "m_cups")


@VALUES.value(
    "handling.foot_load",
    "force",
    formula=lambda f: "m * 9.80665 / 2" if f.machine.body.feet > 3 else "m * 9.80665 / 3",
    source=STATICS,
    digits=2,
)
def foot_load(r: Reader) -> float:
    """On an uneven counter two diagonal feet carry all."""
    return handling.foot_load(r.value("handling.operating_mass", "m"), r.machine.body.feet)


@VALUES.value("handling.counter_load", "mass", formula="m", source=ARITHMETIC, step=1.0)
def counter_load(r: Reader) -> float:
    """What the counter carries."""
    return float(r.value("handling.operating_mass", "m"))


@VALUES.value(
    "handling.foot_pressure", "pressure_on_counter", formula="F / (pi / 4 * d^2)", source=STATICS, digits=2
)
def foot_pressure(r: Reader) -> float:
    """Under the most loaded foot."""
    return handling.counter_pressure(
        r.value("handling.foot_load", "F"), r.leaf(r.machine.body, "foot_diameter", "d")
    )
