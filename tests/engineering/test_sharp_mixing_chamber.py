"""The mixing chamber where its balance can be written down, and at the edges of its ranges."""

from __future__ import annotations

import math

import pytest

from procgen.engineering import mixing_chamber as m
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.unavailable import UnavailableError
from procgen.engineering.water import density, saturation_pressure

C = 273.15
ATM = 101325.0
HOT, COLD = 125.0 + C, 15.0 + C
CHAMBER = m.MixingChamber(2.0e-3, 0.7, 1.2e-3, 0.7, 5e-3, 0.7)


def refused(call, *given) -> str:
    with pytest.raises(UnavailableError) as caught:
        call(*given)
    return caught.value.id


@pytest.mark.parametrize(("index", "low", "high"), [(1, 0.0, 2e7), (2, 273.15, 473.15), (4, 3e4, 1.2e5)])
def test_ends_of_pressures_and_temperatures(index: int, low: float, high: float) -> None:
    """Cold water up to 200 bar, 0 to 200 °C, air from 30 to 120 kPa."""
    good = [CHAMBER, 4e5, HOT, COLD, ATM]
    for inside in (low, high):
        given = [*good[:index], inside, *good[index + 1 :]]
        try:
            assert m.chamber_state(*given).flow > 0.0
        except UnavailableError as physical:
            assert physical.id != ""
    for outside in (math.nextafter(low, -math.inf), math.nextafter(high, math.inf)):
        with pytest.raises(OutOfRangeError) as caught:
            m.chamber_state(*good[:index], outside, *good[index + 1 :])
        assert (caught.value.low, caught.value.high) == (low, high)


@pytest.mark.parametrize("part", ["hot_cd", "cold_cd", "outlet_cd"])
def test_ends_of_a_discharge_coefficient(part: str) -> None:
    """From 0.1 to 1, which is an orifice without loss."""
    for inside in (0.1, 1.0):
        assert m.chamber_state(CHAMBER._replace(**{part: inside}), 4e5, HOT, COLD, ATM).flow > 0.0
    for outside in (math.nextafter(0.1, 0.0), math.nextafter(1.0, 2.0)):
        with pytest.raises(OutOfRangeError) as caught:
            m.chamber_state(CHAMBER._replace(**{part: outside}), 4e5, HOT, COLD, ATM)
        assert (caught.value.low, caught.value.high) == (0.1, 1.0)


@pytest.mark.parametrize("call", ["state", "wanted"])
@pytest.mark.parametrize(("excess", "pushes"), [(0.01, True), (0.0, False), (-0.01, False)])
def test_steam_that_pushes_or_not(call: str, excess: float, pushes: bool) -> None:
    """Steam of 95 °C under air of its own pressure pushes nothing out; a hundredth of a pascal more does."""
    hot = 95.0 + C
    air = saturation_pressure(hot) - excess

    def run() -> float:
        if call == "state":
            return m.chamber_state(CHAMBER, 1e5, hot, COLD, air).flow
        return m.wanted_cold_pressure(80.0 + C, CHAMBER, hot, COLD, air)

    if pushes:
        assert run() > 0.0
    else:
        assert refused(run) == "hotwater.no_steam_pressure"


def test_cold_water_just_as_strong_as_the_steam() -> None:
    """Equal pressures: nothing keeps boiler water out of the cold line."""
    steam = saturation_pressure(HOT) - ATM
    assert (
        refused(m.chamber_state, CHAMBER, steam, HOT, COLD, ATM) == "hotwater.cold_pressure_not_above_steam"
    )
    wanted = (80.0 + C, CHAMBER, steam, HOT, COLD, ATM)
    assert refused(m.wanted_cold_bore, *wanted) == "hotwater.cold_pressure_not_above_steam"


def test_only_cold_water() -> None:
    """Cold water alone lifts the chamber above the steam: k sqrt(p_c - p) = o sqrt(p) gives p at once."""
    wide = m.MixingChamber(2e-3, 0.7, 4e-3, 0.7, 2e-3, 0.8)
    into, out = (0.7 * 4e-3**2) ** 2, (0.8 * 2e-3**2) ** 2
    state = m.chamber_state(wide, 6e5, HOT, COLD, ATM)
    assert state.chamber_gauge == pytest.approx(6e5 * into / (into + out), rel=1e-9)
    assert (state.x_hot, state.hot_mass_flow) == (0.0, 0.0)
    by_hand = 0.8 * math.pi / 4 * 2e-3**2 * math.sqrt(2.0 * density(COLD) * state.chamber_gauge)
    assert state.cold_mass_flow == pytest.approx(by_hand, rel=1e-9)


def test_a_spout_a_hundred_times_as_wide() -> None:
    """Nothing holds the water back: the chamber stands at ((m_h + m_c)/o)^2, a fraction of a pascal."""
    wide = CHAMBER._replace(outlet_bore=0.5)
    state = m.chamber_state(wide, 4e5, HOT, COLD, ATM)
    steam = saturation_pressure(HOT) - ATM
    hot = 0.7 * math.pi / 4 * 2e-3**2 * math.sqrt(2.0 * density(HOT) * steam)
    cold = 0.7 * math.pi / 4 * 1.2e-3**2 * math.sqrt(2.0 * density(COLD) * 4e5)
    spout = 0.7 * math.pi / 4 * 0.5**2 * math.sqrt(2.0 * density(state.temperature))
    assert state.hot_mass_flow == pytest.approx(hot, rel=1e-6)
    assert state.chamber_gauge == pytest.approx(((hot + cold) / spout) ** 2, rel=1e-4)
    assert state.chamber_gauge < 0.01


def test_shares_at_the_cold_end() -> None:
    """The cold water's own temperature needs no boiler water, which no setting gives; one hundredth does."""
    assert refused(m.wanted_cold_pressure, COLD, CHAMBER, HOT, COLD, ATM) == "hotwater.target_below_range"
    target = m.temperature_of_enthalpy(
        0.99 * m.enthalpy_liquid(COLD, ATM) + 0.01 * m.enthalpy_saturated_liquid(HOT), ATM
    )
    pressure = m.wanted_cold_pressure(target, CHAMBER._replace(hot_bore=0.2e-3), HOT, COLD, ATM)
    state = m.chamber_state(CHAMBER._replace(hot_bore=0.2e-3), pressure, HOT, COLD, ATM)
    assert state.x_hot == pytest.approx(0.01, rel=1e-5)
