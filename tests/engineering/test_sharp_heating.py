"""Heating by hand where power and loss nearly meet, where loss nearly vanishes, and at the ends of ranges."""

from __future__ import annotations

import math

import pytest

from procgen.engineering import heating as h
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.unavailable import UnavailableError

COPPER = ((0.5, 385.0),)


def test_a_hundredth_of_a_watt_is_left() -> None:
    """50 kJ/K, 5 W/K, 60 K above the room: 300 W are lost. With 300.01 W: 1e4 s x ln(300.01/0.01)."""
    given = (50e3, 5.0, 300.01, 293.15, 293.15, 353.15)
    assert h.time_to_temperature(*given) == pytest.approx(1e4 * math.log(30001.0), rel=1e-8)


def test_what_is_lost_is_said() -> None:
    """200 W against 300 W."""
    with pytest.raises(UnavailableError) as caught:
        h.time_to_temperature(50e3, 5.0, 200.0, 293.15, 293.15, 353.15)
    assert caught.value.details == {"power": 200.0, "loss": pytest.approx(300.0, rel=1e-12)}


@pytest.mark.parametrize("UA", [1e-11, 3e-9, 2.1e-5, 2.9e-5, 3.3e-5, 3.7e-5, 1e-3, 0.2, 5.0])
def test_a_loss_from_nothing_to_much(UA: float) -> None:
    """C/UA ln(1 + UA (T2 - T1)/(P - UA (T2 - T_amb))), whose logarithm loses no digits."""
    left = 3e3 - UA * 75.0
    by_hand = 50e3 / UA * math.log1p(UA * 80.0 / left)
    assert h.time_to_temperature(50e3, UA, 3e3, 293.15, 288.15, 368.15) == pytest.approx(by_hand, rel=3e-13)


def test_nothing_to_heat_takes_no_time() -> None:
    """Not even where no power would hold it."""
    assert h.time_to_temperature(50e3, 5.0, 0.0, 293.15, 353.15, 353.15) == 0.0
    assert h.heat_curve(1.0, COPPER, 5.0, 0.0, 293.15, 353.15, 353.15) == ((0.0, 353.15),)


def test_steps_of_five_kelvin() -> None:
    """The grid stands at 0, 5, 10 °C …, whatever the start: the formula's own statement."""
    curve = h.heat_curve(1.0, COPPER, 1.0, 1000.0, 293.15, 290.0, 301.0)
    assert [T for _, T in curve] == pytest.approx([290.0, 293.15, 298.15, 301.0], abs=1e-9)
    curve = h.heat_curve(1.0, COPPER, 1.0, 1000.0, 293.15, 288.15, 298.15)
    assert [T for _, T in curve] == pytest.approx([288.15, 293.15, 298.15], abs=1e-9)


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


@pytest.mark.parametrize("name", ["heat_curve", "heat_stored"])
def test_ends_of_the_water(name: str) -> None:
    """From an empty shell to 10 t."""

    def run(mass: float) -> float:
        if name == "heat_stored":
            return h.heat_stored(mass, COPPER, 290.0, 300.0)
        return h.heat_curve(mass, COPPER, 0.0, 1e3, 290.0, 290.0, 300.0)[-1][0] * 1e3

    # 192.5 J/K over 10 K, and 10 g of water more (4.18 kJ/(kg K), handbook) add 418 J.
    assert run(0.0) == pytest.approx(1925.0, rel=1e-9)
    assert run(0.01) == pytest.approx(1925.0 + 418.0, rel=1e-3)
    assert run(1e4) > 1e8
    for outside in (math.nextafter(0.0, -1.0), math.nextafter(1e4, math.inf)):
        with pytest.raises(OutOfRangeError) as caught:
            run(outside)
        assert (caught.value.argument, caught.value.low, caught.value.high) == ("m_water", 0.0, 1e4)
