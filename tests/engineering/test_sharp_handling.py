"""Lifting under the conditions in which the equation is all ones."""

from __future__ import annotations

import pytest

from procgen.engineering import handling


def test_the_load_constants() -> None:
    """DHHS 94-110: in the ideal place, without twist, all multipliers are 1: 51 lb; 23 kg in the metric form.

    0.82 + 1.8/10 = 1 in inches and 0.82 + 4.5/25 = 1 in centimetres.
    """
    inch = 0.0254
    ideal = handling.rwl_us(H=10 * inch, V=30 * inch, D=10 * inch)
    assert ideal == pytest.approx(51 * 0.45359237, rel=1e-12)
    assert handling.rwl(H=0.25, V=0.75, D=0.25) == pytest.approx(23.0, rel=1e-12)
