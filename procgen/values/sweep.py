"""What-if tables: one reading pinned row by row, everything else over its range.

Each row gives the least and the most a figure can be at that reading. Between two rows a reader takes the
worse of both and never interpolates. That is safe because

* the figures of a table fall (or rise) the whole way with its reading: a higher mains pressure with the same
  drop in the pipe lifts the supply at every flow alike, and more voltage gives every element more power;
* where they do not (elements that no longer fit together under a current limit as the voltage rises), both
  sides of every jump between two rows are evaluated as well, and what is found there widens the two rows.

What depends neither on the reading nor on a leaf moved with it is taken from where it was computed before.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from procgen.values.define import Definition, UnavailableError
from procgen.values.leaves import Leaf
from procgen.values.ranges import Corner, Line, jumps_between, jumps_of, opposite_moves
from procgen.values.reader import Evaluation, Moved, Reader

#: a table that fits on a phone
MOST_ROWS = 9
#: a round figure closer to an end than this share of a step would be a row that says nothing new
NEAR_END = 0.15

#: leaves to move for a reading, given where the other leaves stand
Moves = Callable[[float, Mapping[str, float]], Mapping[str, float]]


@dataclass(slots=True)
class Row:
    """One reading: least and most of each figure, or why there is none."""

    at: float
    spans: dict[str, tuple[float, float]]
    gap: UnavailableError | None = None


def round_rows(
    low: float, high: float, unit: float, steps: Sequence[float], most: int = MOST_ROWS
) -> tuple[list[float], float]:
    """Readings at round figures of a unit with both ends, at the finest step that needs no more than ``most``
    rows; and that step."""
    for step in steps:
        size = step * unit
        first, last = math.ceil(low / size + NEAR_END), math.floor(high / size - NEAR_END)
        if last - first + 3 <= most:
            return [low, *(n * size for n in range(first, last + 1)), high], size
    return [low, high], high - low


def pinned(nominal: Evaluation, values: Mapping[str, Leaf | None]) -> Evaluation:
    """The same evaluation with some values read from a leaf (or, with None, not to be had)."""
    definitions = dict(nominal.definitions)
    leaves: set[str] = set()
    for name, leaf in values.items():
        old, key = definitions[name]
        leaves |= nominal.depends.get(name, set())
        definitions[name] = (_reads(old, leaf), key)
    copy = nominal.without(leaves, definitions)
    for name in values:
        try:
            copy.get(name)
        except UnavailableError:
            continue
    return copy


def _reads(old: Definition, leaf: Leaf | None) -> Definition:
    def compute(reader: Reader, key: str = "") -> float:
        if leaf is None:
            raise UnavailableError("pinned")
        return reader.constant(leaf)

    return Definition(old.id, old.kind, compute, old.source)


def sweep(
    evaluation: Evaluation,
    rows: Sequence[float],
    moves: Moves,
    targets: Iterable[str],
    *,
    corners: Evaluation | None = None,
    leaf: str = "",
) -> list[Row]:
    """The figures of some values at each reading.

    ``corners`` is the evaluation whose spans tell at which corner a value is lowest and highest, where it is
    another one; ``leaf`` names the leaf along which figures may jump between two rows.
    """
    known = corners or evaluation
    wanted = [name for name in targets if name in known.spans]
    if not wanted:
        return [Row(at, {}, _unavailable(evaluation, targets)) for at in rows]
    table = _Table(evaluation, known, wanted)
    found = [Row(at, {}) for at in rows]
    for row in found:
        table.fill(row, moves)
    if leaf:
        for first, second in pairwise(found):
            if first.gap is None and second.gap is None:
                table.between(first, second, leaf)
    return found


def _unavailable(evaluation: Evaluation, targets: Iterable[str]) -> UnavailableError:
    for name in targets:
        try:
            evaluation.get(name)
        except UnavailableError as error:
            return error.again()
    return UnavailableError("no_solution")


class _Table:
    """What all rows share: the corners to look at, and where figures jump."""

    def __init__(self, evaluation: Evaluation, known: Evaluation, wanted: list[str]) -> None:
        self.evaluation = evaluation
        self.wanted = wanted
        #: what all points are moved from, so that they share what they have in common
        self.unmoved = evaluation.moved_by({})
        depends: set[str] = set()
        for name in wanted:
            depends |= evaluation.dependence(name)
        self.places = _corners(known, wanted, depends)
        self.ranged = {
            name: (item.measure.low, item.measure.high)
            for name, item in evaluation.all_leaves.items()
            if item.measure.is_range and name in depends
        }
        self.jumps = jumps_of(evaluation.facts, wanted)
        #: what stands between two points already looked at is found once: staging costs many root steps
        self.lines: dict[Line, list[float]] = {}

    def fill(self, row: Row, moves: Moves) -> None:
        """Least and most of each figure at a reading."""
        seen: set[Corner] = set()
        try:
            for place in self.places:
                own = moves(row.at, place)
                here = self._widen((row,), {**place, **own}, seen)
                free = {name: ends for name, ends in self.ranged.items() if name not in own}
                for name, at in self._jumps(here, free):
                    self._widen((row,), {**here.moved, name: at}, seen)
        except UnavailableError as error:
            row.gap = error.again()

    def between(self, first: Row, second: Row, leaf: str) -> None:
        """Jumps between two rows widen both, so that the worse of the two bounds what lies between."""
        seen: set[Corner] = set()
        try:
            for place in self.places:
                here = self.unmoved.moved_to(place)
                for name, at in self._jumps(here, {leaf: (first.at, second.at)}):
                    self._widen((first, second), {**place, name: at}, seen)
        except UnavailableError as error:
            first.gap = second.gap = error.again()

    def _widen(self, rows: tuple[Row, ...], moved: Mapping[str, float], seen: set[Corner]) -> Moved:
        here = self.unmoved.moved_to(moved)
        point = frozenset(moved.items())
        if point not in seen:
            seen.add(point)
            for name in self.wanted:
                figure = float(here.get(name))
                for row in rows:
                    low, high = row.spans.get(name, (figure, figure))
                    row.spans[name] = min(low, figure), max(high, figure)
        return here

    def _jumps(self, here: Moved, along: Mapping[str, tuple[float, float]]) -> list[tuple[str, float]]:
        return jumps_between(here, self.jumps, along, self.lines)


def _corners(known: Evaluation, wanted: list[str], depends: set[str]) -> list[dict[str, float]]:
    """The corners at which the wanted values were lowest and highest, and those that oppose them."""
    places: dict[Corner, None] = {}
    for name in wanted:
        span = known.spans[name]
        for corner in (span.lowest, span.highest):
            if not corner and places and known.definitions[name][0].kind == "count":
                # A count follows what it reads, in steps: it is lowest and highest where that is.
                continue
            for move in ({}, *opposite_moves(known, name)):
                there = {**dict(corner), **move}
                places[frozenset((leaf, at) for leaf, at in there.items() if leaf in depends)] = None
    return [dict(place) for place in places]
