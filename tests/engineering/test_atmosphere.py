"""Air against the standard's formula, published figures and an independent library."""

import doctest

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from procgen.engineering import atmosphere
from procgen.engineering.kernel import OutOfRangeError

from . import outside
from .oracle import agrees

C = 273.15


def isa(z):
    """ISO 2533, troposphere, written out."""
    H = 6356766.0 * z / (6356766.0 + z)
    return 101325.0 * (1.0 - 0.0065 * H / 288.15) ** 5.25588


def test_worked_example():
    result = doctest.testmod(atmosphere)
    assert (result.failed, result.attempted) == (0, 1)


# 5000 m: documentation of the library; the others by the same library.
@pytest.mark.parametrize(("z", "Pa"), [(0, 101325.0), (1000, 89876.3), (3000, 70121.2), (5000, 54048.286)])
def test_published_pressures(z, Pa):
    assert atmosphere.pressure_at_altitude(z) == pytest.approx(Pa, abs=0.06)


@pytest.mark.parametrize("z", [-500, 10, 800, 2600, 4999, 9000])
def test_the_formula_of_the_isa(z):
    agrees(
        atmosphere.pressure_at_altitude,
        atmosphere.pressure_at_altitude(z),
        isa(z),
        outside.ISA_FORMULA,
        rel=2e-6,
    )


@pytest.mark.parametrize(
    ("z", "celsius"), [(0, 99.97), (500, 98.31), (1000, 96.65), (1500, 94.98), (2000, 93.32), (3000, 89.98)]
)
def test_boiling_point_at_altitude(z, celsius):
    found = atmosphere.boiling_point(atmosphere.pressure_at_altitude(z))
    agrees(atmosphere.boiling_point, found - C, celsius, outside.ISA_AND_COOLPROP, abs=0.008)
    agrees(
        atmosphere.boiling_point,
        found,
        PropsSI("T", "P", isa(z), "Q", 0, "Water"),
        outside.ISA_AND_COOLPROP,
        abs=0.01,
    )


@pytest.mark.parametrize(("z", "bar"), [(0, 1.309), (500, 1.368), (1500, 1.477), (2600, 1.585)])
def test_gauge_of_a_steam_set_point(z, bar):
    gauge = atmosphere.saturation_pressure_gauge(125 + C, atmosphere.pressure_at_altitude(z))
    agrees(
        atmosphere.saturation_pressure_gauge, gauge / 1e5, bar, outside.ISA_AND_COOLPROP, abs=6e-4, unit="bar"
    )


@pytest.mark.parametrize(("z", "celsius"), [(0, 124.87), (2000, 121.68)])
def test_temperature_of_a_steam_gauge(z, celsius):
    found = atmosphere.saturation_temperature_gauge(1.3e5, atmosphere.pressure_at_altitude(z))
    agrees(atmosphere.saturation_temperature_gauge, found - C, celsius, outside.ISA_AND_COOLPROP, abs=0.008)


@given(st.floats(-500, 9000), st.floats(-500, 9000))
def test_higher_never_boils_hotter(a, b):
    low, high = sorted((a, b))
    p_low, p_high = (atmosphere.pressure_at_altitude(z) for z in (low, high))
    assert p_high <= p_low
    assert atmosphere.boiling_point(p_high) <= atmosphere.boiling_point(p_low)


@pytest.mark.parametrize("bad", [-501.0, 9001.0, float("nan")])
def test_outside_the_range(bad):
    with pytest.raises(OutOfRangeError):
        atmosphere.pressure_at_altitude(bad)


def test_gauge_below_vacuum_is_refused():
    with pytest.raises(OutOfRangeError):
        atmosphere.saturation_temperature_gauge(-1e5, 1e5)
