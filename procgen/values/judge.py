"""How a readiness rule is declared and what it sees: values with their ranges, the survey, the profile."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from pydantic import BaseModel

from procgen.profiles.machine import Machine
from procgen.profiles.site import Site
from procgen.units.measure import Measure
from procgen.values.define import Sourced
from procgen.values.figure import Figure
from procgen.values.reader import Facts
from procgen.values.reasons import OF_FIGURES
from procgen.values.shown import figure_of
from procgen.values.worksheet import Value, Verdict, Worksheet


@dataclass(frozen=True)
class Outcome:
    """What a rule says: verdict, which of its sentences, and what fills their places."""

    verdict: Verdict
    sentence: str = ""
    params: Mapping[str, Any] = field(default_factory=dict)
    who: str = ""


def passes(sentence: str = "pass", **params: Any) -> Outcome:
    """The rule is met."""
    return Outcome("pass", sentence, params)


def attention(sentence: str, who: str = "", **params: Any) -> Outcome:
    """To be settled, but the visit may go ahead."""
    return Outcome("attention", sentence, params, who)


def stop(sentence: str, who: str = "", **params: Any) -> Outcome:
    """The visit may not go ahead."""
    return Outcome("stop", sentence, params, who)


class Case:
    """What a rule judges."""

    def __init__(self, facts: Facts, worksheet: Worksheet) -> None:
        self.facts = facts
        self._worksheet = worksheet
        self.machine: Machine = facts.machine
        self.site: Site | None = facts.site
        self.variant = facts.variant
        #: ids the rule looked at
        self.seen: list[str] = []

    def value(self, identifier: str) -> Value | None:
        """A value, or None where it is unavailable."""
        self.seen.append(identifier)
        found = self._worksheet.value(identifier)
        return found if found.ok else None

    def why(self, identifier: str) -> str:
        """Why a value is unavailable, or holds only over a part of its inputs' ranges."""
        return self._worksheet.value(identifier).why

    def beyond(self) -> list[Value]:
        """Values whose formula does not hold for these figures, over all or a part of their ranges."""
        return [v for v in self._worksheet.values.values() if v.reason in OF_FIGURES]

    def low(self, identifier: str) -> float | None:
        """Lowest figure of a value."""
        found = self.value(identifier)
        return None if found is None else found.low

    def high(self, identifier: str) -> float | None:
        """Highest figure of a value."""
        found = self.value(identifier)
        return None if found is None else found.high

    def figure(self, identifier: str, mode: Any = "span") -> Figure:
        """A value as a figure of a sentence."""
        v = self._worksheet.value(identifier)
        return figure_of(v, mode)

    def leaf(self, section: BaseModel, name: str, mode: Any = "pair") -> Figure:
        """A typed quantity as a figure of a sentence."""
        leaf = self.facts.leaves.leaf(section, name)
        m = leaf.measure
        return Figure(m.kind, m.value, m.low, m.high, m.step, mode, leaf.name, is_leaf=True)

    @staticmethod
    def limit(kind: str, si: float, step: float, mode: Any = "pair") -> Figure:
        """A limit of a code as a figure of a sentence."""
        return Figure(kind, si, si, si, step, mode)

    @staticmethod
    def measured(measure: Measure, mode: Any = "pair") -> Figure:
        """A measure that no file holds under its own name."""
        return Figure(measure.kind, measure.value, measure.low, measure.high, measure.step, mode)


Judge = Callable[[Case], Outcome | None]


@dataclass(frozen=True)
class Rule:
    """A declared rule."""

    id: str
    who: str
    source: Sourced
    judge: Judge
    #: judged for a model's guide too, on its design ranges
    without_site: bool = False


RULES: dict[str, Rule] = {}


def rule(
    identifier: str, who: str, source: Sourced, *, without_site: bool = False
) -> Callable[[Judge], Judge]:
    """Declare a rule: ``@rule("mains_high", "builder", UPC_608_2)``."""

    def wrap(judge: Judge) -> Judge:
        if identifier in RULES:
            raise ValueError(f"rule {identifier} is declared twice")
        RULES[identifier] = Rule(identifier, who, source, judge, without_site)
        return judge

    return wrap
