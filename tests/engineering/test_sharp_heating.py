"""Heating by hand where power and loss nearly meet, where loss nearly vanishes, and at the ends of ranges."""

from __future__ import annotations

import math

import pytest

from procgen.engineering import heating as h
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.unavailable import UnavailableError

COPPER = ((0.5, 385.0),)


def test_what_is_lost_is_said() -> None:
    """5 W at 4 W/K and 1.5 K: gone before the thermostat; 300 W against 300 W."""
    with pytest.raises(UnavailableError) as caught:
        h.time_off(50e3, 4.0, 5.0, 1.5)
    assert (caught.value.id, caught.value.details) == ("heat.not_left", {"loss": 5.0})
    for loss in (300.0, 300.1):
        with pytest.raises(UnavailableError) as caught:
            h.time_on(50e3, 4.0, 300.0, loss, 1.5)
        assert (caught.value.id, caught.value.details) == ("heat.not_reached", {"power": 300.0, "loss": loss})
    with pytest.raises(UnavailableError):
        h.time_off(50e3, 4.0, 6.0, 1.5)


def test_a_hundredth_of_a_watt_is_left() -> None:
    """Loss that falls from 6.01 W to 0.01 W: 12 500 s x ln 601; 300.01 W against 300 W: 12 500 s x ln 601."""
    assert h.time_off(50e3, 4.0, 6.01, 1.5) == pytest.approx(12500 * math.log(601.0), rel=1e-9)
    assert h.time_on(50e3, 4.0, 300.01, 300.0, 1.5) == pytest.approx(12500 * math.log(601.0), rel=1e-9)


@pytest.mark.parametrize("UA", [1e-300, 1e-11, 1e-5, 0.2])
def test_a_loss_that_hardly_changes(UA: float) -> None:
    """75 kJ at a loss of 400 W that falls by UA x 1.5 K, and the mean power to the second order."""
    assert h.time_off(50e3, UA, 400.0, 1.5) == pytest.approx(75e3 / (400.0 - 0.75 * UA), rel=1e-7)
    assert h.time_on(50e3, UA, 900.0, 400.0, 1.5) == pytest.approx(75e3 / (500.0 + 0.75 * UA), rel=1e-7)


def test_metal() -> None:
    """0.5 kg of copper 192.5 J/K; none, and a speck; less than none and no end of it are refused."""
    assert h.metal_capacity(COPPER) == pytest.approx(192.5)
    assert h.metal_capacity(((0.0, 385.0), (1.0, 0.0), (0.01, 0.01))) == pytest.approx(1e-4)
    for part in ((-1e-9, 385.0), (1.0, -1e-9), (math.inf, 385.0), (1.0, math.inf), (math.nan, 1.0)):
        with pytest.raises(OutOfRangeError) as caught:
            h.metal_capacity((part,))
        assert (caught.value.low, caught.value.high) == (0.0, None)
    with pytest.raises(OutOfRangeError) as caught:
        h.metal_capacity(((-2.0, 385.0),))
    assert caught.value.found == -2.0


def test_ends_of_the_water() -> None:
    """From an empty shell to 10 t."""
    # 192.5 J/K over 10 K, and 10 g of water more (4.18 kJ/(kg K), handbook) add 418 J.
    assert h.heat_stored(0.0, COPPER, 290.0, 300.0) == pytest.approx(1925.0, rel=1e-9)
    assert h.heat_stored(0.01, COPPER, 290.0, 300.0) == pytest.approx(1925.0 + 418.0, rel=1e-3)
    assert h.heat_stored(1e4, COPPER, 290.0, 300.0) > 1e8
    for outside in (math.nextafter(0.0, -1.0), math.nextafter(1e4, math.inf)):
        with pytest.raises(OutOfRangeError) as caught:
            h.heat_stored(outside, COPPER, 290.0, 300.0)
        assert (caught.value.argument, caught.value.low, caught.value.high) == ("m_water", 0.0, 1e4)
