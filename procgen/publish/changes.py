"""What an edit changes: which steps and figures are not what is published, and in which guides."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from procgen.messages.catalog import Messages
from procgen.publish.edition_file import EDITION_FILE, SCHEMA

#: lines of one kind before the rest is only counted: a screenful
MOST_LINES = 12


@dataclass(frozen=True)
class Edition:
    """A guide as published: title and content of each step by id, of each figure by id."""

    edition: str
    steps: Mapping[str, tuple[str, str]]
    figures: Mapping[str, tuple[str, str]]


@dataclass(frozen=True)
class Change:
    """A step or figure that is not what it was, and in which guides; what a figure was and is, by guide."""

    id: str
    title: str
    #: "changed", "added" or "gone"
    how: str
    guides: tuple[str, ...]
    was_and_is: Mapping[str, tuple[str, str]]


@dataclass(frozen=True)
class Changes:
    """Everything that differs between two sets of editions."""

    #: guides in both
    compared: tuple[str, ...]
    added: tuple[str, ...]
    gone: tuple[str, ...]
    steps: tuple[Change, ...]
    figures: tuple[Change, ...]
    #: guides with another edition though every step and figure says the same
    otherwise: tuple[str, ...]


def read_editions(site: Path) -> dict[str, Edition]:
    """The editions that stand in a built site; what cannot be read counts as not there."""
    found = {}
    for path in sorted(site.glob(f"*/{EDITION_FILE}")):
        try:
            data = json.loads(path.read_text(encoding="utf-8"))
            if data["schema"] == SCHEMA:
                found[path.parent.name] = _edition(data)
        except (OSError, ValueError, KeyError, TypeError):
            continue
    return found


def _edition(data: Any) -> Edition:
    steps = [step for part in data["parts"] for step in part["steps"]]
    return Edition(
        data["edition"],
        {step["id"]: (step["title"], step["print"]) for step in steps},
        {value["id"]: (value["title"], value["shown"]) for value in data["values"]},
    )


def compare(before: Mapping[str, Edition], after: Mapping[str, Edition]) -> Changes:
    """What differs, each step and figure once with all its guides."""
    both = tuple(guide for guide in after if guide in before)
    steps = _differences(both, before, after, lambda edition: edition.steps)
    figures = _differences(both, before, after, lambda edition: edition.figures)
    told = {guide for change in (*steps, *figures) for guide in change.guides}
    return Changes(
        both,
        tuple(guide for guide in after if guide not in before),
        tuple(guide for guide in before if guide not in after),
        steps,
        figures,
        tuple(g for g in both if before[g].edition != after[g].edition and g not in told),
    )


def _differences(
    guides: Sequence[str],
    before: Mapping[str, Edition],
    after: Mapping[str, Edition],
    items: Callable[[Edition], Mapping[str, tuple[str, str]]],
) -> tuple[Change, ...]:
    found: dict[tuple[str, str, str], dict[str, tuple[str, str]]] = {}
    for guide in guides:
        old, new = items(before[guide]), items(after[guide])
        for item in (*new, *(item for item in old if item not in new)):
            title, now = new.get(item, old.get(item, ("", "")))
            if item not in new:
                found.setdefault((item, title, "gone"), {})[guide] = (now, "")
            elif item not in old:
                found.setdefault((item, title, "added"), {})[guide] = ("", now)
            elif old[item] != new[item]:
                found.setdefault((item, title, "changed"), {})[guide] = (old[item][1], now)
    return tuple(Change(*key, tuple(where), where) for key, where in found.items())


def change_lines(changes: Changes, messages: Messages) -> list[str]:
    """The changes in words; nothing where nothing was published to compare with."""
    if not changes.compared:
        return []
    lines = [
        *_few([_step_line(step, changes, messages) for step in changes.steps], "step", messages),
        *_few(list(_figure_lines(changes, messages)), "figure", messages),
    ]
    for kind in ("otherwise", "added", "gone"):
        if guides := getattr(changes, kind):
            lines.append(messages.text(f"changes.{kind}", guides=_guides(guides, changes, messages)))
    if not lines:
        return [messages.text("changes.none")]
    return [messages.text("changes.head"), *(f"  {line}" for line in lines)]


def _few(lines: list[str], noun: str, messages: Messages) -> list[str]:
    left = len(lines) - MOST_LINES
    # One line that counts one thing would take the place of the thing.
    if left < 2:
        return lines
    return [*lines[:MOST_LINES], messages.text("changes.more", what=messages.counted(noun, left))]


def _step_line(step: Change, changes: Changes, messages: Messages) -> str:
    guides = _guides(step.guides, changes, messages)
    return messages.text(f"changes.step_{step.how}", id=step.id, title=step.title, guides=guides)


def _figure_lines(changes: Changes, messages: Messages) -> Iterator[str]:
    for figure in changes.figures:
        named: dict[str, Any] = {"id": figure.id, "title": figure.title}
        if figure.how == "changed" and len(figure.guides) == 1:
            was, now = figure.was_and_is[figure.guides[0]]
            if was != now:
                yield messages.text("changes.figure", **named, was=was, now=now, guides=figure.guides[0])
                continue
        guides = _guides(figure.guides, changes, messages)
        yield messages.text(f"changes.figure_{figure.how}", **named, guides=guides)


def _guides(guides: Sequence[str], changes: Changes, messages: Messages) -> str:
    if len(guides) == len(changes.compared) > 1 and set(guides) == set(changes.compared):
        return messages.text("changes.all", guides=messages.counted("guide", len(guides)))
    return ", ".join(guides)
