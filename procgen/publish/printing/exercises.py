"""Exercises: the same engineering at a site where something is different.

The survey is changed in memory as if it had been typed so, read by the schema and its rules, and evaluated
whole. What is asked for is read off that worksheet, with its range; nothing is computed here.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from random import Random

from procgen.messages.catalog import Messages
from procgen.profiles.loader import Loaded
from procgen.profiles.site import Site
from procgen.profiles.vary import vary
from procgen.profiles.workspace import GuideInput
from procgen.publish.printing.about import About
from procgen.publish.printing.practice import practice_site
from procgen.publish.printing.tasks import EVERY, TASKS, Changes, Draw, Task
from procgen.units.kinds import Preference
from procgen.units.show import Shown, pair_range
from procgen.values import evaluate
from procgen.values.shown import shown_pair, shown_span
from procgen.values.worksheet import Finding, Input, Value, Worksheet

LEVELS = (1, 2, 3)
#: exercises of a level, and how often a task is drawn anew where its figures are of no use
OF_A_LEVEL, TRIES = 4, 8
_NUMBER = re.compile(r"\d+(\.\d+)?")
#: steps of a way that are shown; a worksheet has hundreds
WAY = 8


@dataclass(frozen=True, slots=True)
class Change:
    """A field of the survey that is different, as typed; ``before`` is empty where nothing was surveyed."""

    #: without the places of a list's entries
    path: tuple[str, ...]
    #: name of the list's entry, or its place
    entry: str
    before: str
    now: str


@dataclass(frozen=True, slots=True)
class Exercise:
    """One exercise with everything that its question and its answer are made from."""

    number: int
    task: Task
    survey: Loaded[Site]
    changes: tuple[Change, ...]
    worksheet: Worksheet
    asked: tuple[Value, ...]
    findings: tuple[Finding, ...]
    #: figures that changed on the way to the answer, in the order in which they follow from each other
    way: tuple[Value, ...]
    #: what the way starts from: typed figures, and values that stay as they were
    given: tuple[Input, ...]


@dataclass(frozen=True, slots=True)
class Lesson:
    """The exercises of one guide and one set."""

    seed: int
    base: Loaded[Site]
    exercises: tuple[Exercise, ...]


def seed_of(about: About) -> int:
    """The set asked for; else the one that follows from guide and edition."""
    if about.seed is not None:
        return about.seed
    digest = hashlib.sha256(f"{about.job.guide} {about.edition}".encode()).digest()
    return int.from_bytes(digest[:4], "big") % 9000 + 1000


def lesson_of(about: About) -> Lesson:
    """The exercises of a guide: at its site, or for a model's guide at an invented place."""
    job, messages, seed = about.job, about.words.messages, seed_of(about)
    base = job.site or practice_site(job.machine.data, about.asks_in)
    sheet = job.worksheet if job.site else evaluate(GuideInput(job.guide, job.machine, base), messages)
    lots, made = Random(f"exercises {seed}"), list[Exercise]()
    for level in LEVELS:
        tasks = [task for task in TASKS if task.level == level]
        lots.shuffle(tasks)
        found: list[Exercise] = []
        for task in tasks:
            if len(found) == OF_A_LEVEL:
                break
            exercise = _exercise(task, lots, len(made) + len(found) + 1, about, base, sheet, messages)
            found += [exercise] if exercise else []
        made += found
    return Lesson(seed, base, tuple(made))


def _exercise(
    task: Task,
    lots: Random,
    number: int,
    about: About,
    base: Loaded[Site],
    sheet: Worksheet,
    messages: Messages,
) -> Exercise | None:
    draw = Draw(lots, base.data, base.data.units)
    for _ in range(TRIES):
        changes = _real(base, task.change(draw))
        survey = vary(base, changes) if changes else None
        if survey is None:
            continue
        worksheet = evaluate(GuideInput(about.job.guide, about.job.machine, survey), messages)
        asked = tuple(_asked(task, worksheet, survey.data))
        findings = tuple(_findings(task, worksheet, sheet))
        if not _of_use(task, asked, findings, sheet):
            continue
        # What needs a solver is worked out by nobody on paper: below level 3 its result is given.
        way = _way(asked, worksheet, sheet, solved=task.level == LEVELS[-1])
        given = _given(asked, way, _judged_by(findings if asked else (), asked, way, worksheet, sheet))
        told = tuple(_changes(base, changes))
        return Exercise(number, task, survey, told, worksheet, asked, findings, way, given)
    return None


def _asked(task: Task, worksheet: Worksheet, site: Site) -> Iterator[Value]:
    first = site.drain.segments[0].name if site.drain else ""
    for name in task.asks:
        value = worksheet.values.get(name.replace("[*]", f"[{first}]"))
        if value is not None and value.ok and value.value is not None:
            yield value


def _findings(task: Task, worksheet: Worksheet, sheet: Worksheet) -> Iterator[Finding]:
    if EVERY in task.rules:
        known = {(finding.id, finding.verdict) for finding in sheet.findings}
        yield from worksheet.of("stop")
        yield from (one for one in worksheet.of("attention") if (one.id, one.verdict) not in known)
    else:
        yield from (finding for finding in worksheet.findings if finding.id in task.rules)


def _of_use(task: Task, asked: tuple[Value, ...], findings: tuple[Finding, ...], sheet: Worksheet) -> bool:
    """Whether there is something to work out, and not what the surveyed site gives already."""
    if not task.asks:
        before = {finding.id for finding in sheet.of("stop")}
        return any(finding.verdict == "stop" and finding.id not in before for finding in findings)
    return bool(asked) and (not task.moves or any(_differs(value, sheet) for value in asked))


def _differs(value: Value, sheet: Worksheet) -> bool:
    """Whether a figure reads otherwise than at the surveyed site."""
    before = sheet.values.get(value.id)
    if before is None or before.value is None or value.value is None:
        return True
    return abs(value.value - before.value) > max(abs(before.value) * 1e-9, 1e-12)


def _way(
    asked: tuple[Value, ...], worksheet: Worksheet, sheet: Worksheet, *, solved: bool
) -> tuple[Value, ...]:
    """Changed figures behind the answer, the nearest ones, each after what it follows from."""
    near: dict[str, Value] = {}
    level = [value.id for value in asked]
    wanted = set(level)
    while level and len(near) < WAY:
        below: list[str] = []
        for name in level:
            for item in worksheet.values[name].inputs:
                value = worksheet.values.get(item.name) if item.origin == "value" else None
                if value is None or not value.ok or value.value is None or item.name in wanted:
                    continue
                if _differs(value, sheet) and (solved or not value.residual) and len(near) < WAY:
                    near[value.id] = value
                    wanted.add(value.id)
                    below.append(value.id)
        level = below
    done: dict[str, Value] = {}

    def place(value: Value) -> None:
        for item in value.inputs:
            if item.name in near and item.name not in done:
                place(near[item.name])
        done.setdefault(value.id, value)

    for value in near.values():
        place(value)
    return tuple(done.values())


def _judged_by(
    findings: tuple[Finding, ...],
    asked: tuple[Value, ...],
    way: tuple[Value, ...],
    worksheet: Worksheet,
    sheet: Worksheet,
) -> Iterator[Input]:
    """What a verdict compares the answer with: figures of the check that the exercise leaves as they are."""
    inner = {value.id for value in (*asked, *way)}
    for name in dict.fromkeys(name for finding in findings for name in finding.values):
        value = worksheet.values.get(name)
        if value is not None and value.value is not None and name not in inner and not _differs(value, sheet):
            yield Input(name, "value", "", value.kind, value.value, value.low, value.high, value.step)


def _given(asked: tuple[Value, ...], way: tuple[Value, ...], judged_by: Iterator[Input]) -> tuple[Input, ...]:
    inner = {value.id for value in (*asked, *way)}
    given: dict[str, Input] = {}
    for value in (*way, *asked):
        for item in value.inputs:
            if item.name not in inner and item.value is not None:
                given.setdefault(item.name, item)
    for item in judged_by:
        given.setdefault(item.name, item)
    return tuple(given.values())


def _real(base: Loaded[Site], changes: Changes) -> Changes:
    """Without what is as it was: a lot may fall on the surveyed figure itself."""
    return {
        place: now
        for place, now in changes.items()
        if _plain(str(at(base.document.data, place))) != _plain(now)
    }


def _plain(typed: str) -> str:
    """A figure as typed, without a nought that changes nothing: ``4.80 bar`` is ``4.8 bar``."""
    number, blank, unit = typed.partition(" ")
    return f"{float(number):g}{blank}{unit}" if _NUMBER.fullmatch(number) else typed


def at(data: object, way: Iterable[object]) -> object:
    """What a survey states at a place; None where it states nothing."""
    found = data
    for part in way:
        if isinstance(found, Mapping):
            found = found.get(part)
        elif isinstance(found, list) and isinstance(part, int):
            found = found[part]
    return found


def _changes(base: Loaded[Site], changes: Changes) -> Iterator[Change]:
    for location, now in changes.items():
        path, entry, found = [], "", base.document.data
        for part in location:
            if isinstance(part, int):
                found = found[part]
                entry = str(found.get("name", part + 1))
            else:
                path.append(part)
                found = found.get(part, "") if isinstance(found, Mapping) else ""
        yield Change(tuple(path), entry, str(found), now)


def accepted(value: Value, exact: bool, prefer: Preference) -> Shown:
    """What a right answer may be: the worksheet's range; where it has none, a step of its last digit.

    An ``exact`` figure is what a code asks for: a step less would be wrong.
    """
    assert value.value is not None
    single, spanned = shown_pair(value, prefer), shown_span(value, prefer)
    if exact or value.kind == "count" or spanned.text != single.text:
        return spanned
    low, high = value.value - value.step, value.value + value.step
    return pair_range(value.kind, low, high, value.step, prefer, "nearest")
