"""How a value is declared: a function that reads leaves and other values, with its formula and source."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

from procgen.engineering.kernel import Source

if TYPE_CHECKING:
    from procgen.values.reader import Reader

Compute = Callable[..., Any]
Text = str | Callable[..., str]
#: a source, or what picks it: a figure of a code comes from the code that the site declares
Sourced = Source | Callable[[Any], Source]
Keys = Callable[["Reader"], list[str]]
Limit = Literal["at_most", "at_least"]


class UnavailableError(Exception):
    """This machine or site cannot have the value; ``reason`` names the words."""

    def __init__(self, reason: str, **params: object) -> None:
        self.reason = reason
        self.params = params
        super().__init__(reason)

    def again(self) -> UnavailableError:
        """The same reason without the way it came: kept results hold no frames."""
        return UnavailableError(self.reason, **self.params)


@dataclass(frozen=True)
class Definition:
    """One declared value, or a family of values keyed by mark."""

    id: str
    kind: str | Callable[[Any], str]
    compute: Compute
    source: Sourced
    #: readable and evaluatable text in the symbols of what is read; may depend on the machine
    formula: Text = ""
    residual: Text = ""
    #: significant digits it may honestly be shown with
    digits: int = 3
    #: SI step instead of digits, for counts and figures whose precision is fixed
    step: float | None = None
    #: shown with the digits that its leaf was typed with: a set point is what somebody sets
    typed: bool = False
    #: marks of the family, and which of them the bare id repeats
    keys: Keys | None = None
    worst: str = ""
    #: computed from the ranges of others, when those are known
    after: bool = False
    #: what may not be passed, and on which side: shown rounded inward where other figures round outward
    limit: Limit | None = None

    @cached_property
    def group(self) -> str:
        """First word of the id."""
        return self.id.partition(".")[0]


def source_of(source: Sourced, facts: Any) -> Source:
    """The source that holds for one guide."""
    return source if isinstance(source, Source) else source(facts)


@dataclass
class Registry:
    """All declared values in their order."""

    definitions: dict[str, Definition] = field(default_factory=dict)

    def value(
        self,
        identifier: str,
        kind: str | Callable[[Any], str],
        *,
        source: Sourced,
        formula: Text = "",
        residual: Text = "",
        digits: int = 3,
        step: float | None = None,
        typed: bool = False,
        keys: Keys | None = None,
        worst: str = "",
        after: bool = False,
        limit: Limit | None = None,
    ) -> Callable[[Compute], Compute]:
        """Declare a value: ``@VALUES.value("fill.time", "time", formula="V / Q", source=...)``."""

        def wrap(function: Compute) -> Compute:
            if identifier in self.definitions:
                raise ValueError(f"value {identifier} is declared twice")
            self.definitions[identifier] = Definition(
                identifier,
                kind,
                function,
                source,
                formula,
                residual,
                digits,
                step,
                typed,
                keys,
                worst,
                after,
                limit,
            )
            return function

        return wrap


VALUES = Registry()


def ordered(definitions: Mapping[str, Definition]) -> list[Definition]:
    """Definitions in the order they were declared."""
    return list(definitions.values())
