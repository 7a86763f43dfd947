"""The range check of functions that take more than plain numbers and so are no kernels."""

from __future__ import annotations

import math

from procgen.engineering.kernel import OutOfRangeError


def within(
    function: str, argument: str, found: float, low: float | None, high: float | None, unit: str
) -> None:
    """Raise OutOfRangeError unless ``found`` is a finite number in [low, high]."""
    if not (math.isfinite(found) and (low is None or found >= low) and (high is None or found <= high)):
        raise OutOfRangeError(function, argument, found, low, high, unit)
