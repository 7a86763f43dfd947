"""Air: what the barometer reads at an altitude, and what that does to boiling."""

from __future__ import annotations

from functools import lru_cache

from fluids.atmosphere import ATMOSPHERE_1976

from procgen.engineering.kernel import kernel
from procgen.engineering.sources_fluid import IAPWS_IF97, ISA
from procgen.engineering.water import SATURATION_P, SATURATION_T, saturation_pressure, saturation_temperature

ALTITUDE = (-500.0, 9000.0)


@lru_cache(maxsize=4096)
def _pressure(z: float) -> float:
    return float(ATMOSPHERE_1976(z).P)


@kernel(z="m", returns="Pa", source=ISA, valid={"z": ALTITUDE})
def pressure_at_altitude(z: float) -> float:
    """Pressure of the standard atmosphere; the weather moves it by about ±3 % (from memory).

    Formula: H = 6356766·z/(6356766 + z); p = 101325·(1 − 0.0065·H/288.15)^5.25588.
    Args:
        z: altitude above sea level, m.
    Returns: absolute pressure, Pa.
    Valid: z −500..9000 m.
    Raises: OutOfRangeError.
    Source: ISO 2533 / US Standard Atmosphere 1976; the example is from the library's documentation.

    >>> round(pressure_at_altitude(5000.0), 3)
    54048.286
    """
    return _pressure(z)


@kernel(p="Pa", returns="K", source=IAPWS_IF97, valid={"p": SATURATION_P})
def boiling_point(p: float) -> float:
    """Temperature at which water boils in the open under an atmospheric pressure.

    Formula: T_sat(p).
    Args:
        p: absolute pressure of the air, Pa.
    Returns: temperature, K.
    Valid: p 611.213 Pa..22.064 MPa.
    Raises: OutOfRangeError.
    Source: IAPWS R7-97, region 4.
    """
    return saturation_temperature(p)


@kernel(T="K", p_atm="Pa", returns="Pa", source=IAPWS_IF97, valid={"T": SATURATION_T, "p_atm": (3e4, 1.2e5)})
def saturation_pressure_gauge(T: float, p_atm: float) -> float:
    """What a gauge on a boiler of saturated steam reads; negative below the local boiling point.

    Formula: p_sat(T) − p_atm.
    Args:
        T: temperature in the boiler, K.
        p_atm: absolute pressure of the air, Pa.
    Returns: gauge pressure, Pa.
    Valid: T 273.15..647.096 K; p_atm 30..120 kPa.
    Raises: OutOfRangeError.
    Source: IAPWS R7-97, region 4.
    """
    return saturation_pressure(T) - p_atm


@kernel(
    p_gauge="Pa",
    p_atm="Pa",
    returns="K",
    source=IAPWS_IF97,
    valid={"p_gauge": (-1e5, 2e7), "p_atm": (3e4, 1.2e5)},
)
def saturation_temperature_gauge(p_gauge: float, p_atm: float) -> float:
    """Temperature of saturated steam at a gauge pressure.

    Formula: T_sat(p_gauge + p_atm).
    Args:
        p_gauge: gauge pressure, Pa.
        p_atm: absolute pressure of the air, Pa.
    Returns: temperature, K.
    Valid: p_gauge −0.1..20 MPa with a sum of at least 611.213 Pa; p_atm 30..120 kPa.
    Raises: OutOfRangeError.
    Source: IAPWS R7-97, region 4.
    """
    return saturation_temperature(p_gauge + p_atm)
