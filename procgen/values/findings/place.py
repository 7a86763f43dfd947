"""Altitude, set points, relief valve, and fills that lie outside the usual count."""

from __future__ import annotations

from typing import Any

from procgen.engineering.kernel import Source
from procgen.engineering.sources import COMMON_PRACTICE
from procgen.engineering.sources_fluid import IAPWS_IF97
from procgen.values.findings.water import MAKER
from procgen.values.judge import Case, Outcome, attention, passes, rule, stop

IEC_60335_1_29 = Source("iec-60335-1-29", "IEC 60335-1", "clause 29", from_memory=True)
#: Pump runs of a machine of ordinary size at ordinary pressure (common practice, no source).
USUAL_RUNS = (3, 6)


@rule("altitude_rating", "planner", IEC_60335_1_29)
def altitude_rating(c: Case) -> Outcome | None:
    assert c.site is not None
    if c.site.altitude is None:
        return attention("unknown")
    params: dict[str, Any] = {
        "altitude": c.leaf(c.site, "altitude"),
        "limit": c.leaf(c.machine.design, "altitude_maximum"),
    }
    if c.site.altitude.high > c.machine.design.altitude_maximum.low:
        return stop("above", **params)
    return passes(**params)


@rule("brew_flashing", "technician", IAPWS_IF97, without_site=True)
def brew_flashing(c: Case) -> Outcome | None:
    hottest, limit = c.high("brew.set_temperature"), c.low("brew.temperature_limit")
    if hottest is None or limit is None:
        return None
    params: dict[str, Any] = {
        "temperature": c.figure("brew.set_temperature", "upper"),
        "limit": c.figure("brew.temperature_limit", "lower"),
    }
    if hottest > limit:
        return attention("flashes", fraction=c.figure("brew.flash_fraction", "upper"), **params)
    return passes(**params)


@rule("relief_margin", "technician", MAKER, without_site=True)
def relief_margin(c: Case) -> Outcome | None:
    v = c.value("steam.relief_margin")
    if v is None or v.low is None or v.high is None:
        return None
    steam = c.machine.steam_boiler
    params: dict[str, Any] = {
        "pressure": c.figure("steam.saturation_pressure", "upper"),
        "valve": c.leaf(steam.relief_valve, "setting"),
        "mark": steam.relief_valve.mark,
    }
    if v.low <= 0:
        if c.value("steam.set_maximum") is None:
            return stop("none", **params)
        return stop("too_hot", highest=c.figure("steam.set_maximum", "at_most"), **params)
    return passes(margin=c.figure("steam.relief_margin", "lower"), **params)


@rule("fill_runs_unusual", "technician", COMMON_PRACTICE, without_site=True)
def fill_runs_unusual(c: Case) -> Outcome | None:
    v = c.value("fill.pump_runs")
    if v is None or v.low is None or v.high is None:
        return None
    params: dict[str, Any] = {
        "runs": c.figure("fill.pump_runs"),
        "volume": c.figure("fill.volume", "pair"),
        "flow": c.figure("fill.flow"),
        "timeout": c.leaf(c.machine.steam_boiler, "fill_timeout"),
        "bore": c.leaf(c.machine.water.fill, "orifice_bore"),
    }
    if v.high < USUAL_RUNS[0]:
        return passes("few", **params)
    if v.low > USUAL_RUNS[1]:
        return passes("many", **params)
    return passes(**params)
