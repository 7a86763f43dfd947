"""Supply at its thresholds."""

from __future__ import annotations

import pytest

from procgen.engineering import supply


def test_exactly_the_threshold_is_not_over_it() -> None:
    """A reducer where the static pressure is over 80 psi (UPC 608.2): 80 psi itself needs none."""
    threshold = supply.reducer_threshold("upc")
    assert threshold == pytest.approx(80 * 6894.757, rel=2e-3)
    assert not supply.reducer_needed(threshold, "upc", 1e6)
    assert supply.reducer_needed(threshold + 1.0, "upc", 1e6)
    assert not supply.reducer_needed(4e5, "upc", 4e5)


@pytest.mark.parametrize("share", [0.5, 1.97, 1.999, 2.0])
def test_a_quick_valve_surges_no_more_than_joukowsky(share: float) -> None:
    """Within 2 L/a: rho a v = 998.2 x 1200 x 1.5 Pa, whatever the time."""
    found = supply.hammer(1.5, 1200.0, 12.0, share * 0.01, 998.2)
    assert found == pytest.approx(998.2 * 1200.0 * 1.5, rel=1e-12)
    assert supply.hammer(1.5, 1200.0, 12.0, 0.04, 998.2) == pytest.approx(998.2 * 1200.0 * 1.5 / 2, rel=1e-12)
