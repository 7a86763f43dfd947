"""Enthalpy balance of boiler water and cold water: temperature by share, share by temperature."""

from __future__ import annotations

from procgen.engineering.kernel import kernel
from procgen.engineering.sources_fluid import ENTHALPY_BALANCE
from procgen.engineering.unavailable import UnavailableError
from procgen.engineering.water import (
    enthalpy_liquid,
    enthalpy_saturated_liquid,
    saturation_temperature,
    temperature_of_enthalpy,
)

HOT = (273.15, 473.15)
OUTLET = (3e4, 1.2e6)
SHARE = (0.0, 1.0)
#: Reasons, as ids, for which a hot-water figure does not exist.
ABOVE_BOILING = "hotwater.target_above_boiling"
ABOVE_RANGE = "hotwater.target_above_range"
BELOW_RANGE = "hotwater.target_below_range"


def _mixed_enthalpy(x_hot: float, T_hot: float, T_cold: float, p_out: float) -> float:
    return x_hot * enthalpy_saturated_liquid(T_hot) + (1.0 - x_hot) * enthalpy_liquid(T_cold, p_out)


@kernel(
    x_hot="",
    T_hot="K",
    T_cold="K",
    p_out="Pa",
    returns="K",
    source=ENTHALPY_BALANCE,
    valid={"x_hot": SHARE, "T_hot": HOT, "T_cold": HOT, "p_out": OUTLET},
)
def mix_temperature(x_hot: float, T_hot: float, T_cold: float, p_out: float) -> float:
    """Temperature of boiler water mixed with cold water, at most the local boiling point.

    Formula: h_m = x·h'(T_hot) + (1 − x)·h(T_cold); T(h_m, p_out), at most T_sat(p_out).
    Args:
        x_hot: mass share of boiler water.
        T_hot: temperature of the boiler water, K.
        T_cold: temperature of the cold water, K.
        p_out: absolute pressure at the outlet, Pa.
    Returns: temperature, K.
    Valid: x_hot 0..1; T_hot, T_cold 273.15..473.15 K; p_out 30 kPa..1.2 MPa.
    Raises: OutOfRangeError.
    Source: enthalpy balance on IAPWS R7-97.
    """
    return temperature_of_enthalpy(_mixed_enthalpy(x_hot, T_hot, T_cold, p_out), p_out)


@kernel(
    T_target="K",
    T_hot="K",
    T_cold="K",
    p_out="Pa",
    returns="",
    source=ENTHALPY_BALANCE,
    valid={"T_target": HOT, "T_hot": HOT, "T_cold": HOT, "p_out": OUTLET},
)
def hot_share_for(T_target: float, T_hot: float, T_cold: float, p_out: float) -> float:
    """Mass share of boiler water that gives a temperature.

    Formula: x = (h(T_target) − h(T_cold))/(h'(T_hot) − h(T_cold)).
    Args:
        T_target: temperature wanted, K.
        T_hot: temperature of the boiler water, K.
        T_cold: temperature of the cold water, K.
        p_out: absolute pressure at the outlet, Pa.
    Returns: mass share, 0..1.
    Valid: temperatures 273.15..473.15 K; p_out 30 kPa..1.2 MPa.
    Raises: OutOfRangeError; UnavailableError hotwater.target_above_boiling, hotwater.target_above_range
        (hotter than the boiler), hotwater.target_below_range (colder than the cold water).
    Source: enthalpy balance on IAPWS R7-97.

    >>> round(hot_share_for(353.15, 398.15, 288.15, 101325.0), 4)
    0.5886
    """
    boiling = saturation_temperature(p_out)
    if T_target > boiling:
        raise UnavailableError(ABOVE_BOILING, target=T_target, boiling=boiling)
    if T_target > T_hot or T_hot <= T_cold:
        raise UnavailableError(ABOVE_RANGE, target=T_target, highest=T_hot)
    if T_target < T_cold:
        raise UnavailableError(BELOW_RANGE, target=T_target, lowest=T_cold)
    cold = enthalpy_liquid(T_cold, p_out)
    share = (enthalpy_liquid(T_target, p_out) - cold) / (enthalpy_saturated_liquid(T_hot) - cold)
    return min(1.0, share)
