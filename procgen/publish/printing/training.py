"""The training edition: exercises by level, with room to work and to answer."""

from __future__ import annotations

from collections.abc import Iterator

from htpy import Element, Node, b, code, div, fragment, h1, h2, h3, p, section, span

from procgen.profiles.loader import Loaded
from procgen.profiles.outline import Asked, Group, leaves, outline
from procgen.profiles.site import Site
from procgen.publish.blocks import Scene
from procgen.publish.printing.about import About
from procgen.publish.printing.asked import field_title, typed_text
from procgen.publish.printing.exercises import LEVELS, Change, Exercise, Lesson, at, lesson_of
from procgen.publish.printing.rules import rule_lines, tables
from procgen.publish.sheet import worked
from procgen.publish.words import Words
from procgen.units.kinds import KINDS, Preference
from procgen.units.show import pair
from procgen.values.shown import shown_span
from procgen.values.worksheet import Input, Worksheet

_ASKED = {asked.path: asked for asked in leaves(outline(Site))}


def training(about: About, _scene: Scene) -> Node:
    """The document's content."""
    words, lesson = about.words, lesson_of(about)
    return section(".lesson")[
        h1(id="exercises")[span(".t")[words("print.training.heading", machine=about.identity.machine)]],
        about.identity.demo and p(".form__demo")[words("demo_short")],
        p(".lesson__set")[
            b[words("print.training.set", seed=lesson.seed)],
            "  ",
            words("print.training.who"),
            span(".lesson__who"),
        ],
        p[words(f"print.training.{'lead' if about.job.site else 'lead_model'}")],
        p[words("print.training.water")],
        p[words("print.training.safety")],
        (_level(level, lesson, about) for level in LEVELS),
        h2(id="place")[words("print.training.place")],
        div(".lesson__place")[_place(lesson.base, outline(Site), (), about)],
        tables(lesson.base.data.units, words),
    ]


def _level(level: int, lesson: Lesson, about: About) -> Node:
    words, prefer = about.words, lesson.base.data.units
    return fragment[
        h2(id=f"level-{level}")[words(f"print.training.level.{level}")],
        p(".lesson__lead")[words(f"print.training.level_lead.{level}")],
        (_exercise(one, prefer, words) for one in lesson.exercises if one.task.level == level),
    ]


def _exercise(one: Exercise, prefer: Preference, words: Words) -> Element:
    return div(".task.task--open", id=f"task-{one.number}")[
        heading(one, words),
        conditions(one, prefer, words),
        p(".task__ask")[_question(one, words)],
        one.task.level < 3 and _given(one, prefer, words),
        one.task.level == 1 and _formulas(one, words),
        div(".task__room", id=f"room-{one.number}")[span(".sign__label")[words("print.training.room")]],
        div(".task__answers")[(div[span(".sign__label")[label]] for label in _labels(one, words))],
    ]


def _question(one: Exercise, words: Words) -> str:
    """What is asked, and what is asked besides where this machine has the figure."""
    key = f"print.training.task.{one.task.id}"
    also = (f"{key}.{value.id.replace('.', '_')}" for value in one.asked)
    return " ".join(
        [words(f"{key}.ask"), *(words(name) for name in also if words.messages.has(f"site.{name}"))]
    )


def heading(one: Exercise, words: Words) -> Element:
    """Number and title."""
    return h3(id=f"exercise-{one.number}")[
        span(".n")[str(one.number)], " ", span(".t")[words(f"print.training.task.{one.task.id}.title")]
    ]


def conditions(one: Exercise, prefer: Preference, words: Words) -> Element:
    """What is different at the site."""
    return div(".task__changed")[
        p(".task__head")[words("print.training.changed")],
        (p(".task__change")[_change(change, prefer, words)] for change in one.changes),
    ]


def _change(change: Change, prefer: Preference, words: Words) -> str:
    asked = _ASKED[change.path]
    what, now = _name(change.path, change.entry, words), typed_text(asked, change.now, prefer, words)
    if not change.before:
        return words("print.training.newly", what=what, now=now)
    before = typed_text(asked, change.before, prefer, words)
    return words("print.training.instead", what=what, now=now, before=before)


def _name(path: tuple[str, ...], entry: str, words: Words) -> str:
    """A field with its groups: ``Cold-water supply: Night pressure``; of a list with the entry's name."""
    titles = [field_title(path[:end], words) for end in range(1, len(path) + 1)]
    if not entry:
        return ": ".join(titles)
    if entry.isdigit():
        entry = _numbered(path[:-1], entry, words)
    return ": ".join((entry, titles[-1]))


def _numbered(path: tuple[str, ...], n: str, words: Words) -> str:
    """An entry of a list that has no name: ``Point 2 of the curve``."""
    key = f"print.training.each.{'_'.join(path)}"
    if words.messages.has(f"site.{key}"):
        return words(key, n=n)
    return words("print.training.numbered", what=field_title(path, words), n=n)


def _labels(one: Exercise, words: Words) -> list[str]:
    """A box for each figure asked for, and one for the verdict."""
    verdict = [words("print.answers.verdict")] if one.findings and one.asked else []
    return [value.title for value in one.asked] + verdict or [words("print.training.answer")]


def _given(one: Exercise, prefer: Preference, words: Words) -> Element:
    return div(".task__given")[
        p(".task__head")[words("print.training.given")],
        (p(".task__figure")[given_text(item, one.worksheet, prefer, words)] for item in one.given),
    ]


def given_text(item: Input, worksheet: Worksheet, prefer: Preference, words: Words) -> Node:
    """What a figure is, and the figure with its range: ``Fill flow Q = 0.56 L/min, range …``."""
    assert item.value is not None
    figure = pair(item.kind, item.value, item.step, prefer).text if item.kind in KINDS else item.text
    other = worksheet.values.get(item.name)
    title = other.title if other else leaf_title(item.name, words)
    symbol = fragment[code[item.symbol], " = "] if item.symbol else "= "
    spanned = shown_span(other, prefer).primary if other else ""
    ranged = f", {words('print.sheet.range')} {spanned}" if "–" in spanned else ""
    return fragment[title, " ", span(".task__value")[symbol, b[figure]], ranged]


def leaf_title(name: str, words: Words) -> str:
    """A typed figure's name: a surveyed one as the survey asks for it, else as its file names it."""
    parts = _parts(name)
    plain = tuple(part.partition("[")[0] for part in parts)
    if plain[0] == "site" and plain[1:] in _ASKED:
        marks = [part.partition("[")[2].removesuffix("]") for part in parts]
        return _name(plain[1:], next(filter(None, marks), ""), words)
    key = f"print.training.machine.{'_'.join(plain[1:])}"
    if plain[0] == "machine" and words.messages.has(f"site.{key}"):
        mark = next((part for part in reversed(parts) if "[" in part), "")
        return words(key, mark=mark.partition("[")[2].removesuffix("]"))
    title = " ".join(parts[1:]).replace("_", " ").replace("[", " ").replace("]", "")
    return title[:1].upper() + title[1:]


def _parts(name: str) -> list[str]:
    """The names of a dotted path; a mark in brackets may hold a dot."""
    parts, depth = [""], 0
    for sign in name:
        depth += {"[": 1, "]": -1}.get(sign, 0)
        if sign == "." and not depth:
            parts.append("")
        else:
            parts[-1] += sign
    return parts


def _formulas(one: Exercise, words: Words) -> Element:
    return div(".task__given")[
        p(".task__head")[words("print.training.formula")],
        (
            p(".task__formula")[value.title, " = ", code[worked(value, one.worksheet)[0]]]
            for value in (*one.way, *one.asked)
            if worked(value, one.worksheet)[0]
        ),
        rules_of(one, words),
    ]


def rules_of(one: Exercise, words: Words) -> list[Element]:
    """What the functions of an exercise's formulas stand for."""
    formulas = (worked(value, one.worksheet)[0] for value in (*one.way, *one.asked))
    return rule_lines(formulas, one.survey.data, words)


def _place(
    base: Loaded[Site],
    items: tuple[Asked | Group, ...],
    way: tuple[object, ...],
    about: About,
    entry: str = "",
) -> Iterator[Node]:
    """Every field that the survey states, each with the groups inside the one that is its heading."""
    words, prefer = about.words, base.data.units
    for item in items:
        name = item.path[-1]
        found = at(base.document.data, (*way, name))
        if found is None or (name in _UNTOLD and len(item.path) == 1):
            continue
        if isinstance(item, Asked):
            shown = typed_text(item, str(found), prefer, words)
            what = item.path[1:] and [
                field_title(item.path[:end], words) for end in range(2, len(item.path) + 1)
            ]
            titles = what or [field_title(item.path, words)]
            if entry:
                titles[-2] = _numbered(item.path[:-1], entry, words)
            yield p(".lesson__fact")[": ".join(titles), ": ", b[shown]]
            continue
        if len(item.path) == 1:
            yield p(".lesson__group")[b[field_title(item.path, words)]]
        if isinstance(found, list):
            for n in range(len(found)):
                yield from _place(base, item.items, (*way, name, n), about, str(n + 1))
        else:
            yield from _place(base, item.items, (*way, name), about)


#: what says nothing of the place
_UNTOLD = frozenset({"kind", "id", "demo", "machine", "supply_variant", "units", "revision", "date"})
