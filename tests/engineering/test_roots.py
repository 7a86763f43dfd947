"""The solver for the floors above, against another library's and against figures known in closed form."""

from __future__ import annotations

import math

import pytest
from scipy.optimize import brentq

from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.roots import crossing

from . import outside
from .oracle import agrees


@pytest.mark.parametrize(
    ("function", "low", "high"),
    [
        (lambda x: math.cos(x) - x, 0.0, 1.0),
        (lambda x: x**3 - 2 * x - 5, 2.0, 3.0),
        (lambda x: 1 / math.sqrt(x) + 2 * math.log10(2.51 / (1e5 * math.sqrt(x))), 0.008, 0.1),
    ],
    ids=["cosine", "cubic", "friction"],
)
def test_roots_by_another_library(function, low: float, high: float) -> None:
    expected = brentq(function, low, high, xtol=1e-15)
    agrees(crossing, crossing(function, low, high), expected, outside.ROOT, rel=1e-9)


@pytest.mark.parametrize(
    ("function", "high", "root"),
    [
        (lambda x: x * x - 2, 2.0, math.sqrt(2)),
        (lambda x: math.exp(x) - 3, 2.0, math.log(3)),
        (lambda x: x, 1.0, 0.0),
    ],
    ids=["square", "exponential", "at the end"],
)
def test_roots_in_closed_form(function, high: float, root: float) -> None:
    agrees(crossing, crossing(function, 0.0, high), root, outside.HAND, rel=1e-9)


def test_no_crossing_is_refused() -> None:
    with pytest.raises(OutOfRangeError):
        crossing(lambda x: x + 1.0, 0.0, 1.0)
