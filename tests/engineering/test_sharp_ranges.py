"""Ends of the valid ranges of the water, pump and heat formulas, typed again and tried to the last digit.

Source of the figures: the ranges that the formulas' pages state ("Valid"); ends of IAPWS R7-97 regions 1
and 4 (273.15 K, 623.15 K, 647.096 K; 611.213 Pa, 22.064 MPa, 100 MPa).
"""

from __future__ import annotations

import contextlib
import math
from typing import Any

import pytest

from procgen.engineering import atmosphere, filling, heating, hydraulics, mixing, mixing_balance, pump, water
from procgen.engineering.kernel import Kernel, OutOfRangeError
from procgen.engineering.unavailable import UnavailableError

MPA, KPA, MM = 1e6, 1e3, 1e-3
LIQUID = (273.15, 623.15)
STEAM = (273.15, 647.096)
AIR = (30 * KPA, 120 * KPA)
ROOM = (233.15, 333.15)
ONE = (0.0, 1.0)
FLOW = (0.0, 1.0)
SOME_FLOW = (1e-9, 1.0)
BORE = (0.01 * MM, 1.0)
BAR200 = (0.0, 20 * MPA)
BAR50 = (0.0, 5 * MPA)
DRINK = (273.15, 473.15)
SPOUT = (30 * KPA, 1.2 * MPA)
WATT = (0.0, 1 * MPA)
CAPACITY = (1e-3, 1e9)
SETTING = {"setting_gauge": BAR50, "reference_inlet_gauge": BAR50}
DRAW = {"brew_flow": (0.0, 0.01), "bypass_slope": (0.0, 1e12)}
SLIP = {"displacement_flow": (0.0, 0.01), "slip_flow_per_Pa": (0.0, 1e-6)}
CURVE = ((1e-4, 2e4), (2e-4, 5e4))

Ends = dict[str, tuple[float, float]]

RANGES: list[tuple[Kernel[..., Any], dict[str, Any], Ends]] = [
    (atmosphere.pressure_at_altitude, {"z": 100.0}, {"z": (-500.0, 9000.0)}),
    (atmosphere.boiling_point, {"p": 1e5}, {"p": (611.213, 22.064 * MPA)}),
    (atmosphere.saturation_pressure_gauge, {"T": 390.0, "p_atm": 1e5}, {"T": STEAM, "p_atm": AIR}),
    (
        atmosphere.saturation_temperature_gauge,
        {"p_gauge": 1e5, "p_atm": 1e5},
        {"p_gauge": (-0.1 * MPA, 20 * MPA), "p_atm": AIR},
    ),
    (water.saturation_pressure, {"T": 390.0}, {"T": (273.15, 647.096)}),
    (water.saturation_temperature, {"p": 1e5}, {"p": (611.213, 22.064 * MPA)}),
    (water.density, {"T": 300.0, "p": 1e5}, {"T": LIQUID, "p": (0.0, 100 * MPA)}),
    (water.specific_volume_liquid_saturated, {"T": 300.0}, {"T": LIQUID}),
    (water.density_saturated_steam, {"T": 300.0}, {"T": LIQUID}),
    (water.viscosity, {"T": 300.0}, {"T": LIQUID}),
    (water.enthalpy_liquid, {"T": 300.0, "p": 1e5}, {"T": LIQUID, "p": (0.0, 100 * MPA)}),
    (water.enthalpy_saturated_liquid, {"T": 300.0}, {"T": LIQUID}),
    (water.enthalpy_vaporisation, {"T": 300.0}, {"T": LIQUID}),
    (water.specific_heat, {"T": 300.0}, {"T": LIQUID}),
    (
        water.flash_fraction,
        {"T": 400.0, "p_upstream": 1e6, "p_outlet": 1e5},
        {"T": LIQUID, "p_upstream": (0.0, 100 * MPA), "p_outlet": (611.213, 16.5 * MPA)},
    ),
    (water.expansion_ratio, {"T1": 290.0, "T2": 360.0}, {"T1": LIQUID, "T2": LIQUID}),
    (hydraulics.velocity, {"Q": 1e-4, "d": 0.01}, {"Q": FLOW, "d": BORE}),
    (hydraulics.reynolds, {"Q": 1e-4, "d": 0.01, "T": 290.0}, {"Q": FLOW, "d": BORE, "T": LIQUID}),
    (
        hydraulics.friction_factor,
        {"Re": 1e5, "rel_roughness": 1e-4},
        {"Re": (1e-9, 1e8), "rel_roughness": (0.0, 0.05)},
    ),
    (
        hydraulics.pipe_loss,
        {"Q": 1e-4, "d": 0.2, "L": 1.0, "roughness": 1e-6, "T": 290.0},
        {"Q": FLOW, "d": BORE, "L": (0.0, 10e3), "roughness": (0.0, 10 * MM), "T": LIQUID},
    ),
    (
        hydraulics.fitting_loss,
        {"Q": 1e-4, "d": 0.01, "K": 1.0, "T": 290.0},
        {"Q": FLOW, "d": BORE, "K": (0.0, 1e6), "T": LIQUID},
    ),
    (
        hydraulics.orifice_flow,
        {"dp": 1e5, "d": 1e-3, "Cd": 0.6, "T": 290.0},
        {"dp": BAR200, "d": BORE, "Cd": (0.1, 1.0), "T": LIQUID},
    ),
    (
        hydraulics.orifice_loss,
        {"Q": 1e-5, "d": 1e-3, "Cd": 0.6, "T": 290.0},
        {"Q": FLOW, "d": BORE, "Cd": (0.1, 1.0), "T": LIQUID},
    ),
    (hydraulics.static_head, {"height": 1.0, "T": 290.0}, {"height": (-1000.0, 1000.0), "T": LIQUID}),
    (hydraulics.treatment_loss, {"Q": 1e-4, "points": CURVE}, {"Q": FLOW}),
    (
        hydraulics.flowing_supply_pressure_gauge,
        {"Q": 1e-4, "static_gauge": 4e5, "flow_measured": 3e-4, "flowing_gauge": 3e5},
        {"Q": FLOW, "static_gauge": BAR200, "flow_measured": SOME_FLOW, "flowing_gauge": BAR200},
    ),
    (
        hydraulics.reducer_outlet,
        {
            "p_in_gauge": 5e5, "setting_gauge": 3e5, "Q": 1e-4, "nominal_flow": 2e-4,
            "droop_fraction": 0.1, "open_loss": 1e4,
        },
        {
            "p_in_gauge": (-0.1 * MPA, 20 * MPA), "setting_gauge": BAR200, "Q": FLOW, "nominal_flow": ONE,
            "droop_fraction": (0.0, 0.9), "open_loss": BAR200,
        },
    ),
    (filling.fill_time, {"V": 0.01, "Q": 1e-4}, {"V": (0.0, 100.0), "Q": SOME_FLOW}),
    (filling.pump_runs, {"t": 100.0, "timeout": 60.0}, {"t": (0.0, 1e7), "timeout": (1.0, 1e5)}),
    (filling.resets, {"t": 100.0, "timeout": 60.0}, {"t": (0.0, 1e7), "timeout": (1.0, 1e5)}),
    (filling.stop_and_check_runs, {"worst_runs": 2}, {"worst_runs": (1, 10000)}),
    (filling.trapped_air_share, {"fill_gauge": 3e5, "p_atm": 1e5}, {"fill_gauge": BAR50, "p_atm": AIR}),
    (filling.filled_share, {"fill_gauge": 3e5, "p_atm": 1e5}, {"fill_gauge": BAR50, "p_atm": AIR}),
    (
        filling.closed_fill_time,
        {"V": 0.01, "fill_flow": 1e-4, "fill_gauge": 3e5, "p_atm": 1e5},
        {"V": (0.0, 100.0), "fill_flow": SOME_FLOW, "fill_gauge": (1.0, 5 * MPA), "p_atm": AIR},
    ),
    (
        heating.element_power,
        {"P_rated": 1e3, "U_rated": 230.0, "U": 220.0},
        {"P_rated": WATT, "U_rated": (1.0, 1000.0), "U": (0.0, 1000.0)},
    ),
    (heating.element_power_lowest, {"P_rated": 1e3}, {"P_rated": (200.0, 1e6)}),
    (heating.element_power_highest, {"P_rated": 1e3}, {"P_rated": (200.0, 1e6)}),
    (
        heating.time_off,
        {"C": 3e4, "UA": 4.0, "loss": 400.0, "difference": 1.0},
        {"C": CAPACITY, "UA": (0.0, 10e3), "loss": WATT, "difference": (0.001, 60.0)},
    ),
    (
        heating.time_on,
        {"C": 3e4, "UA": 4.0, "P": 3e3, "loss": 400.0, "difference": 1.0},
        {"C": CAPACITY, "UA": (0.0, 10e3), "P": WATT, "loss": WATT, "difference": (0.001, 60.0)},
    ),
    (
        heating.time_soak,
        {
            "C_group": 2e3, "UA_group": 5.0, "UA_room": 1.0, "T_boiler": 366.0, "T_amb": 293.0,
            "T_start": 300.0, "difference": 2.0,
        },
        {
            "C_group": CAPACITY, "UA_group": (1e-6, 1e4), "UA_room": (0.0, 1e4), "T_boiler": LIQUID,
            "T_amb": ROOM, "T_start": (233.15, 623.15), "difference": (0.001, 100.0),
        },
    ),
    (
        heating.preheated_feed_temperature,
        {"T_feed": 290.0, "T_steam": 398.0, "effectiveness": 0.4},
        {"T_feed": LIQUID, "T_steam": LIQUID, "effectiveness": ONE},
    ),
    (
        heating.recovery_time,
        {"m_draw": 0.1, "T_feed": 290.0, "T_set": 366.0, "P": 2e3, "loss": 100.0},
        {"m_draw": (0.0, 1000.0), "T_feed": LIQUID, "T_set": LIQUID, "P": WATT, "loss": WATT},
    ),
    (
        heating.expansion_volume,
        {"V": 0.01, "T1": 290.0, "T2": 360.0},
        {"V": (0.0, 100.0), "T1": LIQUID, "T2": LIQUID},
    ),
    (
        mixing_balance.mix_temperature,
        {"x_hot": 0.5, "T_hot": 398.0, "T_cold": 288.0, "p_out": 1e5},
        {"x_hot": ONE, "T_hot": DRINK, "T_cold": DRINK, "p_out": SPOUT},
    ),
    (
        mixing_balance.hot_share_for,
        {"T_target": 353.0, "T_hot": 398.0, "T_cold": 288.0, "p_out": 1e5},
        {"T_target": DRINK, "T_hot": DRINK, "T_cold": DRINK, "p_out": SPOUT},
    ),
    (
        mixing.diluted_temperature,
        {
            "duty": 0.5, "hot_mass_flow": 0.05, "cold_mass_flow": 0.05, "T_hot": 398.0, "T_cold": 288.0,
            "p_out": 1e5,
        },
        {
            "duty": ONE, "hot_mass_flow": (1e-9, 100.0), "cold_mass_flow": (0.0, 100.0), "T_hot": DRINK,
            "T_cold": DRINK, "p_out": SPOUT,
        },
    ),
    (
        mixing.duty_for,
        {
            "T_target": 353.0, "hot_mass_flow": 0.05, "cold_mass_flow": 0.05, "T_hot": 398.0,
            "T_cold": 288.0, "p_out": 1e5,
        },
        {
            "T_target": DRINK, "hot_mass_flow": (1e-9, 100.0), "cold_mass_flow": (1e-9, 100.0),
            "T_hot": DRINK, "T_cold": DRINK, "p_out": SPOUT,
        },
    ),
    (
        pump.outlet_pressure_gauge,
        {"inlet_gauge": 3e5, "setting_gauge": 9e5, "reference_inlet_gauge": 3e5},
        {"inlet_gauge": BAR50, **SETTING},
    ),
    (pump.bypass_rise, {"setting_gauge": 9e5, "reference_inlet_gauge": 3e5}, SETTING),
    (
        pump.setting_for,
        {"target_gauge": 9e5, "inlet_in_service_gauge": 3e5, "inlet_at_setting_gauge": 4e5},
        {"target_gauge": BAR50, "inlet_in_service_gauge": BAR50, "inlet_at_setting_gauge": BAR50},
    ),
    (
        pump.static_setting_gauge,
        {"setting_gauge": 9e5, "inlet_flowing_gauge": 3e5, "inlet_static_gauge": 4e5},
        {"setting_gauge": BAR50, "inlet_flowing_gauge": BAR50, "inlet_static_gauge": BAR50, **DRAW},
    ),
    (
        pump.maximum_outlet_gauge,
        {"setting_gauge": 9e5, "reference_inlet_gauge": 3e5, "highest_inlet_gauge": 4e5},
        {**SETTING, "highest_inlet_gauge": BAR50, **DRAW},
    ),
    (
        pump.delivered_flow,
        {"dp": 6e5, "displacement_flow": 5e-5, "slip_flow_per_Pa": 1e-12},
        {"dp": (-5 * MPA, 5 * MPA), **SLIP},
    ),
    (
        pump.pump_flow_limit,
        {"rise": 6e5, "displacement_flow": 5e-5, "slip_flow_per_Pa": 1e-12},
        {"rise": BAR50, **SLIP},
    ),
]  # fmt: skip


@pytest.mark.parametrize(("kernel", "good", "ends"), RANGES, ids=lambda part: getattr(part, "__name__", ""))
def test_the_ends_of_a_range(kernel: Kernel[..., Any], good: dict[str, Any], ends: Ends) -> None:
    kernel(**good)
    assert set(kernel.info.valid) == set(ends)
    for name, (low, high) in ends.items():
        assert kernel.info.valid[name] == pytest.approx((low, high), rel=1e-14, abs=0.0)
        exact_low, exact_high = kernel.info.valid[name]
        assert exact_low is not None
        assert exact_high is not None
        for inside in (exact_low, exact_high):
            with contextlib.suppress(UnavailableError):
                try:
                    kernel(**{**good, name: inside})
                except OutOfRangeError as other:
                    # Another argument, or a bound that the combination sets.
                    assert (other.argument, other.low, other.high) != (name, exact_low, exact_high)
        for outside in (math.nextafter(exact_low, -math.inf), math.nextafter(exact_high, math.inf)):
            with pytest.raises(OutOfRangeError) as caught:
                kernel(**{**good, name: outside})
            assert (caught.value.argument, caught.value.low, caught.value.high) == (
                name,
                exact_low,
                exact_high,
            )
