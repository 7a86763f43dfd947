"""A rendered procedure: readings, notices, roles, ids, and the order of holds that protects people."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

from procgen.messages.diagnostic import Diagnostic
from procgen.procedure.anchors import slug
from procgen.procedure.builder import HAZARDS, ROLES, SIGNALS
from procgen.procedure.faults import nearest
from procgen.procedure.model import Hold, Notice, Part, Procedure, Prose, Reading, Step, Symptom

#: holds that every guide has, in this order
HOLD_ORDER = (
    "survey.site_ready",
    "drain.drain_proved",
    "water.cold_leak_check",
    "electrical.dead_tests",
    "electrical.live_tests",
    "bleed.before_heat",
    "heat.hot_leak_check",
    "heat.hot_electrical_passed",
    "handover.handed_over",
)
#: no step of the part may come before the hold has been passed
BEFORE_PART: Mapping[str, str] = {
    "water": "drain.drain_proved",
    "energise": "electrical.live_tests",
    "heat": "bleed.before_heat",
    "pressure": "heat.hot_leak_check",
}


@dataclass(frozen=True)
class _Place:
    template: str
    line: int | None


def check_procedure(
    procedure: Procedure,
    templates_dir: Path,
    hold_order: Sequence[str] = HOLD_ORDER,
    before_part: Mapping[str, str] = BEFORE_PART,
) -> list[Diagnostic]:
    """Every fault of a procedure, each at its template line."""
    faults: list[Diagnostic] = []
    for code, place, params in _all(procedure, hold_order, before_part):
        path = templates_dir / place.template if place.template else templates_dir
        faults.append(Diagnostic(code, path, place.line, params=params, level="check"))
    return faults


_Fault = tuple[str, _Place, dict[str, str]]


def _all(procedure: Procedure, hold_order: Sequence[str], before_part: Mapping[str, str]) -> Iterator[_Fault]:
    yield from _ids(procedure)
    for part in procedure.parts:
        for item in part.items:
            if isinstance(item, Step):
                yield from _step(item)
            elif isinstance(item, Hold):
                yield from _role(item.by, item.id, _at(item))
            if isinstance(item, Step | Prose | Symptom):
                yield from _notices(item.notices, getattr(item, "id", part.id))
    yield from _holds(procedure, hold_order, before_part)
    yield from _electrician(procedure)


def _at(item: Any) -> _Place:
    return _Place(item.body.template, item.body.line)


def _ids(procedure: Procedure) -> Iterator[_Fault]:
    first: dict[str, _Place] = {}
    for item_id, place in _named(procedure):
        key = slug(item_id)
        if key in first:
            seen = f"{first[key].template}:{first[key].line}"
            yield "check_procedure_id", place, {"found": item_id, "first": seen}
        first.setdefault(key, place)


def _named(procedure: Procedure) -> Iterator[tuple[str, _Place]]:
    for part in procedure.parts:
        yield part.id, _Place(part.template, 1)
        for item in part.items:
            if isinstance(item, Step | Hold | Symptom):
                yield item.id, _at(item)
            if isinstance(item, Step):
                for reading in item.readings:
                    yield f"reading {reading.id}", _Place(reading.template, reading.line)
                for timer in item.timers:
                    yield f"timer {timer.id}", _at(item)


def _step(step: Step) -> Iterator[_Fault]:
    yield from _role(step.role, step.id, _at(step))
    shown = {notice.hazard for notice in step.notices}
    for hazard in step.hazards:
        if hazard not in HAZARDS:
            yield _unknown("hazard", hazard, HAZARDS, step.id, _at(step))
        elif hazard not in shown:
            yield "check_hazard_without_notice", _at(step), {"step": step.id, "hazard": hazard}
    for reading in step.readings:
        yield from _reading(reading)
    for timer in step.timers:
        if not 0 < timer.low <= timer.high:
            figures = {"found": timer.id, "low": f"{timer.low:g}", "high": f"{timer.high:g}"}
            yield "check_timer_range", _at(step), figures
        counts = (timer.runs_expected, timer.runs_stop)
        if None not in counts and counts[0] > counts[1]:  # type: ignore[operator]
            figures = {"found": timer.id, "expected": str(counts[0]), "stop": str(counts[1])}
            yield "check_timer_runs", _at(step), figures


def _reading(reading: Reading) -> Iterator[_Fault]:
    place = _Place(reading.template, reading.line)
    low, high, target = reading.low, reading.high, reading.target
    if low is not None and high is not None and low > high:
        yield "check_reading_limits", place, {"found": reading.id, "low": f"{low:g}", "high": f"{high:g}"}
        return
    if target is None:
        return
    noise = 1e-9 * max(abs(target), 1e-9)
    if (low is not None and target < low - noise) or (high is not None and target > high + noise):
        span = f"{'' if low is None else f'{low:g}'}..{'' if high is None else f'{high:g}'}"
        params = {"found": reading.id, "target": f"{target:g}", "limits": span}
        yield "check_reading_target", place, params
    if not reading.outside.text:
        yield "check_reading_outside", place, {"found": reading.id}


def _notices(notices: Iterable[Notice], item_id: str) -> Iterator[_Fault]:
    for notice in notices:
        place = _at(notice)
        if notice.signal not in SIGNALS:
            yield _unknown("signal word", notice.signal, SIGNALS, item_id, place)
        if notice.hazard not in HAZARDS:
            yield _unknown("hazard", notice.hazard, HAZARDS, item_id, place)
        if not notice.body.text:
            yield "check_notice_empty", place, {"found": item_id, "hazard": notice.hazard}


def _role(role: str, item_id: str, place: _Place) -> Iterator[_Fault]:
    if role not in ROLES:
        yield _unknown("role", role, ROLES, item_id, place)


def _unknown(what: str, found: str, known: Sequence[str], item_id: str, place: _Place) -> _Fault:
    params = {"what": what, "found": found, "item": item_id, "expected": nearest(found, known)}
    return "check_procedure_word", place, params


def _holds(
    procedure: Procedure, hold_order: Sequence[str], before_part: Mapping[str, str]
) -> Iterator[_Fault]:
    present = [hold.id for hold in procedure.holds()]
    places = {hold.id: _at(hold) for hold in procedure.holds()}
    for hold_id in hold_order:
        if hold_id not in places:
            yield "check_hold_missing", _Place("", None), {"found": hold_id}
    wanted = [hold_id for hold_id in hold_order if hold_id in places]
    found = [hold_id for hold_id in present if hold_id in wanted]
    for before, after in pairwise(wanted):
        if found.index(before) > found.index(after):
            yield "check_hold_order", places[after], {"found": after, "before": before}
    passed: set[str] = set()
    for part in procedure.parts:
        yield from _part_order(part, before_part.get(part.id), passed)


def _part_order(part: Part, needed: str | None, passed: set[str]) -> Iterator[_Fault]:
    for item in part.items:
        if isinstance(item, Hold):
            passed.add(item.id)
        elif isinstance(item, Step) and needed is not None and needed not in passed:
            yield "check_step_before_hold", _at(item), {"step": item.id, "hold": needed}


def _electrician(procedure: Procedure) -> Iterator[_Fault]:
    """A hold that covers electrical work is confirmed by the one who may do it."""
    steps = {step.id: step for step in procedure.steps()}
    for hold in procedure.holds():
        roles = {steps[step_id].role for step_id in hold.guards if step_id in steps}
        if roles == {"electrician"} and hold.by != "electrician":
            yield "check_hold_electrician", _at(hold), {"found": hold.id, "by": hold.by}
