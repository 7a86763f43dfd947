"""Filling: the steam boiler up to its level probe in pump runs, the brew boilers, running groups solid."""

from __future__ import annotations

import math

from procgen.engineering import fill_network, filling, hydraulics
from procgen.engineering.sources import ARITHMETIC
from procgen.engineering.sources_fluid import (
    DARCY_WEISBACH,
    HYDROSTATICS,
    IDEAL_GAS,
    ORIFICE,
    QUADRATIC_SOURCE,
    STOP_AND_CHECK,
    TREATMENT_CURVE,
    VANE_PUMP,
)
from procgen.values.define import VALUES, UnavailableError
from procgen.values.definitions import network
from procgen.values.definitions.place import boiler_marks, brew_boiler
from procgen.values.definitions.supply import _treatment_formula
from procgen.values.reader import Facts, Reader
from procgen.values.worksheet import Series


@VALUES.value("fill.volume", "volume", formula="V_probe", source=ARITHMETIC, digits=2)
def volume(r: Reader) -> float:
    return r.leaf(r.machine.steam_boiler, "volume_to_probe", "V_probe")


@VALUES.value(
    "fill.flow",
    "flow",
    residual="{fill.supply_pressure} + {fill.pump_rise} - {fill.treatment_loss} - {fill.hose_loss}"
    " - {fill.lift_head} - {fill.check_valve} - {fill.orifice_loss}",
    source=DARCY_WEISBACH,
    digits=3,
)
def flow(r: Reader) -> float:
    """The flow at which supply, pump and losses in series balance."""
    return network.flow_of(network.fill_network(r)).flow


@VALUES.value(
    "fill.supply_pressure",
    "pressure_gauge",
    formula=lambda facts: network.supply_formula(facts, "Q"),
    source=QUADRATIC_SOURCE,
    digits=3,
)
def supply_pressure(r: Reader) -> float:
    """What the main still has while the boiler fills."""
    return network.supply_pressure(r, r.value("fill.flow", "Q"))


def _fed_by_pump(facts: Facts) -> bool:
    return facts.machine.water.fill.source != "mains"


def _rise_formula(facts: Facts) -> str:
    if not _fed_by_pump(facts):
        return "0"
    return "min(p_factory - p_factory_in, (Q_1 + s * dp_1 - Q) / s)".replace(
        "s * dp_1", "(Q_1 - Q_2) / (dp_2 - dp_1) * dp_1"
    ).replace("/ s)", "/ ((Q_1 - Q_2) / (dp_2 - dp_1)))")


@VALUES.value("fill.pump_rise", "pressure_difference", formula=_rise_formula, source=VANE_PUMP, digits=3)
def pump_rise(r: Reader) -> float:
    """What the pump adds at its factory setting: its bypass, or less where it cannot deliver the flow (below
    zero where the main pushes more than the vanes let through)."""
    unit = network.source_pump(r, r.machine.water.fill.source)
    if unit is None:
        return 0.0
    flow = r.value("fill.flow", "Q")
    by, rise = network.bypass(r, unit), network.factory_rise(r, unit)
    return min(rise, (by.displacement - flow) / by.slip if by.slip else rise)


@VALUES.value(
    "fill.treatment_loss",
    "pressure_difference",
    formula=lambda facts: _treatment_formula(facts) if facts.site and facts.site.treatment else "0",
    source=TREATMENT_CURVE,
    digits=3,
)
def treatment_loss(r: Reader) -> float:
    points = network.treatment_curve(r)
    return hydraulics.treatment_loss(r.value("fill.flow", "Q"), points) if points else 0.0


def _hoses_formula(facts: Facts) -> str:
    terms = ["pipe_loss(Q, d_line, L_line, 1.5e-6, T)"]
    for mark in facts.machine.water.fill.hoses:
        terms.append(f"pipe_loss(Q, d_{mark}, L_{mark}, 1.5e-6, T)")
        terms.append(f"fitting_loss(Q, d_{mark}, K_{mark}, T)")
    return " + ".join(terms)


@VALUES.value(
    "fill.hose_loss", "pressure_difference", formula=_hoses_formula, source=DARCY_WEISBACH, digits=3
)
def hose_loss(r: Reader) -> float:
    return network.lost_in(r, r.value("fill.flow", "Q"), network.fill_hoses(r))


@VALUES.value(
    "fill.lift_head", "pressure_difference", formula="density(T) * 9.80665 * z", source=HYDROSTATICS, digits=3
)
def lift_head(r: Reader) -> float:
    return hydraulics.static_head(r.leaf(r.machine.water.fill, "lift", "z"), network.water_temperature(r))


@VALUES.value("fill.check_valve", "pressure_difference", formula="p_check", source=ARITHMETIC, digits=2)
def check_valve(r: Reader) -> float:
    return r.leaf(r.machine.water.fill, "check_valve_opens", "p_check")


@VALUES.value(
    "fill.orifice_loss",
    "pressure_difference",
    formula="orifice_loss(Q, d_o, C_d, T)",
    source=ORIFICE,
    digits=3,
)
def orifice_loss(r: Reader) -> float:
    path = r.machine.water.fill
    return hydraulics.orifice_loss(
        r.value("fill.flow", "Q"),
        r.leaf(path, "orifice_bore", "d_o"),
        r.leaf(path, "orifice_discharge", "C_d"),
        network.water_temperature(r),
    )


@VALUES.value("fill.time", "time", formula="V / Q", source=ARITHMETIC, digits=2)
def time(r: Reader) -> float:
    return filling.fill_time(r.value("fill.volume", "V"), r.value("fill.flow", "Q"))


@VALUES.value("fill.pump_runs", "count", formula="ceil(t / tau - 1e-9)", source=ARITHMETIC, step=1.0)
def pump_runs(r: Reader) -> int:
    timeout = r.leaf(r.machine.steam_boiler, "fill_timeout", "tau")
    return filling.pump_runs(r.value("fill.time", "t"), timeout)


@VALUES.value("fill.resets", "count", formula="n - 1", source=ARITHMETIC, step=1.0)
def resets(r: Reader) -> int:
    return int(r.value("fill.pump_runs", "n")) - 1


@VALUES.value(
    "fill.stop_and_check_runs", "count", formula="n_worst + 1", source=STOP_AND_CHECK, step=1.0, after=True
)
def stop_and_check_runs(r: Reader) -> int:
    """One run more than the most that is predicted: after it, stop and look for a fault."""
    return filling.stop_and_check_runs(int(r.highest("fill.pump_runs", "n_worst")))


@VALUES.value("fill.curve", "series", source=ARITHMETIC)
def curve(r: Reader) -> Series:
    """Level against pump time with a time-out at the end of each full run."""
    timeout = r.leaf(r.machine.steam_boiler, "fill_timeout", "tau")
    points = filling.level_curve(r.value("fill.volume", "V"), r.value("fill.flow", "Q"), timeout)
    return Series((("pump_time", "time"), ("volume", "volume")), points)


@VALUES.value(
    "fill.brew_trapped_air",
    "ratio",
    formula="p_atm / (p_atm + p_fill)",
    source=IDEAL_GAS,
    digits=2,
    keys=boiler_marks,
    worst="highest",
)
def brew_trapped_air(r: Reader, mark: str) -> float:
    """Share of a brew boiler that stays air when it is filled with its group closed."""
    p_atm = r.value("site.atmospheric_pressure", "p_atm")
    return filling.trapped_air_share(r.value("fill.brew_fill_pressure", "p_fill"), p_atm)


@VALUES.value(
    "fill.brew_fill_pressure",
    "pressure_gauge",
    formula=lambda facts: (
        ("min(p_static, p_reducer)" if facts.site and facts.site.mains.reducer else "p_static") + " - p_check"
    ),
    source=ARITHMETIC,
    digits=2,
)
def brew_fill_pressure(r: Reader) -> float:
    """Pressure of the standing main behind the brew feed's check valve, pumps standing still."""
    main = network.mains(r).static_gauge
    fitted = network.reducer(r)
    main = min(main, fitted.setting_gauge) if fitted else main
    pressure = main - r.leaf(r.machine.water.brew_feed, "check_valve_opens", "p_check")
    if pressure <= 0:
        raise UnavailableError("no_flow")
    return pressure


def group_marks(r: Reader) -> list[str]:
    """Marks of the groups."""
    return [group.mark for group in r.machine.groups]


def _brew_main(facts: Facts) -> str:
    """Pressure of the standing main at the flow sought."""
    return network.supply_formula(facts, "result")


def _brew_losses(facts: Facts) -> list[str]:
    """Losses from the main up to the brew boilers at the flow sought."""
    terms = ["pipe_loss(result, d_line, L_line, 1.5e-6, T)"]
    if facts.site and facts.site.treatment:
        terms.insert(0, _treatment_formula(facts).replace("(Q", "(result"))
    for mark in facts.machine.water.brew_feed.hoses:
        terms.append(f"pipe_loss(result, d_{mark}, L_{mark}, 1.5e-6, T)")
        terms.append(f"fitting_loss(result, d_{mark}, K_{mark}, T)")
    return [*terms, "p_check"]


def _brew_way(facts: Facts) -> str:
    """Pressure left of the standing main at the flow sought, up to the brew boilers."""
    return " - ".join([_brew_main(facts), *_brew_losses(facts)])


@VALUES.value(
    "fill.group_flow",
    "flow",
    residual=lambda facts: f"{_brew_way(facts)} - orifice_loss(result, d_r, C_r, T)",
    source=ORIFICE,
    digits=2,
    keys=group_marks,
    worst="lowest",
)
def group_flow(r: Reader, mark: str) -> float:
    """Flow out of an open group from the main alone, pumps standing still."""
    group = next(g for g in r.machine.groups if g.mark == mark)
    bore = r.leaf(group, "restrictor_bore", "d_r")
    return network.flow_of(network.brew_network(r, (bore, r.leaf(group, "restrictor_discharge", "C_r")))).flow


@VALUES.value(
    "fill.bleed_time",
    "time",
    formula="(V * a + V) / Q",
    source=IDEAL_GAS,
    digits=1,
    keys=group_marks,
    worst="highest",
)
def bleed_time(r: Reader, mark: str) -> float:
    """The trapped air leaves, water takes its place, and one boiler volume carries the bubbles out."""
    group = next(g for g in r.machine.groups if g.mark == mark)
    boiler = brew_boiler(r, group.brew_boiler)
    V = r.leaf(boiler, "volume", "V")
    air = r.value(f"fill.brew_trapped_air[{boiler.mark}]", "a")
    return (V * air + V) / r.value(f"fill.group_flow[{mark}]", "Q")


def _feed_residual(facts: Facts) -> str:
    """Zero where the pressures balance, or where the cartridge's curve ends and pressure is left over."""
    if not (facts.site and facts.site.treatment):
        return _brew_way(facts)
    last = f"q{len(facts.site.treatment.loss)}"
    losses = " + ".join(_brew_losses(facts))
    return f"min({_brew_main(facts)}, {losses}) - ({losses}) + 1e9 * max(0, result - 1.5 * {last})"


@VALUES.value("fill.brew_feed_flow", "flow", residual=_feed_residual, source=DARCY_WEISBACH, digits=2)
def brew_feed_flow(r: Reader) -> float:
    """Flow of the main into an empty brew boiler, pumps still; at most the end of the cartridge's curve."""
    way = network.brew_network(r)
    limit = hydraulics.curve_limit(way.treatment) if way.treatment else math.inf
    if limit < math.inf and fill_network.fill_residual(way, limit) > 0:
        return limit
    return network.flow_of(way).flow


@VALUES.value(
    "fill.brew_time",
    "time",
    formula=lambda facts: (
        "closed_fill_time("
        + " + ".join(f"V_{b.mark}" for b in facts.machine.brew_boilers)
        + ", Q, p_fill, p_atm)"
    ),
    source=IDEAL_GAS,
    digits=1,
)
def brew_time(r: Reader) -> float:
    """All brew boilers together, filled closed until their air is squeezed to the pressure of the main."""
    total = sum(r.leaf(brew_boiler(r, m), "volume", f"V_{m}") for m in boiler_marks(r))
    flow, pressure = r.value("fill.brew_feed_flow", "Q"), r.value("fill.brew_fill_pressure", "p_fill")
    return filling.closed_fill_time(total, flow, pressure, r.value("site.atmospheric_pressure", "p_atm"))
