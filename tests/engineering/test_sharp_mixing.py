"""Hot water at the edges of what an adjuster or a valve can do, and the figures that a refusal names."""

from __future__ import annotations

import inspect
import math

import pytest

from procgen.engineering import mixing as m
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.unavailable import UnavailableError
from procgen.engineering.water import saturation_pressure, saturation_temperature

C = 273.15
ATM = 101325.0
HOT, COLD = 125.0 + C, 15.0 + C
CHAMBER = m.MixingChamber(2.0e-3, 0.7, 1.2e-3, 0.7, 5e-3, 0.7)
#: Saturated steam of 125 °C is 2.3224 bar abs (steam tables), 1.309 bar gauge at one atmosphere.
STEAM = saturation_pressure(HOT) - ATM


def refusal(call, *given, **named) -> UnavailableError:
    with pytest.raises(UnavailableError) as caught:
        call(*given, **named)
    return caught.value


def test_a_setting_at_the_end_of_its_range() -> None:
    """The wanted setting is the end itself: reached. A hundredth beside it is not."""
    given = (80.0 + C, CHAMBER, HOT, COLD, ATM)
    wanted = m.wanted_cold_pressure(*given)
    assert STEAM < wanted < 10e5
    for ends in ({"lowest_gauge": wanted, "highest_gauge": 10e5}, {"highest_gauge": wanted}):
        assert m.cold_pressure_for(*given, **ends) == wanted
    too_high = refusal(m.cold_pressure_for, *given, lowest_gauge=1.01 * wanted, highest_gauge=10e5)
    assert too_high.id == "hotwater.target_above_range"
    assert too_high.details["highest"] == pytest.approx(
        m.chamber_state(CHAMBER, 1.01 * wanted, HOT, COLD, ATM).temperature, abs=1e-6
    )
    too_low = refusal(m.cold_pressure_for, *given, highest_gauge=0.99 * wanted)
    assert too_low.id == "hotwater.target_below_range"
    assert too_low.details["lowest"] == pytest.approx(
        m.chamber_state(CHAMBER, 0.99 * wanted, HOT, COLD, ATM).temperature, abs=1e-6
    )
    assert inspect.signature(m.cold_pressure_for).parameters["lowest_gauge"].default == 0.0


def test_the_hottest_that_still_mixes() -> None:
    """Just above the steam pressure; a pump that gets no further mixes nothing."""
    wide = m.MixingChamber(2.0e-3, 0.7, 4.0e-3, 0.7, 5e-3, 0.7)
    hottest = refusal(m.cold_pressure_for, 95.0 + C, wide, HOT, COLD, ATM, highest_gauge=10e5)
    assert hottest.id == "hotwater.target_above_range"
    just = m.chamber_state(wide, STEAM * (1.0 + 1e-6), HOT, COLD, ATM).temperature
    assert hottest.details["highest"] == pytest.approx(just, abs=1e-6)
    end = STEAM * (1.0 + 1e-6)
    weak = refusal(m.cold_pressure_for, 80.0 + C, wide, HOT, COLD, ATM, highest_gauge=end)
    assert weak.id == "hotwater.cold_pressure_not_above_steam"


def test_ends_of_the_bores() -> None:
    """From 0.01 mm to 1 m, and a range is no single bore."""
    given = (80.0 + C, CHAMBER, 4e5, HOT, COLD, ATM)
    bore = m.cold_bore_for(*given, 0.01e-3, 1.0)
    assert bore == m.wanted_cold_bore(*given)
    assert m.cold_bore_for(*given, bore, 2.0 * bore) == bore
    for smallest, largest in (
        (math.nextafter(1e-5, 0.0), 1.0),
        (1e-5, math.nextafter(1.0, 2.0)),
        (bore, bore),
    ):
        with pytest.raises(OutOfRangeError) as caught:
            m.cold_bore_for(*given, smallest, largest)
        assert (caught.value.argument, caught.value.low, caught.value.high) == ("smallest", 1e-5, largest)


VALVE = m.ThermostaticValve(40.0 + C, 60.0 + C, 10.0, 2.0, 1e5)


def regulated(valve=VALVE, T_set=55.0 + C, T_hot=70.0 + C, hot=2e5, cold=3e5, T_cold=COLD) -> float:
    return m.thermostatic_temperature(valve, T_set, T_hot, hot, cold, T_cold, ATM)


def test_a_valve_at_its_limits_regulates() -> None:
    """Each limit of the (invented) valve is met exactly: that is still within it."""
    assert regulated(T_set=40.0 + C) == 40.0 + C
    assert regulated(T_set=60.0 + C) == 60.0 + C
    assert regulated(T_set=45.0 + C, T_cold=45.0 + C) == 45.0 + C
    assert regulated(T_hot=55.0 + C + 10.0) == 55.0 + C
    assert regulated(hot=1e5, cold=2e5) == 55.0 + C
    assert m.ThermostaticValve(40.0 + C, 60.0 + C, 10.0, 2.0).pressure_min_gauge == 0.0


def test_what_a_refusing_valve_says() -> None:
    """The figures that the reader is told, by hand."""
    cold_feed = refusal(regulated, T_set=44.0 + C, T_cold=45.0 + C)
    assert cold_feed.details == {"target": 44.0 + C, "lowest": 45.0 + C}
    assert refusal(regulated, T_set=39.0 + C).details["lowest"] == 40.0 + C
    assert refusal(regulated, T_set=61.0 + C).details["highest"] == 60.0 + C
    tepid = refusal(regulated, T_hot=64.0 + C)
    assert (tepid.id, tepid.details) == (
        "hotwater.valve_hot_too_cold",
        {"hot": 64.0 + C, "needed": pytest.approx(65.0 + C)},
    )
    uneven = refusal(regulated, hot=1e5, cold=2.5e5)
    assert (uneven.id, uneven.details) == ("hotwater.valve_pressure_ratio", {"ratio": 2.5, "highest": 2.0})
    weak = refusal(regulated, hot=0.9e5)
    assert (weak.id, weak.details) == (
        "hotwater.valve_pressure_low",
        {"lowest_gauge": 0.9e5, "needed_gauge": 1e5},
    )


def test_a_valve_without_a_stated_pressure() -> None:
    """No pressure at all moves no water; the least there is does."""
    free = m.ThermostaticValve(40.0 + C, 60.0 + C, 10.0, 2.0)
    assert refusal(regulated, free, hot=0.0, cold=0.0).id == "hotwater.valve_pressure_low"
    assert refusal(regulated, free, hot=-1e5, cold=1e5).id == "hotwater.valve_pressure_low"
    assert regulated(free, hot=0.01, cold=0.01) == 55.0 + C
    with pytest.raises(OutOfRangeError) as caught:
        regulated(free, hot=math.nextafter(-1e5, -math.inf))
    assert (caught.value.argument, caught.value.low, caught.value.high) == ("hot_gauge", -1e5, 2e7)


def test_a_little_hot_in_much_cold() -> None:
    """One part in a hundred hot: (1/500)(0.99/0.01) = 0.198 of the time cold."""
    target = m.mix_temperature(0.01, HOT, COLD, ATM)
    assert m.duty_for(target, 1e-3, 0.5, HOT, COLD, ATM) == pytest.approx(0.198, rel=1e-6)


def test_cold_all_the_time_is_not_enough() -> None:
    """Equal flows give equal shares at best."""
    refused = refusal(m.duty_for, 40.0 + C, 0.05, 0.05, HOT, COLD, ATM)
    assert refused.id == "hotwater.target_below_range"
    half = m.mix_temperature(0.5, HOT, COLD, ATM)
    assert refused.details == {"target": 40.0 + C, "lowest": pytest.approx(half, abs=1e-9)}


def test_targets_at_the_ends() -> None:
    """Boiling and the cold water itself are reached; two equal temperatures give no other."""
    boiling = saturation_temperature(ATM)
    assert 0.7 < m.hot_share_for(boiling, HOT, COLD, ATM) < 1.0
    assert m.hot_share_for(COLD, HOT, COLD, ATM) == 0.0
    same = refusal(m.hot_share_for, 350.0, 350.0, 350.0, ATM)
    assert (same.id, same.details["highest"]) == ("hotwater.target_above_range", 350.0)
