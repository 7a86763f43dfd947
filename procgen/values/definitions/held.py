"""A hot machine with nothing drawn: how often and how long the elements of each boiler come on."""

from __future__ import annotations

from procgen.engineering import heating, water
from procgen.engineering.heating_machine import fitting
from procgen.engineering.sources import ARITHMETIC
from procgen.engineering.sources_fluid import IAPWS_IF97, LUMPED_HEAT
from procgen.values.define import VALUES, UnavailableError
from procgen.values.definitions.heat import LINES, ambient, elements_of, other_loads, power_limit
from procgen.values.definitions.place import all_marks, boiler_of, is_steam, set_point
from procgen.values.reader import Facts, Reader


def _power_formula(facts: Facts, mark: str) -> str:
    powers = [f"P_{element}" for element in elements_of(facts, mark)]
    variant = facts.variant
    if variant.current_limit is None:
        return " + ".join(powers)
    sums = [" + ".join(_current(facts, i) for i in loads) for loads in other_loads(facts)]
    others = "" if not sums else f" - ({sums[0]})" if len(sums) == 1 else f" - max({', '.join(sums)})"
    return f"fitting(max(0, I_limit{others}) * U{LINES[variant.arrangement][1]}, {', '.join(powers)})"


def _current(facts: Facts, index: int) -> str:
    rated = "U_n" if facts.variant.other_loads[index - 1].terminals.endswith("-N") else "U_nn"
    return f"P_o{index} / (c_o{index} * {rated})"


@VALUES.value(
    "heat.boiler_power", "power", formula=_power_formula, source=ARITHMETIC, digits=3, keys=all_marks
)
def boiler_power(r: Reader, mark: str) -> float:
    """The elements of a boiler that may be on together."""
    powers = tuple([r.value(f"heat.element_power[{e}]", f"P_{e}") for e in elements_of(r, mark)])
    return fitting(powers, power_limit(r))


@VALUES.value(
    "heat.held_capacity",
    "heat_capacity",
    formula="V * density(T_set) * (enthalpy(T_set) - enthalpy(T_set - 1)) + m_shell * c",
    source=IAPWS_IF97,
    digits=3,
    keys=all_marks,
)
def held_capacity(r: Reader, mark: str) -> float:
    """Heat that a hot boiler gives up a kelvin: water as it fills it when hot, and shell. The steam above the
    water, under two hundredths of it, is left out."""
    boiler = boiler_of(r, mark)
    T_set = set_point(r, mark)
    volume = r.leaf(boiler, "volume_to_probe" if is_steam(r, mark) else "volume", "V")
    shell, heat = r.leaf(boiler, "shell_mass", "m_shell"), r.value(f"heat.shell_heat[{mark}]", "c")
    by_kelvin = water.enthalpy_liquid(T_set) - water.enthalpy_liquid(T_set - 1.0)
    return volume * water.density(T_set) * by_kelvin + shell * heat


def _loss_formula(facts: Facts, mark: str) -> str:
    through = "UA" if is_steam(facts, mark) else "(UA + UA_g * UA_r / (UA_g + UA_r))"
    return f"{through} * (T_set - T_room)"


@VALUES.value(
    "heat.held_loss", "heat_flow", formula=_loss_formula, source=LUMPED_HEAT, digits=2, keys=all_marks
)
def held_loss(r: Reader, mark: str) -> float:
    """What a boiler at its set point loses to the room, through soaked groups as well."""
    conductance = r.leaf(boiler_of(r, mark), "loss", "UA")
    if not is_steam(r, mark):
        coupling = r.value(f"heat.group_coupling[{mark}]", "UA_g")
        loss = r.value(f"heat.group_loss[{mark}]", "UA_r")
        conductance += coupling * loss / (coupling + loss)
    lost = conductance * (set_point(r, mark) - ambient(r))
    if lost < 0:
        raise UnavailableError("room_hotter")
    return lost


def _conductance(r: Reader, mark: str) -> float:
    conductance = r.leaf(boiler_of(r, mark), "loss", "UA")
    return conductance if is_steam(r, mark) else conductance + r.value(f"heat.group_coupling[{mark}]", "UA_g")


def _cycle_formula(ratio: str):  # type: ignore[no-untyped-def]
    """Time between the thermostat's two temperatures, from the ratio of what drives it at both."""

    def formula(facts: Facts, mark: str) -> str:
        conductance = "UA" if is_steam(facts, mark) else "(UA + UA_g)"
        return f"C / {conductance} * ln({ratio.format(conductance)})"

    return formula


@VALUES.value(
    "heat.cycle_off",
    "time",
    formula=_cycle_formula("P_loss / (P_loss - {} * dT)"),
    source=LUMPED_HEAT,
    digits=2,
    keys=all_marks,
)
def cycle_off(r: Reader, mark: str) -> float:
    """Elements of a hot boiler off between two heatings, groups soaked, nothing drawn."""
    return heating.time_off(
        r.value(f"heat.held_capacity[{mark}]", "C"),
        _conductance(r, mark),
        r.value(f"heat.held_loss[{mark}]", "P_loss"),
        r.leaf(boiler_of(r, mark), "hysteresis", "dT"),
    )


@VALUES.value(
    "heat.cycle_on",
    "time",
    formula=_cycle_formula("(P - P_loss + {} * dT) / (P - P_loss)"),
    source=LUMPED_HEAT,
    digits=2,
    keys=all_marks,
)
def cycle_on(r: Reader, mark: str) -> float:
    """Elements of a hot boiler on at one heating, groups soaked, nothing drawn."""
    return heating.time_on(
        r.value(f"heat.held_capacity[{mark}]", "C"),
        _conductance(r, mark),
        r.value(f"heat.boiler_power[{mark}]", "P"),
        r.value(f"heat.held_loss[{mark}]", "P_loss"),
        r.leaf(boiler_of(r, mark), "hysteresis", "dT"),
    )
