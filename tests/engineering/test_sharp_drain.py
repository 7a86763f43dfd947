"""Drains at the lower end."""

from __future__ import annotations

import pytest

from procgen.engineering import drain
from procgen.engineering.kernel import OutOfRangeError


def test_no_water_flows_uphill() -> None:
    """None fills the pipe to the least depth that is shown; less than none is refused."""
    assert drain.depth_ratio_for_flow(0.0, 0.04, 0.025, 0.011) == pytest.approx(0.001, rel=1e-9)
    with pytest.raises(OutOfRangeError) as caught:
        drain.depth_ratio_for_flow(-1e-9, 0.04, 0.025, 0.011)
    assert (caught.value.argument, caught.value.low) == ("flow", 0.0)


def test_a_negative_number_of_outlets() -> None:
    assert drain.peak_flow([1e-4], [2e-4], 0) == pytest.approx(1e-4)
    with pytest.raises(OutOfRangeError) as caught:
        drain.peak_flow([1e-4], [2e-4], -1)
    assert (caught.value.argument, caught.value.low, caught.value.high) == ("at_once", 0, None)
