"""Losses at no flow, at the edges of a curve, and of a flow that no other test meets."""

from __future__ import annotations

import math

import pytest
from CoolProp.CoolProp import PropsSI
from scipy.optimize import brentq

from procgen.engineering import hydraulics as h
from procgen.engineering.kernel import OutOfRangeError

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


def test_the_end_of_a_main() -> None:
    """4 bar static, 3 bar at 0.1 L/s: nothing is left at 0.2 L/s, and 0.01 Pa just before."""
    main = (4e5, 1e-4, 3e5)
    assert h.flowing_supply_pressure_gauge(2e-4, *main) == 0.0
    just = 1e-4 * math.sqrt(4.0 - 1e-7)
    assert h.flowing_supply_pressure_gauge(just, *main) == pytest.approx(0.01, abs=1e-6)
    with pytest.raises(OutOfRangeError) as caught:
        h.flowing_supply_pressure_gauge(1e-4 * math.sqrt(4.0 + 1e-7), *main)
    assert (caught.value.argument, caught.value.low) == ("Q", 0.0)
    assert caught.value.high == pytest.approx(2e-4, rel=1e-12)


def test_a_main_that_keeps_its_pressure() -> None:
    assert h.flowing_supply_pressure_gauge(5e-5, 4e5, 1e-4, 4e5) == 4e5
    with pytest.raises(OutOfRangeError) as caught:
        h.flowing_supply_pressure_gauge(5e-5, 4e5, 1e-4, 4e5 + 1e-3)
    assert (caught.value.argument, caught.value.low, caught.value.high) == ("flowing_gauge", 0.0, 4e5)


def test_a_reducer_of_which_little_is_told() -> None:
    """Without flow it holds its setting; droop and loss mean nothing without the flow at which they hold."""
    assert h.reducer_outlet(5e5, 3e5, nominal_flow=1e-4, droop_fraction=0.1, open_loss=1e4) == 3e5
    assert h.reducer_outlet(5e5, 3e5, 1e-9, 1e-9, 0.1) == pytest.approx(2.7e5, rel=1e-12)
    with pytest.raises(OutOfRangeError) as caught:
        h.reducer_outlet(5e5, 3e5, 1e-4, droop_fraction=0.1)
    assert (caught.value.found, caught.value.low, caught.value.high) == (0.0, 1e-9, 1.0)
    with pytest.raises(OutOfRangeError):
        h.reducer_outlet(5e5, 3e5, 1e-9, math.nextafter(1e-9, 0.0), 0.1)
