"""An edition: the fingerprint of what a guide's reader meets."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from typing import Any

from procgen.procedure.model import (
    Fragment,
    Hold,
    Notice,
    Part,
    Prose,
    Reading,
    Section,
    Step,
    Symptom,
    Timer,
)
from procgen.publish.job import GuideJob
from procgen.values.worksheet import Finding, Value

LENGTH = 10


def fingerprint(data: Any, length: int = LENGTH) -> str:
    """A short hash of plain data."""
    text = json.dumps(data, sort_keys=True, ensure_ascii=True, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(text.encode("ascii")).hexdigest()[:length]


def edition_of(job: GuideJob, files: Mapping[str, bytes], versions: str, facts: Iterable[str]) -> str:
    """Fingerprint of fragments, values, figures, our scripts and styles, and the theme's version.

    ``facts`` are the further words its pages show: names, revisions, messages.
    """
    return fingerprint(
        {
            "guide": job.guide,
            "parts": [_part(part) for part in job.procedure.parts],
            "values": [_value(value) for value in job.worksheet.values.values()],
            "findings": [_finding(finding) for finding in job.worksheet.findings],
            "files": {name: hashlib.sha256(content).hexdigest() for name, content in sorted(files.items())},
            "versions": versions,
            "facts": list(facts),
        }
    )


def _text(part: Fragment | None) -> str:
    return part.html if part is not None else ""


def _notices(items: Iterable[Notice]) -> list[Any]:
    return [[notice.signal, notice.hazard, _text(notice.body)] for notice in items]


def _reading(reading: Reading) -> list[Any]:
    return [
        reading.id,
        reading.label,
        reading.kind,
        reading.target,
        reading.low,
        reading.high,
        reading.target_html,
        reading.limits_html,
        _text(reading.outside),
    ]


def _timer(timer: Timer) -> list[Any]:
    return [
        timer.id,
        timer.label,
        timer.low,
        timer.high,
        timer.timeout,
        timer.runs_expected,
        timer.runs_stop,
    ]


def _step(step: Step) -> list[Any]:
    return [
        step.id,
        step.title,
        step.role,
        step.minutes,
        step.mark,
        _notices(step.notices),
        _text(step.body),
        _text(step.expected),
        [_reading(reading) for reading in step.readings],
        [_timer(timer) for timer in step.timers],
        list(step.figures),
    ]


def _hold(hold: Hold) -> list[Any]:
    return [hold.id, hold.title, hold.by, _text(hold.body)]


def _part(part: Part) -> list[Any]:
    return [part.id, part.title, part.number, [_item(item) for item in part.items]]


def _item(item: Step | Hold | Section | Prose | Symptom) -> list[Any]:
    if isinstance(item, Step):
        return _step(item)
    if isinstance(item, Hold):
        return [*_hold(item), list(item.guards)]
    if isinstance(item, Section):
        return [item.id, item.title]
    if isinstance(item, Symptom):
        return [item.id, item.title, item.mark, _notices(item.notices), _text(item.body)]
    return [_notices(item.notices), _text(item.body)]


def _value(value: Value) -> list[Any]:
    series = [list(value.series.columns), [list(row) for row in value.series.rows]] if value.series else None
    inputs = [[i.name, i.place, i.kind, i.value, i.low, i.high, i.symbol, i.text] for i in value.inputs]
    return [
        value.id,
        value.kind,
        value.title,
        value.status,
        value.why,
        value.value,
        value.low,
        value.high,
        value.step,
        series,
        value.formula,
        inputs,
        value.source.id,
        value.source.title,
        value.source.clause,
    ]


def _finding(finding: Finding) -> list[Any]:
    return [finding.id, finding.verdict, finding.title, finding.reason, finding.remedy, finding.who]
