"""What a tick belongs to: a hash of what a step's reader meets, not of its place in a template or guide."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from typing import Any

from procgen.procedure.fragments import plain_text
from procgen.procedure.model import Fragment, Hold, Notice, Procedure, Reading, Step, Timer


def step_fingerprint(step: Step) -> str:
    """Hash of a step's visible text, figures, limits and notices."""
    return _digest(
        {
            "title": step.title,
            "role": step.role,
            "notices": _notices(step.notices),
            "body": _text(step.body),
            "expected": _text(step.expected),
            "figures": list(step.figures),
            "readings": [_reading(reading) for reading in step.readings],
            "timers": [_timer(timer) for timer in step.timers],
        }
    )


def hold_fingerprint(hold: Hold, steps: Mapping[str, Step]) -> str:
    """Hash of a hold's own text and of every step that it guards."""
    guarded = [step_fingerprint(steps[step_id]) for step_id in hold.guards]
    return _digest({"title": hold.title, "by": hold.by, "body": _text(hold.body), "guards": guarded})


def fingerprints(procedure: Procedure) -> dict[str, str]:
    """Fingerprint of every step and hold, by id."""
    steps = {step.id: step for step in procedure.steps()}
    found = {step_id: step_fingerprint(step) for step_id, step in steps.items()}
    found.update({hold.id: hold_fingerprint(hold, steps) for hold in procedure.holds()})
    return found


def _notices(notices: Iterable[Notice]) -> list[list[str]]:
    return [[notice.signal, notice.hazard, notice.body.text] for notice in notices]


def _text(fragment: Fragment | None) -> str:
    return fragment.text if fragment is not None else ""


def _reading(reading: Reading) -> list[str]:
    return [
        reading.id.rpartition(".")[2],
        reading.label,
        reading.kind,
        plain_text(reading.target_html),
        plain_text(reading.limits_html),
        reading.outside.text,
        *(repr(figure) for figure in (reading.target, reading.low, reading.high)),
        repr(reading.table.rows) if reading.table else "",
    ]


def _timer(timer: Timer) -> list[str]:
    figures = (timer.low, timer.high, timer.timeout, timer.runs_expected, timer.runs_stop)
    return [timer.label, *(repr(figure) for figure in figures)]


def _digest(content: Any) -> str:
    text = json.dumps(content, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:16]
