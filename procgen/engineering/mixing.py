"""Hot water from the steam boiler, cooled with cold water: temperature by setting, setting by target."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from procgen.engineering.hydraulics import BORE, PRESSURE
from procgen.engineering.kernel import OutOfRangeError, kernel
from procgen.engineering.mixing_balance import (
    ABOVE_RANGE,
    BELOW_RANGE,
    HOT,
    OUTLET,
    SHARE,
    hot_share_for,
    mix_temperature,
)
from procgen.engineering.mixing_chamber import (
    COLD_NOT_ABOVE_STEAM,
    MixingChamber,
    MixState,
    chamber_state,
    wanted_cold_bore,
    wanted_cold_pressure,
)
from procgen.engineering.ranges import within
from procgen.engineering.sources_fluid import ENTHALPY_BALANCE
from procgen.engineering.unavailable import UnavailableError
from procgen.engineering.water import saturation_pressure, saturation_temperature

__all__ = [
    "MixState",
    "MixingChamber",
    "ThermostaticValve",
    "chamber_state",
    "cold_bore_for",
    "cold_pressure_for",
    "diluted_temperature",
    "duty_for",
    "hot_share_for",
    "mix_temperature",
    "mixing_table",
    "thermostatic_temperature",
    "wanted_cold_bore",
    "wanted_cold_pressure",
    "with_cold_bore",
]

#: Reasons, as ids, for which a hot-water figure does not exist; more in mixing_balance and mixing_chamber.
VALVE_HOT_TOO_COLD = "hotwater.valve_hot_too_cold"
VALVE_PRESSURE_RATIO = "hotwater.valve_pressure_ratio"
VALVE_PRESSURE_LOW = "hotwater.valve_pressure_low"


def cold_pressure_for(
    T_target: float,
    chamber: MixingChamber,
    T_hot: float,
    T_cold: float,
    p_atm: float,
    *,
    lowest_gauge: float = 0.0,
    highest_gauge: float,
) -> float:
    """Cold-water pressure (pump setting) that gives a temperature.

    Formula: wanted_cold_pressure, refused outside the range of settings.
    Args:
        T_target: temperature wanted, K.
        chamber: bores and coefficients.
        T_hot: temperature of the boiler water, K.
        T_cold: temperature of the cold water, K.
        p_atm: absolute pressure of the air, Pa.
        lowest_gauge: lowest setting, Pa gauge; steam pressure bounds it too.
        highest_gauge: highest setting, Pa gauge.
    Returns: pressure before the cold restrictor while it flows, Pa gauge.
    Valid: as chamber_state.
    Raises: OutOfRangeError; UnavailableError as chamber_state and hotwater.target_above_boiling,
        hotwater.target_above_range, hotwater.target_below_range.
    Source: continuity, orifice equation, enthalpy balance.
    """
    within("cold_pressure_for", "T_target", T_target, *HOT, "K")
    within("cold_pressure_for", "highest_gauge", highest_gauge, *PRESSURE, "Pa")
    within("cold_pressure_for", "lowest_gauge", lowest_gauge, *PRESSURE, "Pa")
    steam = saturation_pressure(T_hot) - p_atm
    # Just above the steam pressure is the hottest setting that still mixes.
    low = max(lowest_gauge, steam * (1.0 + 1e-6))
    if highest_gauge <= low:
        raise UnavailableError(COLD_NOT_ABOVE_STEAM, cold_gauge=highest_gauge, steam_gauge=steam)

    wanted = wanted_cold_pressure(T_target, chamber, T_hot, T_cold, p_atm)
    return _reachable(
        wanted,
        low,
        highest_gauge,
        lambda p: chamber_state(chamber, p, T_hot, T_cold, p_atm),
        T_target,
    )


def _reachable(
    wanted: float, low: float, high: float, state: Callable[[float], MixState], target: float
) -> float:
    """The wanted setting, refused outside what the adjuster reaches; a higher setting is colder."""
    if wanted < low * (1.0 - 1e-9):
        raise UnavailableError(ABOVE_RANGE, target=target, highest=state(low).temperature)
    if wanted > high * (1.0 + 1e-9):
        raise UnavailableError(BELOW_RANGE, target=target, lowest=state(high).temperature)
    return min(max(wanted, low), high)


def cold_bore_for(
    T_target: float,
    chamber: MixingChamber,
    cold_gauge: float,
    T_hot: float,
    T_cold: float,
    p_atm: float,
    smallest: float,
    largest: float,
) -> float:
    """Opening of the cold restrictor that gives a temperature at the pressure that is there.

    Formula: wanted_cold_bore, refused outside the range of bores.
    Args:
        T_target: temperature wanted, K.
        chamber: bores and coefficients; its cold bore is replaced.
        cold_gauge: pressure of the cold water while it flows, Pa gauge.
        T_hot: temperature of the boiler water, K.
        T_cold: temperature of the cold water, K.
        p_atm: absolute pressure of the air, Pa.
        smallest: smallest equivalent bore of the restrictor, m.
        largest: largest equivalent bore, m.
    Returns: equivalent bore, m.
    Valid: as chamber_state; bores 0.01 mm..1 m.
    Raises: OutOfRangeError; UnavailableError as cold_pressure_for.
    Source: continuity, orifice equation, enthalpy balance.
    """
    within("cold_bore_for", "T_target", T_target, *HOT, "K")
    if not BORE[0] <= smallest < largest <= BORE[1]:
        raise OutOfRangeError("cold_bore_for", "smallest", smallest, BORE[0], largest, "m")

    wanted = wanted_cold_bore(T_target, chamber, cold_gauge, T_hot, T_cold, p_atm)
    return _reachable(
        wanted,
        smallest,
        largest,
        lambda d: chamber_state(with_cold_bore(chamber, d), cold_gauge, T_hot, T_cold, p_atm),
        T_target,
    )


def with_cold_bore(chamber: MixingChamber, bore: float) -> MixingChamber:
    """The same chamber with another cold restrictor (bore in m)."""
    c = chamber
    return MixingChamber(c.hot_bore, c.hot_cd, bore, c.cold_cd, c.outlet_bore, c.outlet_cd)


def mixing_table(
    chamber: MixingChamber, settings_gauge: tuple[float, ...], T_hot: float, T_cold: float, p_atm: float
) -> tuple[tuple[float, MixState | None], ...]:
    """Outlet for each setting of the cold-water pressure.

    Formula: chamber_state at each setting.
    Args:
        chamber: bores and coefficients.
        settings_gauge: cold-water pressures, Pa gauge.
        T_hot: temperature of the boiler water, K.
        T_cold: temperature of the cold water, K.
        p_atm: absolute pressure of the air, Pa.
    Returns: (setting Pa gauge, MixState), None where that setting does not exceed the steam pressure.
    Valid: as chamber_state.
    Raises: OutOfRangeError; UnavailableError hotwater.no_steam_pressure.
    Source: continuity, orifice equation, enthalpy balance.
    """
    rows: list[tuple[float, MixState | None]] = []
    for setting in settings_gauge:
        try:
            rows.append((setting, chamber_state(chamber, setting, T_hot, T_cold, p_atm)))
        except UnavailableError as error:
            if error.id != COLD_NOT_ABOVE_STEAM:
                raise
            rows.append((setting, None))
    return tuple(rows)


@dataclass(frozen=True)
class ThermostaticValve:
    """Limits of a thermostatic mixing valve by its maker: K, ratio, Pa."""

    T_min: float
    T_max: float
    #: The hot inlet must exceed the set temperature by this difference, K.
    hot_excess: float
    #: Largest ratio of the two inlet pressures, either way.
    pressure_ratio_max: float
    #: Lowest flowing pressure at either inlet, Pa gauge.
    pressure_min_gauge: float = 0.0


def thermostatic_temperature(
    valve: ThermostaticValve,
    T_set: float,
    T_hot: float,
    hot_gauge: float,
    cold_gauge: float,
    T_cold: float,
    p_atm: float,
) -> float:
    """Outlet temperature of a thermostatic valve: what it is set to, where it can regulate.

    Formula: min(T_set, T_sat(p_atm)) within the valve's limits. The setting is its own inverse.
    Args:
        valve: its limits.
        T_set: set temperature, K.
        T_hot: temperature of the hot inlet, K.
        hot_gauge: flowing pressure at the hot inlet, Pa gauge.
        cold_gauge: flowing pressure at the cold inlet, Pa gauge.
        T_cold: temperature of the cold inlet, K.
        p_atm: absolute pressure of the air, Pa.
    Returns: temperature, K.
    Valid: T_set within the valve's range, above T_cold and below T_hot less the excess it needs.
    Raises: OutOfRangeError; UnavailableError hotwater.target_above_range, hotwater.target_below_range,
        hotwater.valve_hot_too_cold, hotwater.valve_pressure_low, hotwater.valve_pressure_ratio.
    Source: the valve maker's limits.
    """
    for name, found in (("T_set", T_set), ("T_hot", T_hot), ("T_cold", T_cold)):
        within("thermostatic_temperature", name, found, *HOT, "K")
    for name, found in (("hot_gauge", hot_gauge), ("cold_gauge", cold_gauge)):
        within("thermostatic_temperature", name, found, -1e5, PRESSURE[1], "Pa")
    if T_set > valve.T_max:
        raise UnavailableError(ABOVE_RANGE, target=T_set, highest=valve.T_max)
    if T_set < max(valve.T_min, T_cold):
        raise UnavailableError(BELOW_RANGE, target=T_set, lowest=max(valve.T_min, T_cold))
    if T_hot < T_set + valve.hot_excess:
        raise UnavailableError(VALVE_HOT_TOO_COLD, hot=T_hot, needed=T_set + valve.hot_excess)
    lower, higher = sorted((hot_gauge, cold_gauge))
    if lower <= 0.0 or lower < valve.pressure_min_gauge:
        raise UnavailableError(VALVE_PRESSURE_LOW, lowest_gauge=lower, needed_gauge=valve.pressure_min_gauge)
    if higher > valve.pressure_ratio_max * lower:
        raise UnavailableError(VALVE_PRESSURE_RATIO, ratio=higher / lower, highest=valve.pressure_ratio_max)
    return min(T_set, saturation_temperature(p_atm))


@kernel(
    duty="",
    hot_mass_flow="kg/s",
    cold_mass_flow="kg/s",
    T_hot="K",
    T_cold="K",
    p_out="Pa",
    returns="K",
    source=ENTHALPY_BALANCE,
    valid={
        "duty": SHARE,
        "hot_mass_flow": (1e-9, 100.0),
        "cold_mass_flow": (0.0, 100.0),
        "T_hot": HOT,
        "T_cold": HOT,
        "p_out": OUTLET,
    },
)
def diluted_temperature(
    duty: float, hot_mass_flow: float, cold_mass_flow: float, T_hot: float, T_cold: float, p_out: float
) -> float:
    """Mean temperature of a draw into which cold water is let for a share of the time.

    Formula: x = m_h/(m_h + d·m_c), then mix_temperature.
    Args:
        duty: share of the dispensing time for which the cold valve is open.
        hot_mass_flow: flow of boiler water, kg/s.
        cold_mass_flow: flow of cold water while its valve is open, kg/s.
        T_hot: temperature of the boiler water, K.
        T_cold: temperature of the cold water, K.
        p_out: absolute pressure at the outlet, Pa.
    Returns: temperature in the vessel, K.
    Valid: duty 0..1; hot_mass_flow 1e-9..100 kg/s; cold_mass_flow 0..100 kg/s; T_hot, T_cold 273.15..473.15
        K; p_out 30 kPa..1.2 MPa.
    Raises: OutOfRangeError.
    Source: enthalpy balance on IAPWS R7-97.
    """
    return mix_temperature(hot_mass_flow / (hot_mass_flow + duty * cold_mass_flow), T_hot, T_cold, p_out)


@kernel(
    T_target="K",
    hot_mass_flow="kg/s",
    cold_mass_flow="kg/s",
    T_hot="K",
    T_cold="K",
    p_out="Pa",
    returns="",
    source=ENTHALPY_BALANCE,
    valid={
        "T_target": HOT,
        "hot_mass_flow": (1e-9, 100.0),
        "cold_mass_flow": (1e-9, 100.0),
        "T_hot": HOT,
        "T_cold": HOT,
        "p_out": OUTLET,
    },
)
def duty_for(
    T_target: float, hot_mass_flow: float, cold_mass_flow: float, T_hot: float, T_cold: float, p_out: float
) -> float:
    """Share of the dispensing time for which the cold valve is open to give a temperature.

    Formula: d = (m_h/m_c)·(1 − x)/x, x = hot_share_for(T_target).
    Args:
        T_target: temperature wanted, K.
        hot_mass_flow: flow of boiler water, kg/s.
        cold_mass_flow: flow of cold water while its valve is open, kg/s.
        T_hot: temperature of the boiler water, K.
        T_cold: temperature of the cold water, K.
        p_out: absolute pressure at the outlet, Pa.
    Returns: share of the time, 0..1.
    Valid: hot_mass_flow, cold_mass_flow 1e-9..100 kg/s; temperatures 273.15..473.15 K; p_out 30 kPa..1.2 MPa.
    Raises: OutOfRangeError; UnavailableError as hot_share_for, and hotwater.target_below_range where the cold
        valve open all the time is not enough.
    Source: enthalpy balance on IAPWS R7-97.
    """
    x = hot_share_for(T_target, T_hot, T_cold, p_out)
    duty = hot_mass_flow / cold_mass_flow * (1.0 - x) / x if x > 0.0 else math.inf
    if duty > 1.0:
        lowest = mix_temperature(hot_mass_flow / (hot_mass_flow + cold_mass_flow), T_hot, T_cold, p_out)
        raise UnavailableError(BELOW_RANGE, target=T_target, lowest=lowest)
    return duty
