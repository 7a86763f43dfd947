"""A range that is open on one side: every finite number there, and no infinity."""

from __future__ import annotations

import math
import sys

import pytest

from procgen.engineering.kernel import OutOfRangeError, kernel
from procgen.engineering.sources_fluid import ARITHMETIC

LARGEST = sys.float_info.max


@pytest.mark.parametrize(
    ("bounds", "accepted", "refused"),
    [
        ((None, 1.0), (-LARGEST, -1.0, 1.0), (-math.inf, 1.0000001, math.nan)),
        ((-1.0, None), (-1.0, 1.0, LARGEST), (-1.0000001, math.inf, math.nan)),
        ((None, None), (-LARGEST, 0.0, LARGEST), (-math.inf, math.inf, math.nan)),
    ],
)
def test_open_sides(bounds, accepted, refused) -> None:
    @kernel(x="", returns="", source=ARITHMETIC, valid={"x": bounds})
    def same(x: float) -> float:
        return x

    for found in accepted:
        assert same(found) == found
        assert same(x=found) == found
    for found in refused:
        with pytest.raises(OutOfRangeError) as caught:
            same(found)
        assert (caught.value.argument, caught.value.low, caught.value.high) == ("x", *bounds)
