"""Losses at no flow, at the edges of a curve, and of a flow that no other test meets."""

from __future__ import annotations

import math

import pytest
from CoolProp.CoolProp import PropsSI
from scipy.optimize import brentq

from procgen.engineering import hydraulics as h

T = 288.15


def test_no_flow_loses_nothing() -> None:
    assert h.pipe_loss(0.0, 0.01, 1.0, 1.5e-6, T) == 0.0
    assert h.treatment_loss(0.0, ((1e-4, 2e4), (2e-4, 5e4))) == 0.0
    # A flow of a molecule a day is still within the friction factor's range.
    assert 0.0 <= h.pipe_loss(1e-30, 0.01, 1.0, 1.5e-6, T) < 1e-20


def test_twenty_litres_a_second() -> None:
    """100 mm, 10 m, 0.05 mm rough: Colebrook solved here, water by CoolProp."""
    rho, mu = PropsSI("D", "T", T, "P", 101325, "Water"), PropsSI("V", "T", T, "P", 101325, "Water")
    v = 0.02 / (math.pi / 4 * 0.1**2)
    Re = rho * v * 0.1 / mu

    def colebrook(f: float) -> float:
        return 1 / math.sqrt(f) + 2 * math.log10(0.0005 / 3.7 + 2.51 / (Re * math.sqrt(f)))

    by_hand = brentq(colebrook, 0.005, 0.1) * 100.0 * rho * v * v / 2
    assert h.pipe_loss(0.02, 0.1, 10.0, 0.05e-3, T) == pytest.approx(by_hand, rel=1e-3)
    assert h.treatment_loss(0.02, ((0.01, 1e4), (0.02, 3e4))) == 3e4


def test_points_of_a_curve() -> None:
    """The least loss is a loss; none, less than none and an infinite one are not."""
    assert h.curve_limit(((1e-4, 0.01),)) == pytest.approx(1.5e-4, rel=1e-12)
    for point in ((1e-4, 0.0), (1e-4, -0.01), (math.inf, 1e4), (1e-4, math.inf), (math.nan, 1e4)):
        with pytest.raises(ValueError, match="rise in flow and loss"):
            h.curve_limit((point,))
