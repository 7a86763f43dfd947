"""What a test of a formula's valid range needs: each bound is accepted, a little beyond it is refused."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import pytest

from procgen.engineering.kernel import Kernel, OutOfRangeError

Bounds = Mapping[str, tuple[float | None, float | None]]


def _accepts(kernel: Kernel[..., Any], arguments: dict[str, Any], name: str, bounds: Bounds) -> None:
    """The call may be refused for another reason (arguments that do not fit together), not by this bound."""
    try:
        found = kernel(**arguments)
    except OutOfRangeError as error:
        assert (error.argument, error.low, error.high) != (name, *bounds[name]), str(error)
    else:
        assert not isinstance(found, float) or math.isfinite(found)


def check_bounds(kernel: Kernel[..., Any], good: dict[str, Any], bounds: Bounds) -> None:
    """Assert that the kernel holds exactly these bounds (inclusive), and names argument and unit."""
    kernel(**good)
    assert set(bounds) == set(kernel.info.valid)
    for name, (low, high) in bounds.items():
        outside = [math.nan, math.inf, -math.inf]
        if low is not None:
            _accepts(kernel, {**good, name: low}, name, bounds)
            outside.append(low - max(1e-3 * abs(low), 1e-9))
        if high is not None:
            _accepts(kernel, {**good, name: high}, name, bounds)
            outside.append(high + 1e-3 * abs(high))
        for found in outside:
            with pytest.raises(OutOfRangeError) as caught:
                kernel(**{**good, name: found})
            assert (caught.value.function, caught.value.argument) == (kernel.info.name, name)
            assert (caught.value.low, caught.value.high) == (low, high)
            assert caught.value.unit == kernel.info.units[name]
