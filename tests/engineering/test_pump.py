"""Pump figures by hand, and by a spring balance written afresh."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from procgen.engineering import pump
from procgen.engineering.kernel import OutOfRangeError

from . import outside
from .oracle import agrees

GAUGE = st.floats(0, 2e6)


def spring_outlet(inlet, opening, slope, bypassed):
    """A bypass valve: its spring opens at a difference, and gives way as more flows through it."""
    return inlet + opening + slope * bypassed


def test_outlet_rides_on_inlet():
    # Set to 9 bar at 3 bar inlet; at night 5 bar.
    agrees(
        pump.outlet_pressure_gauge, pump.outlet_pressure_gauge(5e5, 9e5, 3e5), 11e5, outside.HAND, rel=1e-6
    )
    agrees(pump.bypass_rise, pump.bypass_rise(9e5, 3e5), 6e5, outside.HAND, rel=1e-6)
    agrees(pump.bypass_rise, pump.bypass_rise(2e5, 3e5), 0.0, outside.HAND)


def test_setting_at_another_inlet():
    # 9 bar are wanted in service at 2.5 bar; the technician finds 4 bar: set 10.5 bar now.
    agrees(pump.setting_for, pump.setting_for(9e5, 2.5e5, 4e5), 10.5e5, outside.HAND, rel=1e-6)


def test_reading_without_flow():
    # Inlet recovers from 2.5 to 3.2 bar; 2 mL/s more through a bypass of 0.1 bar per mL/s.
    agrees(
        pump.static_setting_gauge,
        pump.static_setting_gauge(9e5, 2.5e5, 3.2e5, 2e-6, 1e10),
        9.9e5,
        outside.HAND,
        rel=1e-6,
    )
    agrees(
        pump.maximum_outlet_gauge,
        pump.maximum_outlet_gauge(9e5, 2.5e5, 5e5, 2e-6, 1e10),
        11.7e5,
        outside.HAND,
        rel=1e-6,
    )
    agrees(pump.maximum_outlet_gauge, pump.maximum_outlet_gauge(2e5, 3e5, 6e5), 6e5, outside.HAND, rel=1e-6)


@given(GAUGE, GAUGE, st.floats(0, 1e6), st.floats(0, 1e10), st.floats(2e-5, 1e-4), st.floats(0, 1e-5))
def test_against_the_spring(inlet, inlet_later, opening, slope, displacement, brew):
    setting = spring_outlet(inlet, opening, slope, displacement - brew)
    later = spring_outlet(inlet_later, opening, slope, displacement - brew)
    closed = spring_outlet(inlet_later, opening, slope, displacement)
    assert pump.outlet_pressure_gauge(inlet_later, setting, inlet) == pytest.approx(later, rel=1e-9, abs=1e-3)
    static = pump.static_setting_gauge(setting, inlet, inlet_later, brew, slope)
    assert static == pytest.approx(closed, rel=1e-9, abs=1e-3)
    assert pump.maximum_outlet_gauge(setting, inlet, inlet_later, brew, slope) == pytest.approx(
        closed, rel=1e-9, abs=1e-3
    )


@given(GAUGE, GAUGE, GAUGE)
def test_a_setting_made_for_service_gives_the_target(target, service, now):
    setting = pump.setting_for(target, service, now)
    if 0 <= setting <= 5e6:
        assert pump.outlet_pressure_gauge(service, setting, now) == pytest.approx(target, abs=1e-6)


def test_delivery():
    # 200 L/h, slip 5 L/h a bar.
    slip = 5 / 3.6e6 / 1e5
    agrees(
        pump.delivered_flow,
        pump.delivered_flow(6e5, 200 / 3.6e6, slip) * 3.6e6,
        170.0,
        outside.HAND,
        rel=1e-6,
    )
    agrees(
        pump.delivered_flow,
        pump.delivered_flow(-2e5, 200 / 3.6e6, slip) * 3.6e6,
        210.0,
        outside.HAND,
        rel=1e-6,
    )
    agrees(pump.delivered_flow, pump.delivered_flow(50e5, 200 / 3.6e6, slip), 0.0, outside.HAND)
    agrees(
        pump.pump_flow_limit,
        pump.pump_flow_limit(6e5, 200 / 3.6e6, slip) * 3.6e6,
        170.0,
        outside.HAND,
        rel=1e-6,
    )


@pytest.mark.parametrize("bad", [float("nan"), -1.0, 5.1e6])
def test_outside_the_range(bad):
    with pytest.raises(OutOfRangeError):
        pump.outlet_pressure_gauge(bad, 9e5, 3e5)
    with pytest.raises(OutOfRangeError):
        pump.setting_for(9e5, bad, 3e5)
    with pytest.raises(OutOfRangeError):
        pump.pump_flow_limit(bad, 1e-4, 0.0)
