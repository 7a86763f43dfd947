"""Where a function of one figure is zero, for the floors above that have no solver of their own."""

from __future__ import annotations

from collections.abc import Callable

from fluids.numerics import brenth

from procgen.engineering.kernel import OutOfRangeError


def crossing(
    function: Callable[[float], float],
    low: float,
    high: float,
    tolerance: float = 1e-12,
    at_ends: tuple[float, float] | None = None,
) -> float:
    """Figure between two ends at which a continuous function is zero.

    Formula: function(x) = 0, by Brent's method with hyperbolic extrapolation.
    Args:
        function: continuous; of opposite sign at both ends.
        low: one end, in the unit of the function's argument.
        high: the other end.
        tolerance: width at which the search stops, as a share of the span.
        at_ends: what the function gives at both ends, where that is known.
    Returns: x, in the unit of the function's argument.
    Valid: the function changes its sign between the ends.
    Raises: OutOfRangeError where it does not.
    Source: Brent.

    >>> round(crossing(lambda x: x * x - 2.0, 0.0, 2.0), 9)
    1.414213562
    """
    first, last = at_ends or (function(low), function(high))
    if not first * last <= 0.0:
        raise OutOfRangeError("crossing", "function", last, None, 0.0, "")
    return float(brenth(function, low, high, xtol=tolerance * abs(high - low), rtol=1e-15, fa=first, fb=last))
