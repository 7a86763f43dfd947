"""Guidance beside the licensed electrician, who decides."""

from __future__ import annotations

from typing import Any

from procgen.engineering import earthing, electrical_cable
from procgen.engineering.sources import COMMON_PRACTICE
from procgen.engineering.sources_general import (
    IEC_60364_4_41,
    IEC_60364_4_43,
    IEC_60364_5_52_G,
    RCD_PRACTICE,
)
from procgen.values.constants import IEC_60038
from procgen.values.judge import Case, Outcome, attention, passes, rule, stop


@rule("supply_variant", "electrician", COMMON_PRACTICE)
def supply_variant(c: Case) -> Outcome | None:
    assert c.site is not None
    found = c.site.electricity.arrangement
    wanted = c.variant.arrangement
    params: dict[str, Any] = {"wanted": f"words.arrangement_{wanted}"}
    if found is None:
        return attention("not_surveyed", "planner", **params)
    params["found"] = f"words.arrangement_{found}"
    return stop("differs", **params) if found != wanted else passes(**params)


@rule("voltage", "electrician", IEC_60038)
def voltage(c: Case) -> Outcome | None:
    assert c.site is not None
    site = c.site.electricity
    name = "line_to_line" if c.variant.arrangement in {"3", "3_delta_208"} else "line_to_neutral"
    measured, nominal = getattr(site, name), getattr(c.variant, name)
    if measured is None:
        return attention("not_read", "planner")
    if site.arrangement != c.variant.arrangement or nominal is None:
        return None
    params: dict[str, Any] = {"voltage": c.leaf(site, name, "span"), "nominal": c.leaf(c.variant, name)}
    line = "_line" if name == "line_to_line" else ""
    # Limits are kept wherever they lie in a range of their own.
    lowest, highest = c.high(f"electrical.voltage{line}_low"), c.low(f"electrical.voltage{line}_high")
    if lowest is None or highest is None:
        return None
    # The maker may bear less than a public supply's tolerance: the limits the electrician reads against.
    if measured.low < lowest - 1e-9 or measured.high > highest + 1e-9:
        params["low"] = c.figure(f"electrical.voltage{line}_low", "at_least")
        params["high"] = c.figure(f"electrical.voltage{line}_high", "at_most")
        return stop("outside", **params)
    drop = c.value("electrical.voltage_drop")
    if drop is not None and drop.high is not None:
        owner = site.supply_owner or "public"
        limit = electrical_cable.voltage_drop_limit("other", owner)
        if drop.high > limit:
            return attention(
                "drop",
                drop=c.figure("electrical.voltage_drop", "upper"),
                limit=c.limit("ratio", limit, 0.01),
                **params,
            )
    return passes(**params)


@rule("device", "electrician", IEC_60364_4_43)
def device(c: Case) -> Outcome | None:
    assert c.site is not None
    fitted = c.site.electricity.device
    needed = c.value("electrical.device_minimum")
    if fitted is None:
        return attention("not_surveyed", "planner")
    if needed is None or needed.value is None:
        return attention("unknown", why=c.why("electrical.device_minimum"))
    params: dict[str, Any] = {
        "rating": c.leaf(fitted, "rating"),
        "needed": c.figure("electrical.device_minimum", "upper"),
        "current": c.figure("electrical.current_highest", "upper"),
    }
    if fitted.rating.high < needed.value - 1e-9:
        return stop("too_small", **params)
    if needed.high is not None and fitted.rating.high < needed.high - 1e-9:
        return attention("tight", **params)
    return passes(**params)


@rule("cable", "electrician", IEC_60364_4_43)
def cable(c: Case) -> Outcome | None:
    assert c.site is not None
    laid, fitted = c.site.electricity.cable, c.site.electricity.device
    if laid is None:
        return attention("not_surveyed", "planner")
    capacity = c.low("electrical.cable_capacity")
    if capacity is None:
        return attention("unknown", why=c.why("electrical.cable_capacity"))
    if fitted is None:
        return None
    params: dict[str, Any] = {
        "section": c.leaf(laid, "section"),
        "capacity": c.figure("electrical.cable_capacity", "lower"),
        "rating": c.leaf(fitted, "rating"),
    }
    return stop("too_thin", **params) if fitted.rating.high > capacity + 1e-9 else passes(**params)


@rule("residual_current", "electrician", RCD_PRACTICE)
def residual_current(c: Case) -> Outcome | None:
    assert c.site is not None
    fitted = c.site.electricity.residual_device
    leakage = c.high("electrical.leakage_expected")
    if leakage is None:
        return None
    expected = c.figure("electrical.leakage_expected", "upper")
    if fitted is None:
        return attention("not_surveyed", "planner", leakage=expected)
    params: dict[str, Any] = {
        "leakage": expected,
        "rating": c.leaf(fitted, "rating"),
        "type": f"words.residual_{fitted.type}",
    }
    if leakage >= earthing.residual_no_trip(fitted.rating.low):
        return stop("trips", **params)
    if fitted.type == "AC":
        return attention("type_ac", **params)
    if leakage > earthing.standing_leakage_limit(fitted.rating.low):
        return attention("close", **params)
    return passes(**params)


@rule("isolation", "electrician", COMMON_PRACTICE)
def isolation(c: Case) -> Outcome | None:
    assert c.site is not None
    site = c.site.electricity
    both_live = c.variant.arrangement in {"3", "3_delta_208", "split", "two_legs"}
    if site.lockable_isolator is None or site.isolator_all_pole is None:
        return attention("not_surveyed", "planner")
    if not site.isolator_all_pole and both_live:
        return stop("not_all_pole")
    if not site.lockable_isolator or not site.isolator_all_pole:
        return attention("not_lockable" if not site.lockable_isolator else "neutral_not_opened")
    return passes()


@rule("loop_impedance", "electrician", IEC_60364_4_41)
def loop_impedance(c: Case) -> Outcome | None:
    assert c.site is not None
    measured = c.site.electricity.loop_impedance
    limit = c.low("electrical.loop_impedance_maximum")
    if measured is None:
        return attention("not_read")
    if limit is None:
        return None
    params: dict[str, Any] = {
        "measured": c.leaf(c.site.electricity, "loop_impedance", "span"),
        "limit": c.figure("electrical.loop_impedance_maximum", "at_most"),
        "by": "words.loop_iec" if c.site.codes.electrical == "IEC 60364" else "words.loop_iec_instead",
    }
    if measured.high > limit:
        return (
            stop("too_high", **params)
            if c.site.electricity.residual_device is None
            else attention("by_rcd", **params)
        )
    return passes(**params)


@rule("voltage_drop", "electrician", IEC_60364_5_52_G)
def voltage_drop(c: Case) -> Outcome | None:
    v = c.value("electrical.voltage_loaded")
    if v is None:
        return None
    return passes(loaded=c.figure("electrical.voltage_loaded"))
