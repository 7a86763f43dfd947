"""A pump of which only the pressures are known, and one that slips more than it moves."""

from __future__ import annotations

from procgen.engineering import pump


def test_what_is_not_told_adds_nothing() -> None:
    """9 bar set at 3 bar; at 4 bar 10 bar, whatever of flow and slope is missing."""
    given = (9e5, 3e5, 4e5)
    for calculation in (pump.static_setting_gauge, pump.maximum_outlet_gauge):
        assert calculation(*given) == 10e5
        assert calculation(*given, brew_flow=1e-2) == 10e5
        assert calculation(*given, bypass_slope=1e12) == 10e5


def test_all_slips_back() -> None:
    """0.05 L/s less 2e-11 x 50e5 = 0.1 L/s: nothing, not less."""
    assert pump.pump_flow_limit(5e6, 5e-5, 2e-11) == 0.0
    assert pump.delivered_flow(5e6, 5e-5, 2e-11) == 0.0
