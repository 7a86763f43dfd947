"""Checks of a formula against something outside the project: asserted, and kept for the table of deviations.

``agrees`` stands where a test compares a formula with a figure that this project did not compute. A property
test uses plain asserts: its figures are its own.
"""

from __future__ import annotations

import builtins
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from hypothesis import currently_in_test_context

from procgen.engineering.kernel import Kernel, Source

from .formulas import key_of, libraries_of

#: Closer than this, as a share of the figure, is the rounding of floating-point arithmetic.
NOISE = 1e-9
#: A difference below this is nothing, in whatever unit.
NOTHING = 1e-12


@dataclass(frozen=True)
class Outside:
    """Where the figure comes from that a formula is compared with."""

    title: str
    #: Libraries that computed it; a formula that calls one of them itself is not checked by it.
    libraries: tuple[str, ...] = ()
    from_memory: bool = False


@dataclass(frozen=True)
class Check:
    """One call of `agrees`; a plain record, so that a test process can hand it to another."""

    formula: str
    source: str
    from_memory: bool
    points: int
    #: As a share where `unit` is None, otherwise in that unit.
    deviation: float
    tolerance: float
    unit: str | None
    #: The deviation as a share of the figure, whatever the unit: what the largest are sorted by.
    share: float


#: What this process has checked so far.
CHECKS: list[Check] = []


def standard(formula: Kernel[..., Any] | Source) -> Outside:
    """The standard or handbook that a formula names itself: its printed table, typed again in the test."""
    source = formula if isinstance(formula, Source) else formula.info.source
    return Outside(", ".join(filter(None, (source.title, source.clause))), from_memory=source.from_memory)


def agrees(
    formula: Any,
    got: Any,
    want: Any,
    source: Outside,
    *,
    rel: float | None = None,
    abs: float | None = None,
    unit: str | None = None,
) -> None:
    """Assert that a formula's result is the figure from outside, and record how far apart the two are.

    `got` and `want` are numbers, or sequences or mappings of them; anything else, and numbers without a
    tolerance, must be equal. `abs` is in `unit`, by default the formula's own.
    """
    formula_key = key_of(formula)
    shared = set(source.libraries) & libraries_of(formula)
    assert not shared, f"{formula_key} calls {', '.join(sorted(shared))} itself: no check from outside"
    assert not currently_in_test_context(), "a property test has no figure from outside: use a plain assert"
    assert rel is None or abs is None, "one tolerance: rel or abs"
    pairs = _pairs(got, want)
    apart = [_apart(g, w, relative=abs is None) for g, w in pairs]
    tolerance = (rel if abs is None else abs) or 0.0
    worst = max(range(len(pairs)), key=apart.__getitem__)
    shown = f"{formula_key}: {pairs[worst][0]!r} is not {pairs[worst][1]!r} ({source.title})"
    assert apart[worst] <= tolerance, f"{shown}; apart {apart[worst]:.3g}, allowed {tolerance:.3g}"
    if abs is not None and unit is None:
        assert isinstance(formula, Kernel), f"{formula_key}: say the unit of the tolerance"
        unit = formula.info.returns
    CHECKS.append(
        Check(
            formula_key,
            source.title,
            source.from_memory,
            len(pairs),
            float(apart[worst]),
            float(tolerance),
            None if abs is None else unit,
            float(max((_apart(g, w, relative=True) for g, w in pairs if w != 0), default=0.0)),
        )
    )


def _pairs(got: Any, want: Any) -> list[tuple[Any, Any]]:
    if isinstance(want, Mapping):
        assert got.keys() == want.keys()
        return [(got[name], want[name]) for name in want]
    if isinstance(want, Sequence) and not isinstance(want, str) and not _is_row_of_words(want):
        assert len(got) == len(want)
        return [pair for g, w in zip(got, want, strict=True) for pair in _pairs(g, w)]
    return [(got, want)]


def _is_row_of_words(want: Sequence[Any]) -> bool:
    """A verdict such as ``("flowing_low",)`` or ``()`` is one thing."""
    return all(isinstance(part, str) for part in want)


def _apart(got: Any, want: Any, relative: bool) -> float:
    """How far apart two results are; infinite where they are no numbers and differ."""
    numbers = (int, float, complex)
    if isinstance(want, bool) or not isinstance(want, numbers) or not isinstance(got, numbers):
        return 0.0 if got == want else math.inf
    difference = builtins.abs(got - want)
    return _share(difference, want) if relative else difference


def _share(difference: float, want: complex) -> float:
    if want == 0:
        return 0.0 if difference < NOTHING else math.inf
    return difference / builtins.abs(want)
