"""The range of every value over the ranges of what it was computed from.

Method: each ranged leaf is moved alone to both its ends, which tells the direction in which each value
follows it. A value is then evaluated at the two corners where every leaf pushes the same way, and at the
corners of the values it reads (a count such as runs follows its time only in steps, and shows no direction
of its own). For quantities monotone in each leaf the two corners are the exact ends; every other sample
widens the range further. A property test samples the inside of the ranges for every id of every guide.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from procgen.values.define import UnavailableError
from procgen.values.reader import Evaluation, Moved
from procgen.values.worksheet import Series

Corner = frozenset[tuple[str, float]]


@dataclass
class Span:
    """Lowest and highest figure seen, and whether some corner had none."""

    low: float
    high: float
    #: why a corner of the inputs' ranges has no figure
    gap: UnavailableError | None = None


@dataclass
class _Probe:
    nominal: Evaluation
    results: dict[str, list[float]] = field(default_factory=dict)
    directions: dict[str, dict[str, int]] = field(default_factory=dict)
    gaps: dict[str, UnavailableError] = field(default_factory=dict)

    def sample(self, evaluation: Moved, identifiers: Iterable[str]) -> dict[str, float]:
        """Evaluate and keep what came out."""
        found: dict[str, float] = {}
        for identifier in identifiers:
            try:
                result = evaluation.get(identifier)
            except UnavailableError as error:
                self.gaps.setdefault(identifier, error)
                continue
            if isinstance(result, Series | str):
                continue
            found[identifier] = result
            self.results[identifier].append(result)
        return found


def spans(nominal: Evaluation, identifiers: list[str]) -> Mapping[str, Span]:
    """The span of every available value."""
    probe = _Probe(nominal)
    available = []
    for identifier in identifiers:
        try:
            result = nominal.get(identifier)
        except UnavailableError:
            continue
        if isinstance(result, Series | str):
            continue
        probe.results[identifier] = [result]
        probe.directions[identifier] = {}
        available.append(identifier)
    ranged = {
        name: (leaf.measure.low, leaf.measure.high)
        for name, leaf in nominal.all_leaves.items()
        if leaf.measure.is_range
    }
    for name, (low, high) in ranged.items():
        _probe_leaf(probe, name, low, high, [i for i in available if name in nominal.depends[i]])
    for corner, wanted in _corners(probe, available, ranged).items():
        probe.sample(nominal.moved_by(dict(corner)), wanted)
    return {i: Span(min(probe.results[i]), max(probe.results[i]), probe.gaps.get(i)) for i in available}


def _probe_leaf(probe: _Probe, name: str, low: float, high: float, identifiers: list[str]) -> None:
    down = probe.sample(probe.nominal.moved_by({name: low}), identifiers)
    up = probe.sample(probe.nominal.moved_by({name: high}), identifiers)
    for identifier in identifiers:
        if identifier not in down or identifier not in up:
            continue
        slope = up[identifier] - down[identifier]
        if slope:
            probe.directions[identifier][name] = 1 if slope > 0 else -1


def _inputs_first(probe: _Probe, identifiers: list[str]) -> list[str]:
    """The identifiers so that each stands behind what it reads."""
    order: dict[str, None] = {}

    def visit(identifier: str) -> None:
        if identifier in order or identifier not in probe.results:
            return
        for name in sorted(probe.nominal.records[identifier].values):
            visit(name)
        order[identifier] = None

    for identifier in identifiers:
        visit(identifier)
    return list(order)


def _corners(
    probe: _Probe, identifiers: list[str], ranged: Mapping[str, tuple[float, float]]
) -> dict[Corner, list[str]]:
    """Which corners to evaluate, and which values at each."""
    own: dict[str, set[Corner]] = {}
    for identifier in _inputs_first(probe, identifiers):
        directions = probe.directions[identifier]
        corners = set()
        if len(directions) > 1:
            for sign in (1, -1):
                corners.add(
                    frozenset((leaf, ranged[leaf][(sign * way) > 0]) for leaf, way in directions.items())
                )
        for name in probe.nominal.records[identifier].values:
            corners |= own.get(name, set())
        own[identifier] = corners
    plan: dict[Corner, list[str]] = {}
    for identifier, corners in own.items():
        for corner in corners:
            plan.setdefault(corner, []).append(identifier)
    return plan
