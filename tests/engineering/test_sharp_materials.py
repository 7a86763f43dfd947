"""Specific heats of metals, typed again."""

from __future__ import annotations

import pytest

from procgen.engineering.materials import SPECIFIC_HEAT


def test_specific_heats() -> None:
    """J/(kg K). Handbook tables, from memory: copper 385, brass 380, austenitic stainless steel 500."""
    assert SPECIFIC_HEAT == {"copper": 385.0, "brass": 380.0, "stainless_steel": 500.0}
    # Copper: 24.44 J/(mol K) over 63.546 g/mol (handbook of chemistry, from memory).
    assert SPECIFIC_HEAT["copper"] == pytest.approx(24.44 / 0.063546, rel=2e-3)
