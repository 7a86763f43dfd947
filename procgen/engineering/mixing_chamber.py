"""The chamber where boiler water meets cold water: its balance, and the same balance solved for a target."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

from procgen.engineering.hydraulics import BORE, PRESSURE
from procgen.engineering.mixing_balance import BELOW_RANGE, HOT, hot_share_for
from procgen.engineering.ranges import within
from procgen.engineering.unavailable import UnavailableError
from procgen.engineering.water import (
    density,
    enthalpy_liquid,
    enthalpy_saturated_liquid,
    saturation_pressure,
    temperature_of_enthalpy,
)

AIR = (3e4, 1.2e5)
DISCHARGE = (0.1, 1.0)
#: Reasons, as ids, for which a hot-water figure does not exist; more in mixing_balance.
COLD_NOT_ABOVE_STEAM = "hotwater.cold_pressure_not_above_steam"
NO_STEAM_PRESSURE = "hotwater.no_steam_pressure"


class MixingChamber(NamedTuple):
    """Hot and cold restrictor into one chamber, and its outlet: bores in m, discharge coefficients."""

    hot_bore: float
    hot_cd: float
    cold_bore: float
    cold_cd: float
    outlet_bore: float
    outlet_cd: float


class MixState(NamedTuple):
    """What a mixing chamber gives: K, mass share, kg/s, m3/s of water, Pa gauge."""

    temperature: float
    x_hot: float
    hot_mass_flow: float
    cold_mass_flow: float
    flow: float
    chamber_gauge: float


@lru_cache(maxsize=4096)
def chamber_state(
    chamber: MixingChamber, cold_gauge: float, T_hot: float, T_cold: float, p_atm: float
) -> MixState:
    """Outlet of a mixing chamber: cold water against boiler water pushed by the steam.

    Formula: ρ_h·Q_h(p_s − p_m) + ρ_c·Q_c(p_c − p_m) = ρ_m·Q_o(p_m), each Q an orifice; p_s = p_sat(T_hot) −
        p_atm; the chamber pressure p_m lies between outlet and steam, or above the steam (a check valve then
        stops the boiler water). Temperature by mix_temperature with x = m_h/(m_h + m_c).
    Args:
        chamber: bores and coefficients.
        cold_gauge: pressure of the cold water before its restrictor while it flows, Pa gauge.
        T_hot: temperature of the boiler water (saturated), K.
        T_cold: temperature of the cold water, K.
        p_atm: absolute pressure of the air, Pa.
    Returns: MixState.
    Valid: cold_gauge 0..20 MPa; T_hot, T_cold 273.15..473.15 K; p_atm 30..120 kPa. Flashing in the hot
        restrictor and the spout is not modelled: their coefficients are the maker's effective ones.
    Raises: OutOfRangeError; UnavailableError hotwater.no_steam_pressure,
        hotwater.cold_pressure_not_above_steam (boiler water would be pushed into the cold line, or leave
        unmixed).
    Source: continuity, orifice equation, enthalpy balance.
    """
    within("chamber_state", "cold_gauge", cold_gauge, *PRESSURE, "Pa")
    within("chamber_state", "p_atm", p_atm, *AIR, "Pa")
    within("chamber_state", "T_hot", T_hot, *HOT, "K")
    within("chamber_state", "T_cold", T_cold, *HOT, "K")
    steam = saturation_pressure(T_hot) - p_atm
    if steam <= 0.0:
        raise UnavailableError(NO_STEAM_PRESSURE, steam_gauge=steam)
    if cold_gauge <= steam:
        raise UnavailableError(COLD_NOT_ABOVE_STEAM, cold_gauge=cold_gauge, steam_gauge=steam)
    hot, cold, p, T = _balance(chamber, cold_gauge, steam, T_hot, T_cold, p_atm)
    x = hot / (hot + cold)
    return MixState(T, x, hot, cold, (hot + cold) / density(T), p)


def _mass_factor(bore: float, discharge: float, rho: float) -> float:
    """What the root of a pressure difference is multiplied by for the mass flow of an orifice, kg/(s·√Pa)."""
    return discharge * math.pi / 4.0 * bore * bore * math.sqrt(2.0 * rho)


def _balance(
    c: MixingChamber, cold_gauge: float, steam: float, T_hot: float, T_cold: float, p_atm: float
) -> tuple[float, float, float, float]:
    """Mass flows of boiler and cold water, chamber pressure and outlet temperature.

    The outlet's density hardly moves with the temperature: it is corrected until the pressure stands still.
    """
    for bore, cd in ((c.hot_bore, c.hot_cd), (c.cold_bore, c.cold_cd), (c.outlet_bore, c.outlet_cd)):
        within("chamber_state", "bore", bore, *BORE, "m")
        within("chamber_state", "discharge coefficient", cd, *DISCHARGE, "")
    h = _mass_factor(c.hot_bore, c.hot_cd, density(T_hot))
    k = _mass_factor(c.cold_bore, c.cold_cd, density(T_cold))
    enthalpy_hot, enthalpy_cold = enthalpy_saturated_liquid(T_hot), enthalpy_liquid(T_cold, p_atm)
    # As if nothing held the flows back: only where the search begins.
    hot, cold = h * math.sqrt(steam), k * math.sqrt(cold_gauge)
    T, before = (hot * T_hot + cold * T_cold) / (hot + cold), math.inf
    while True:
        o = _mass_factor(c.outlet_bore, c.outlet_cd, density(T))
        p = _chamber_pressure(h, k, o, steam, cold_gauge, before)
        hot, cold = h * math.sqrt(max(0.0, steam - p)), k * math.sqrt(max(0.0, cold_gauge - p))
        mixed = (hot * enthalpy_hot + cold * enthalpy_cold) / (hot + cold)
        # The next search begins where the one before ended.
        T = temperature_of_enthalpy(mixed, p_atm, T)
        # Each turn brings the pressure some fifty times nearer: what is left is far smaller than this step.
        if abs(p - before) <= 1e-7 * cold_gauge:
            return hot, cold, p, T
        before = p


def _chamber_pressure(h: float, k: float, o: float, steam: float, cold_gauge: float, near: float) -> float:
    """Pressure at which what enters leaves: Newton's method kept inside a bracket that closes.

    It begins at ``near`` where that lies inside the bracket.
    """
    low, high = 0.0, cold_gauge
    p = near
    if not low < p < high:
        p = min(steam, cold_gauge) * (h + k) ** 2 / ((h + k) ** 2 + o * o)
    for _ in range(100):
        hot = math.sqrt(steam - p) if p < steam else 0.0
        cold = math.sqrt(cold_gauge - p) if p < cold_gauge else 0.0
        out = math.sqrt(p)
        surplus = h * hot + k * cold - o * out
        if surplus > 0.0:
            low = p
        else:
            high = p
        slope = (h / hot if hot else 0.0) + (k / cold if cold else 0.0) + (o / out if out else 0.0)
        step = 2.0 * surplus / slope if slope else 0.0
        new = p + step
        if not low < new < high:
            new = 0.5 * (low + high)
        if abs(new - p) <= 1e-13 * cold_gauge:
            return new
        p = new
    return p


def _wanted(
    T_target: float, c: MixingChamber, T_hot: float, T_cold: float, p_atm: float
) -> tuple[float, float]:
    """Cold mass flow and chamber pressure at which the mixture has a temperature.

    The target fixes the shares, and these the chamber pressure: what the steam pushes in, divided by its
    share, must leave, h·√(p_s − p_m)/x = o·√p_m.
    """
    share = hot_share_for(T_target, T_hot, T_cold, p_atm)
    steam = saturation_pressure(T_hot) - p_atm
    if steam <= 0.0:
        raise UnavailableError(NO_STEAM_PRESSURE, steam_gauge=steam)
    if share <= 0.0:
        raise UnavailableError(BELOW_RANGE, target=T_target, lowest=T_cold)
    into = (_mass_factor(c.hot_bore, c.hot_cd, density(T_hot)) / share) ** 2
    out = _mass_factor(c.outlet_bore, c.outlet_cd, density(T_target)) ** 2
    chamber = steam * into / (into + out)
    return math.sqrt(out * chamber) * (1.0 - share), chamber


def wanted_cold_pressure(
    T_target: float, chamber: MixingChamber, T_hot: float, T_cold: float, p_atm: float
) -> float:
    """Cold-water pressure that gives a temperature, whatever the adjuster reaches.

    Formula: p_c = p_m + (m_c/k)², with p_m and m_c from the shares that give the target.
    Args:
        T_target: temperature wanted, K.
        chamber: bores and coefficients.
        T_hot: temperature of the boiler water, K.
        T_cold: temperature of the cold water, K.
        p_atm: absolute pressure of the air, Pa.
    Returns: pressure before the cold restrictor while it flows, Pa gauge.
    Valid: T_target 273.15..473.15 K; as chamber_state.
    Raises: OutOfRangeError; UnavailableError hotwater.target_above_boiling, hotwater.target_above_range,
        hotwater.target_below_range, hotwater.no_steam_pressure.
    Source: continuity, orifice equation, enthalpy balance, solved in closed form.
    """
    within("wanted_cold_pressure", "T_target", T_target, *HOT, "K")
    c = chamber
    cold, pressure = _wanted(T_target, c, T_hot, T_cold, p_atm)
    return pressure + (cold / _mass_factor(c.cold_bore, c.cold_cd, density(T_cold))) ** 2


def wanted_cold_bore(
    T_target: float,
    chamber: MixingChamber,
    cold_gauge: float,
    T_hot: float,
    T_cold: float,
    p_atm: float,
) -> float:
    """Bore of the cold restrictor that gives a temperature, whatever positions there are.

    Formula: m_c = Cd·(π/4)·d²·√(2·ρ_c·(p_c − p_m)), with p_m and m_c from the shares that give the target.
    Args:
        T_target: temperature wanted, K.
        chamber: bores and coefficients; its cold bore is not read.
        cold_gauge: pressure of the cold water while it flows, Pa gauge.
        T_hot: temperature of the boiler water, K.
        T_cold: temperature of the cold water, K.
        p_atm: absolute pressure of the air, Pa.
    Returns: equivalent bore, m.
    Valid: T_target 273.15..473.15 K; as chamber_state.
    Raises: OutOfRangeError; UnavailableError as wanted_cold_pressure, and
        hotwater.cold_pressure_not_above_steam.
    Source: continuity, orifice equation, enthalpy balance, solved in closed form.
    """
    within("wanted_cold_bore", "T_target", T_target, *HOT, "K")
    cold, pressure = _wanted(T_target, chamber, T_hot, T_cold, p_atm)
    steam = saturation_pressure(T_hot) - p_atm
    if cold_gauge <= steam:
        raise UnavailableError(COLD_NOT_ABOVE_STEAM, cold_gauge=cold_gauge, steam_gauge=steam)
    unit = _mass_factor(1.0, chamber.cold_cd, density(T_cold)) * math.sqrt(cold_gauge - pressure)
    return math.sqrt(cold / unit)
