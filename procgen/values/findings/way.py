"""The way in and the place to stand: counter, clearances, access, lifting, frost."""

from __future__ import annotations

from typing import Any

from procgen.engineering.sources import COMMON_PRACTICE
from procgen.engineering.sources_general import HSE_L23
from procgen.values.findings.water import MAKER
from procgen.values.judge import Case, Outcome, attention, passes, rule, stop


@rule("counter_size", "builder", MAKER)
def counter_size(c: Case) -> Outcome | None:
    assert c.site is not None
    counter, body = c.site.counter, c.machine.body
    if counter is None:
        return attention("not_surveyed", "planner")
    side, back = body.clearance_side.value, body.clearance_back.value
    wide, deep = body.width.value + 2 * side, body.depth.value + back
    tall = body.height.value + body.clearance_top.value
    params: dict[str, Any] = {
        "width": c.limit("size", wide, 0.001, "at_least"),
        "depth": c.limit("size", deep, 0.001, "at_least"),
        "height": c.limit("size", tall, 0.001, "at_least"),
    }
    if counter.width.low < body.width.value or counter.depth.low < body.depth.value:
        return stop("too_small", **params)
    if counter.width.low < wide or counter.depth.low < deep or counter.clear_height.low < tall:
        return attention("tight", **params)
    return passes(**params)


@rule("counter_load", "builder", COMMON_PRACTICE)
def counter_load(c: Case) -> Outcome | None:
    assert c.site is not None
    counter = c.site.counter
    load = c.high("handling.counter_load")
    if counter is None or load is None:
        return None
    figure = c.figure("handling.counter_load", "upper")
    if counter.permitted_load is None:
        return attention("unknown", load=figure)
    params: dict[str, Any] = {"load": figure, "permitted": c.leaf(counter, "permitted_load")}
    return stop("too_weak", **params) if load > counter.permitted_load.low else passes(**params)


@rule("cutout", "builder", MAKER)
def cutout(c: Case) -> Outcome | None:
    assert c.site is not None
    counter = c.site.counter
    if counter is None:
        return None
    needed = c.leaf(c.machine.body, "cutout_diameter")
    if counter.cutout_diameter is None:
        return attention("missing", needed=needed)
    if counter.cutout_diameter.low < c.machine.body.cutout_diameter.value - 1e-9:
        return attention("too_small", needed=needed, found=c.leaf(counter, "cutout_diameter"))
    return passes(needed=needed)


@rule("access", "planner", COMMON_PRACTICE)
def access(c: Case) -> Outcome | None:
    assert c.site is not None
    way, body = c.site.access, c.machine.body
    if way is None:
        return attention("not_surveyed")
    # Carried end on: the smaller of its two horizontal sides must pass.
    smallest = body.width if body.width.value <= body.depth.value else body.depth
    params: dict[str, Any] = {"narrowest": c.leaf(way, "narrowest"), "machine": c.measured(smallest)}
    if way.narrowest.low < smallest.value:
        return stop("too_narrow", **params)
    return passes(**params)


@rule("lift_people", "planner", HSE_L23)
def lift_people(c: Case) -> Outcome | None:
    assert c.site is not None
    way = c.site.access
    people, aid = c.value("handling.people"), c.value("handling.lifting_aid")
    if way is None or people is None or aid is None or people.value is None:
        return None
    params: dict[str, Any] = {
        "mass": c.figure("handling.mass", "pair"),
        "people": str(way.people),
        "needed": str(round(people.value)),
        "stairs": str(way.stairs),
    }
    stairs = way.stairs > 0 and not way.lift
    if stairs:
        # A short flight is walked with a stair trolley; a storey and more needs its own plan.
        return attention("few_stairs", **params) if way.stairs <= 5 else stop("stairs", **params)
    if way.people < people.value:
        return stop("too_few", **params)
    if not aid.value:
        return passes(**params)
    if c.value("handling.weight_limit") is None:
        return passes("aid_deep", **params)
    return passes("aid", limit=c.figure("handling.weight_limit", "at_most"), **params)


@rule("frost", "technician", COMMON_PRACTICE)
def frost(c: Case) -> Outcome | None:
    assert c.site is not None
    if c.site.ambient is None:
        return attention("not_surveyed", "planner")
    return attention("arrives_cold") if c.site.ambient.arrives_from_frost else passes()
