"""What an evaluation gives: values with range and provenance, findings, and how ready the site is."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, NamedTuple

from procgen.engineering.kernel import Source
from procgen.units.kinds import KINDS, Preference, Reference
from procgen.values.define import Limit
from procgen.values.figure import Parts, plain_sentence

Verdict = Literal["pass", "attention", "stop"]
Origin = Literal["profile", "survey", "design", "value", "standard", "procedure"]


class Input(NamedTuple):
    """Something a value was computed from."""

    #: dotted path of a leaf (lists by mark), or the id of another value
    name: str
    origin: Origin
    #: ``file:line`` of a leaf; empty for a value
    place: str
    kind: str
    value: float | None
    low: float | None
    high: float | None
    #: SI step of its digits, for showing it
    step: float
    symbol: str = ""
    #: as typed, for a leaf
    text: str = ""


@dataclass(frozen=True)
class Series:
    """A curve or table: columns with name and kind, rows of SI figures (None where there is none)."""

    columns: tuple[tuple[str, str], ...]
    rows: tuple[tuple[Any, ...], ...]


class Value(NamedTuple):
    """One computed figure."""

    id: str
    kind: str
    title: str
    status: Literal["ok", "unavailable"]
    #: why it is unavailable; or, where it is available, what holds only over a part of the inputs' ranges
    why: str
    value: float | None
    low: float | None
    high: float | None
    step: float
    series: Series | None
    #: readable and evaluatable text in the symbols of the inputs
    formula: str
    #: for a solved value: an expression in ids that is zero at the solution
    residual: str
    inputs: tuple[Input, ...]
    source: Source
    group: str
    #: id of the reason behind ``why``
    reason: str = ""
    #: on which side it may not be passed
    limit: Limit | None = None

    @property
    def ok(self) -> bool:
        """True where the figure exists."""
        return self.status == "ok"

    @property
    def reference(self) -> Reference | None:
        """Gauge, absolute or difference for a pressure."""
        return KINDS[self.kind].reference if self.kind in KINDS else None


@dataclass(frozen=True)
class Finding:
    """The verdict of one readiness rule."""

    id: str
    verdict: Verdict
    title: str
    reason_parts: Parts
    remedy_parts: Parts
    #: role that must act
    who: str
    source: Source
    values: tuple[str, ...] = ()
    #: the units its reader sees first
    prefer: Preference = "metric"

    @property
    def reason(self) -> str:
        """Why, as text."""
        return plain_sentence(self.reason_parts, self.prefer)

    @property
    def remedy(self) -> str:
        """What to do, as text."""
        return plain_sentence(self.remedy_parts, self.prefer)


@dataclass(frozen=True)
class Effect:
    """One sentence: what moves a figure, and by how much."""

    id: str
    #: id of the value it is about
    about: str
    text_parts: Parts
    prefer: Preference = "metric"

    @property
    def text(self) -> str:
        """The sentence as text."""
        return plain_sentence(self.text_parts, self.prefer)


class UnknownValueError(KeyError):
    """No value has this id."""

    def __init__(self, found: str, known: Mapping[str, Value]) -> None:
        near = difflib.get_close_matches(found, known, 1)
        self.found = found
        self.nearest = near[0] if near else ""
        super().__init__(found)


@dataclass(frozen=True)
class Worksheet:
    """All values and findings of one guide."""

    guide: str
    machine_id: str
    site_id: str | None
    prefer: Preference
    values: Mapping[str, Value]
    findings: tuple[Finding, ...] = field(default=())
    sentences: tuple[Effect, ...] = field(default=())

    def value(self, identifier: str) -> Value:
        """A value by id.

        Raises:
            UnknownValueError: no such id; carries the nearest known one.
        """
        try:
            return self.values[identifier]
        except KeyError:
            raise UnknownValueError(identifier, self.values) from None

    def about(self, identifier: str) -> tuple[Effect, ...]:
        """The sentences about a value."""
        return tuple(sentence for sentence in self.sentences if sentence.about == identifier)

    def of(self, verdict: Verdict) -> tuple[Finding, ...]:
        """Findings of one verdict."""
        return tuple(finding for finding in self.findings if finding.verdict == verdict)

    @property
    def readiness(self) -> Literal["ready", "attention", "not_ready"]:
        """One stop makes a site not ready."""
        if self.of("stop"):
            return "not_ready"
        return "attention" if self.of("attention") else "ready"
