"""The Procedure model: what a template's tags build, and every output (site, print, record) reads."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

from procgen.values.worksheet import Series

Role = Literal["planner", "technician", "electrician", "water_expert", "builder", "owner"]
Signal = Literal["danger", "warning", "caution", "notice"]


@dataclass(frozen=True)
class Fragment:
    """A finished piece of HTML, rendered once, with what it says in plain text and where it came from."""

    html: str
    text: str
    #: ids of the values whose figures stand in it
    values: tuple[str, ...]
    template: str
    line: int


@dataclass(frozen=True)
class Notice:
    """Danger, warning, caution or notice: hazard, consequence, avoidance."""

    signal: Signal
    #: id of the hazard (electricity, scald, hot_surface, pressure, automatic_start, lifting, ...)
    hazard: str
    body: Fragment


@dataclass(frozen=True)
class Reading:
    """Something measured on site, with target, allowed range and what to do outside it."""

    id: str
    label: str
    kind: str
    #: SI figures; low and high are permitted limits (None: no limit on that side)
    target: float | None
    low: float | None
    high: float | None
    #: the worksheet value that the target comes from, or ""
    value_id: str
    outside: Fragment
    #: target and limits as a reader sees them, marked up
    target_html: str
    limits_html: str
    line: int
    template: str
    #: id of the table that goes on where what was measured differs from the survey, and the table
    what_if: str | None = None
    #: the worksheet value that the upper limit comes from, or ""
    high_id: str = ""
    table: Series | None = None


@dataclass(frozen=True)
class Timer:
    """A computed wait: seconds from the worksheet; a help, never the safeguard."""

    id: str
    label: str
    value_id: str
    low: float
    high: float
    #: for the fill: pump time-out and the counts that go with it
    timeout: float | None = None
    runs_expected: int | None = None
    runs_stop: int | None = None
    #: how much of it has passed when the step begins, where it is counted from an earlier one
    passed: float = 0.0


@dataclass(frozen=True)
class Step:
    """One action."""

    id: str
    title: str
    role: Role
    #: planned working time in minutes, waits not included
    minutes: float
    hazards: tuple[str, ...]
    notices: tuple[Notice, ...]
    body: Fragment
    expected: Fragment | None
    readings: tuple[Reading, ...]
    timers: tuple[Timer, ...]
    figures: tuple[str, ...]
    mark: str = ""


@dataclass(frozen=True)
class Hold:
    """A point that may not be passed until the named role has confirmed it."""

    id: str
    title: str
    by: Role
    body: Fragment
    #: ids of the steps since the last hold: what this confirmation covers
    guards: tuple[str, ...] = ()


@dataclass(frozen=True)
class Section:
    """A heading inside a part."""

    id: str
    title: str


@dataclass(frozen=True)
class Prose:
    """Text between steps."""

    body: Fragment
    notices: tuple[Notice, ...] = ()


@dataclass(frozen=True)
class Symptom:
    """One entry of the fault finding: what is seen, likely causes in order, what to do."""

    id: str
    title: str
    body: Fragment
    notices: tuple[Notice, ...] = ()
    mark: str = ""


Item = Step | Hold | Section | Prose | Symptom


@dataclass(frozen=True)
class Part:
    """A guide's chapter."""

    id: str
    title: str
    number: int
    items: tuple[Item, ...]
    template: str

    def steps(self) -> Iterator[Step]:
        """The part's steps in order."""
        return (item for item in self.items if isinstance(item, Step))

    def holds(self) -> Iterator[Hold]:
        """The part's hold points in order."""
        return (item for item in self.items if isinstance(item, Hold))


@dataclass(frozen=True)
class Procedure:
    """One guide's procedure."""

    guide: str
    parts: tuple[Part, ...]
    values: tuple[str, ...] = field(default=())

    def steps(self) -> Iterator[Step]:
        """All steps in order."""
        for part in self.parts:
            yield from part.steps()

    def holds(self) -> Iterator[Hold]:
        """All hold points in order."""
        for part in self.parts:
            yield from part.holds()
