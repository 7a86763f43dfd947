"""The place: atmosphere, boiling point, steam pressure, brew temperature."""

from __future__ import annotations

from procgen.engineering import atmosphere, water
from procgen.engineering.sources import ARITHMETIC
from procgen.engineering.sources_fluid import ENTHALPY_BALANCE, IAPWS_IF97, ISA
from procgen.profiles.boilers import BrewBoiler, SteamBoiler
from procgen.values.define import VALUES, UnavailableError
from procgen.values.reader import Facts, Reader


def boiler_marks(r: Facts | Reader) -> list[str]:
    """Marks of the brew boilers."""
    return [boiler.mark for boiler in r.machine.brew_boilers]


def brew_boiler(r: Facts | Reader, mark: str) -> BrewBoiler:
    """A brew boiler by its mark."""
    return next(boiler for boiler in r.machine.brew_boilers if boiler.mark == mark)


def all_marks(r: Reader) -> list[str]:
    """Marks of all boilers, the steam boiler first."""
    return [r.machine.steam_boiler.mark, *boiler_marks(r)]


def is_steam(r: Facts | Reader, mark: str) -> bool:
    """Whether a mark is the steam boiler's."""
    return mark == r.machine.steam_boiler.mark


def boiler_of(r: Facts | Reader, mark: str) -> SteamBoiler | BrewBoiler:
    """Any boiler by its mark."""
    return r.machine.steam_boiler if is_steam(r, mark) else brew_boiler(r, mark)


def set_point(r: Reader, mark: str) -> float:
    """Temperature to which a boiler is heated."""
    if is_steam(r, mark):
        return float(r.value("steam.set_temperature", "T_set"))
    return float(r.value(f"brew.set_temperature[{mark}]", "T_set"))


@VALUES.value("site.atmospheric_pressure", "pressure_absolute", formula="isa_pressure(z)", source=ISA)
def atmospheric_pressure(r: Reader) -> float:
    z = r.measured(r.site, "altitude", "altitude", "z")
    return atmosphere.pressure_at_altitude(z)


@VALUES.value(
    "water.boiling_point_site",
    "temperature",
    formula="saturation_temperature(p_atm)",
    source=IAPWS_IF97,
    step=0.1,
)
def boiling_point_site(r: Reader) -> float:
    return water.saturation_temperature(r.value("site.atmospheric_pressure", "p_atm"))


def _steam_formula(facts: object) -> str:
    steam = facts.machine.steam_boiler  # type: ignore[attr-defined]
    return "T_set" if steam.holds == "temperature" else "saturation_temperature(p_set + p_atm)"


@VALUES.value(
    "steam.set_temperature", "temperature", formula=_steam_formula, source=IAPWS_IF97, step=0.1, typed=True
)
def steam_set_temperature(r: Reader) -> float:
    steam = r.machine.steam_boiler
    if steam.holds == "temperature":
        return r.leaf(steam, "set_temperature", "T_set")
    p_atm = r.value("site.atmospheric_pressure", "p_atm")
    return water.saturation_temperature(r.leaf(steam, "set_pressure", "p_set") + p_atm)


@VALUES.value(
    "steam.saturation_pressure",
    "pressure_gauge",
    formula="saturation_pressure(T) - p_atm",
    source=IAPWS_IF97,
    step=1000.0,
)
def steam_saturation_pressure(r: Reader) -> float:
    T = r.value("steam.set_temperature", "T")
    return water.saturation_pressure(T) - r.value("site.atmospheric_pressure", "p_atm")


@VALUES.value(
    "steam.relief_margin",
    "pressure_difference",
    formula="p_relief * (1 - max(tol, blowdown)) - (saturation_pressure(T + dT) - p_atm)",
    source=ARITHMETIC,
    step=1000.0,
)
def steam_relief_margin(r: Reader) -> float:
    """Between the highest pressure the controller lets come and the lowest at which the valve may open or
    stay open: its setting less the larger of opening tolerance and reseating."""
    steam = r.machine.steam_boiler
    valve = steam.relief_valve
    setting = r.leaf(valve, "setting", "p_relief")
    below = max(r.leaf(valve, "opening_tolerance", "tol"), r.leaf(valve, "reseat_below", "blowdown"))
    highest = r.value("steam.set_temperature", "T") + r.leaf(steam, "overshoot", "dT")
    return setting * (1 - below) - (
        water.saturation_pressure(highest) - r.value("site.atmospheric_pressure", "p_atm")
    )


@VALUES.value(
    "steam.set_maximum",
    "temperature",
    formula="saturation_temperature(p_relief * (1 - max(tol, blowdown)) + p_atm) - dT",
    source=IAPWS_IF97,
    step=1.0,
    limit="at_most",
)
def steam_set_maximum(r: Reader) -> float:
    """Highest set point that leaves the relief valve shut here: where its margin is nought."""
    steam = r.machine.steam_boiler
    if steam.holds != "temperature":
        raise UnavailableError("held_by_pressure")
    valve = steam.relief_valve
    setting = r.leaf(valve, "setting", "p_relief")
    below = max(r.leaf(valve, "opening_tolerance", "tol"), r.leaf(valve, "reseat_below", "blowdown"))
    hottest = water.saturation_temperature(
        setting * (1 - below) + r.value("site.atmospheric_pressure", "p_atm")
    )
    return hottest - r.leaf(steam, "overshoot", "dT")


@VALUES.value(
    "brew.set_temperature",
    "temperature",
    formula="T_set",
    source=ARITHMETIC,
    step=0.1,
    typed=True,
    keys=boiler_marks,
    worst="highest",
)
def brew_set_temperature(r: Reader, mark: str) -> float:
    return r.leaf(brew_boiler(r, mark), "set_temperature", "T_set")


@VALUES.value(
    "brew.temperature_limit", "temperature", formula="T_boil", source=IAPWS_IF97, step=0.1, limit="at_most"
)
def brew_temperature_limit(r: Reader) -> float:
    """Above the local boiling point water flashes at the open group; the boiler itself is under pressure."""
    return r.value("water.boiling_point_site", "T_boil")


@VALUES.value(
    "brew.flash_fraction",
    "ratio",
    formula="flash_fraction(T, p_brew + p_atm, p_atm)",
    source=ENTHALPY_BALANCE,
    step=0.001,
    keys=boiler_marks,
    worst="highest",
)
def brew_flash_fraction(r: Reader, mark: str) -> float:
    p_atm = r.value("site.atmospheric_pressure", "p_atm")
    pressure = r.leaf(r.machine.brewing, "pressure", "p_brew")
    return water.flash_fraction(r.value(f"brew.set_temperature[{mark}]", "T"), pressure + p_atm, p_atm)
