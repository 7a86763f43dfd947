"""Fall, rises, capacity, air gap, waste temperature, relief discharge."""

from __future__ import annotations

from typing import Any

from procgen.engineering import drain as drains
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.sources import COMMON_PRACTICE
from procgen.engineering.sources_general import MANNING
from procgen.values.definitions.drain import air_gap_source, fall_source, waste_source
from procgen.values.judge import Case, Outcome, attention, passes, rule, stop


@rule("drain_rise", "builder", COMMON_PRACTICE)
def drain_rise(c: Case) -> Outcome | None:
    assert c.site is not None
    if c.site.drain is None:
        return stop("not_surveyed", "planner")
    for segment in c.site.drain.segments:
        if segment.within_trap or segment.after_pump:
            continue
        fall = c.value(f"drain.fall[{segment.name}]")
        if fall is not None and fall.low is not None and fall.low < 0:
            return stop("rises", run=segment.name, fall=c.figure(f"drain.fall[{segment.name}]", "pair"))
    exempt = any(s.within_trap or s.after_pump for s in c.site.drain.segments)
    return passes("declared") if exempt else passes()


@rule("drain_fall", "builder", fall_source)
def drain_fall(c: Case) -> Outcome | None:
    assert c.site is not None
    if c.site.drain is None:
        return None
    code = c.site.codes.drainage
    for segment in c.site.drain.segments:
        if segment.within_trap or segment.after_pump:
            continue
        fall = c.value(f"drain.fall[{segment.name}]")
        if fall is None or fall.low is None or fall.low < 0:
            continue
        try:
            required = drains.required_fall(segment.bore.low, code)
        except OutOfRangeError:
            return attention(
                "no_figure", "planner", run=segment.name, bore=c.leaf(segment, "bore"), code=code
            )
        if fall.low < required - 1e-9:
            return stop(
                "too_little",
                run=segment.name,
                fall=c.figure(f"drain.fall[{segment.name}]", "pair"),
                required=c.limit("fall", required, 0.001),
                code=code,
            )
    if c.value("drain.fall_worst") is None:
        return None
    return passes(
        fall=c.figure("drain.fall_worst", "pair"), required=c.figure("drain.fall_required", "pair"), code=code
    )


@rule("drain_capacity", "builder", MANNING)
def drain_capacity(c: Case) -> Outcome | None:
    capacity, peak = c.low("drain.capacity"), c.high("drain.peak_flow")
    if capacity is None or peak is None:
        return None
    params: dict[str, Any] = {
        "capacity": c.figure("drain.capacity", "lower"),
        "peak": c.figure("drain.peak_flow", "upper"),
    }
    return stop("too_small", **params) if peak > capacity else passes(**params)


@rule("drain_air_gap", "builder", air_gap_source)
def drain_air_gap(c: Case) -> Outcome | None:
    assert c.site is not None
    if c.site.drain is None:
        return None
    required = c.value("drain.air_gap")
    if required is None or required.value is None:
        return None
    if c.site.drain.air_gap is None:
        return attention("not_surveyed", "planner", required=c.figure("drain.air_gap", "at_least"))
    params: dict[str, Any] = {
        "gap": c.leaf(c.site.drain, "air_gap"),
        "required": c.figure("drain.air_gap", "at_least"),
    }
    if c.site.drain.air_gap.low < required.value - 1e-9:
        return stop("too_small", **params)
    return passes(**params)


@rule("drain_temperature", "builder", waste_source)
def drain_temperature(c: Case) -> Outcome | None:
    assert c.site is not None
    hot, limit = c.high("drain.temperature"), c.low("drain.temperature_limit")
    if hot is None or limit is None or c.site.drain is None:
        return None
    params: dict[str, Any] = {
        "temperature": c.figure("drain.temperature", "upper"),
        "limit": c.figure("drain.temperature_limit", "pair"),
    }
    if hot <= limit:
        return passes(**params)
    if c.value("drain.dilution") is None:
        return attention("may_be_hot", "technician", **params)
    return attention("dilute", "technician", share=c.figure("drain.dilution", "upper"), **params)


@rule("relief_visible", "builder", COMMON_PRACTICE)
def relief_visible(c: Case) -> Outcome | None:
    assert c.site is not None
    if c.site.drain is None:
        return None
    visible = c.site.drain.relief_discharge_visible
    if visible is None:
        return attention("not_surveyed", "planner")
    return passes() if visible else stop("hidden")
