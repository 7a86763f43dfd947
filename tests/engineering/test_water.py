"""Water against the release itself, two other libraries and steam tables."""

import doctest

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st
from iapws import IAPWS97

from procgen.engineering import water
from procgen.engineering.kernel import OutOfRangeError

from . import outside
from .oracle import agrees

C = 273.15
LIQUID = [1.0, 15.0, 20.0, 60.0, 93.0, 99.0]


def test_worked_examples():
    result = doctest.testmod(water)
    assert (result.failed, result.attempted) == (0, 4)


@pytest.mark.parametrize(
    ("T", "MPa"), [(300.0, 0.353658941e-2), (500.0, 0.263889776e1), (600.0, 0.123443146e2)]
)
def test_saturation_pressure_of_the_release(T, MPa):
    # IAPWS R7-97, table 35.
    agrees(
        water.saturation_pressure, water.saturation_pressure(T), MPa * 1e6, outside.IF97_TABLE_35, rel=1e-8
    )


@pytest.mark.parametrize(("MPa", "T"), [(0.1, 372.755919), (1.0, 453.035632), (10.0, 584.149488)])
def test_saturation_temperature_of_the_release(MPa, T):
    # IAPWS R7-97, table 36.
    agrees(
        water.saturation_temperature,
        water.saturation_temperature(MPa * 1e6),
        T,
        outside.IF97_TABLE_36,
        rel=1e-8,
    )


@pytest.mark.parametrize(("bar", "celsius"), [(1.0, 120.4), (1.3, 124.9), (1.5, 127.6)])
def test_saturation_of_a_handbook_steam_table(bar, celsius):
    agrees(
        water.saturation_temperature,
        water.saturation_temperature(101325.0 + bar * 1e5) - C,
        celsius,
        outside.STEAM_TABLE,
        abs=0.06,
    )


@pytest.mark.parametrize(
    ("celsius", "bar"), [(120, 1.98674), (122, 2.11589), (124, 2.25180), (125, 2.3222), (126, 2.39475)]
)
def test_saturation_by_an_independent_library(celsius, bar):
    # IAPWS-95 (CoolProp); IF97 agrees within 0.02 %.
    agrees(
        water.saturation_pressure,
        water.saturation_pressure(celsius + C) / 1e5,
        bar,
        outside.COOLPROP,
        rel=2e-4,
    )


@pytest.mark.parametrize("celsius", LIQUID)
def test_liquid_against_iapws97_and_iapws95(celsius):
    T = celsius + C
    other = IAPWS97(T=T, P=0.101325)
    agrees(water.density, water.density(T), other.rho, outside.IAPWS, rel=1e-9)
    agrees(water.enthalpy_liquid, water.enthalpy_liquid(T), other.h * 1e3, outside.IAPWS, rel=1e-8)
    agrees(water.specific_heat, water.specific_heat(T), other.cp * 1e3, outside.IAPWS, rel=1e-8)
    agrees(
        water.density,
        water.density(T),
        PropsSI("D", "T", T, "P", 101325, "Water"),
        outside.COOLPROP,
        rel=2e-5,
    )
    agrees(
        water.specific_heat,
        water.specific_heat(T),
        PropsSI("C", "T", T, "P", 101325, "Water"),
        outside.COOLPROP,
        rel=1e-3,
    )
    agrees(
        water.viscosity,
        water.viscosity(T),
        PropsSI("V", "T", T, "P", 101325, "Water"),
        outside.COOLPROP,
        rel=1e-3,
    )


@pytest.mark.parametrize("celsius", [100.0, 125.0, 150.0])
def test_saturated_states(celsius):
    T = celsius + C
    liquid, steam = (PropsSI("H", "T", T, "Q", q, "Water") for q in (0, 1))
    agrees(
        water.enthalpy_saturated_liquid,
        water.enthalpy_saturated_liquid(T),
        liquid,
        outside.COOLPROP,
        rel=2e-4,
    )
    agrees(
        water.enthalpy_vaporisation,
        water.enthalpy_vaporisation(T),
        steam - liquid,
        outside.COOLPROP,
        rel=2e-4,
    )
    agrees(
        water.density_saturated_steam,
        water.density_saturated_steam(T),
        PropsSI("D", "T", T, "Q", 1, "Water"),
        outside.COOLPROP,
        rel=5e-4,
    )
    volume = 1 / PropsSI("D", "T", T, "Q", 0, "Water")
    agrees(
        water.specific_volume_liquid_saturated,
        water.specific_volume_liquid_saturated(T),
        volume,
        outside.COOLPROP,
        rel=2e-5,
    )
    # Liquid does not exist below saturation pressure: one atmosphere then means saturated.
    agrees(water.density, water.density(T), 1 / volume, outside.COOLPROP, rel=2e-5)
    assert water.enthalpy_liquid(T, 0.0) == water.enthalpy_saturated_liquid(T)


def test_pressure_counts_in_density_and_enthalpy():
    agrees(
        water.density,
        water.density(293.15, 10e6),
        PropsSI("D", "T", 293.15, "P", 10e6, "Water"),
        outside.COOLPROP,
        rel=2e-5,
    )
    h = PropsSI("H", "T", 293.15, "P", 10e6, "Water")
    agrees(water.enthalpy_liquid, water.enthalpy_liquid(293.15, 10e6), h, outside.COOLPROP, rel=2e-4)


def test_viscosity_of_the_release():
    # IAPWS R12-08, table 4: 889.735100 µPa·s at 298.15 K and 998 kg/m3; here the density is 997.05.
    agrees(water.viscosity, water.viscosity(298.15), 889.7351e-6, outside.VISCOSITY_TABLE_4, rel=5e-4)


def test_flash_at_an_open_group_on_a_mountain():
    # Air at 2600 m by the ISA; figures by CoolProp.
    p = 73759.0
    agrees(water.flash_fraction, water.flash_fraction(93 + C, 0.0, p), 0.0031, outside.COOLPROP, abs=5e-5)
    agrees(water.flash_fraction, water.flash_fraction(93 + C, p + 9e5, p), 0.0034, outside.COOLPROP, abs=5e-5)


def test_flash_of_boiler_water_at_sea_level():
    found = water.flash_fraction(125 + C, 0.0, 101325.0)
    agrees(water.flash_fraction, found, 0.0469, outside.COOLPROP, abs=1.5e-4)
    h = PropsSI("H", "T", 125 + C, "Q", 0, "Water")
    agrees(
        water.flash_fraction, found, PropsSI("Q", "H", h, "P", 101325, "Water"), outside.COOLPROP, rel=2e-3
    )


def test_no_flash_below_boiling():
    assert water.flash_fraction(93 + C, 1e6, 101325.0) == 0.0


@pytest.mark.parametrize(("cold", "share"), [(20, 0.03627), (15, 0.03720)])
def test_expansion_by_an_independent_library(cold, share):
    agrees(
        water.expansion_ratio, water.expansion_ratio(cold + C, 93 + C), share, outside.COOLPROP, abs=1.5e-5
    )
    agrees(
        water.expansion_ratio,
        water.expansion_ratio(93 + C, cold + C),
        1 / (1 + share) - 1,
        outside.COOLPROP,
        abs=1.5e-5,
    )


def test_expansion_of_a_storage_heater():
    # Published rule: 40 US gal from 90 to 140 °F, "almost one-half gallon".
    assert 0.40 < 40 * water.expansion_ratio(305.372, 333.15) < 0.50


@pytest.mark.parametrize("celsius", [5.0, 60.0, 95.0])
def test_temperature_of_enthalpy_inverts(celsius):
    T = celsius + C
    assert water.temperature_of_enthalpy(water.enthalpy_liquid(T), 101325.0) == pytest.approx(T, abs=1e-8)


@pytest.mark.parametrize("celsius", [5.0, 60.0, 95.0])
def test_temperature_of_enthalpy_by_independent_libraries(celsius):
    T = celsius + C
    h = IAPWS97(T=T, P=0.101325).h * 1e3
    agrees(
        water.temperature_of_enthalpy, water.temperature_of_enthalpy(h, 101325.0), T, outside.IAPWS, rel=1e-8
    )
    h = PropsSI("H", "T", T, "P", 101325, "Water")
    found = water.temperature_of_enthalpy(h, 101325.0)
    agrees(water.temperature_of_enthalpy, found, T, outside.COOLPROP, abs=0.02, unit="K")


def test_temperature_of_enthalpy_stops_at_boiling():
    assert water.temperature_of_enthalpy(5.2e5, 101325.0) == water.saturation_temperature(101325.0)


@given(st.floats(273.16, 640.0))
def test_saturation_there_and_back(T):
    assert water.saturation_temperature(water.saturation_pressure(T)) == pytest.approx(T, rel=1e-7)


@given(st.floats(280.0, 470.0), st.floats(280.0, 470.0), st.floats(3e4, 1.2e5))
def test_hotter_flashes_no_less(a, b, p):
    low, high = sorted((a, b))
    assert 0.0 <= water.flash_fraction(low, 0.0, p) <= water.flash_fraction(high, 0.0, p) < 1.0


@pytest.mark.parametrize("bad", [float("nan"), 273.0, 700.0, float("inf")])
def test_outside_the_range(bad):
    for function in (water.saturation_pressure, water.density, water.viscosity, water.specific_heat):
        with pytest.raises(OutOfRangeError):
            function(bad)


def test_the_message_names_argument_and_range():
    with pytest.raises(OutOfRangeError) as caught:
        water.saturation_pressure(200.0)
    assert str(caught.value) == "saturation_pressure: T = 200 K lies outside 273.15..647.096 K"
