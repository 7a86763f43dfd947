"""The range of every value over the ranges of what it was computed from.

Method: each ranged leaf is moved alone to both its ends, which tells the direction in which each value
follows it. A value is then evaluated at the two corners where every leaf pushes the same way, and at the
corners of the values it reads (a count such as runs follows its time only in steps, and shows no direction
of its own). For quantities monotone in each leaf the two corners are the exact ends. Where a direction may
turn round on the way to the corner, each leaf is flipped once more from there and the better end kept. What
jumps (elements that just fit under a current limit) is evaluated on both sides of each jump; what ceases to
exist inside the range (a target just out of reach) counts with the figure of its edge. A property test
samples the inside of the ranges for every id of every guide.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from procgen.values.define import UnavailableError
from procgen.values.reader import Evaluation, Moved
from procgen.values.worksheet import Series

Corner = frozenset[tuple[str, float]]
Ranged = Mapping[str, tuple[float, float]]
#: Gives, at an evaluation, moves of one leaf to both sides of each jump.
Jumps = Callable[[Evaluation | Moved, Ranged], list[dict[str, float]]]

#: How often a better corner is looked for around the best one.
CLIMBS = 3
_JUMPS: list[tuple[tuple[str, ...], Jumps]] = []


def jumps(*groups: str) -> Callable[[Jumps], Jumps]:
    """Declare where the values of some groups jump, or turn round."""

    def wrap(function: Jumps) -> Jumps:
        _JUMPS.append((groups, function))
        return function

    return wrap


@dataclass(slots=True)
class Span:
    """Lowest and highest figure seen, and whether some corner had none."""

    low: float
    high: float
    #: why a corner of the inputs' ranges has no figure
    gap: UnavailableError | None = None


@dataclass(slots=True)
class _Seen:
    """What a value has shown so far, and at which corner it was lowest and highest."""

    nominal: float
    low: float
    high: float
    lowest: Corner = frozenset()
    highest: Corner = frozenset()
    gap: UnavailableError | None = None
    #: leaf, and 1 where the value rises with it
    directions: dict[str, int] = field(default_factory=dict)

    def add(self, result: float, corner: Corner) -> None:
        if result < self.low:
            self.low, self.lowest = result, corner
        if result > self.high:
            self.high, self.highest = result, corner


class _Probe:
    """All evaluations that one guide's ranges need."""

    def __init__(self, nominal: Evaluation, identifiers: Iterable[str]) -> None:
        self.nominal = nominal
        self.seen: dict[str, _Seen] = {}
        for identifier in identifiers:
            try:
                result = nominal.get(identifier)
            except UnavailableError:
                continue
            if isinstance(result, int | float):
                self.seen[identifier] = _Seen(result, result, result)
        self.ranged: dict[str, tuple[float, float]] = {
            name: (leaf.measure.low, leaf.measure.high)
            for name, leaf in nominal.all_leaves.items()
            if leaf.measure.is_range
        }
        self.tried: dict[Corner, tuple[Moved, set[str]]] = {}

    def sample(self, corner: Corner, identifiers: Iterable[str], base: Moved | None = None) -> Moved:
        """Evaluate at a corner and keep what came out."""
        found = self.tried.get(corner)
        if found is None:
            moved = dict(corner)
            evaluation = base.moved_to(moved) if base else self.nominal.moved_by(moved)
            found = self.tried[corner] = (evaluation, set())
        evaluation, done = found
        for identifier in identifiers:
            if identifier not in done:
                done.add(identifier)
                result = self.result(evaluation, identifier)
                if result is not None:
                    self.seen[identifier].add(result, corner)
        return evaluation

    def result(self, evaluation: Moved, identifier: str) -> float | None:
        """A value's figure; where it has none, that of its edge if it names one."""
        try:
            found: float = evaluation.get(identifier)
            return found
        except UnavailableError as error:
            seen = self.seen[identifier]
            seen.gap = seen.gap or error
            edge = error.params.get("edge")
            return edge if isinstance(edge, float) else None


def spans(nominal: Evaluation, identifiers: list[str]) -> Mapping[str, Span]:
    """The span of every available value."""
    probe = _Probe(nominal, identifiers)
    depends = {
        identifier: [name for name in probe.ranged if name in nominal.depends[identifier]]
        for identifier in probe.seen
    }
    for name in probe.ranged:
        _directions(probe, name, [i for i, leaves in depends.items() if name in leaves])
    for corner, wanted in _corners(probe).items():
        evaluation = probe.sample(corner, wanted)
        _sample_jumps(probe, evaluation, corner, wanted)
    _climb(probe, {i: leaves for i, leaves in depends.items() if len(leaves) > 1})
    return {i: Span(seen.low, seen.high, seen.gap) for i, seen in probe.seen.items()}


def _directions(probe: _Probe, name: str, identifiers: list[str]) -> None:
    """Move a leaf alone to both its ends."""
    ends = [frozenset({(name, end)}) for end in probe.ranged[name]]
    down, up = (probe.sample(corner, identifiers) for corner in ends)
    for identifier in identifiers:
        seen = probe.seen[identifier]
        low, high = probe.result(down, identifier), probe.result(up, identifier)
        slope = (seen.nominal if high is None else high) - (seen.nominal if low is None else low)
        if slope:
            seen.directions[name] = 1 if slope > 0 else -1
    for corner, evaluation in zip(ends, (down, up), strict=True):
        _sample_jumps(probe, evaluation, corner, identifiers)


def _inputs_first(probe: _Probe) -> list[str]:
    """The identifiers so that each stands behind what it reads."""
    order: dict[str, None] = {}

    def visit(identifier: str) -> None:
        if identifier in order or identifier not in probe.seen:
            return
        for name in sorted(probe.nominal.records[identifier].values):
            visit(name)
        order[identifier] = None

    for identifier in probe.seen:
        visit(identifier)
    return list(order)


def _corners(probe: _Probe) -> dict[Corner, list[str]]:
    """Which corners to evaluate, and which values at each."""
    own: dict[str, set[Corner]] = {}
    plan: dict[Corner, list[str]] = {}
    for identifier in _inputs_first(probe):
        directions = probe.seen[identifier].directions
        corners = set()
        if len(directions) > 1:
            for sign in (1, -1):
                corners.add(
                    frozenset(
                        (leaf, probe.ranged[leaf][(sign * way) > 0]) for leaf, way in directions.items()
                    )
                )
        for name in probe.nominal.records[identifier].values:
            corners |= own.get(name, set())
        own[identifier] = corners
        for corner in corners:
            plan.setdefault(corner, []).append(identifier)
    return plan


def _sample_jumps(probe: _Probe, evaluation: Moved, corner: Corner, identifiers: list[str]) -> None:
    """Both sides of each jump that lies on a line through the corner."""
    for groups, places in _JUMPS:
        concerned = [i for i in identifiers if i.startswith(groups)]
        if not concerned:
            continue
        for move in places(evaluation, probe.ranged):
            probe.sample(_moved(corner, move), concerned, evaluation)


def _moved(corner: Corner, move: Mapping[str, float]) -> Corner:
    return frozenset({**dict(corner), **move}.items())


def _climb(probe: _Probe, depends: Mapping[str, list[str]]) -> None:
    """Flip each leaf from the best corner on each side, as long as that helps."""
    waiting = {(identifier, side) for identifier in depends for side in (-1, 1)}
    for _ in range(CLIMBS):
        plan: dict[Corner, list[tuple[str, int]]] = {}
        for identifier, side in sorted(waiting):
            seen = probe.seen[identifier]
            plan.setdefault(seen.lowest if side < 0 else seen.highest, []).append((identifier, side))
        before = {key: _end(probe, key) for key in waiting}
        for corner, keys in plan.items():
            _flip(probe, corner, keys, depends)
        waiting = {key for key in waiting if _end(probe, key) != before[key]}
        if not waiting:
            return


def _end(probe: _Probe, key: tuple[str, int]) -> float:
    seen = probe.seen[key[0]]
    return seen.low if key[1] < 0 else seen.high


def _flip(
    probe: _Probe, corner: Corner, keys: list[tuple[str, int]], depends: Mapping[str, list[str]]
) -> None:
    base = probe.sample(corner, ())
    stands = dict(corner)
    for leaf, ends in probe.ranged.items():
        concerned = [identifier for identifier, _ in keys if leaf in depends[identifier]]
        if concerned:
            for end in ends:
                if stands.get(leaf) != end:
                    probe.sample(_moved(corner, {leaf: end}), concerned, base)
