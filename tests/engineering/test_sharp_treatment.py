"""Water analysis at the lower end."""

from __future__ import annotations

import pytest

from procgen.engineering import treatment
from procgen.engineering.kernel import OutOfRangeError


def test_hardness_begins_at_none() -> None:
    """Below 60 mg/L water is soft (USGS), none included."""
    assert treatment.hardness_class(0.0) == treatment.hardness_class(59.0)
    with pytest.raises(OutOfRangeError) as caught:
        treatment.hardness_class(-1e-6)
    assert (caught.value.low, caught.value.high) == (0.0, None)
