"""What the owner will ask: water, energy and heat to the room in a day."""

from __future__ import annotations

from procgen.engineering import cooling, use, water
from procgen.engineering.sources import ARITHMETIC, COMMON_PRACTICE
from procgen.engineering.sources_fluid import IAPWS_IF97, LUMPED_HEAT
from procgen.values.constants import HAND_WARM, STEAM_PER_MILK_DRINK, WATER_PER_COFFEE
from procgen.values.define import VALUES, UnavailableError
from procgen.values.definitions import network
from procgen.values.definitions.heat import ambient
from procgen.values.definitions.place import boiler_marks, brew_boiler
from procgen.values.reader import Facts, Reader

#: Mean specific heat of water between hand-warm and boiling, J/(kg K): IAPWS-IF97 gives 4192.
WATER = 4190.0


def _use(r: Reader):  # type: ignore[no-untyped-def]
    if r.site is None:
        raise UnavailableError("needs_site")
    if r.site.use is None:
        raise UnavailableError("not_surveyed", field="use")
    return r.site.use


def _has_hot_water(facts: Facts) -> bool:
    return facts.machine.hot_water.method != "none"


@VALUES.value(
    "use.steam_drawn",
    "mass",
    formula="n_milk * m_s",
    source=COMMON_PRACTICE,
    digits=2,
)
def steam_drawn(r: Reader) -> float:
    """Steam for milk in a day."""
    return r.leaf(_use(r), "milk_drinks", "n_milk") * r.constant(STEAM_PER_MILK_DRINK, "m_s")


@VALUES.value(
    "use.liquid_drawn",
    "mass",
    formula=lambda f: "V_hot * 1000 * x" if _has_hot_water(f) else "0",
    source=COMMON_PRACTICE,
    digits=2,
)
def liquid_drawn(r: Reader) -> float:
    """Boiler water that leaves the steam boiler as water in a day."""
    if r.machine.hot_water.method == "none":
        _use(r)
        return 0.0
    return r.leaf(_use(r), "hot_water", "V_hot") * 1000.0 * r.value("hotwater.hot_share", "x")


@VALUES.value(
    "use.water_per_day",
    "volume",
    formula=lambda f: "n_coffee * V_c + m_steam / 1000" + (" + V_hot" if _has_hot_water(f) else ""),
    source=COMMON_PRACTICE,
    digits=2,
)
def water_per_day(r: Reader) -> float:
    """Water that enters the machine in a day: coffees with their rinse, steam, hot water."""
    served = _use(r)
    coffees = r.leaf(served, "coffees", "n_coffee") * r.constant(WATER_PER_COFFEE, "V_c")
    total = coffees + r.value("use.steam_drawn", "m_steam") / 1000.0
    if r.machine.hot_water.method != "none":
        total += r.leaf(served, "hot_water", "V_hot")
    return total


def _standby_formula(facts: Facts) -> str:
    terms = ["UA_steam * (T_steam - T_room)"]
    for b in facts.machine.brew_boilers:
        terms.append(f"UA_{b.mark} * (T_{b.mark} - T_room)")
        terms.append(
            f"UA_g_{b.mark} * UA_r_{b.mark} / (UA_g_{b.mark} + UA_r_{b.mark}) * (T_{b.mark} - T_room)"
        )
    return " + ".join(terms)


@VALUES.value("use.standby", "heat_flow", formula=_standby_formula, source=LUMPED_HEAT, digits=2)
def standby(r: Reader) -> float:
    """What holds a hot machine hot: boilers lose to the room, and through their groups."""
    room = ambient(r)
    steam = r.machine.steam_boiler
    total = r.leaf(steam, "loss", "UA_steam") * (r.value("steam.set_temperature", "T_steam") - room)
    for m in boiler_marks(r):
        T = r.value(f"brew.set_temperature[{m}]", f"T_{m}")
        coupling, loss = (
            r.value(f"heat.group_coupling[{m}]", f"UA_g_{m}"),
            r.value(f"heat.group_loss[{m}]", f"UA_r_{m}"),
        )
        total += r.leaf(brew_boiler(r, m), "loss", f"UA_{m}") * (T - room)
        total += coupling * loss / (coupling + loss) * (T - room)
    if total < 0:
        raise UnavailableError("room_hotter")
    return total


def _steady(facts: Facts | Reader) -> list[int]:
    """Numbers of the other loads that run as long as the machine is switched on."""
    return [i for i, load in enumerate(facts.variant.other_loads, 1) if load.runs == "always"]


def _steady_formula(facts: Facts) -> str:
    return " + ".join(f"P_o{i}" for i in _steady(facts))


@VALUES.value("use.steady_loads", "heat_flow", formula=_steady_formula, source=ARITHMETIC, digits=2)
def steady_loads(r: Reader) -> float:
    """What control, lighting and a heated top draw all the time; all of it becomes heat."""
    numbers = _steady(r)
    if not numbers:
        raise UnavailableError("no_steady_loads")
    return sum(r.leaf(r.variant.other_loads[i - 1], "power", f"P_o{i}") for i in numbers)


def _while_on(facts: Facts) -> str:
    return "P_standby + P_steady" if _steady(facts) else "P_standby"


def _power_while_on(r: Reader) -> float:
    """What the machine draws, and gives to the room, while it is hot and nobody draws anything."""
    standby = float(r.value("use.standby", "P_standby"))
    return standby + r.value("use.steady_loads", "P_steady") if _steady(r) else standby


@VALUES.value(
    "use.heat_drawn",
    "energy",
    formula=lambda f: (
        "1000 * n_coffee * V_c * (enthalpy(T_brew) - enthalpy(T_cold))"
        " + m_steam * (enthalpy(T_steam) + latent(T_steam) - enthalpy(T_cold))"
        + (" + m_liquid * (enthalpy(T_steam) - enthalpy(T_cold))" if _has_hot_water(f) else "")
    ),
    source=IAPWS_IF97,
    digits=2,
)
def heat_drawn(r: Reader) -> float:
    """Heat that leaves with the drinks in a day."""
    cold, steam_T = network.water_temperature(r, "T_cold"), r.value("steam.set_temperature", "T_steam")
    h_cold = water.enthalpy_liquid(cold)
    coffee = 1000.0 * r.leaf(_use(r), "coffees", "n_coffee") * r.constant(WATER_PER_COFFEE, "V_c")
    total = coffee * (water.enthalpy_liquid(r.value("brew.set_temperature", "T_brew")) - h_cold)
    h_steam = water.enthalpy_liquid(steam_T) + water.enthalpy_vaporisation(steam_T)
    total += r.value("use.steam_drawn", "m_steam") * (h_steam - h_cold)
    if r.machine.hot_water.method != "none":
        total += r.value("use.liquid_drawn", "m_liquid") * (water.enthalpy_liquid(steam_T) - h_cold)
    return total


@VALUES.value(
    "use.energy_per_day",
    "energy",
    formula=lambda facts: f"E_heat + ({_while_on(facts)}) * n_hours * 3600 + E_drawn",
    source=LUMPED_HEAT,
    digits=2,
)
def energy_per_day(r: Reader) -> float:
    """One heat-up, standing losses and steady loads while it is on, and what leaves with the drinks."""
    served = _use(r)
    return use.energy_per_day(
        r.value("heat.energy", "E_heat"),
        1.0,
        _power_while_on(r),
        r.leaf(served, "hours_on", "n_hours"),
        r.value("use.heat_drawn", "E_drawn"),
    )


@VALUES.value("use.heat_to_room", "heat_flow", formula=_while_on, source=LUMPED_HEAT, digits=2)
def heat_to_room(r: Reader) -> float:
    """While it is on and hot; drinks carry the rest away."""
    return _power_while_on(r)


@VALUES.value(
    "flush.cooling",
    "time",
    formula="cooling_time(m_w * c_w + m_s * c_s, UA, T_boil, T_warm, T_room)",
    source=LUMPED_HEAT,
    digits=1,
)
def time_to_cool(r: Reader) -> float:
    """From boiling without pressure to hand-warm, left alone."""
    steam = r.machine.steam_boiler
    room, warm = ambient(r), r.constant(HAND_WARM, "T_warm")
    if room > warm - 1.0:
        raise UnavailableError("room_too_warm")
    heat = r.table("handbook.specific_heat.water", WATER, "specific_heat", "c_w", IAPWS_IF97.title)
    capacity = r.value(f"heat.water_mass[{steam.mark}]", "m_w") * heat + r.leaf(
        steam, "shell_mass", "m_s"
    ) * r.value(f"heat.shell_heat[{steam.mark}]", "c_s")
    boiling = r.value("water.boiling_point_site", "T_boil")
    return cooling.cooling_time(capacity, r.leaf(steam, "loss", "UA"), boiling, warm, room)
