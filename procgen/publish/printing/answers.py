"""The answer key: for each exercise the figures with what is accepted, the verdicts, and the way to them."""

from __future__ import annotations

from htpy import Element, Node, b, code, div, fragment, h1, h2, p, section, span

from procgen.publish.blocks import Scene
from procgen.publish.printing.about import About
from procgen.publish.printing.exercises import LEVELS, Exercise, Lesson, accepted, lesson_of
from procgen.publish.printing.training import conditions, given_text, heading, rules_of
from procgen.publish.sheet import source_text, worked
from procgen.publish.words import Words
from procgen.units.kinds import Preference
from procgen.values.shown import shown_pair
from procgen.values.worksheet import Finding, Value


def answers(about: About, _scene: Scene) -> Node:
    """The document's content."""
    words, lesson = about.words, lesson_of(about)
    return section(".lesson")[
        h1(id="answers")[span(".t")[words("print.answers.heading", machine=about.identity.machine)]],
        about.identity.demo and p(".form__demo")[words("demo_short")],
        p(".lesson__set")[b[words("print.training.set", seed=lesson.seed)]],
        p[words("print.answers.lead")],
        (_level(level, lesson, words) for level in LEVELS),
    ]


def _level(level: int, lesson: Lesson, words: Words) -> Node:
    prefer = lesson.base.data.units
    return fragment[
        h2(id=f"level-{level}")[words(f"print.training.level.{level}")],
        (_answer(one, prefer, words) for one in lesson.exercises if one.task.level == level),
    ]


def _answer(one: Exercise, prefer: Preference, words: Words) -> Element:
    return div(".task")[
        heading(one, words),
        conditions(one, prefer, words),
        div(".key")[
            (_figure(value, value.id in one.task.exact, prefer, words) for value in one.asked),
            (_verdict(finding, words) for finding in one.findings),
        ],
        bool(one.asked) and _working(one, prefer, words),
    ]


def _figure(value: Value, exact: bool, prefer: Preference, words: Words) -> Element:
    single, right = shown_pair(value, prefer), accepted(value, exact, prefer)
    return p(".key__figure", data_value=value.id)[
        value.title,
        ": ",
        b(".key__right")[single.text],
        *(
            ()
            if right.text == single.text
            else ("; ", words("print.answers.accepted"), " ", span(".key__accepted")[right.text])
        ),
    ]


#: how a verdict is worded on the first page
_VERDICT = {"pass": "pass", "attention": "attention_mark", "stop": "stop"}


def _verdict(finding: Finding, words: Words) -> Element:
    return p(".key__verdict", data_finding=finding.id, data_verdict=finding.verdict)[
        b[words(f"readiness.{_VERDICT[finding.verdict]}")],
        f": {finding.title}. {finding.reason}",
        finding.verdict != "pass" and _to_do(finding, words),
    ]


def _to_do(finding: Finding, words: Words) -> str:
    who, remedy = words("readiness.who"), words("readiness.remedy")
    return f" {who}: {words.role(finding.who)}. {remedy}: {finding.remedy}"


def _working(one: Exercise, prefer: Preference, words: Words) -> Element:
    return div(".key__way")[
        p(".task__head")[words("print.answers.working")],
        (_step(value, one, prefer, words) for value in (*one.way, *one.asked)),
        rules_of(one, words),
        p(".task__head")[words("print.training.given")],
        p(".key__given")[
            (fragment[given_text(item, one.worksheet, prefer, words), "; "] for item in one.given[:-1]),
            (given_text(item, one.worksheet, prefer, words) for item in one.given[-1:]),
        ],
    ]


def _step(value: Value, one: Exercise, prefer: Preference, words: Words) -> Element:
    formula, filled = worked(value, one.worksheet)
    result = shown_pair(value, prefer).text
    return div(".key__step")[
        p[value.title, ": ", b[result]],
        formula
        and p(".key__formula")[code[formula], value.residual and f"  {words('print.answers.equation')}"],
        filled
        and p(".key__formula")[
            code[filled if value.residual else f"= {filled} = {shown_pair(value, prefer).primary}"]
        ],
        p(".key__source")[source_text(value.source, words)],
    ]
