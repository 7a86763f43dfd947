"""Heating: element power at the site's voltage, time to set point and to ready, energy, expansion."""

from __future__ import annotations

import math

from procgen.engineering import heating, heating_machine, heating_stretch, water
from procgen.engineering.materials import METALS, SPECIFIC_HEAT
from procgen.engineering.roots import crossing
from procgen.engineering.sources import ARITHMETIC
from procgen.engineering.sources_fluid import IAPWS_IF97, JOULE, LUMPED_HEAT
from procgen.values.constants import ELEMENT_TOLERANCE
from procgen.values.define import VALUES, UnavailableError
from procgen.values.definitions import network
from procgen.values.definitions.electrical import element, element_marks
from procgen.values.definitions.place import (
    all_marks,
    boiler_marks,
    boiler_of,
    brew_boiler,
    is_steam,
    set_point,
)
from procgen.values.ranges import jumps, opposed
from procgen.values.reader import Evaluation, Facts, Moved, Reader
from procgen.values.worksheet import Series

#: A group counts as soaked when it is within this of its final temperature (common practice, no source).
SOAK_DIFFERENCE = 2.0
#: By arrangement, what the same current in each line makes of power: its factor, and that written out.
LINES = {
    "1N": (1.0, ""),
    "split": (2.0, " * 2"),
    "two_legs": (3**0.5, " * 3^0.5"),
    "3N": (3.0, " * 3"),
    "3": (3**0.5, " * 3^0.5"),
    "3_delta_208": (3**0.5, " * 3^0.5"),
}
#: Under this limit no element fits, W.
LEAST_POWER = 1.0
#: Rows of the printed heat-up table.
CURVE_ROWS = 24


def ambient(r: Reader) -> float:
    """Room temperature."""
    return r.measured(r.site.ambient if r.site else None, "temperature", "ambient_temperature", "T_room")


def _drop(r: Reader) -> float:
    return float(r.part(_voltage_lost))


def _voltage_lost(r: Reader) -> float:
    """Share of the voltage lost in the fixed cable; none known without a surveyed cable, and none left where
    the voltage was read under load."""
    try:
        return float(r.value("electrical.voltage_drop", "u"))
    except UnavailableError as error:
        # A drop that cannot be worked out is not a drop of nought.
        if r.site is None or r.site.electricity.cable is None or error.reason == "pinned":
            return 0.0
        raise


def _drop_known(facts: Facts) -> bool:
    return facts.site is not None and facts.site.electricity.cable is not None


@VALUES.value(
    "heat.element_power",
    "power",
    formula=lambda facts: (
        "P * k_P * (U_el * (1 - u) / U_r)^2" if _drop_known(facts) else "P * k_P * (U_el / U_r)^2"
    ),
    source=JOULE,
    digits=3,
    keys=element_marks,
    worst="sum",
)
def element_power(r: Reader, mark: str) -> float:
    """Power of an element at the voltage under load, by rating, tolerance and the square of voltage."""
    item = element(r, mark)
    voltage = r.value(f"electrical.element_voltage[{mark}]", "U_el") * (1 - _drop(r))
    rated = r.leaf(item, "rating", "P") * r.constant(ELEMENT_TOLERANCE, "k_P")
    return heating.element_power(rated, r.leaf(item, "rated_voltage", "U_r"), voltage)


@VALUES.value(
    "heat.water_mass", "mass", formula="V * density(T_cold)", source=IAPWS_IF97, digits=3, keys=all_marks
)
def water_mass(r: Reader, mark: str) -> float:
    """Water in a boiler before it is heated: to the level probe for steam, solid in a brew boiler."""
    field = "volume_to_probe" if is_steam(r, mark) else "volume"
    return r.leaf(boiler_of(r, mark), field, "V") * water.density(network.water_temperature(r, "T_cold"))


@VALUES.value(
    "heat.stored",
    "energy",
    formula="m * (enthalpy(T_set) - enthalpy(T_cold)) + m_shell * c * (T_set - T_cold)",
    source=IAPWS_IF97,
    digits=3,
    keys=all_marks,
    worst="sum",
)
def stored(r: Reader, mark: str) -> float:
    """Heat that water and shell take up to the set point."""
    boiler = boiler_of(r, mark)
    mass, shell = r.value(f"heat.water_mass[{mark}]", "m"), r.leaf(boiler, "shell_mass", "m_shell")
    cold, hot = network.water_temperature(r, "T_cold"), set_point(r, mark)
    return heating.heat_stored(mass, ((shell, r.value(f"heat.shell_heat[{mark}]", "c")),), cold, hot)


@VALUES.value("heat.shell_heat", "specific_heat", formula="c_metal", source=METALS, digits=3, keys=all_marks)
def shell_heat(r: Reader, mark: str) -> float:
    """Specific heat of the shell's metal, J/(kg·K)."""
    metal = boiler_of(r, mark).material
    return r.table(
        f"handbook.specific_heat.{metal}", SPECIFIC_HEAT[metal], "specific_heat", "c_metal", METALS.title
    )


def _heated(r: Reader, mark: str) -> heating_stretch.HeatedBoiler:
    found: heating_stretch.HeatedBoiler = r.part(_heated_boiler, mark)
    return found


def _heated_boiler(r: Reader, mark: str) -> heating_stretch.HeatedBoiler:
    vessel: heating_stretch.HeatedBoiler
    vessel, elements = r.part(_vessel, mark)
    powers = tuple([r.value(name, symbol) for name, symbol in elements])
    return heating_stretch.HeatedBoiler(*vessel[:4], powers, *vessel[5:])


def _vessel(r: Reader, mark: str) -> tuple[heating_stretch.HeatedBoiler, list[tuple[str, str]]]:
    """A boiler as no supply changes it, without its elements; and the powers of those by their names."""
    boiler = boiler_of(r, mark)
    groups = [] if is_steam(r, mark) else [g for g in r.machine.groups if g.brew_boiler == mark]
    vessel = heating_stretch.HeatedBoiler(
        r.value(f"heat.water_mass[{mark}]", f"m_{mark}"),
        r.leaf(boiler, "shell_mass", f"m_shell_{mark}") * SPECIFIC_HEAT[boiler.material],
        r.leaf(boiler, "loss", f"UA_{mark}"),
        set_point(r, mark),
        (),
        sum([r.leaf(g, "head_mass", f"m_{g.mark}") * SPECIFIC_HEAT[g.head_material] for g in groups]),
        sum([r.leaf(g, "head_coupling", f"UA_{g.mark}") for g in groups]),
        sum([r.leaf(g, "head_loss", f"UA_room_{g.mark}") for g in groups]),
    )
    return vessel, [(f"heat.element_power[{e}]", f"P_{e}") for e in elements_of(r, mark)]


def elements_of(facts: Facts | Reader, mark: str) -> list[str]:
    """A boiler's elements in the order in which they are switched on."""
    order = facts.variant.priority
    elements = boiler_of(facts, mark).elements
    return sorted(elements, key=lambda e: order.index(e) if e in order else len(order))


def _boiler_order(r: Reader) -> list[str]:
    """Boilers in the order in which the control serves them."""
    order = r.variant.priority
    marks = all_marks(r)
    first = {
        m: min((order.index(e) for e in boiler_of(r, m).elements if e in order), default=99) for m in marks
    }
    return sorted(marks, key=lambda m: (first[m], marks.index(m)))


def power_limit(r: Reader) -> float:
    """Power the elements may draw together under the variant's current limit; infinite without one."""
    return float(r.part(_power_limit))


def _power_limit(r: Reader) -> float:
    if r.variant.current_limit is None:
        return math.inf
    current = r.leaf(r.variant, "current_limit", "I_limit") - _others(r)
    voltage = r.value("electrical.voltage", "U")
    return max(0.0, current) * voltage * LINES[r.variant.arrangement][0]


def _others(r: Reader) -> float:
    """What the other loads take of the line that carries most of them, at rated voltage and as if in phase
    with the elements: that line decides how many elements may be on."""
    return max([sum(_other_current(r, i) for i in loads) for loads in other_loads(r)], default=0.0)


def _other_current(r: Reader, index: int) -> float:
    load = r.variant.other_loads[index - 1]
    neutral = load.terminals.endswith("-N")
    rated = r.leaf(r.variant, "line_to_neutral" if neutral else "line_to_line", "U_n" if neutral else "U_nn")
    return r.leaf(load, "power", f"P_o{index}") / (r.leaf(load, "power_factor", f"c_o{index}") * rated)


def other_loads(facts: Facts | Reader) -> list[list[int]]:
    """Of each line that carries any, the other loads by their number."""
    by_line: dict[str, list[int]] = {}
    for i, load in enumerate(facts.variant.other_loads, 1):
        for line in load.terminals.split("-"):
            if line != "N":
                by_line.setdefault(line, []).append(i)
    return list(by_line.values())


def _staged(facts: Facts) -> bool:
    return facts.variant.current_limit is not None


@jumps("heat.", "use.energy", on="heat.element_power", when=_staged)
def staging_jumps(evaluation: Evaluation | Moved, leaf: str, ends: tuple[float, float]) -> list[float]:
    """Under a current limit, times jump where the powers of some elements just fit: both sides of each."""
    marks = [item.mark for item in evaluation.facts.machine.elements]

    def load(at: float) -> float:
        """Power of all elements over the limit: all but a straight line along voltage and tolerance. The same
        set fits wherever this does not pass the inverse of its share."""
        powers, limit = _fitting(evaluation.moved_by({leaf: at}), marks)
        return sum(powers) / max(limit, LEAST_POWER) if powers else math.nan

    powers, _ = _fitting(evaluation, marks)
    first, last = load(ends[0]), load(ends[1])
    if not powers or math.isnan(first + last):
        return []
    total = sum(powers)
    sums = {0.0}
    for power in powers:
        sums |= {part + power / total for part in sums}
    places: list[float] = []
    for wanted in sorted({1.0 / round(part, 9) for part in sums if part}, reverse=True):
        if (first - wanted) * (last - wanted) < 0:
            known = first - wanted, last - wanted
            at = crossing(lambda x, w=wanted: load(x) - w, *ends, 1e-8, known)  # type: ignore[misc]
            places += [at * (1 - 1e-6), at * (1 + 1e-6)]
    return places


# More power heats faster, unless it leaves room for fewer elements under the limit.
opposed("heat.", "use.energy", on="heat.element_power", when=_staged)


def _fitting(evaluation: Evaluation | Moved, marks: list[str]) -> tuple[list[float], float]:
    """Powers of the elements, and what the limit leaves for them."""
    try:
        powers = [float(evaluation.get(f"heat.element_power[{mark}]")) for mark in marks]
        return powers, float(evaluation.part_of(_power_limit))
    except UnavailableError:
        return [], 0.0


@jumps("heat.energy", "heat.soak", "use.energy", on="heat.time_ready")
def ready_kinks(evaluation: Evaluation | Moved, leaf: str, ends: tuple[float, float]) -> list[float]:
    """Soaking is shortest where steam boiler and groups are ready at the same moment."""
    marks = [boiler.mark for boiler in evaluation.facts.machine.brew_boilers]

    def lead(at: float) -> float:
        moved = evaluation.moved_by({leaf: at})
        try:
            brewing = max(
                moved.get(f"heat.time_brew[{m}]") + moved.get(f"heat.soak_brew[{m}]") for m in marks
            )
            return float(moved.get("heat.time_steam")) - float(brewing)
        except UnavailableError:
            return math.nan

    first, last = lead(ends[0]), lead(ends[1])
    return [crossing(lead, *ends, 2e-3, (first, last))] if first * last < 0 else []


def simulate(r: Reader) -> heating_machine.MachineHeat:
    """The whole machine from cold to ready."""
    found: heating_machine.MachineHeat = r.part(_simulate)
    return found


def _simulate(r: Reader) -> heating_machine.MachineHeat:
    boilers = tuple([_heated(r, mark) for mark in r.part(_boiler_order)])
    return heating_machine.machine_heating(
        boilers,
        ambient(r),
        network.water_temperature(r, "T_cold"),
        SOAK_DIFFERENCE,
        limit=power_limit(r),
    )


def _of(r: Reader, mark: str) -> heating_machine.Heating:
    found: heating_machine.Heating = r.part(_by_mark)[mark]
    return found


def _by_mark(r: Reader) -> dict[str, heating_machine.Heating]:
    return dict(zip(r.part(_boiler_order), simulate(r).boilers, strict=True))


def _balance(facts: Facts, mark: str) -> str:
    return f"{{heat.supplied[{mark}]}} - {{heat.stored[{mark}]}} - {{heat.lost[{mark}]}}"


@VALUES.value(
    "heat.time_steam",
    "time",
    residual=lambda facts: _balance(facts, facts.machine.steam_boiler.mark),
    source=LUMPED_HEAT,
    digits=2,
)
def time_steam(r: Reader) -> float:
    """Steam boiler from cold to its set point."""
    return _of(r, r.machine.steam_boiler.mark).reached


@VALUES.value(
    "heat.time_brew",
    "time",
    residual=_balance,
    source=LUMPED_HEAT,
    digits=2,
    keys=boiler_marks,
    worst="highest",
)
def time_brew(r: Reader, mark: str) -> float:
    """Brew boiler from cold to its set point."""
    return _of(r, mark).reached


@VALUES.value("heat.supplied", "energy", residual=_balance, source=LUMPED_HEAT, digits=3, keys=all_marks)
def supplied(r: Reader, mark: str) -> float:
    """Energy the boiler's elements gave until its set point."""
    return _of(r, mark).energy


@VALUES.value("heat.lost", "energy", residual=_balance, source=LUMPED_HEAT, digits=2, keys=all_marks)
def lost(r: Reader, mark: str) -> float:
    """Heat that left the boiler for room and group until its set point, summed over its curve."""
    return _of(r, mark).lost


def _setpoint_formula(facts: Facts) -> str:
    return "max(t_steam, " + ", ".join(f"t_{b.mark}" for b in facts.machine.brew_boilers) + ")"


@VALUES.value("heat.time_setpoint", "time", formula=_setpoint_formula, source=ARITHMETIC, digits=2)
def time_setpoint(r: Reader) -> float:
    """All boilers at set point; groups and casing still soak after that."""
    return max(
        r.value("heat.time_steam", "t_steam"),
        *(r.value(f"heat.time_brew[{m}]", f"t_{m}") for m in boiler_marks(r)),
    )


@VALUES.value("heat.soak", "time", formula="t_ready - t_set", source=LUMPED_HEAT, step=30.0)
def soak(r: Reader) -> float:
    """From the last set point until the slowest group is soaked."""
    return r.value("heat.time_ready", "t_ready") - r.value("heat.time_setpoint", "t_set")


def _ready_formula(facts: Facts) -> str:
    times = ["t_steam"]
    for b in facts.machine.brew_boilers:
        times.append(f"t_{b.mark} + t_soak_{b.mark}")
    return f"max({', '.join(times)})"


@VALUES.value("heat.time_ready", "time", formula=_ready_formula, source=LUMPED_HEAT, digits=2)
def time_ready(r: Reader) -> float:
    """Every boiler at set point and every group within two kelvin of its final temperature."""
    times = [r.value("heat.time_steam", "t_steam")]
    for mark in boiler_marks(r):
        times.append(
            r.value(f"heat.time_brew[{mark}]", f"t_{mark}")
            + r.value(f"heat.soak_brew[{mark}]", f"t_soak_{mark}")
        )
    return max(times)


@VALUES.value(
    "heat.soak_brew",
    "time",
    formula=lambda facts, mark: "soak_time(C_g, UA_g, UA_room, T_set, T_room, T_group)",
    source=LUMPED_HEAT,
    digits=2,
    keys=boiler_marks,
)
def soak_brew(r: Reader, mark: str) -> float:
    """From a brew boiler's set point until its groups are soaked."""
    b = _heated(r, mark)
    return heating.time_soak(
        r.value(f"heat.group_capacity[{mark}]", "C_g"),
        r.value(f"heat.group_coupling[{mark}]", "UA_g"),
        r.value(f"heat.group_loss[{mark}]", "UA_room"),
        b.T_set,
        ambient(r),
        r.value(f"heat.group_temperature[{mark}]", "T_group"),
        SOAK_DIFFERENCE,
    )


def _sum_over_groups(symbol: str):  # type: ignore[no-untyped-def]
    def formula(facts: Facts, mark: str) -> str:
        marks = [g.mark for g in facts.machine.groups if g.brew_boiler == mark]
        return " + ".join(f"{symbol}_{m}" for m in marks)

    return formula


def _capacity_formula(facts: Facts, mark: str) -> str:
    groups = [g for g in facts.machine.groups if g.brew_boiler == mark]
    return " + ".join(f"m_{g.mark} * {SPECIFIC_HEAT[g.head_material]:g}" for g in groups)


@VALUES.value(
    "heat.group_capacity",
    "heat_capacity",
    formula=_capacity_formula,
    source=METALS,
    digits=3,
    keys=boiler_marks,
)
def group_capacity(r: Reader, mark: str) -> float:
    """Heat capacity of the group heads on a brew boiler, J/K."""
    groups = [g for g in r.machine.groups if g.brew_boiler == mark]
    return sum(r.leaf(g, "head_mass", f"m_{g.mark}") * SPECIFIC_HEAT[g.head_material] for g in groups)


@VALUES.value(
    "heat.group_coupling",
    "conductance",
    formula=_sum_over_groups("UA"),
    source=ARITHMETIC,
    digits=3,
    keys=boiler_marks,
)
def group_coupling(r: Reader, mark: str) -> float:
    """Heat path from a brew boiler to its group heads."""
    groups = [g for g in r.machine.groups if g.brew_boiler == mark]
    return sum(r.leaf(g, "head_coupling", f"UA_{g.mark}") for g in groups)


@VALUES.value(
    "heat.group_loss",
    "conductance",
    formula=_sum_over_groups("UA_r"),
    source=ARITHMETIC,
    digits=3,
    keys=boiler_marks,
)
def group_loss(r: Reader, mark: str) -> float:
    """Heat path from the group heads of a brew boiler to the room."""
    groups = [g for g in r.machine.groups if g.brew_boiler == mark]
    return sum(r.leaf(g, "head_loss", f"UA_r_{g.mark}") for g in groups)


@VALUES.value(
    "heat.group_temperature",
    "temperature",
    residual=_balance,
    source=LUMPED_HEAT,
    digits=3,
    keys=boiler_marks,
)
def group_temperature(r: Reader, mark: str) -> float:
    """Group heads at the moment their brew boiler reaches its set point."""
    return _of(r, mark).T_group


@VALUES.value(
    "heat.energy",
    "energy",
    residual="result - {heat.energy_setpoint} - {heat.energy_soak}",
    source=LUMPED_HEAT,
    digits=2,
)
def energy(r: Reader) -> float:
    """From cold to ready, all boilers."""
    return simulate(r).energy


def _energy_formula(facts: Facts) -> str:
    marks = [facts.machine.steam_boiler.mark, *(b.mark for b in facts.machine.brew_boilers)]
    return " + ".join(f"E_{m}" for m in marks)


@VALUES.value("heat.energy_setpoint", "energy", formula=_energy_formula, source=ARITHMETIC, digits=3)
def energy_setpoint(r: Reader) -> float:
    """What the elements gave each boiler until its own set point."""
    return sum(r.value(f"heat.supplied[{m}]", f"E_{m}") for m in all_marks(r))


@VALUES.value("heat.energy_soak", "energy", formula="E_ready - E_setpoint", source=LUMPED_HEAT, digits=1)
def energy_soak(r: Reader) -> float:
    """What holds the boilers at set point until the slowest group is soaked."""
    return r.value("heat.energy", "E_ready") - r.value("heat.energy_setpoint", "E_setpoint")


@VALUES.value("heat.curve", "series", source=LUMPED_HEAT)
def curve(r: Reader) -> Series:
    """Temperature of each boiler against time."""
    result = simulate(r)
    step = result.time_ready / CURVE_ROWS
    times = [step * k for k in range(CURVE_ROWS + 1)]
    columns = [("time", "time"), *((mark, "temperature") for mark in r.part(_boiler_order))]
    rows = tuple((t, *(heat.temperature(t) for heat in result.boilers)) for t in times)
    return Series(tuple(columns), rows)


def _expansion_formula(facts: Facts) -> str:
    return " + ".join(f"V_{b.mark} * expansion(T_cold, T_{b.mark})" for b in facts.machine.brew_boilers)


@VALUES.value(
    "heat.expansion_volume", "small_volume", formula=_expansion_formula, source=IAPWS_IF97, digits=2
)
def expansion_volume(r: Reader) -> float:
    """What the brew boilers push out through the expansion valve while they heat closed."""
    cold = network.water_temperature(r, "T_cold")
    return sum(
        heating.expansion_volume(
            r.leaf(brew_boiler(r, m), "volume", f"V_{m}"),
            cold,
            r.value(f"brew.set_temperature[{m}]", f"T_{m}"),
        )
        for m in boiler_marks(r)
    )
