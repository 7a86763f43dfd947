"""What an exercise may change at a site, and what it asks for then. Nothing here computes a figure.

Figures are drawn as a surveyor would type them, in the units of the site.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from random import Random

from procgen.profiles.loader import Location
from procgen.profiles.site import Site
from procgen.units.kinds import KINDS, Preference, from_si
from procgen.units.measure import Measure, parse

Changes = dict[Location, str]

#: decimals that a surveyor types, metric and US
_DECIMALS: Mapping[str, tuple[int, int]] = {
    "altitude": (0, 0),
    "level": (0, 2),
    "mass": (0, 0),
    "pressure_gauge": (1, 0),
    "size": (0, 2),
    "temperature": (0, 0),
    "voltage": (0, 0),
}


@dataclass(frozen=True, slots=True)
class Draw:
    """One drawing of lots for one site."""

    lots: Random
    site: Site
    prefer: Preference

    def one_of(self, *typed: str, kind: str) -> str:
        """One of some figures, as typed in the units of the site."""
        return self.typed(parse(self.lots.choice(typed), kind).value, kind)

    def typed(self, si: float, kind: str) -> str:
        """A figure as a surveyor types it."""
        shown, metric = KINDS[kind], self.prefer == "metric"
        symbol = shown.metric if metric else shown.us
        decimals = _DECIMALS[kind][0 if metric else 1]
        return f"{from_si(shown, symbol, si):.{decimals}f} {symbol}"


@dataclass(frozen=True, slots=True)
class Task:
    """A kind of exercise."""

    #: its words are ``site.print.training.task.<id>``
    id: str
    level: int
    #: what is different at the site; empty where this site cannot have the exercise
    change: Callable[[Draw], Changes]
    #: values asked for; those that a machine cannot have are left out. ``*`` is the first run of the drain
    asks: tuple[str, ...] = ()
    #: checks whose verdict is asked for
    rules: tuple[str, ...] = ()
    #: whether a figure asked for must differ from the surveyed site's
    moves: bool = True
    #: figures asked for that a code states
    exact: tuple[str, ...] = ()


def _altitude(draw: Draw) -> Changes:
    """Another height, far enough from the surveyed one that it shows."""
    there = draw.site.altitude.value if draw.site.altitude else 0.0
    heights = [f"{height} m" for height in range(600, 3300, 100) if abs(height - there) >= 400]
    return {("altitude",): draw.one_of(*heights, kind="altitude")}


def _drain_fall(draw: Draw) -> Changes:
    drain = draw.site.drain
    if drain is None:
        return {}
    first, rest = drain.segments[0], drain.segments[1:]
    fall = draw.lots.choice((0.003, 0.005, 0.008, 0.012, 0.02, 0.03, 0.05))
    end = first.start_height.value - fall * first.length.value
    if first.within_trap or first.after_pump or (rest and rest[0].start_height.value > end):
        return {}
    return {("drain", "segments", 0, "end_height"): draw.typed(end, "level")}


def _air_gap(draw: Draw) -> Changes:
    if draw.site.drain is None:
        return {}
    gaps = [f"{gap} mm" for gap in (5, 10, 15, 22, 30, 45, 60)]
    return {("drain", "air_gap"): draw.one_of(*gaps, kind="size")}


def _mains(draw: Draw) -> Changes:
    """Another supply: standing, at night, and flowing at the surveyed flow."""
    if draw.site.mains.flowing is None:
        return {}
    static = draw.lots.choice((1.8, 2.2, 2.6, 3.0, 3.4, 3.8, 4.2, 4.8)) * 1e5
    drop, night = draw.lots.choice((0.3, 0.5, 0.8, 1.1)) * 1e5, draw.lots.choice((0.2, 0.5, 0.9)) * 1e5
    return {
        ("mains", "static_pressure"): draw.typed(static, "pressure_gauge"),
        ("mains", "night_pressure"): draw.typed(static + night, "pressure_gauge"),
        ("mains", "flowing", "pressure"): draw.typed(static - drop, "pressure_gauge"),
    }


def _night(draw: Draw) -> Changes:
    static = draw.site.mains.static_pressure
    if static is None:
        return {}
    rise = draw.lots.choice((0.8, 1.2, 1.6, 2.0, 2.5, 3.0, 3.5)) * 1e5
    return {("mains", "night_pressure"): draw.typed(static.high + rise, "pressure_gauge")}


def _voltage(*shares: float) -> Callable[[Draw], Changes]:
    def change(draw: Draw) -> Changes:
        electricity, share = draw.site.electricity, draw.lots.choice(shares)
        measured: dict[str, Measure | None] = {
            "line_to_neutral": electricity.line_to_neutral,
            "line_to_line": electricity.line_to_line,
        }
        return {
            ("electricity", name): draw.typed(voltage.value * share, "voltage")
            for name, voltage in measured.items()
            if voltage is not None
        }

    return change


def _use(draw: Draw) -> Changes:
    if draw.site.use is None:
        return {}
    coffees = draw.lots.choice((40, 70, 100, 140, 180, 240, 320, 400))
    return {("use", "coffees"): str(coffees), ("use", "milk_drinks"): str(round(coffees * 0.4))}


def _summer(draw: Draw) -> Changes:
    """Another supply, with warmer or colder water."""
    water = [f"{degrees} °C" for degrees in (6, 8, 10, 20, 22, 24)]
    changes = _mains(draw)
    return changes and {**changes, ("mains", "water_temperature"): draw.one_of(*water, kind="temperature")}


#: what a surveyor may find that is wrong: place, kind ("" for a word), what is typed
_WRONG: tuple[tuple[Location, str, tuple[str, ...]], ...] = (
    (("altitude",), "altitude", ("2400 m", "2700 m", "3100 m")),
    (("mains", "night_pressure"), "pressure_gauge", ("7 bar", "8 bar", "9 bar")),
    (("mains", "water_temperature"), "temperature", ("34 °C", "38 °C", "42 °C")),
    (("mains", "isolating_valve"), "", ("no",)),
    (("mains", "hammer_arrestor"), "", ("no",)),
    (("mains", "backflow_device"), "", ("none",)),
    (("electricity", "residual_device", "type"), "", ("AC",)),
    (("electricity", "isolator_all_pole"), "", ("no",)),
    (("electricity", "lockable_isolator"), "", ("no",)),
    (("drain", "air_gap"), "size", ("4 mm", "8 mm", "12 mm")),
    (("drain", "relief_discharge_visible"), "", ("no",)),
    (("drain", "waste_temperature_maximum"), "temperature", ("45 °C", "60 °C")),
    (("counter", "permitted_load"), "mass", ("30 kg", "45 kg")),
    (("counter", "clear_height"), "size", ("420 mm", "480 mm")),
    (("access", "narrowest"), "size", ("400 mm", "480 mm")),
    (("access", "people"), "", ("1",)),
)
#: how many things are wrong at once
WRONG_AT_ONCE = 3


def _wrong(draw: Draw) -> Changes:
    there = [wrong for wrong in _WRONG if len(wrong[0]) == 1 or _surveyed(draw.site, wrong[0][:-1])]
    picked = draw.lots.sample(there, WRONG_AT_ONCE)
    return {
        place: draw.one_of(*typed, kind=kind) if kind else draw.lots.choice(typed)
        for place, kind, typed in picked
    }


def _surveyed(site: Site, way: Location) -> bool:
    found: object = site
    for part in way:
        found = getattr(found, str(part), None)
    return found is not None


#: every check
EVERY = "*"

TASKS: tuple[Task, ...] = (
    Task("boiling", 1, _altitude, ("brew.temperature_limit",), ("brew_flashing",)),
    Task("steam_gauge", 1, _altitude, ("steam.saturation_pressure",)),
    Task(
        "drain_fall",
        1,
        _drain_fall,
        ("drain.fall[*]", "drain.fall_required"),
        ("drain_fall",),
        exact=("drain.fall_required",),
    ),
    Task(
        "air_gap", 1, _air_gap, ("drain.air_gap",), ("drain_air_gap",), moves=False, exact=("drain.air_gap",)
    ),
    Task(
        "fill_runs",
        2,
        _mains,
        ("fill.time", "fill.pump_runs", "fill.resets", "fill.stop_and_check_runs"),
    ),
    Task("brew_setting", 2, _night, ("pump.brew_setting", "pump.brew_maximum")),
    Task(
        "voltage_current",
        2,
        _voltage(0.91, 0.93, 0.95, 1.03, 1.05),
        ("electrical.current_highest", "electrical.current_N"),
    ),
    Task("cartridge", 2, _use, ("treatment.capacity", "treatment.change_interval")),
    Task("relief", 2, _altitude, ("steam.relief_margin",), ("relief_margin",)),
    Task("ready", 3, _voltage(0.9, 0.92, 0.94, 0.96), ("heat.time_setpoint", "heat.time_ready")),
    Task("hot_water", 3, _summer, ("hotwater.setting_for_target", "pump.cold_water_setting")),
    Task("inlet", 3, _mains, ("supply.inlet_pressure",), ("mains_low", "mains_high")),
    Task("stops", 3, _wrong, rules=(EVERY,)),
)
