"""The range of every value over the ranges of what it was computed from.

Method: each ranged leaf is moved alone to both its ends, which tells the direction in which each value
follows it. A value is then evaluated at the two corners where every leaf pushes the same way, and at the
corners of the values it reads (a count such as runs follows its time only in steps, and shows no direction
of its own). For quantities monotone in each leaf the two corners are the exact ends. Where a direction may
turn round on the way to the corner, each leaf is flipped once more from there, two such leaves together as
well, and the better end kept. What jumps (elements that just fit under a current limit) is evaluated on both
sides of each jump; what ceases to exist inside the range (a target just out of reach) counts with the figure
of its edge. A property test samples the inside of the ranges for every id of every guide.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Set
from dataclasses import dataclass, field
from itertools import product
from typing import NamedTuple

from procgen.values.define import UnavailableError
from procgen.values.reader import Evaluation, Facts, Moved

Corner = frozenset[tuple[str, float]]
#: Gives, at an evaluation, where on the way of one leaf between its ends values jump or turn round.
Places = Callable[[Evaluation | Moved, str, tuple[float, float]], list[float]]
#: Whether a guide has something at all.
When = Callable[[Facts], bool]

#: What finds places, the leaf along which, its ends, and where the other leaves stand.
Line = tuple[Places, str, tuple[float, float], Corner]


class Jumps(NamedTuple):
    """Where the values of some groups jump or turn round, along the leaves that ``on`` depends on."""

    groups: tuple[str, ...]
    on: str
    places: Places
    when: When


#: How often a better corner is looked for around the best one.
CLIMBS = 3
_OPPOSED: list[tuple[tuple[str, ...], str, When]] = []
_JUMPS: list[Jumps] = []


def jumps(*groups: str, on: str, when: When = lambda _: True) -> Callable[[Places], Places]:
    """Declare where the values of some groups jump or turn round, along leaves that ``on`` depends on."""

    def wrap(function: Places) -> Places:
        _JUMPS.append(Jumps(groups, on, function, when))
        return function

    return wrap


def opposed(*groups: str, on: str, when: When) -> None:
    """Declare values that have a best point at either end of another value: both are looked at."""
    _OPPOSED.append((groups, on, when))


@dataclass(slots=True)
class Span:
    """Lowest and highest figure seen, and whether some corner had none."""

    low: float
    high: float
    #: why a corner of the inputs' ranges has no figure
    gap: UnavailableError | None = None
    #: the corners at which it was lowest and highest
    lowest: Corner = frozenset()
    highest: Corner = frozenset()
    #: leaf, and the figures at its low and at its high end, all others at nominal
    ends: Mapping[str, tuple[float, float]] = field(default_factory=dict)


@dataclass(slots=True)
class _Seen:
    """What a value has shown so far, and at which corner it was lowest and highest."""

    nominal: float
    low: float
    high: float
    lowest: Corner = frozenset()
    highest: Corner = frozenset()
    gap: UnavailableError | None = None
    #: leaf, and the figures at its low and at its high end, all others at nominal
    ends: dict[str, tuple[float, float]] = field(default_factory=dict)

    def effect(self, leaf: str) -> float:
        """What a leaf does alone, end to end."""
        low, high = self.ends.get(leaf, (0.0, 0.0))
        return high - low

    def add(self, result: float, corner: Corner) -> None:
        if result < self.low:
            self.low, self.lowest = result, corner
        if result > self.high:
            self.high, self.highest = result, corner


class _Probe:
    """All evaluations that one guide's ranges need."""

    def __init__(self, nominal: Evaluation, identifiers: Iterable[str]) -> None:
        self.nominal = nominal
        #: what all points are moved from, so that they share what they have in common
        self.unmoved = nominal.moved_by({})
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
        #: by corner what stands there, and the figures already looked at
        self.tried: dict[Corner, tuple[Moved, dict[str, float | None]]] = {}
        self.lines: dict[tuple[Places, str, Corner], list[float]] = {}
        self.jumps = [jump for jump in _JUMPS if jump.when(nominal.facts)]

    def sample(self, corner: Corner, identifiers: Iterable[str]) -> Moved:
        """Evaluate at a corner and keep what came out."""
        found = self.tried.get(corner)
        if found is None:
            found = self.tried[corner] = (self.unmoved.moved_to(dict(corner)), {})
        evaluation, done = found
        for identifier in identifiers:
            if identifier not in done:
                seen = self.seen[identifier]
                try:
                    result = evaluation.get(identifier)
                except UnavailableError as error:
                    seen.gap = seen.gap or error.again()
                    result = _edge(error)
                done[identifier] = result
                if result is not None:
                    seen.add(result, corner)
        return evaluation


def _edge(error: UnavailableError) -> float | None:
    """What counts where a value has no figure: that of its edge, if it names one."""
    edge = error.params.get("edge")
    return edge if isinstance(edge, float) else None


def spans(nominal: Evaluation, names: list[str]) -> Mapping[str, Span]:
    """The span of every available value."""
    probe = _Probe(nominal, names)
    depends = {i: sorted(probe.ranged.keys() & nominal.depends[i]) for i in probe.seen}
    moved: dict[str, list[str]] = {name: [] for name in probe.ranged}
    for identifier, leaves in depends.items():
        for name in leaves:
            moved[name].append(identifier)
    for name, identifiers in moved.items():
        _directions(probe, name, identifiers)
    for corner, wanted in _corners(probe).items():
        for each, concerned in ((corner, wanted), *_opposite(probe, corner, wanted)):
            probe.sample(each, concerned)
            _sample_jumps(probe, each, concerned, probe.ranged.keys())
    _climb(probe, {i: leaves for i, leaves in depends.items() if len(leaves) > 1})
    return {
        i: Span(seen.low, seen.high, seen.gap, seen.lowest, seen.highest, seen.ends)
        for i, seen in probe.seen.items()
    }


def _directions(probe: _Probe, name: str, identifiers: list[str]) -> None:
    """Move a leaf alone to both its ends."""
    ends = [frozenset({(name, end)}) for end in probe.ranged[name]]
    for corner in ends:
        probe.sample(corner, identifiers)
    (_, down), (_, up) = (probe.tried[corner] for corner in ends)
    for identifier in identifiers:
        seen = probe.seen[identifier]
        low, high = down[identifier], up[identifier]
        seen.ends[name] = (
            seen.nominal if low is None else low,
            seen.nominal if high is None else high,
        )
    # Along other leaves they are looked for from the corners, where all leaves push together.
    for corner in ends:
        _sample_jumps(probe, corner, identifiers, {name})


def _corners(probe: _Probe) -> dict[Corner, list[str]]:
    """Which corners to evaluate, and which values at each."""
    own: dict[str, set[Corner]] = {}
    plan: dict[Corner, list[str]] = {}
    # Each stands behind what it reads, whose result was kept first.
    for identifier in probe.nominal.settled():
        seen = probe.seen.get(identifier)
        if seen is None:
            continue
        effects = {leaf: seen.effect(leaf) for leaf in seen.ends}
        moving = {leaf: effect for leaf, effect in effects.items() if effect}
        corners = set()
        if len(moving) > 1:
            for sign in (1, -1):
                corners.add(
                    frozenset(
                        (leaf, probe.ranged[leaf][(sign * effect) > 0]) for leaf, effect in moving.items()
                    )
                )
        if len(moving) < len(effects):
            # It shows no direction along some leaf; what it reads may.
            for name in probe.nominal.records[identifier].values:
                corners |= own.get(name, set())
        own[identifier] = corners
        for corner in corners:
            plan.setdefault(corner, []).append(identifier)
    return plan


def _opposite(probe: _Probe, corner: Corner, wanted: list[str]) -> list[tuple[Corner, list[str]]]:
    """The corner with the leaves of another value at that value's two ends."""
    found = []
    for groups, on, when in _OPPOSED:
        concerned = [i for i in wanted if i.startswith(groups)]
        if concerned and when(probe.nominal.facts):
            effects = {leaf: probe.seen[on].effect(leaf) for leaf in probe.seen[on].ends}
            for high in (False, True):
                ends = {leaf: probe.ranged[leaf][(e > 0) == high] for leaf, e in effects.items() if e}
                found.append((_moved(corner, ends), concerned))
    return found


def _sample_jumps(probe: _Probe, corner: Corner, identifiers: Iterable[str], along: Set[str]) -> None:
    """Both sides of each jump that lies on a line through the corner along some leaves."""
    depends = probe.nominal.depends
    for groups, on, places, _ in probe.jumps:
        moving = depends.get(on, set())
        moved = sorted(moving & along)
        concerned = [i for i in identifiers if i.startswith(groups)] if moved else []
        if not concerned:
            continue
        here = frozenset(item for item in corner if item[0] in moving)
        for leaf in moved:
            line = (places, leaf, frozenset(item for item in here if item[0] != leaf))
            if line not in probe.lines:
                probe.lines[line] = places(probe.sample(line[2], ()), leaf, probe.ranged[leaf])
            for at in probe.lines[line]:
                probe.sample(_moved(corner, {leaf: at}), [i for i in concerned if leaf in depends[i]])


def opposite_moves(nominal: Evaluation, identifier: str) -> list[dict[str, float]]:
    """Where else to look for a value's ends: the leaves of what opposes it, at that value's two ends."""
    found = []
    for groups, on, when in _OPPOSED:
        if identifier.startswith(groups) and on in nominal.spans and when(nominal.facts):
            for high in (False, True):
                move = {}
                for name, (first, last) in nominal.spans[on].ends.items():
                    measure = nominal.all_leaves[name].measure
                    if first != last:
                        move[name] = measure.high if (last > first) == high else measure.low
                found.append(move)
    return found


def jumps_of(facts: Facts, identifiers: list[str]) -> list[Jumps]:
    """The jumps that some values of a guide may have."""
    return [
        jump for jump in _JUMPS if jump.when(facts) and any(i.startswith(jump.groups) for i in identifiers)
    ]


def jumps_between(
    evaluation: Moved,
    known: list[Jumps],
    along: Mapping[str, tuple[float, float]],
    lines: dict[Line, list[float]],
) -> list[tuple[str, float]]:
    """Both sides of each jump along some leaves, all others where the evaluation has them.

    What is found on a line is kept in ``lines``: other leaves than those of the jump do not change it.
    """
    found = []
    for _, on, places, _ in known:
        depends = evaluation.origin.dependence(on)
        for name in sorted(depends & along.keys()):
            here = frozenset(
                (leaf, at) for leaf, at in evaluation.moved.items() if leaf in depends and leaf != name
            )
            line = (places, name, along[name], here)
            if line not in lines:
                lines[line] = places(evaluation, name, along[name])
            found += [(name, at) for at in lines[line]]
    return found


def _moved(corner: Corner, move: Mapping[str, float]) -> Corner:
    return frozenset({**dict(corner), **move}.items())


def _climb(probe: _Probe, depends: Mapping[str, list[str]]) -> None:
    """Flip leaves from the best corner on each side, as long as that helps."""
    waiting = {(identifier, side) for identifier in depends for side in (-1, 1)}
    for _ in range(CLIMBS):
        plan: dict[tuple[Corner, tuple[str, ...]], set[str]] = {}
        for identifier, side in sorted(waiting):
            seen = probe.seen[identifier]
            corner = seen.lowest if side < 0 else seen.highest
            leaves = _doubtful(probe, seen, corner, depends[identifier], seen.low if side < 0 else seen.high)
            flips: list[tuple[str, ...]] = [(leaf,) for leaf in leaves]
            if len(leaves) == 2:
                # Of two that pull against each other neither helps alone.
                flips.append(tuple(leaves))
            for flipped in flips:
                plan.setdefault((corner, flipped), set()).add(identifier)
        before = {key: _end(probe, key) for key in waiting}
        for (corner, flipped), identifiers in plan.items():
            for ends in product(*(probe.ranged[leaf] for leaf in flipped)):
                move = dict(zip(flipped, ends, strict=True))
                if corner.isdisjoint(move.items()):
                    probe.sample(_moved(corner, move), identifiers)
        waiting = {key for key in waiting if _end(probe, key) != before[key]}
        if not waiting:
            return


def _end(probe: _Probe, key: tuple[str, int]) -> float:
    seen = probe.seen[key[0]]
    return seen.low if key[1] < 0 else seen.high


def _doubtful(probe: _Probe, seen: _Seen, corner: Corner, leaves: list[str], found: float) -> list[str]:
    """Leaves whose own effect is small beside what the leaves of the corner do together beyond their sum."""
    alone = seen.nominal
    for leaf, at in corner:
        low, high = seen.ends.get(leaf, (seen.nominal, seen.nominal))
        ends = probe.ranged[leaf]
        alone += (low if at == ends[0] else high) - seen.nominal
    together = abs(found - alone)
    if together <= 1e-9 * abs(found) and not seen.gap:
        return []
    return [leaf for leaf in leaves if seen.gap or abs(seen.effect(leaf)) <= 4.0 * together]
