"""Electrical figures by hand, at the places where a small slip would pass unnoticed."""

from __future__ import annotations

import cmath
import math

import pytest

from procgen.engineering import electrical as e
from procgen.engineering.electrical_network import Load
from procgen.engineering.kernel import OutOfRangeError


def test_current_of_a_motor() -> None:
    """By hand: 230 V x 12.5 A x 0.8 = 2300 W; sqrt(3) x 400 V x 10 A x 0.8 = 5542.56 W."""
    assert e.current_single(2300.0, 230.0, 0.8) == pytest.approx(12.5, rel=1e-12)
    assert e.current_three(5542.562584220407, 400.0, 0.8) == pytest.approx(10.0, rel=1e-12)
    assert e.current_single(2300.0, 230.0) == pytest.approx(10.0, rel=1e-12)
    assert e.current_three(3000.0, 400.0) == pytest.approx(4.330127018922193, rel=1e-12)


def test_more_drop_than_there_is_voltage() -> None:
    """100 A through 10 ohm would be 1000 V of 230 V."""
    with pytest.raises(OutOfRangeError) as caught:
        e.loaded_voltage(230.0, 100.0, 10.0)
    assert (caught.value.argument, caught.value.low, caught.value.high) == ("drop", 0.0, 230.0)
    assert e.loaded_voltage(230.0, 23.0, 10.0) == 0.0


def test_a_section_at_the_edge_of_its_row() -> None:
    """Half a per cent below its nominal section a conductor still counts as that one (own convention)."""
    # Method C, PVC, three loaded: 2.5 mm2 24 A, 1.5 mm2 17.5 A (IEC 60364-5-52 Annex B, from memory).
    assert e.cable_capacity(2.5 * 0.995e-6, 3) == 24.0
    assert e.cable_capacity(2.5 * 0.9949e-6, 3) == 17.5
    # IEC 60228 class 2: 4 mm2 4.61 ohm/km; outside its half per cent by resistivity, 1.853e-8 ohm m.
    assert e.conductor_resistance(4.0 * 1.0049e-6, 1000.0) == pytest.approx(4.61, rel=1e-12)
    assert e.conductor_resistance(4.0 * 1.0051e-6, 1000.0) == pytest.approx(18.53 / 4.0204, rel=1e-12)


def test_no_section_carries_it() -> None:
    """16 mm2, three loaded, method C, 30 degC, alone: 76 A is the most."""
    with pytest.raises(OutOfRangeError) as caught:
        e.minimum_section(76.1, 3, 303.15, 1)
    assert (caught.value.low, caught.value.high) == (0.0, pytest.approx(76.0, rel=1e-12))
    assert e.minimum_section(76.0, 3, 303.15, 1) == pytest.approx(16e-6, rel=1e-12)


def test_trip_of_a_circuit_breaker_against_the_cable() -> None:
    """IEC 60364-4-43, 433.1 (from memory): a breaker's I2 is 1.45 In, so I2 <= 1.45 Iz says In <= Iz."""
    assert e.coordination(10.0, 20.1, 20.0) == ("device_above_cable", "trip_above_cable")
    assert e.coordination(10.0, 20.0, 20.0) == ()


def test_order_of_the_phases() -> None:
    """L2 follows L1 by a third of a turn, so that L1 against L2 leads L1 by 30 degrees."""
    for arrangement in ("3N", "3", "two_legs", "3_delta_208"):
        phasors = e.supply_phasors(arrangement, 120.0)
        across = cmath.phase(phasors["L1"] - phasors["L2"]) - cmath.phase(phasors["L1"])
        assert math.degrees(across) == pytest.approx(30.0, abs=1e-9)


def test_the_smallest_load_on_a_broken_neutral() -> None:
    """One picowatt at one volt is a load still; half of it is none."""
    assert e.lost_neutral("two_legs", 1.0, [Load(1e-12, 1.0, ("L1", "N"))]).voltages == pytest.approx((0.0,))
    with pytest.raises(OutOfRangeError):
        e.lost_neutral("two_legs", 1.0, [Load(0.5e-12, 1.0, ("L1", "N"))])
