"""The drain: fall of each run, capacity, temperature of the waste, air gap."""

from __future__ import annotations

from procgen.engineering import drain, hydraulics, water
from procgen.engineering.kernel import OutOfRangeError, Source
from procgen.engineering.sources import ARITHMETIC
from procgen.engineering.sources_general import (
    CODE_NAMES,
    DECLARED,
    MANNING,
    MANNING_ROUGHNESS,
    MIXING,
    UnknownEntryError,
    code_entry,
)
from procgen.profiles.site import DrainSegment
from procgen.values.define import VALUES, UnavailableError
from procgen.values.definitions import network
from procgen.values.definitions.fill import group_marks
from procgen.values.definitions.hotwater import machine_hot_water
from procgen.values.reader import Facts, Reader

#: Branches run half full (EN 12056-2, system I).
DEPTH_RATIO = 0.5


def segments(r: Reader | Facts) -> list[DrainSegment]:
    """Runs that must fall: a declared trap and what follows a waste pump may rise."""
    if r.site is None or r.site.drain is None:
        return []
    return [s for s in r.site.drain.segments if not s.within_trap and not s.after_pump]


def segment_names(r: Reader) -> list[str]:
    """Names of those runs."""
    return [segment.name for segment in segments(r)]


def segment(r: Reader, name: str) -> DrainSegment:
    """A run by its name."""
    return next(item for item in segments(r) if item.name == name)


def _code(r: Reader | Facts) -> str:
    """The drainage code that the site declares."""
    return r.site.codes.drainage if r.site else "EN 12056"


def _surveyed(r: Reader) -> None:
    if r.site is None:
        raise UnavailableError("needs_site")
    if r.site.drain is None:
        raise UnavailableError("not_surveyed", field="drain")


@VALUES.value(
    "drain.fall",
    "fall",
    formula="(h_start - h_end) / L",
    source=ARITHMETIC,
    step=0.001,
    keys=segment_names,
)
def fall(r: Reader, name: str) -> float:
    run = segment(r, name)
    return drain.segment_fall(
        r.leaf(run, "start_height", "h_start"), r.leaf(run, "end_height", "h_end"), r.leaf(run, "length", "L")
    )


def _worst(facts: Facts) -> str:
    site = facts.site
    runs = (
        [s for s in site.drain.segments if not s.within_trap and not s.after_pump]
        if site and site.drain
        else []
    )
    return f"min({', '.join(f'f_{i}' for i, _ in enumerate(runs, 1))})"


@VALUES.value("drain.fall_worst", "fall", formula=_worst, source=ARITHMETIC, step=0.001)
def fall_worst(r: Reader) -> float:
    _surveyed(r)
    falls = [r.value(f"drain.fall[{name}]", f"f_{i}") for i, name in enumerate(segment_names(r), 1)]
    if not falls:
        raise UnavailableError("no_run")
    return min(falls)


def fall_source(facts: Facts) -> Source:
    """The rule of the declared code for the narrowest run; its last one where that is wider than all."""
    bores = [run.bore.value for run in segments(facts)]
    bore = min(bores, default=facts.machine.design.drain_bore.value)
    code = _code(facts)
    try:
        return drain.fall_rule(bore, code).source
    except OutOfRangeError:
        return code_entry("required_fall", drain.FALL_RULES, code)[-1].source


def waste_source(facts: Facts) -> Source:
    """The site's own declaration, else the declared code."""
    limit = drain.WASTE_TEMPERATURE.get(CODE_NAMES.get(_code(facts), ""))
    return DECLARED if _declared(facts) or limit is None else limit.source


def air_gap_source(facts: Facts) -> Source:
    """The declared code's least gap."""
    return code_entry("air_gap", drain.AIR_GAP_MINIMUM, _code(facts)).source


@VALUES.value(
    "drain.fall_required",
    "fall",
    formula=lambda facts: "required_fall(d)" if facts.site else "required_fall(d_drain)",
    source=fall_source,
    step=0.001,
    limit="at_least",
)
def fall_required(r: Reader) -> float:
    """What the declared code asks of the narrowest run."""
    if r.site is None:
        return drain.required_fall(r.leaf(r.machine.design, "drain_bore", "d_drain"), _code(r))
    _surveyed(r)
    runs = segments(r)
    if not runs:
        raise UnavailableError("no_run")
    narrowest = min(runs, key=lambda s: s.bore.value)
    return drain.required_fall(r.leaf(narrowest, "bore", "d"), _code(r))


@VALUES.value(
    "drain.run_capacity",
    "drain_flow",
    formula="manning_half_full(d, f, n)",
    source=MANNING,
    digits=2,
    keys=segment_names,
)
def run_capacity(r: Reader, name: str) -> float:
    run = segment(r, name)
    slope = r.value(f"drain.fall[{name}]", "f")
    if slope <= 0:
        raise UnavailableError("no_fall")
    return drain.capacity_part_full(
        r.leaf(run, "bore", "d"), min(slope, 1.0), r.value("drain.manning_n", "n"), DEPTH_RATIO
    )


@VALUES.value("drain.manning_n", "number", formula="n_pipe", source=MANNING_ROUGHNESS, digits=3)
def manning_n(r: Reader) -> float:
    """Roughness of the pipe by Manning."""
    _surveyed(r)
    assert r.site is not None
    assert r.site.drain is not None
    pipe = r.site.drain.pipe
    return r.table(
        f"handbook.manning_n.{pipe}", drain.roughness(pipe), "number", "n_pipe", MANNING_ROUGHNESS.title
    )


def _capacities(facts: Facts) -> str:
    return _worst(facts).replace("f_", "Q_")


@VALUES.value("drain.capacity", "drain_flow", formula=_capacities, source=MANNING, digits=2)
def capacity(r: Reader) -> float:
    """Of the run that carries least, half full."""
    _surveyed(r)
    flows = [r.value(f"drain.run_capacity[{name}]", f"Q_{i}") for i, name in enumerate(segment_names(r), 1)]
    if not flows:
        raise UnavailableError("no_run")
    return min(flows)


#: Boiler water on its way to the drain is at boiling point at most, where a kilogram takes most room, K.
HOTTEST = 373.15


def _peak(facts: Facts) -> str:
    marks = [g.mark for g in facts.machine.groups]
    if network.brew_pump(facts) is None:
        rinse = " + ".join(f"Q_{mark}" for mark in marks)
    else:
        each = " + ".join(f"orifice_flow(p_brew, d_{mark}, C_{mark}, T)" for mark in marks)
        rinse = f"min(Q_pump, {each})"
    if facts.machine.hot_water.method == "none":
        return rinse
    return f"{rinse} + Q_cold + m_hot / density(373.15)"


def _rinse(r: Reader) -> float:
    """Every group rinsed at once: by the pump, or by the main where none feeds the groups."""
    pump = network.brew_pump(r)
    if pump is None:
        return sum([float(r.value(f"fill.group_flow[{mark}]", f"Q_{mark}")) for mark in group_marks(r)])
    pressure, T = r.value("pump.brew_maximum", "p_brew"), network.water_temperature(r)
    each = sum(
        hydraulics.orifice_flow(
            pressure,
            r.leaf(group, "restrictor_bore", f"d_{group.mark}"),
            r.leaf(group, "restrictor_discharge", f"C_{group.mark}"),
            T,
        )
        for group in r.machine.groups
    )
    return min(r.leaf(pump.curve[0], "flow", "Q_pump"), each)


@VALUES.value("drain.peak_flow", "drain_flow", formula=_peak, source=ARITHMETIC, digits=2)
def peak_flow(r: Reader) -> float:
    """Every group rinsed at once by the pump, and hot water run into the tray."""
    total: float = r.part(_rinse)
    if r.machine.hot_water.method != "none":
        total += r.value("hotwater.cold_flow", "Q_cold")
        total += r.value("hotwater.hot_flow", "m_hot") / water.density(HOTTEST)
    return total


@VALUES.value(
    "drain.temperature",
    "temperature",
    formula=lambda f: (
        f"min({'T_brew' if f.machine.hot_water.method == 'none' else 'max(T_brew, T_hot)'}, T_boil)"
    ),
    source=MIXING,
    step=1.0,
)
def temperature(r: Reader) -> float:
    """Hottest water that runs for longer: a group rinsed at brew temperature, or hot water at its target; at
    most at boiling point."""
    hottest = r.value("brew.set_temperature", "T_brew")
    if r.machine.hot_water.method != "none":
        hottest = max(hottest, r.leaf(machine_hot_water(r), "target", "T_hot"))
    return min(hottest, r.value("water.boiling_point_site", "T_boil"))


@VALUES.value(
    "drain.temperature_limit",
    "temperature",
    formula=lambda facts: "T_max" if _declared(facts) else "waste_limit()",
    source=waste_source,
    step=1.0,
    limit="at_most",
)
def temperature_limit(r: Reader) -> float:
    """What the site declares its drain bears; without a declaration, what the code lets in."""
    declared = r.site.drain if r.site else None
    if declared is not None and declared.waste_temperature_maximum is not None:
        return r.leaf(declared, "waste_temperature_maximum", "T_max")
    try:
        return drain.waste_temperature_limit(_code(r))
    except UnknownEntryError:
        raise UnavailableError("waste_not_in_code", code=_code(r)) from None


def _declared(facts: Facts) -> bool:
    site = facts.site
    return bool(site and site.drain and site.drain.waste_temperature_maximum)


@VALUES.value(
    "drain.dilution", "number", formula="(T_hot - T_limit) / (T_limit - T_cold)", source=MIXING, digits=2
)
def dilution(r: Reader) -> float:
    """Litres of cold water run along with each litre of hot water to stay within the limit."""
    hot, limit = r.value("drain.temperature", "T_hot"), r.value("drain.temperature_limit", "T_limit")
    if hot <= limit:
        raise UnavailableError("not_needed")
    cold = network.water_temperature(r, "T_cold")
    if cold >= limit:
        raise UnavailableError("cold_not_below_limit")
    return (hot - limit) / (limit - cold)


@VALUES.value(
    "drain.air_gap", "size", formula="air_gap(d)", source=air_gap_source, step=0.001, limit="at_least"
)
def air_gap(r: Reader) -> float:
    """Least clear height between the machine's drain hose and the rim of what receives it."""
    return drain.air_gap(r.leaf(r.machine.drain, "bore", "d"), _code(r))
