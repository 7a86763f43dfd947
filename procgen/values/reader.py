"""What a value function reads with. What it reads is recorded as it reads."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel

from procgen.engineering import unavailable as engineering
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.sources_general import UnknownEntryError
from procgen.profiles.machine import Machine
from procgen.profiles.power import SupplyVariant
from procgen.profiles.site import Site
from procgen.profiles.workspace import GuideInput
from procgen.units.measure import Measure
from procgen.units.show import step_for
from procgen.values.define import Definition, UnavailableError
from procgen.values.leaves import Leaf, Leaves

if TYPE_CHECKING:
    from procgen.values.ranges import Span


class Facts:
    """What one guide is made from, and its leaves: shared by all evaluations of it."""

    def __init__(self, guide: GuideInput) -> None:
        self.guide = guide
        self.machine: Machine = guide.machine.data
        self.site: Site | None = guide.site.data if guide.site else None
        self.variant: SupplyVariant = guide.variant
        self.leaves = Leaves()
        self.leaves.add(guide.machine, "machine", "profile")
        if guide.site:
            self.leaves.add(guide.site, "site", "survey")


class Record:
    """What one value read, in order."""

    __slots__ = ("leaves", "reads", "seen", "values")

    def __init__(self) -> None:
        self.reads: list[tuple[str, Leaf | str]] = []
        self.seen: set[tuple[str, str]] = set()
        self.leaves: set[str] = set()
        self.values: set[str] = set()


class Evaluation:
    """Values at one choice of the leaves: nominal, or with some leaves moved within their ranges."""

    def __init__(
        self,
        facts: Facts,
        definitions: Mapping[str, tuple[Definition, str]],
        moved: Mapping[str, float] | None = None,
        nominal: Evaluation | None = None,
    ) -> None:
        self.facts = facts
        self.definitions = definitions
        self._moved = moved or {}
        self._nominal = nominal
        self._results: dict[str, Any] = {}
        self.records: dict[str, Record] = nominal.records if nominal else {}
        self.all_leaves: dict[str, Leaf] = nominal.all_leaves if nominal else {}
        #: spans of the values, once they are known
        self.spans: Mapping[str, Span] = {}
        #: leaves each value depends on, directly or through others
        self.depends: dict[str, set[str]] = nominal.depends if nominal else {}

    def get(self, identifier: str) -> Any:
        """A value's result.

        Raises:
            UnavailableError: it cannot be had here.
        """
        result = self._results.get(identifier)
        if result is None:
            if self._nominal is not None and self._moved.keys().isdisjoint(self.depends.get(identifier, ())):
                return self._nominal.get(identifier)
            result = self._compute(identifier)
            self._results[identifier] = result
        if isinstance(result, UnavailableError):
            raise result
        return result

    def _compute(self, identifier: str) -> Any:
        definition, key = self.definitions[identifier]
        record = self.records.setdefault(identifier, Record()) if self._nominal is None else Record()
        reader = Reader(self, record)
        try:
            result = definition.compute(reader, key) if key else definition.compute(reader)
        except UnavailableError as error:
            result = error
        except OutOfRangeError as error:
            result = UnavailableError("out_of_range", error=error)
        except engineering.UnavailableError as error:
            result = UnavailableError(error.id, **error.details)
        except UnknownEntryError as error:
            result = UnavailableError("no_table_entry", found=error.found)
        except ArithmeticError:
            result = UnavailableError("no_solution")
        depends = self.depends.setdefault(identifier, set())
        depends |= record.leaves
        for name in record.values:
            depends |= self.depends.get(name, set())
        return result

    def leaf_value(self, leaf: Leaf) -> float:
        """A leaf's figure in this evaluation."""
        moved = self._moved.get(leaf.name)
        return leaf.measure.value if moved is None else moved


class Reader:
    """The hands of one value function."""

    __slots__ = ("_evaluation", "_record", "machine", "site", "variant")

    def __init__(self, evaluation: Evaluation, record: Record) -> None:
        self._evaluation = evaluation
        self._record = record
        facts = evaluation.facts
        self.machine = facts.machine
        self.site = facts.site
        self.variant = facts.variant

    def leaf(self, section: BaseModel, field: str, symbol: str = "") -> float:
        """A typed quantity in SI."""
        leaf = self._evaluation.facts.leaves.leaf(section, field)
        return self.constant(leaf, symbol)

    def end(self, section: BaseModel, field: str, symbol: str, *, high: bool) -> float:
        """One end of a typed range, as a figure of its own."""
        leaf = self._evaluation.facts.leaves.leaf(section, field)
        m = leaf.measure
        end = m.high if high else m.low
        fixed = Measure(m.kind, end, end, end, m.text, step_for(end, m.kind, 3))
        return self.constant(
            Leaf(f"{leaf.name}.{'high' if high else 'low'}", leaf.origin, leaf.place, fixed), symbol
        )

    def table(self, name: str, value: float, kind: str, symbol: str, place: str) -> float:
        """An entry of a handbook's or standard's table."""
        fixed = Measure(kind, value, value, value, f"{value:g}", 10.0 ** (math.floor(math.log10(value)) - 3))
        return self.constant(Leaf(name, "standard", place, fixed), symbol)

    def measured(self, section: BaseModel | None, field: str, design: str, symbol: str = "") -> float:
        """What the site measured; without a measurement, what the model is designed for."""
        if section is not None and getattr(section, field) is not None:
            return self.leaf(section, field, symbol)
        return self.leaf(self.machine.design, design, symbol)

    def surveyed(self, section: BaseModel | None, field: str, symbol: str = "") -> float:
        """What the site measured; unavailable where it did not."""
        if self.site is None:
            raise UnavailableError("needs_site")
        if section is None or getattr(section, field) is None:
            raise UnavailableError("not_surveyed", field=field)
        return self.leaf(section, field, symbol)

    def value(self, identifier: str, symbol: str = "") -> Any:
        """Another value's result."""
        if identifier not in self._record.values:
            self._record.values.add(identifier)
            self._record.reads.append((symbol, identifier))
        return self._evaluation.get(identifier)

    def highest(self, identifier: str, symbol: str = "") -> Any:
        """The highest figure of another value over its range (only for values computed after the ranges)."""
        self.value(identifier, symbol)
        return self._evaluation.spans[identifier].high

    def constant(self, constant: Leaf, symbol: str = "") -> float:
        """A figure of a standard or a handbook that has a range of its own."""
        # The same leaf may stand under two symbols in one formula.
        if (symbol, constant.name) not in self._record.seen:
            self._record.seen.add((symbol, constant.name))
            self._record.leaves.add(constant.name)
            self._evaluation.all_leaves.setdefault(constant.name, constant)
            self._record.reads.append((symbol, constant))
        return self._evaluation.leaf_value(constant)
