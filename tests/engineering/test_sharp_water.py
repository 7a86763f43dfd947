"""Water at the cold end."""

from __future__ import annotations

import pytest

from procgen.engineering import water


def test_no_water_below_the_ice_point() -> None:
    """0 °C is 273.15 K by definition (ITS-90); an enthalpy below that of ice water names no colder water."""
    assert water.FREEZING == 273.15
    assert water.temperature_of_enthalpy(-5e3, 101325.0) == 273.15
    assert water.temperature_of_enthalpy(0.0, 101325.0) == 273.15


def test_a_standard_atmosphere() -> None:
    """101325 Pa by definition (ISO 2533)."""
    assert water.ATMOSPHERE == 101325.0
    assert water.density(288.15) == pytest.approx(water.density(288.15, 101325.0), rel=1e-15)
