"""Pump settings: how the inlet pressure rides on the bypass."""

from __future__ import annotations

from procgen.engineering import hydraulics
from procgen.engineering.sources_fluid import QUADRATIC_SOURCE, VANE_PUMP
from procgen.values.define import VALUES, UnavailableError
from procgen.values.definitions import network
from procgen.values.definitions.supply import _treatment_formula
from procgen.values.reader import Facts, Reader


def _inlet_formula(facts: Facts) -> str:
    main = network.supply_formula(facts, "Q")
    return f"{main} - {_treatment_formula(facts)}" if facts.site and facts.site.treatment else main


@VALUES.value(
    "pump.inlet_brewing", "pressure_gauge", formula=_inlet_formula, source=QUADRATIC_SOURCE, step=10_000.0
)
def inlet_brewing(r: Reader) -> float:
    """Inlet pressure while one group brews through coffee: hoses lose next to nothing at that flow."""
    flow = r.leaf(r.machine.brewing, "flow_under_load", "Q")
    pressure = network.supply_pressure(r, flow)
    points = network.treatment_curve(r)
    return pressure - (hydraulics.treatment_loss(flow, points) if points else 0.0)


@VALUES.value(
    "pump.brew_setting",
    "pressure_gauge",
    formula="min(p_target, p_max - (p_static_max - p_inlet))",
    source=VANE_PUMP,
    step=10_000.0,
)
def brew_setting(r: Reader) -> float:
    """At the group, one group brewing through coffee: the target, lowered where the night's inlet pressure
    would carry it past the maximum."""
    brewing = r.machine.brewing
    night = r.value("supply.static_maximum", "p_static_max") - r.value("pump.inlet_brewing", "p_inlet")
    return min(r.leaf(brewing, "pressure", "p_target"), r.leaf(brewing, "pressure_maximum", "p_max") - night)


def _standing(facts: Facts) -> str:
    return "min(p_static, p_reducer)" if facts.site and facts.site.mains.reducer else "p_static"


@VALUES.value(
    "pump.brew_static_setting",
    "pressure_gauge",
    formula=lambda facts: f"p_set + ({_standing(facts)} - p_inlet)",
    source=VANE_PUMP,
    step=10_000.0,
)
def brew_static_setting(r: Reader) -> float:
    """The same setting read without flow: the inlet then stands at the day's static pressure."""
    static = network.mains(r).static_gauge
    fitted = network.reducer(r)
    static = min(static, fitted.setting_gauge) if fitted else static
    return r.value("pump.brew_setting", "p_set") + static - r.value("pump.inlet_brewing", "p_inlet")


@VALUES.value(
    "pump.brew_maximum",
    "pressure_gauge",
    formula="max(p_set + (p_static_max - p_inlet), p_static_max)",
    source=VANE_PUMP,
    step=10_000.0,
)
def brew_maximum(r: Reader) -> float:
    """Highest pressure behind the brew pump: no flow, inlet at its highest, which no setting takes away."""
    night = r.value("supply.static_maximum", "p_static_max")
    return float(
        max(r.value("pump.brew_setting", "p_set") + night - r.value("pump.inlet_brewing", "p_inlet"), night)
    )


@VALUES.value(
    "pump.brew_minimum",
    "pressure_gauge",
    formula="p_set - (p_inlet - p_peak)",
    source=VANE_PUMP,
    step=10_000.0,
)
def brew_minimum(r: Reader) -> float:
    """Lowest pressure behind the brew pump: everything drawing at once, the pump on its bypass."""
    if len(r.machine.pumps.units) == 1:
        raise UnavailableError("one_pump_for_all")
    fall = r.value("pump.inlet_brewing", "p_inlet") - r.value("supply.inlet_pressure", "p_peak")
    return r.value("pump.brew_setting", "p_set") - fall


@VALUES.value(
    "pump.cold_water_setting", "pressure_gauge", formula="p_setting", source=VANE_PUMP, step=10_000.0
)
def cold_water_setting(r: Reader) -> float:
    """Outlet pressure of the cold-water pump, hot water running, that gives the target temperature."""
    if r.machine.hot_water.method != "pump_setting":
        raise UnavailableError("not_by_pump_setting")
    return float(r.value("hotwater.setting_for_target", "p_setting"))
