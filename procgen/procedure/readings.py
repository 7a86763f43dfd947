"""What a reading and a timer say: target, limits and waits taken from worksheet values and typed measures."""

from __future__ import annotations

import math
from typing import Any

from procgen.procedure.builder import Builder
from procgen.procedure.faults import TemplateFaultError, nearest
from procgen.procedure.filters import Figure, extreme, inward_range, nominal
from procgen.procedure.model import Fragment, Reading, Timer
from procgen.procedure.views import target_of
from procgen.units.kinds import KINDS
from procgen.values.worksheet import Series, Value


def make_reading(
    builder: Builder,
    reading_id: str,
    outside: Fragment,
    label: str,
    kind: str,
    target: Any = None,
    low: Any = None,
    high: Any = None,
    limits: Any = None,
    what_if: Any = None,
) -> Reading:
    """A reading from what its tag says; every figure must be of the reading's kind."""
    if kind not in KINDS:
        raise TemplateFaultError(
            "template_unknown_word", what="kind", found=str(kind), expected=nearest(str(kind), KINDS)
        )
    if limits is not None and (low is not None or high is not None):
        raise TemplateFaultError("template_limits_twice", found=reading_id)
    lowest, highest = (limits, limits) if limits is not None else (low, high)
    if target is None and lowest is None and highest is None:
        raise TemplateFaultError("template_reading_without_figures", found=reading_id)
    aim = _figure(target, kind, reading_id)
    bottom, top = _figure(lowest, kind, reading_id), _figure(highest, kind, reading_id)
    ends = _ends(bottom, top, window=limits is not None)
    what_if_id, table = _what_if(what_if, kind, reading_id)
    high_id = top.value_id if top else ""
    return Reading(
        id=reading_id,
        label=builder.tokens.plain(label),
        kind=kind,
        target=aim.value if aim else None,
        low=ends[0] if bottom else None,
        high=ends[1] if top else None,
        value_id=aim.value_id if aim else "",
        outside=outside,
        target_html=nominal(target, builder.prefer).html if aim else "",
        limits_html=_limits_html(builder, (lowest, highest), (bottom, top), ends),
        line=outside.line,
        template=outside.template,
        what_if=what_if_id,
        high_id=high_id,
        table=table,
    )


def _what_if(given: Any, kind: str, reading_id: str) -> tuple[str | None, Series | None]:
    """The table that a reading is looked up in; none where this guide has none."""
    if given is None:
        return None, None
    value = target_of(given)
    if not isinstance(value, Value):
        raise TemplateFaultError("template_not_a_quantity", filter="what_if", found=str(given)[:60])
    if value.kind != "series":
        raise TemplateFaultError("template_what_if_without_table", found=value.id, reading=reading_id)
    if value.series is None:
        return None, None
    _, measured = value.series.columns[0]
    if measured != kind:
        raise TemplateFaultError("template_reading_kind", found=reading_id, kind=measured, expected=kind)
    return value.id, value.series


def _figure(given: Any, kind: str, reading_id: str) -> Figure | None:
    if given is None:
        return None
    figure = Figure(given, "reading")
    if figure.kind != kind:
        raise TemplateFaultError("template_reading_kind", found=reading_id, kind=figure.kind, expected=kind)
    return figure


def _ends(bottom: Figure | None, top: Figure | None, *, window: bool) -> tuple[float, float]:
    """Lowest and highest permitted figure. Two limits by themselves are kept wherever they lie in a range of
    their own; a window is its own two ends."""
    low = high = 0.0
    if bottom is not None:
        low = bottom.low if window else bottom.permitted_low
    if top is not None:
        high = top.high if window else top.permitted_high
    return low, high


def _limits_html(
    builder: Builder,
    given: tuple[Any, Any],
    figures: tuple[Figure | None, Figure | None],
    ends: tuple[float, float],
) -> str:
    (lowest, highest), (bottom, top), (low, high) = given, figures, ends
    prefer, messages = builder.prefer, builder.messages
    if bottom is not None and top is not None:
        step = min(bottom.step, top.step)
        shown, step = inward_range(bottom.kind, low, high, step, prefer)
        same = bottom.value_id == top.value_id and bottom.path == top.path
        figure = bottom if same else _apart(bottom)
        figure.step = step
        return figure.token(shown, "limits", {"low": low, "high": high}).html
    if top is not None:
        token = extreme(highest, prefer, "at_most", True, True)
        return messages.text("procedure.at_most", figure=token.html)
    if bottom is not None:
        token = extreme(lowest, prefer, "at_least", False, True)
        return messages.text("procedure.at_least", figure=token.html)
    return ""


def _apart(figure: Figure) -> Figure:
    """The same kind of figure without an origin: its ends come from two places."""
    figure.value_id, figure.path = "", ""
    return figure


def make_timer(
    builder: Builder,
    timer_id: str,
    label: str,
    value: Any,
    timeout: Any = None,
    expected: Any = None,
    stop: Any = None,
    passed: Any = None,
) -> Timer:
    """A wait from a worksheet value or a typed duration; for the fill, its time-out and counts; where it is
    counted from an earlier step, the wait that has passed by then."""
    wait = _of_kind(value, "time", timer_id)
    limit = _of_kind(timeout, "time", timer_id) if timeout is not None else None
    return Timer(
        id=timer_id,
        label=builder.tokens.plain(label),
        value_id=wait.value_id,
        low=wait.low,
        high=wait.high,
        timeout=limit.value if limit else None,
        runs_expected=_runs(expected, timer_id),
        runs_stop=_runs(stop, timer_id),
        passed=_of_kind(passed, "time", timer_id).high if passed is not None else 0.0,
    )


def _of_kind(given: Any, kind: str, timer_id: str) -> Figure:
    figure = Figure(given, "timer")
    if figure.kind != kind:
        raise TemplateFaultError("template_reading_kind", found=timer_id, kind=figure.kind, expected=kind)
    return figure


def _runs(given: Any, timer_id: str) -> int | None:
    return None if given is None else math.ceil(_of_kind(given, "count", timer_id).high - 1e-9)
