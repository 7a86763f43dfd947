"""Hot water against an independent enthalpy balance and a chamber solved from scratch."""

import doctest
import math

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from procgen.engineering import mixing as m
from procgen.engineering import mixing_balance, mixing_chamber
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.unavailable import UnavailableError

from . import outside
from .oracle import agrees

C = 273.15
HOT, COLD, ATM = 125 + C, 15 + C, 101325.0
CHAMBER = m.MixingChamber(2.5e-3, 0.7, 1.2e-3, 0.72, 5e-3, 0.75)
VALVE = m.ThermostaticValve(60 + C, 95 + C, 10.0, 5.0, 0.2e5)


def refused(function, *args, **kwargs):
    with pytest.raises(UnavailableError) as caught:
        function(*args, **kwargs)
    return caught.value


def test_worked_example():
    result = doctest.testmod(mixing_balance)
    assert (result.failed, result.attempted) == (0, 1)


@pytest.mark.parametrize(("celsius", "share"), [(80, 0.5887), (85, 0.6341), (90, 0.6796)])
def test_share_by_an_independent_library(celsius, share):
    # IAPWS-95; IF97 is 0.06 kJ/kg lower at 80 °C.
    agrees(m.hot_share_for, m.hot_share_for(celsius + C, HOT, COLD, ATM), share, outside.COOLPROP, abs=2e-4)
    agrees(
        m.mix_temperature, m.mix_temperature(share, HOT, COLD, ATM) - C, celsius, outside.COOLPROP, abs=0.02
    )


@given(st.floats(0, 1), st.floats(105, 140), st.floats(2, 40))
def test_enthalpy_balance_closes(x, hot, cold):
    T = m.mix_temperature(x, hot + C, cold + C, ATM)
    h_hot = PropsSI("H", "T", hot + C, "Q", 0, "Water")
    h_cold = PropsSI("H", "T", cold + C, "P", ATM, "Water")
    boiling = PropsSI("T", "P", ATM, "Q", 0, "Water")
    assert boiling + 0.01 >= T
    mixed, liquid = x * h_hot + (1 - x) * h_cold, PropsSI("H", "T", min(T, boiling - 1e-4), "P", ATM, "Water")
    # What is above that of boiling water leaves as steam.
    assert min(mixed, PropsSI("H", "P", ATM, "Q", 0, "Water")) == pytest.approx(liquid, abs=250.0)


def test_outlet_is_capped_at_local_boiling():
    agrees(m.mix_temperature, m.mix_temperature(1.0, HOT, COLD, ATM) - C, 99.97, outside.COOLPROP, abs=0.01)
    # 2000 m.
    agrees(
        m.mix_temperature, m.mix_temperature(1.0, HOT, COLD, 79495.0) - C, 93.32, outside.COOLPROP, abs=0.01
    )


def test_share_never_exceeds_one():
    assert m.hot_share_for(80 + C, 80 + C, COLD, ATM) == pytest.approx(1.0, abs=1e-3)
    assert m.hot_share_for(80 + C, 80 + C, COLD, ATM) <= 1.0


def test_targets_that_no_share_gives():
    assert refused(m.hot_share_for, 101 + C, HOT, COLD, ATM).id == "hotwater.target_above_boiling"
    assert refused(m.hot_share_for, 80 + C, 70 + C, COLD, ATM).id == "hotwater.target_above_range"
    assert refused(m.hot_share_for, 10 + C, HOT, COLD, ATM).id == "hotwater.target_below_range"
    assert str(refused(m.hot_share_for, 280.0, 398.0, 288.0, ATM)) == (
        "hotwater.target_below_range (target = 280, lowest = 288)"
    )


def oracle_chamber(c, cold_gauge, hot, cold, p_atm):
    """Mass balance of the chamber with properties from elsewhere."""
    steam = PropsSI("P", "T", hot, "Q", 0, "Water") - p_atm
    rho_h = PropsSI("D", "T", hot, "Q", 0, "Water")
    rho_c = PropsSI("D", "T", cold, "P", p_atm, "Water")
    h_h = PropsSI("H", "T", hot, "Q", 0, "Water")
    h_c = PropsSI("H", "T", cold, "P", p_atm, "Water")

    def jet(Cd, d, rho, dp):
        return Cd * math.pi * d * d / 4 * math.sqrt(2 * rho * max(dp, 0.0))

    def streams(p):
        return jet(c.hot_cd, c.hot_bore, rho_h, steam - p), jet(c.cold_cd, c.cold_bore, rho_c, cold_gauge - p)

    def outlet(p):
        a, b = streams(p)
        h = (a * h_h + b * h_c) / (a + b)
        boiling = PropsSI("H", "P", p_atm, "Q", 0, "Water")
        T = PropsSI("T", "P", p_atm, "H", min(h, boiling - 1.0), "Water")
        return a + b - jet(c.outlet_cd, c.outlet_bore, PropsSI("D", "T", T, "P", p_atm, "Water"), p), T

    p = brentq(lambda p: outlet(p)[0], 0.0, cold_gauge * (1 - 1e-9))
    return outlet(p)[1], sum(streams(p)), p


@pytest.mark.parametrize("bar", [2.5, 4.0, 8.0])
@pytest.mark.parametrize("p_atm", [ATM, 79495.0])
def test_chamber_against_one_from_scratch(bar, p_atm):
    found = m.chamber_state(CHAMBER, bar * 1e5, HOT, COLD, p_atm)
    T, mass, p = oracle_chamber(CHAMBER, bar * 1e5, HOT, COLD, p_atm)
    agrees(m.chamber_state, found.temperature, T, outside.CHAMBER, abs=0.05, unit="K")
    agrees(m.chamber_state, found.hot_mass_flow + found.cold_mass_flow, mass, outside.CHAMBER, rel=5e-4)
    agrees(m.chamber_state, found.chamber_gauge, p, outside.CHAMBER, rel=2e-3)
    assert found.x_hot == found.hot_mass_flow / (found.hot_mass_flow + found.cold_mass_flow)
    rho = PropsSI("D", "T", min(T, 372.0), "P", ATM, "Water")
    agrees(m.chamber_state, found.flow, mass / rho, outside.CHAMBER, rel=1e-3)


def test_check_valve_stops_the_boiler_water():
    narrow = m.MixingChamber(2.5e-3, 0.7, 4e-3, 0.7, 2e-3, 0.7)
    found = m.chamber_state(narrow, 8e5, HOT, COLD, ATM)
    assert found.chamber_gauge > 1.31e5
    assert (found.hot_mass_flow, found.x_hot) == (0.0, 0.0)
    assert found.temperature == pytest.approx(COLD, abs=1e-6)


def test_cold_pressure_must_exceed_steam_pressure():
    error = refused(m.chamber_state, CHAMBER, 1.30e5, HOT, COLD, ATM)
    assert error.id == "hotwater.cold_pressure_not_above_steam"
    assert error.details["steam_gauge"] == pytest.approx(1.309e5, rel=1e-3)
    assert m.chamber_state(CHAMBER, 1.315e5, HOT, COLD, ATM).cold_mass_flow > 0
    assert refused(m.chamber_state, CHAMBER, 4e5, 95 + C, COLD, ATM).id == "hotwater.no_steam_pressure"
    # The same cold pressure no longer suffices on a mountain: 125 °C is 1.58 bar gauge at 2600 m.
    m.chamber_state(CHAMBER, 1.5e5, HOT, COLD, ATM)
    refused(m.chamber_state, CHAMBER, 1.5e5, HOT, COLD, 73759.0)


@settings(max_examples=40, deadline=None)
@given(st.floats(1.4e5, 12e5), st.floats(1.4e5, 12e5))
def test_more_cold_pressure_is_never_hotter(a, b):
    low, high = sorted((a, b))
    hotter, colder = (m.chamber_state(CHAMBER, p, HOT, COLD, ATM).temperature for p in (low, high))
    assert colder <= hotter + 1e-9


@settings(max_examples=30, deadline=None)
@given(st.floats(2.2e5, 12e5))
def test_pump_setting_there_and_back(gauge):
    T = m.chamber_state(CHAMBER, gauge, HOT, COLD, ATM).temperature
    found = m.cold_pressure_for(T, CHAMBER, HOT, COLD, ATM, highest_gauge=12e5)
    assert m.chamber_state(CHAMBER, found, HOT, COLD, ATM).temperature == pytest.approx(T, abs=1e-6)


def test_pump_setting_for_a_target():
    found = m.cold_pressure_for(90 + C, CHAMBER, HOT, COLD, ATM, highest_gauge=12e5)
    T, _, _ = oracle_chamber(CHAMBER, found, HOT, COLD, ATM)
    agrees(m.cold_pressure_for, T, 90.0 + C, outside.CHAMBER, abs=0.05, unit="K")
    wanted = mixing_chamber.wanted_cold_pressure(90 + C, CHAMBER, HOT, COLD, ATM)
    T, _, _ = oracle_chamber(CHAMBER, wanted, HOT, COLD, ATM)
    agrees(mixing_chamber.wanted_cold_pressure, T, 90.0 + C, outside.CHAMBER, abs=0.05, unit="K")

    def refusal(T, **kwargs):
        return refused(m.cold_pressure_for, T, CHAMBER, HOT, COLD, ATM, **kwargs).id

    assert refusal(60 + C, highest_gauge=12e5) == "hotwater.target_below_range"
    assert refusal(95 + C, lowest_gauge=8e5, highest_gauge=12e5) == "hotwater.target_above_range"
    assert refusal(101 + C, highest_gauge=12e5) == "hotwater.target_above_boiling"
    assert refusal(90 + C, highest_gauge=1e5) == "hotwater.cold_pressure_not_above_steam"


def test_restrictor_for_a_target():
    found = m.cold_bore_for(85 + C, CHAMBER, 3e5, HOT, COLD, p_atm=ATM, smallest=0.5e-3, largest=3e-3)
    T, _, _ = oracle_chamber(m.with_cold_bore(CHAMBER, found), 3e5, HOT, COLD, ATM)
    agrees(m.cold_bore_for, T, 85.0 + C, outside.CHAMBER, abs=0.05, unit="K")
    for target in (80.0, 85.0, 90.0):
        bore = mixing_chamber.wanted_cold_bore(target + C, CHAMBER, 3e5, HOT, COLD, ATM)
        T, _, _ = oracle_chamber(m.with_cold_bore(CHAMBER, bore), 3e5, HOT, COLD, ATM)
        agrees(mixing_chamber.wanted_cold_bore, T, target + C, outside.CHAMBER, abs=0.05, unit="K")
    error = refused(m.cold_bore_for, 50 + C, CHAMBER, 3e5, HOT, COLD, p_atm=ATM, smallest=5e-4, largest=1e-3)
    assert error.id == "hotwater.target_below_range"
    with pytest.raises(OutOfRangeError):
        m.cold_bore_for(85 + C, CHAMBER, 3e5, HOT, COLD, p_atm=ATM, smallest=2e-3, largest=1e-3)


def test_table():
    rows = m.mixing_table(CHAMBER, (1e5, 2e5, 4e5, 8e5), HOT, COLD, ATM)
    assert [p for p, _ in rows] == [1e5, 2e5, 4e5, 8e5]
    assert rows[0][1] is None
    assert rows[2][1] == m.chamber_state(CHAMBER, 4e5, HOT, COLD, ATM)
    for gauge, state in rows[1:]:
        T, _, _ = oracle_chamber(CHAMBER, gauge, HOT, COLD, ATM)
        agrees(m.mixing_table, state.temperature, T, outside.CHAMBER, abs=0.05, unit="K")
    assert refused(m.mixing_table, CHAMBER, (2e5,), 95 + C, COLD, ATM).id == "hotwater.no_steam_pressure"


def test_thermostatic_valve():
    def outlet(T=85 + C, hot=HOT, p_hot=1.3e5, p_cold=3e5, p_atm=ATM):
        return m.thermostatic_temperature(VALVE, T, hot, p_hot, p_cold, T_cold=COLD, p_atm=p_atm)

    def refusal(**kwargs):
        with pytest.raises(UnavailableError) as caught:
            outlet(**kwargs)
        return caught.value.id

    agrees(m.thermostatic_temperature, outlet(), 85 + C, outside.HAND)
    agrees(
        m.thermostatic_temperature,
        outlet(T=95 + C, p_atm=73759.0) - C,
        91.31,
        outside.COOLPROP,
        abs=0.01,
        unit="K",
    )
    assert refusal(T=96 + C) == "hotwater.target_above_range"
    assert refusal(T=59 + C) == "hotwater.target_below_range"
    assert refusal(hot=94 + C) == "hotwater.valve_hot_too_cold"
    assert refusal(p_cold=6.6e5) == "hotwater.valve_pressure_ratio"
    assert refusal(p_cold=0.1e5) == "hotwater.valve_pressure_low"
    assert outlet(p_cold=6.4e5) == 85 + C


def test_timed_dilution():
    # Equal flows: half the time gives a share of 1/1.5.
    found = m.diluted_temperature(0.5, 0.05, 0.05, HOT, COLD, ATM)
    assert found == m.mix_temperature(1 / 1.5, HOT, COLD, ATM)
    hot, cold = (PropsSI("H", "T", HOT, "Q", 0, "Water"), PropsSI("H", "T", COLD, "P", ATM, "Water"))
    mixed = PropsSI("T", "P", ATM, "H", (2 * hot + cold) / 3, "Water")
    agrees(m.diluted_temperature, found, mixed, outside.COOLPROP, abs=0.02)
    duty = m.duty_for(85 + C, 0.05, 0.04, HOT, COLD, ATM)
    # By the share of an independent library: 0.05/0.04 × (1 − 0.6341)/0.6341.
    agrees(m.duty_for, duty, 1.25 * 0.3659 / 0.6341, outside.COOLPROP, rel=1e-3)
    assert m.diluted_temperature(duty, 0.05, 0.04, HOT, COLD, ATM) == pytest.approx(85 + C, abs=1e-6)
    assert refused(m.duty_for, 60 + C, 0.05, 0.04, HOT, COLD, ATM).id == "hotwater.target_below_range"
    assert refused(m.duty_for, COLD, 0.05, 0.04, HOT, COLD, ATM).id == "hotwater.target_below_range"


@pytest.mark.parametrize("bad", [math.nan, -0.1, 1.1])
def test_outside_the_range(bad):
    with pytest.raises(OutOfRangeError):
        m.mix_temperature(bad, HOT, COLD, ATM)
    with pytest.raises(OutOfRangeError):
        m.diluted_temperature(bad, 0.05, 0.05, HOT, COLD, ATM)
    with pytest.raises(OutOfRangeError):
        m.mix_temperature(0.5, HOT, bad, ATM)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -2e5])
def test_a_chamber_of_wrong_numbers_is_refused(bad):
    for arguments in (
        (bad, HOT, COLD, ATM),
        (4e5, bad, COLD, ATM),
        (4e5, HOT, bad, ATM),
        (4e5, HOT, COLD, bad),
    ):
        with pytest.raises(OutOfRangeError):
            m.chamber_state(CHAMBER, *arguments)
    with pytest.raises(OutOfRangeError):
        m.thermostatic_temperature(VALVE, bad, HOT, 1e5, 3e5, T_cold=COLD, p_atm=ATM)
    with pytest.raises(OutOfRangeError):
        m.thermostatic_temperature(VALVE, 85 + C, HOT, bad, 3e5, T_cold=COLD, p_atm=ATM)
    with pytest.raises(OutOfRangeError):
        m.cold_pressure_for(bad, CHAMBER, HOT, COLD, ATM, highest_gauge=1e6)


def test_the_ends_of_the_ranges_are_reached():
    # Just above steam pressure is the hottest setting.
    wide = m.MixingChamber(2.5e-3, 0.7, 3e-3, 0.7, 6e-3, 0.7)
    hottest = m.chamber_state(wide, 1.312e5, HOT, COLD, ATM).temperature
    found = m.cold_pressure_for(hottest, wide, HOT, COLD, ATM, highest_gauge=12e5)
    assert found == pytest.approx(1.312e5, rel=1e-4)
    # Cold valve open all the time is the coldest.
    coldest = m.diluted_temperature(1.0, 0.05, 0.04, HOT, COLD, ATM)
    assert m.duty_for(coldest + 1e-6, 0.05, 0.04, HOT, COLD, ATM) == pytest.approx(1.0)
    assert refused(m.duty_for, coldest - 0.3, 0.05, 0.04, HOT, COLD, ATM).id == "hotwater.target_below_range"
