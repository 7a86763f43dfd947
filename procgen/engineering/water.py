"""Water and steam by IAPWS-IF97: what boils, how dense, how viscous, how much heat."""

from __future__ import annotations

from functools import lru_cache

from chemicals.iapws import (
    Psat_IAPWS,
    Tsat_IAPWS,
    iapws97_d2G_dtau2_region1,
    iapws97_dG0_dtau_region2,
    iapws97_dG_dtau_region1,
    iapws97_dGr_dtau_region2,
    iapws97_R,
    iapws97_region1_rho,
    iapws97_region2_rho,
)
from chemicals.viscosity import mu_IAPWS

from procgen.engineering.kernel import kernel
from procgen.engineering.sources_fluid import IAPWS_IF97, IAPWS_VISCOSITY

#: One standard atmosphere, Pa.
ATMOSPHERE = 101325.0
#: Ice point, K.
FREEZING = 273.15

LIQUID_T = (273.15, 623.15)
LIQUID_P = (0.0, 100e6)
SATURATION_T = (273.15, 647.096)
SATURATION_P = (611.213, 22.064e6)


@lru_cache(maxsize=65536)
def _psat(T: float) -> float:
    return float(Psat_IAPWS(T))


@lru_cache(maxsize=65536)
def _tsat(p: float) -> float:
    return float(Tsat_IAPWS(p))


@lru_cache(maxsize=65536)
def _rho(T: float, p: float) -> float:
    return float(iapws97_region1_rho(T, max(p, _psat(T))))


@lru_cache(maxsize=65536)
def _h(T: float, p: float) -> float:
    pressure = max(p, _psat(T))
    return float(iapws97_R * 1386.0 * iapws97_dG_dtau_region1(1386.0 / T, pressure / 16.53e6))


@lru_cache(maxsize=65536)
def _h_steam(T: float) -> float:
    tau, pi = 540.0 / T, _psat(T) / 1e6
    return float(iapws97_R * 540.0 * (iapws97_dG0_dtau_region2(tau, pi) + iapws97_dGr_dtau_region2(tau, pi)))


@lru_cache(maxsize=65536)
def _cp(T: float, p: float) -> float:
    tau = 1386.0 / T
    return float(-iapws97_R * tau * tau * iapws97_d2G_dtau2_region1(tau, max(p, _psat(T)) / 16.53e6))


@lru_cache(maxsize=65536)
def _mu(T: float) -> float:
    return float(mu_IAPWS(T, _rho(T, ATMOSPHERE)))


@kernel(T="K", returns="Pa", source=IAPWS_IF97, valid={"T": SATURATION_T})
def saturation_pressure(T: float) -> float:
    """Pressure at which water of a temperature boils.

    Formula: p_sat(T), IF97 region 4 (equation 30).
    Args:
        T: temperature, K.
    Returns: absolute pressure, Pa.
    Valid: T 273.15..647.096 K.
    Raises: OutOfRangeError.
    Source: IAPWS R7-97, table 35.

    >>> round(saturation_pressure(300.0) / 1e6, 11)
    0.00353658941
    """
    return _psat(T)


@kernel(p="Pa", returns="K", source=IAPWS_IF97, valid={"p": SATURATION_P})
def saturation_temperature(p: float) -> float:
    """Temperature at which water boils under an absolute pressure.

    Formula: T_sat(p), IF97 region 4 (equation 31).
    Args:
        p: absolute pressure, Pa.
    Returns: temperature, K.
    Valid: p 611.213 Pa..22.064 MPa.
    Raises: OutOfRangeError.
    Source: IAPWS R7-97, table 36.

    >>> round(saturation_temperature(1e5), 6)
    372.755919
    """
    return _tsat(p)


@kernel(T="K", p="Pa", returns="kg/m**3", source=IAPWS_IF97, valid={"T": LIQUID_T, "p": LIQUID_P})
def density(T: float, p: float = ATMOSPHERE) -> float:
    """Density of liquid water.

    Formula: ρ(T, max(p, p_sat(T))): liquid exists at saturation pressure or above, so a lower p means
        saturated.
    Args:
        T: temperature, K.
        p: absolute pressure, Pa.
    Returns: density, kg/m3.
    Valid: T 273.15..623.15 K; p 0..100 MPa.
    Raises: OutOfRangeError.
    Source: IAPWS R7-97, region 1, table 5 (v = 0.00100215168 m3/kg at 300 K, 3 MPa).

    >>> round(1.0 / density(300.0, 3e6), 11)
    0.00100215168
    """
    return _rho(T, p)


@kernel(T="K", returns="m**3/kg", source=IAPWS_IF97, valid={"T": LIQUID_T})
def specific_volume_liquid_saturated(T: float) -> float:
    """Specific volume of saturated liquid water.

    Formula: v'(T) = 1/ρ(T, p_sat(T)).
    Args:
        T: temperature, K.
    Returns: specific volume, m3/kg.
    Valid: T 273.15..623.15 K.
    Raises: OutOfRangeError.
    Source: IAPWS R7-97, region 1 at the pressure of region 4.
    """
    return 1.0 / _rho(T, 0.0)


@kernel(T="K", returns="kg/m**3", source=IAPWS_IF97, valid={"T": LIQUID_T})
def density_saturated_steam(T: float) -> float:
    """Density of saturated steam.

    Formula: ρ''(T) = ρ(T, p_sat(T)), IF97 region 2.
    Args:
        T: temperature, K.
    Returns: density, kg/m3.
    Valid: T 273.15..623.15 K.
    Raises: OutOfRangeError.
    Source: IAPWS R7-97, region 2.
    """
    return float(iapws97_region2_rho(T, _psat(T)))


@kernel(T="K", returns="Pa*s", source=IAPWS_VISCOSITY, valid={"T": LIQUID_T})
def viscosity(T: float) -> float:
    """Dynamic viscosity of liquid water at one atmosphere, or saturated where it would boil.

    Formula: μ(T, ρ(T)).
    Args:
        T: temperature, K.
    Returns: dynamic viscosity, Pa·s.
    Valid: T 273.15..623.15 K.
    Raises: OutOfRangeError.
    Source: IAPWS R12-08 (table 4: 889.735100 µPa·s at 298.15 K, 998 kg/m3).
    """
    return _mu(T)


@kernel(T="K", p="Pa", returns="J/kg", source=IAPWS_IF97, valid={"T": LIQUID_T, "p": LIQUID_P})
def enthalpy_liquid(T: float, p: float = ATMOSPHERE) -> float:
    """Specific enthalpy of liquid water.

    Formula: h(T, max(p, p_sat(T))) = R·T·τ·∂γ/∂τ; a p below saturation means saturated liquid.
    Args:
        T: temperature, K.
        p: absolute pressure, Pa.
    Returns: specific enthalpy, J/kg.
    Valid: T 273.15..623.15 K; p 0..100 MPa.
    Raises: OutOfRangeError.
    Source: IAPWS R7-97, region 1, table 5.

    >>> round(enthalpy_liquid(300.0, 3e6) / 1e3, 6)
    115.331273
    """
    return _h(T, p)


@kernel(T="K", returns="J/kg", source=IAPWS_IF97, valid={"T": LIQUID_T})
def enthalpy_saturated_liquid(T: float) -> float:
    """Specific enthalpy of saturated liquid water.

    Formula: h'(T) = h(T, p_sat(T)).
    Args:
        T: temperature, K.
    Returns: specific enthalpy, J/kg.
    Valid: T 273.15..623.15 K.
    Raises: OutOfRangeError.
    Source: IAPWS R7-97, region 1 at the pressure of region 4.
    """
    return _h(T, 0.0)


@kernel(T="K", returns="J/kg", source=IAPWS_IF97, valid={"T": LIQUID_T})
def enthalpy_vaporisation(T: float) -> float:
    """Heat that turns saturated water into saturated steam.

    Formula: h_fg(T) = h''(T) − h'(T).
    Args:
        T: temperature, K.
    Returns: specific enthalpy difference, J/kg.
    Valid: T 273.15..623.15 K.
    Raises: OutOfRangeError.
    Source: IAPWS R7-97, regions 1 and 2 at the pressure of region 4.
    """
    return _h_steam(T) - _h(T, 0.0)


@kernel(T="K", returns="J/(kg*K)", source=IAPWS_IF97, valid={"T": LIQUID_T})
def specific_heat(T: float) -> float:
    """Specific heat of liquid water at one atmosphere, or saturated where it would boil.

    Formula: c_p(T, max(1 atm, p_sat(T))) = −R·τ²·∂²γ/∂τ².
    Args:
        T: temperature, K.
    Returns: specific heat at constant pressure, J/(kg·K).
    Valid: T 273.15..623.15 K.
    Raises: OutOfRangeError.
    Source: IAPWS R7-97, region 1.
    """
    return _cp(T, ATMOSPHERE)


@kernel(
    T="K",
    p_upstream="Pa",
    p_outlet="Pa",
    returns="",
    source=IAPWS_IF97,
    valid={"T": LIQUID_T, "p_upstream": LIQUID_P, "p_outlet": (611.213, 16.5e6)},
)
def flash_fraction(T: float, p_upstream: float, p_outlet: float) -> float:
    """Share of the mass that turns to steam when hot water leaves into a lower pressure without losing heat.

    Formula: x = (h(T, p_upstream) − h'(T_s))/h_fg(T_s), T_s = T_sat(p_outlet); 0 where that is negative. A
        p_upstream below the saturation pressure of T means saturated liquid.
    Args:
        T: temperature of the water before the outlet, K.
        p_upstream: absolute pressure before the outlet, Pa.
        p_outlet: absolute pressure after it, Pa.
    Returns: mass fraction of steam, 0..1.
    Valid: T 273.15..623.15 K; p_upstream 0..100 MPa; p_outlet 611.213 Pa..16.5 MPa.
    Raises: OutOfRangeError.
    Source: enthalpy balance on IAPWS R7-97.
    """
    boiling = _tsat(p_outlet)
    liquid = _h(boiling, p_outlet)
    excess = _h(T, p_upstream) - liquid
    return max(0.0, excess / (_h_steam(boiling) - liquid))


@kernel(T1="K", T2="K", returns="", source=IAPWS_IF97, valid={"T1": LIQUID_T, "T2": LIQUID_T})
def expansion_ratio(T1: float, T2: float) -> float:
    """Growth of a volume of water that is heated.

    Formula: v(T2)/v(T1) − 1 at one atmosphere, saturated where it would boil; another pressure up to 10 bar
        moves the result by less than 0.05 percentage points.
    Args:
        T1: temperature before, K.
        T2: temperature after, K.
    Returns: volume added, as a share of the volume before (negative where it shrinks).
    Valid: T1, T2 273.15..623.15 K.
    Raises: OutOfRangeError.
    Source: IAPWS R7-97, region 1.
    """
    return _rho(T1, ATMOSPHERE) / _rho(T2, ATMOSPHERE) - 1.0


def temperature_of_enthalpy(h: float, p: float, near: float | None = None) -> float:
    """Temperature of liquid water of a known enthalpy, never above boiling.

    Formula: h(T, p) = h, by Newton's method; T_sat(p) where h is that of boiling water or more.
    Args:
        h: specific enthalpy, J/kg.
        p: absolute pressure, Pa.
        near: a temperature near which it is sought, K.
    Returns: temperature, K.
    Valid: h from water of 273.15 K; p 700 Pa..16.5 MPa.
    Raises: OutOfRangeError through the properties.
    Source: IAPWS R7-97, region 1, inverted.
    """
    boiling = saturation_temperature(p)
    if h >= _h(boiling, p):
        return boiling
    T = FREEZING + max(h, 0.0) / 4200.0 if near is None else near
    pi = p / 16.53e6
    for _ in range(20):
        T = min(max(T, FREEZING), boiling)
        tau = 1386.0 / T
        # h(T) − h over c_p(T), with what both have in common left out.
        slope = tau * tau * iapws97_d2G_dtau2_region1(tau, pi)
        step = (1386.0 * iapws97_dG_dtau_region1(tau, pi) - h / iapws97_R) / slope
        T += step
        # Newton's error after a step is below 2.5e-4 of its square.
        if abs(step) < 1e-3:
            break
    return float(min(max(T, FREEZING), boiling))
