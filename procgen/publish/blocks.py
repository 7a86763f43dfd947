"""The parts of a step as HTML: notices, readings, timers, expected result; hold points; symptoms."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from htpy import (
    Element,
    Node,
    a,
    article,
    aside,
    dd,
    div,
    dl,
    dt,
    fragment,
    li,
    p,
    section,
    span,
    strong,
    ul,
)
from markupsafe import Markup

from procgen.procedure.anchors import anchor, value_href
from procgen.procedure.model import Fragment, Hold, Notice, Reading, Step, Symptom, Timer
from procgen.publish import symbols
from procgen.publish.drawings import drawing_block, missing_block
from procgen.publish.job import DrawFigure
from procgen.publish.quantities import leaf_figure, planned, si_text
from procgen.publish.whatif import what_if_table
from procgen.publish.words import Words
from procgen.units.kinds import Preference
from procgen.units.show import step_for


@dataclass(frozen=True, slots=True)
class Scene:
    """What the blocks of one guide share."""

    words: Words
    prefer: Preference
    draw: DrawFigure
    #: number of each step and hold as printed: ``4.3``
    numbers: dict[str, str]
    #: page of each step: ``04-water.html``
    pages: dict[str, str]
    titles: dict[str, str]
    #: what a tick or confirmation belongs to, by step and hold
    prints: dict[str, str]


def room(kind: str, item_id: str = "") -> Element:
    """The place that the scripts of the doing side fill; empty in print and without scripts."""
    return div(f".field.field--{kind}", data_field=kind, data_of=item_id or None)


def text_of(part: Fragment) -> Markup:
    """A fragment's finished HTML."""
    return Markup(part.html)


def notice_block(notice: Notice, words: Words) -> Element:
    """A notice with its signal word panel; role and label say to a screen reader what the colours say."""
    word = words(f"signal.{notice.signal}")
    hazard = words(f"hazard.{notice.hazard}")
    return aside(
        f".notice.notice--{notice.signal}",
        role="note",
        aria_label=f"{word}: {hazard}",
        data_hazard=notice.hazard,
        data_signal=notice.signal,
    )[
        p(".notice__word")[notice.signal != "notice" and symbols.alert(notice.signal), span[word]],
        div(".notice__row")[
            symbols.hazard(notice.hazard),
            div(".notice__text")[p(".notice__hazard")[hazard], text_of(notice.body)],
        ],
    ]


def notices(items: Sequence[Notice], words: Words) -> Node:
    """Gravest first; equal ones in the order they were written."""
    order = ("danger", "warning", "caution", "notice")
    return fragment[
        (notice_block(notice, words) for notice in sorted(items, key=lambda item: order.index(item.signal)))
    ]


def reading_block(reading: Reading, scene: Scene) -> Element:
    """Target, limits, an empty line for what was measured, and what follows where it differs."""
    words = scene.words
    limits = Markup(reading.limits_html) if reading.limits_html else words("reading.none")
    data = {"data_reading": reading.id, "data_kind": reading.kind}
    for name in ("target", "low", "high"):
        number = getattr(reading, name)
        if number is not None:
            data[f"data_{name}"] = si_text(number)
    if reading.what_if:
        data["data_what_if"] = reading.what_if
    return div(".reading", **data)[
        p(".reading__label")[reading.label],
        dl(".reading__figures")[
            reading.target_html and div[dt[words("reading.target")], dd[Markup(reading.target_html)]],
            div[dt[words("reading.allowed")], dd[limits]],
            div(".reading__measured")[
                dt[words("reading.measured")],
                dd(data_entry=reading.id)[span(".write-line", aria_hidden="true")],
            ],
        ],
        reading.outside.html
        and div(".reading__outside")[strong[words("reading.outside")], text_of(reading.outside)],
        room("reading", reading.id),
        reading.what_if
        and reading.table is not None
        and what_if_table(reading.what_if, reading.table, scene.prefer, words),
    ]


def timer_block(timer: Timer, scene: Scene) -> Element:
    """A computed wait; the page says to stay with the machine."""
    words = scene.words
    wait = leaf_figure(
        timer.id,
        "time",
        timer.high,
        step_for(timer.high, "time", 2),
        scene.prefer,
        low=timer.low,
        high=timer.high,
    )
    extra = [
        (
            words("timer.timeout"),
            timer.timeout
            and leaf_figure(
                f"{timer.id}.timeout", "time", timer.timeout, step_for(timer.timeout, "time", 3), scene.prefer
            ),
        ),
        (words("timer.runs"), timer.runs_expected),
        (words("timer.stop"), timer.runs_stop),
    ]
    data = {"data_timer": timer.id, "data_low": si_text(timer.low), "data_high": si_text(timer.high)}
    for name, number in (
        ("timeout", timer.timeout),
        ("runs", timer.runs_expected),
        ("stop", timer.runs_stop),
    ):
        if number is not None:
            data[f"data_{name}"] = si_text(number)
    figure_link = (
        a(href=value_href(timer.value_id), data_source=timer.value_id)[wait] if timer.value_id else wait
    )
    return div(".timer", **data)[
        p(".timer__label")[timer.label],
        p(".timer__wait")[figure_link],
        dl(".timer__extra")[
            (
                div[dt[name], dd[number if isinstance(number, Markup) else str(number)]]
                for name, number in extra
                if number is not None
            )
        ]
        if any(number is not None for _, number in extra)
        else None,
        p(".timer__stay")[words("timer.stay")],
        room("timer", timer.id),
    ]


def figure_block(name: str, scene: Scene) -> Element:
    """A drawing with its caption and table, or a sentence that says why this guide has none."""
    drawn = scene.draw(name)
    return drawing_block(drawn, scene.words) if drawn else missing_block(name, scene.words)


def meta_line(items: Iterable[tuple[str, str]]) -> Element:
    """Small facts beside a step's heading."""
    return dl(".meta")[(div[dt[name], dd[text]] for name, text in items if text)]


def step_block(step: Step, scene: Scene) -> Element:
    """A step below its heading, in the order every output keeps."""
    words = scene.words
    return article(
        f".step.role-{step.role}",
        aria_labelledby=anchor("step", step.id),
        data_step=step.id,
        data_role=step.role,
        data_minutes=f"{step.minutes:g}",
        data_print=scene.prints[step.id],
        data_mark=step.mark or None,
    )[
        meta_line(
            (
                (words("step.role"), words.role(step.role)),
                (words("step.minutes"), planned(step.id, step.minutes) if step.minutes else ""),
                (words("step.mark"), step.mark),
            )
        ),
        notices(step.notices, words),
        div(".step__body")[text_of(step.body)],
        (figure_block(name, scene) for name in step.figures),
        _readings(step, scene),
        (timer_block(timer, scene) for timer in step.timers),
        _expected(step, words),
        room("step", step.id),
    ]


def _readings(step: Step, scene: Scene) -> Element | None:
    if not step.readings:
        return None
    words = scene.words
    return div(".readings", role="group", aria_label=words("reading.heading"))[
        p(".readings__head")[words("reading.heading")],
        (reading_block(reading, scene) for reading in step.readings),
    ]


def _expected(step: Step, words: Words) -> Element | None:
    if step.expected is None:
        return None
    return div(".expected")[p(".expected__head")[words("step.expected")], text_of(step.expected)]


def hold_block(hold: Hold, scene: Scene) -> Element:
    """A hold point: who confirms it, what it covers, where to sign."""
    words = scene.words
    return section(
        ".hold",
        aria_labelledby=anchor("hold", hold.id),
        data_hold=hold.id,
        data_role=hold.by,
        data_print=scene.prints[hold.id],
    )[
        p(".hold__stop")[symbols.verdict("stop"), span[words("hold.stop")]],
        div(".hold__body")[text_of(hold.body)],
        dl(".hold__who")[
            div[dt[words("hold.by")], dd[words.role(hold.by)]],
            div(data_sign=hold.id)[dt[words("hold.sign")], dd[span(".write-line", aria_hidden="true")]],
        ],
        _guards(hold, scene),
        room("hold", hold.id),
    ]


def _guards(hold: Hold, scene: Scene) -> Element | None:
    covered = [step_id for step_id in hold.guards if step_id in scene.numbers]
    if not covered:
        return None
    return div(".hold__guards")[p[scene.words("hold.guards")], ul[(_guard(one, scene) for one in covered)]]


def _guard(step_id: str, scene: Scene) -> Element:
    href = f"{scene.pages[step_id]}#{anchor('step', step_id)}"
    return li[a(href=href, title=scene.titles[step_id])[scene.numbers[step_id]]]


def symptom_block(symptom: Symptom, scene: Scene) -> Element:
    """One entry of the fault finding."""
    return section(".symptom", aria_labelledby=anchor("symptom", symptom.id), data_symptom=symptom.id)[
        notices(symptom.notices, scene.words), text_of(symptom.body)
    ]
