"""What a value function reads with. What it reads is recorded as it reads."""

from __future__ import annotations

import contextlib
import math
import weakref
from collections.abc import Callable, Iterable, Mapping, Set
from functools import lru_cache
from types import MappingProxyType
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


#: Bits that say where one leaf stands: more places than any search looks at.
_BITS = 32
#: no result yet; a part may be None
MISSING = object()


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


#: Under which symbol something was read, and its name.
Read = tuple[str, str]


class Record:
    """What one value read, in order: by symbol and name a leaf, or the id of another value."""

    __slots__ = ("reads", "values")

    def __init__(self) -> None:
        self.reads: dict[Read, Leaf | str] = {}
        self.values: set[str] = set()

    def leaf(self, symbol: str, leaf: Leaf) -> None:
        """A leaf was read; the same leaf may stand under two symbols in one formula."""
        self.reads.setdefault((symbol, leaf.name), leaf)

    def value(self, symbol: str, identifier: str) -> None:
        """Another value was read."""
        if identifier not in self.values:
            self.values.add(identifier)
            self.reads[symbol, identifier] = identifier

    def merge(self, other: Record) -> None:
        """What a part of the computation read was read by the whole."""
        known = self.values & other.values
        self.values |= other.values
        self.reads.update({key: read for key, read in other.reads.items() if key[1] not in known})


class Evaluation:
    """Values at nominal inputs. What each reads is recorded, once, as it is computed."""

    moved: Mapping[str, float] = MappingProxyType({})

    def __init__(self, facts: Facts, definitions: Mapping[str, tuple[Definition, str]]) -> None:
        self.facts = facts
        self.definitions = definitions
        self.records: dict[str, Record] = {}
        self.all_leaves: dict[str, Leaf] = {}
        #: spans of the values, once they are known
        self.spans: Mapping[str, Span] = {}
        #: the same values by other definitions, by what they are for
        self.pinned: dict[str, Evaluation] = {}
        #: leaves each value (or shared part) depends on, directly or through others
        self.depends: dict[str, set[str]] = {}
        self._results: dict[str, Any] = {}
        self._places: Places | None = None

    def get(self, identifier: str) -> Any:
        """A value's result.

        Raises:
            UnavailableError: it cannot be had here.
        """
        result = self._results.get(identifier)
        if result is None:
            definition, key = self.definitions[identifier]
            result = self._run(identifier, definition.compute, key)
        if isinstance(result, UnavailableError):
            raise result.again()
        return result

    def settle(self, identifier: str) -> None:
        """Compute a value, or find why it cannot be had, unless that is done."""
        if identifier not in self._results:
            definition, key = self.definitions[identifier]
            self._run(identifier, definition.compute, key)

    def shared(self, name: str, compute: Callable[..., Any], key: str) -> Any:
        """A part that several values share, computed once."""
        result = self._results.get(name, MISSING)
        if result is MISSING:
            result = self._run(name, compute, key)
        if isinstance(result, UnavailableError):
            raise result.again()
        return result

    def part_of(self, compute: Callable[..., Any], key: str = "") -> Any:
        """A shared part by the function that computes it."""
        return self.shared(part_name(compute, key), compute, key)

    @property
    def origin(self) -> Evaluation:
        """Itself."""
        return self

    def without(self, leaves: Set[str], definitions: Mapping[str, tuple[Definition, str]]) -> Evaluation:
        """The same values by other definitions; what depends on some leaves is forgotten."""
        copy = Evaluation(self.facts, definitions)
        copy.all_leaves = dict(self.all_leaves)
        for name, depends in self.depends.items():
            if leaves.isdisjoint(depends):
                copy.depends[name] = depends
                copy.records[name] = self.records[name]
                copy._results[name] = self._results[name]
        return copy

    def dependence(self, name: str) -> Set[str]:
        """Leaves that a value (or a shared part, once it is computed) depends on."""
        if name not in self.depends and name in self.definitions:
            with contextlib.suppress(UnavailableError):
                self.get(name)
        return self.depends.get(name, set())

    def _run(self, name: str, compute: Callable[..., Any], key: str) -> Any:
        record = self.records[name] = Record()
        result = self._results[name] = attempt(compute, Reader(self, record), key)
        values = record.values
        depends = {read for _, read in record.reads} - values
        self.depends[name] = depends.union(*[self.depends.get(value, ()) for value in values])
        return result

    def settled(self) -> Iterable[str]:
        """What was computed, values and shared parts, in the order in which it was found."""
        return self._results

    def kept(self, name: str) -> Any:
        """The result, or the reason why there is none, of something computed already."""
        return self._results[name]

    def moved_by(self, moved: Mapping[str, float]) -> Moved:
        """The same values with some leaves moved; all that are moved from here share what they find."""
        if self._places is None:
            # Weak, so that an evaluation goes with its last user.
            self._places = Places(weakref.proxy(self))
        return Moved(self, moved, self._places)


@lru_cache(maxsize=4096)
def part_name(compute: Callable[..., Any], key: str) -> str:
    """Under which a part is kept beside the values."""
    return f"{compute.__module__}.{compute.__qualname__}[{key}]"


def attempt(compute: Callable[..., Any], reader: Reader, key: str) -> Any:
    """The result, or the reason why there is none."""
    try:
        return compute(reader, key) if key else compute(reader)
    except UnavailableError as error:
        return error.again()
    except OutOfRangeError as error:
        return UnavailableError("out_of_range", error=error.with_traceback(None))
    except engineering.UnavailableError as error:
        return UnavailableError(error.id, **error.details)
    except UnknownEntryError as error:
        return UnavailableError("no_table_entry", found=error.found)
    except ArithmeticError:
        return UnavailableError("no_solution")


class Reader:
    """The hands of one value function; what they take is recorded."""

    __slots__ = ("_evaluation", "_leaves", "_record", "machine", "site", "variant")

    def __init__(self, evaluation: Any, record: Record) -> None:
        self._evaluation = evaluation
        self._record = record
        facts: Facts = evaluation.facts
        self._leaves = facts.leaves
        self.machine: Machine = facts.machine
        self.site: Site | None = facts.site
        self.variant: SupplyVariant = facts.variant

    @property
    def evaluation(self) -> Evaluation:
        """What it reads from: for values computed after the ranges, which evaluate others anew."""
        found: Evaluation = self._evaluation
        return found

    def leaf(self, section: BaseModel, field: str, symbol: str = "") -> float:
        """A typed quantity in SI."""
        # One call for the whole: every figure of a profile or survey goes through here.
        leaf = self._leaves.read.get((id(section), field)) or self._leaves.leaf(section, field)
        name, _, _, measure = leaf
        self._record.reads.setdefault((symbol, name), leaf)
        self._evaluation.all_leaves[name] = leaf
        return measure.value

    def end(self, section: BaseModel, field: str, symbol: str, *, high: bool) -> float:
        """One end of a typed range, as a figure of its own."""
        leaf = self._leaves.leaf(section, field)
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
        self._record.value(symbol, identifier)
        return self._evaluation.get(identifier)

    def part(self, compute: Callable[..., Any], key: str = "") -> Any:
        """A part that several values share: computed once, read by each of them."""
        name = part_name(compute, key)
        try:
            return self._evaluation.shared(name, compute, key)
        finally:
            self._record.merge(self._evaluation.records[name])

    def nominal(self, identifier: str, symbol: str = "") -> Any:
        """Another value at nominal inputs, wherever the inputs stand now."""
        return self.value(identifier, symbol)

    def highest(self, identifier: str, symbol: str = "") -> Any:
        """The highest figure of another value over its range (only for values computed after the ranges)."""
        self.value(identifier, symbol)
        return self._evaluation.spans[identifier].high

    def constant(self, constant: Leaf, symbol: str = "") -> float:
        """A figure of a standard or a handbook that has a range of its own."""
        self._record.leaf(symbol, constant)
        self._evaluation.all_leaves.setdefault(constant.name, constant)
        return constant.measure.value


class Places(dict[str, tuple[int, dict[int, Any]]]):
    """Where leaves have stood, and by value or part: mask of what it depends on, and its results."""

    def __init__(self, nominal: Evaluation) -> None:
        super().__init__()
        self.nominal = nominal
        self._shifts: dict[str, int] = {}
        #: by leaf all bits of its place
        self._masks: dict[str, int] = {}
        self._numbers: dict[str, dict[float, int]] = {}
        for name, leaf in nominal.all_leaves.items():
            if leaf.measure.is_range:
                self._shift(name)

    def _shift(self, name: str) -> int:
        shift = self._shifts[name] = _BITS * len(self._shifts)
        leaf = self.nominal.all_leaves.get(name)
        self._numbers[name] = {} if leaf is None else {leaf.measure.value: 0}
        # What is known already was found with this leaf unmoved.
        full = self._masks[name] = ((1 << _BITS) - 1) << shift
        for value, (mask, results) in self.items():
            if name in self.nominal.dependence(value):
                self[value] = (mask | full, results)
        return shift

    def point(self, moved: Mapping[str, float]) -> int:
        """The integer of a point."""
        point = 0
        for name, at in moved.items():
            shift = self._shifts.get(name)
            if shift is None:
                shift = self._shift(name)
            numbers = self._numbers[name]
            number = numbers.get(at)
            if number is None:
                number = numbers[at] = len(numbers) + 1
            point |= number << shift
        return point

    def __missing__(self, name: str) -> tuple[int, dict[int, Any]]:
        depends = self.nominal.dependence(name)
        if name not in self.nominal.depends:
            cell: tuple[int, dict[int, Any]] = (-1, {})
        else:
            mask = 0
            for leaf in depends & self._masks.keys():
                mask |= self._masks[leaf]
            # Unmoved it stands as it was computed.
            cell = (mask, {0: self.nominal.kept(name)})
        self[name] = cell
        return cell


class Moved(Reader):
    """Values with some leaves moved, and the hands that read them: all was recorded at nominal inputs."""

    __slots__ = ("_places", "_point", "_stands", "_still", "facts", "moved", "origin")

    def __init__(self, nominal: Evaluation, moved: Mapping[str, float], places: Places | None = None) -> None:
        self.origin = nominal
        self.facts = facts = nominal.facts
        self.machine, self.site, self.variant = facts.machine, facts.site, facts.variant
        self.moved = moved
        self._places = Places(nominal) if places is None else places
        self._point = self._places.point(moved)
        self._stands, self._still = facts.leaves.standing(moved)

    def get(self, identifier: str, symbol: str = "") -> Any:
        """A value's result.

        Raises:
            UnavailableError: it cannot be had here.
        """
        mask, results = self._places[identifier]
        point = self._point & mask
        result = results.get(point)
        if result is None:
            definition, key = self.origin.definitions[identifier]
            result = results[point] = attempt(definition.compute, self, key)
        if isinstance(result, UnavailableError):
            raise result.again()
        return result

    value = get

    def part(self, compute: Callable[..., Any], key: str = "") -> Any:
        """A part that several values share."""
        mask, results = self._places[part_name(compute, key)]
        point = self._point & mask
        result = results.get(point, MISSING)
        if result is MISSING:
            result = results[point] = attempt(compute, self, key)
        if isinstance(result, UnavailableError):
            raise result.again()
        return result

    part_of = part

    def moved_by(self, moved: Mapping[str, float]) -> Moved:
        """The same with more leaves moved; what those do not touch is not computed again."""
        return self.moved_to({**self.moved, **moved})

    def moved_to(self, moved: Mapping[str, float]) -> Moved:
        """All moves given anew; what stands as before is not computed again."""
        return Moved(self.origin, moved, self._places)

    def leaf(self, section: BaseModel, field: str, symbol: str = "") -> float:
        """A typed quantity in SI."""
        key = (id(section), field)
        found = self._stands.get(key)
        if found is None:
            found = self._still.get(key)
        return self.constant(self.facts.leaves.leaf(section, field)) if found is None else found

    def end(self, section: BaseModel, field: str, symbol: str, *, high: bool) -> float:
        """One end of a typed range."""
        measure = getattr(section, field)
        return float(measure.high if high else measure.low)

    def table(self, name: str, value: float, kind: str, symbol: str, place: str) -> float:
        """An entry of a table."""
        return value

    def nominal(self, identifier: str, symbol: str = "") -> Any:
        """Another value at nominal inputs."""
        return self.origin.get(identifier)

    def constant(self, constant: Leaf, symbol: str = "") -> float:
        """A figure of a standard."""
        moved = self.moved.get(constant.name)
        return constant.measure.value if moved is None else moved
