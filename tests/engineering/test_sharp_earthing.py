"""Earthing figures at the edges of their rows."""

from __future__ import annotations

import pytest

from procgen.engineering import earthing
from procgen.engineering.kernel import OutOfRangeError


@pytest.mark.parametrize(("leakage", "rating"), [(0.009, 0.030), (0.00901, 0.100), (0.15, 0.5)])
def test_a_device_that_is_just_large_enough(leakage: float, rating: float) -> None:
    """Three tenths of a rating as standing leakage (common practice, from memory): 9 mA of 30 mA."""
    assert earthing.residual_rating_minimum(leakage) == rating


def test_more_leakage_than_any_device_bears() -> None:
    with pytest.raises(OutOfRangeError) as caught:
        earthing.residual_rating_minimum(0.1501)
    assert (caught.value.low, caught.value.high) == (0.0, pytest.approx(0.15, rel=1e-12))
