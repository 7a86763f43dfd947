"""Mains, reducer, backflow, treatment and water quality."""

from __future__ import annotations

from typing import Any

from procgen.engineering import supply
from procgen.engineering.kernel import Source
from procgen.engineering.sources import COMMON_PRACTICE
from procgen.engineering.sources_general import (
    EN_1717_CATEGORIES,
    LANGELIER,
    USGS_HARDNESS,
)
from procgen.engineering.treatment import hardness_class
from procgen.values.judge import Case, Outcome, attention, passes, rule, stop

MAKER = Source("maker", "The machine maker's limits, from its profile", kind="maker")
IPC_607_3 = Source("ipc-607-3", "International Plumbing Code", "607.3")
IPC_604_9 = Source("ipc-604-9", "International Plumbing Code", "604.9", from_memory=True)


@rule("mains_low", "planner", MAKER)
def mains_low(c: Case) -> Outcome | None:
    v = c.value("supply.inlet_pressure")
    window = c.machine.water.inlet_pressure
    lowest = c.low("supply.inlet_pressure")
    assert c.site is not None
    if c.site.mains.flowing is None:
        return attention("not_read", limit=c.leaf(c.machine.water, "inlet_pressure", "lower"))
    if v is None or lowest is None:
        return stop("no_flow", "builder", why=c.why("supply.inlet_pressure"))
    params: dict[str, Any] = {
        "pressure": c.figure("supply.inlet_pressure"),
        "limit": c.leaf(c.machine.water, "inlet_pressure", "lower"),
        "flow": c.figure("supply.peak_flow"),
    }
    if v.high is not None and v.high < window.low:
        return stop("below", "builder", **params)
    if lowest < window.low:
        return attention("may_be_below", "builder", **params)
    return passes(**params)


@rule("mains_high", "builder", MAKER)
def mains_high(c: Case) -> Outcome | None:
    highest = c.high("supply.static_maximum")
    if highest is None:
        return None
    params: dict[str, Any] = {
        "pressure": c.figure("supply.static_maximum", "upper"),
        "limit": c.leaf(c.machine.water, "inlet_pressure", "upper"),
    }
    if highest > c.machine.water.inlet_pressure.high:
        return stop("above", **params)
    return passes(**params)


@rule("night_pressure", "technician", COMMON_PRACTICE)
def night_pressure(c: Case) -> Outcome | None:
    """Pump setting at the night's inlet pressure against brew maximum and expansion valve."""
    highest = c.high("pump.brew_maximum")
    if highest is None:
        return None
    brewing = c.machine.brewing
    lowest_setting = c.low("pump.brew_setting") or 0.0
    params: dict[str, Any] = {
        "pressure": c.figure("pump.brew_maximum", "upper"),
        "maximum": c.leaf(brewing, "pressure_maximum"),
        "valve": c.leaf(brewing, "expansion_valve_setting"),
        "setting": c.figure("pump.brew_setting", "pair"),
        "target": c.leaf(brewing, "pressure"),
    }
    if highest >= brewing.expansion_valve_setting.low:
        return stop("opens_valve", "builder", **params)
    if highest > brewing.pressure_maximum.high + 1.0 or lowest_setting < brewing.pressure.low - 1.0:
        return attention("lowered", "builder", **params)
    return passes(**params)


@rule("reducer", "builder", COMMON_PRACTICE)
def reducer(c: Case) -> Outcome | None:
    site = c.site
    assert site is not None
    night = site.mains.night_pressure or site.mains.static_pressure
    if night is None:
        return attention("not_read")
    threshold = supply.reducer_threshold(site.codes.plumbing)
    needed = night.high > min(threshold, c.machine.water.inlet_pressure.high)
    if not needed:
        return passes()
    section = "night_pressure" if site.mains.night_pressure else "static_pressure"
    params: dict[str, Any] = {"pressure": c.leaf(site.mains, section, "upper"), "code": site.codes.plumbing}
    if site.mains.reducer is None:
        wanted = c.value("supply.reducer_setting")
        if wanted is None:
            return stop("missing", **params)
        return stop("missing_with_setting", setting=c.figure("supply.reducer_setting", "pair"), **params)
    return passes("fitted", setting=c.leaf(site.mains.reducer, "setting"), **params)


@rule("isolating_valve", "builder", COMMON_PRACTICE)
def isolating_valve(c: Case) -> Outcome | None:
    assert c.site is not None
    mains = c.site.mains
    if mains.isolating_valve is None or mains.strainer is None:
        return attention("not_surveyed", "planner")
    if not mains.isolating_valve:
        return stop("missing")
    return passes() if mains.strainer else attention("no_strainer")


@rule("hammer_arrestor", "builder", IPC_604_9)
def hammer_arrestor(c: Case) -> Outcome | None:
    assert c.site is not None
    fitted = c.site.mains.hammer_arrestor
    if fitted is None:
        return attention("not_surveyed", "planner")
    return passes() if fitted else attention("missing")


_PROTECTION = {"none": 0, "single_check": 1, "double_check": 2, "reduced_pressure_zone": 3, "air_gap": 4}


@rule("backflow", "builder", EN_1717_CATEGORIES)
def backflow(c: Case) -> Outcome | None:
    assert c.site is not None
    wanted, fitted = c.site.codes.backflow_device, c.site.mains.backflow_device
    if wanted == "unknown":
        return attention("unknown", "water_expert", code=c.site.codes.plumbing)
    params: dict[str, Any] = {"wanted": f"words.{wanted}", "code": c.site.codes.plumbing}
    if fitted is None:
        return attention("not_surveyed", "planner", **params)
    params["fitted"] = f"words.{fitted}"
    if _PROTECTION[fitted] < _PROTECTION[wanted]:
        return stop("weaker", **params)
    return passes(**params)


@rule("expansion_control", "builder", IPC_607_3)
def expansion_control(c: Case) -> Outcome | None:
    assert c.site is not None
    mains = c.site.mains
    closed = mains.reducer is not None or mains.backflow_device not in {None, "none"}
    if not closed:
        return None
    if mains.expansion_control is None:
        return attention("not_surveyed", "planner")
    return passes() if mains.expansion_control else attention("missing")


@rule("feedwater_temperature", "water_expert", MAKER)
def feedwater_temperature(c: Case) -> Outcome | None:
    assert c.site is not None
    measured = c.site.mains.water_temperature
    if measured is None:
        return attention(
            "not_read", "planner", limit=c.leaf(c.machine.water, "feedwater_temperature", "span")
        )
    limits = c.machine.water.feedwater_temperature
    params: dict[str, Any] = {
        "temperature": c.leaf(c.site.mains, "water_temperature", "span"),
        "limit": c.leaf(c.machine.water, "feedwater_temperature", "span"),
    }
    if measured.low < limits.low or measured.high > limits.high:
        return stop("outside", **params)
    treatment = c.site.treatment
    if treatment and measured.high > treatment.temperature_maximum.low:
        return stop("too_warm_for_cartridge", cartridge=c.leaf(treatment, "temperature_maximum"), **params)
    return passes(**params)


@rule("treatment_limits", "water_expert", MAKER)
def treatment_limits(c: Case) -> Outcome | None:
    assert c.site is not None
    treatment = c.site.treatment
    if treatment is None:
        return attention("none")
    # The cartridge stands behind the reducer and sees the night's pressure.
    highest = c.high("supply.static_maximum")
    if highest is None:
        return None
    params: dict[str, Any] = {
        "pressure": c.figure("supply.static_maximum", "upper"),
        "limit": c.leaf(treatment, "pressure_maximum"),
        "name": treatment.name,
    }
    return stop("pressure", **params) if highest > treatment.pressure_maximum.low else passes(**params)


@rule("water_hardness", "water_expert", USGS_HARDNESS)
def water_hardness(c: Case) -> Outcome | None:
    v = c.value("treatment.hardness")
    if v is None or v.value is None or v.low is None or v.high is None:
        return attention("unknown", why=c.why("treatment.hardness"))
    window = c.machine.water.limits.hardness
    params: dict[str, Any] = {
        "hardness": c.figure("treatment.hardness"),
        "window": c.leaf(c.machine.water.limits, "hardness", "span"),
        "basis": c.machine.water.limits.basis,
        "class": f"words.{hardness_class(v.value)}",
    }
    if v.low > window.high:
        return stop("hard", **params)
    if v.high < window.low:
        return attention("soft", **params)
    if v.low < window.low or v.high > window.high:
        return attention("borderline", **params)
    return passes(**params)


def _within_window(c: Case, identifier: str, field: str) -> Outcome | None:
    """A figure of the treated water against the maker's window; where it is unknown another rule says so."""
    v = c.value(identifier)
    if v is None or v.low is None or v.high is None:
        return None
    window = getattr(c.machine.water.limits, field)
    params: dict[str, Any] = {
        "found": c.figure(identifier),
        "window": c.leaf(c.machine.water.limits, field, "span"),
    }
    if v.low < window.low - 1e-9 or v.high > window.high + 1e-9:
        return attention("outside", **params)
    return passes(**params)


@rule("alkalinity", "water_expert", MAKER)
def alkalinity(c: Case) -> Outcome | None:
    return _within_window(c, "treatment.alkalinity", "alkalinity")


@rule("conductivity", "water_expert", MAKER)
def conductivity(c: Case) -> Outcome | None:
    return _within_window(c, "treatment.conductivity_probe", "conductivity")


@rule("ph", "water_expert", MAKER)
def ph(c: Case) -> Outcome | None:
    """The sample's own pH, or what a treatment makes of it: that can only be predicted, and is then read."""
    assert c.site is not None
    water, treated = c.site.water, c.site.treatment
    if water is None:
        return None
    if treated is None or water.treated or treated.kind not in {"decarbonising", "reverse_osmosis"}:
        return _within_window(c, "treatment.ph", "ph")
    params: dict[str, Any] = {"name": treated.name, "window": c.leaf(c.machine.water.limits, "ph", "span")}
    outcome = _within_window(c, "treatment.ph", "ph")
    if outcome is None:
        return attention("not_told", why=c.why("treatment.ph"), **params)
    params["found"] = c.figure("treatment.ph")
    return passes("treated", **params) if outcome.verdict == "pass" else attention("acid", **params)


@rule("scale", "water_expert", LANGELIER)
def scale(c: Case) -> Outcome | None:
    v = c.value("treatment.lsi_brew")
    if v is None or v.high is None:
        return attention("unknown", why=c.why("treatment.lsi_brew"))
    params: dict[str, Any] = {"index": c.figure("treatment.lsi_brew", "pair")}
    steam = c.value("treatment.steam_hardness")
    if v.high > 1.0:
        return attention("heavy", **params)
    if steam is not None and steam.high is not None and steam.high > 500.0:
        return attention(
            "concentrates",
            steam=c.figure("treatment.steam_hardness", "upper"),
            ratio=c.figure("treatment.concentration_ratio", "pair"),
            **params,
        )
    return passes(**params)


@rule("corrosion", "water_expert", LANGELIER)
def corrosion(c: Case) -> Outcome | None:
    v = c.value("treatment.lsi_brew")
    if v is None or v.low is None:
        return None
    params: dict[str, Any] = {"index": c.figure("treatment.lsi_brew", "pair")}
    if v.low < -1.5:
        return attention("aggressive", **params)
    return passes(**params)


@rule("chloride", "water_expert", MAKER)
def chloride(c: Case) -> Outcome | None:
    v = c.value("treatment.chloride")
    if v is None or v.high is None:
        return attention("unknown", why=c.why("treatment.chloride"))
    limits = c.machine.water.limits
    params: dict[str, Any] = {
        "chloride": c.figure("treatment.chloride"),
        "limit": c.leaf(limits, "chloride_maximum"),
    }
    return stop("above", **params) if v.high > limits.chloride_maximum.high else passes(**params)


@rule("probe_blind", "water_expert", MAKER)
def probe_blind(c: Case) -> Outcome | None:
    v = c.value("treatment.conductivity_probe")
    if v is None or v.low is None:
        return attention("unknown", why=c.why("treatment.conductivity_probe"))
    steam = c.machine.steam_boiler
    params: dict[str, Any] = {
        "conductivity": c.figure("treatment.conductivity_probe"),
        "limit": c.leaf(steam, "probe_conductivity_minimum"),
    }
    return stop("blind", **params) if v.low < steam.probe_conductivity_minimum.high else passes(**params)
