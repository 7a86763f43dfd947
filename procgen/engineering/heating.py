"""Heat of one boiler: power at the voltage there is, heat stored, soak, recovery, holding, expansion."""

from __future__ import annotations

import math

from procgen.engineering.kernel import OutOfRangeError, kernel
from procgen.engineering.sources_fluid import IAPWS_IF97, JOULE, LUMPED_HEAT, RATED_INPUT
from procgen.engineering.unavailable import UnavailableError
from procgen.engineering.water import LIQUID_T, enthalpy_liquid, expansion_ratio

POWER = (0.0, 1e6)
VOLTAGE = (1.0, 1000.0)
CAPACITY = (1e-3, 1e9)
CONDUCTANCE = (0.0, 1e4)
AMBIENT = (233.15, 333.15)
#: Between the temperatures at which a thermostat switches off and on, K.
BAND = (1e-3, 60.0)
#: Id of the reason where a boiler does not cool far enough for its thermostat.
NOT_LEFT = "heat.not_left"
#: Id of the reason where the losses eat the power before the target.
NOT_REACHED = "heat.not_reached"


@kernel(
    P_rated="W",
    U_rated="V",
    U="V",
    returns="W",
    source=JOULE,
    valid={"P_rated": POWER, "U_rated": VOLTAGE, "U": (0.0, 1000.0)},
)
def element_power(P_rated: float, U_rated: float, U: float) -> float:
    """Power of a heating element at a voltage other than its rated one.

    Formula: P = P_rated·(U/U_rated)², resistance constant.
    Args:
        P_rated: rated power, W.
        U_rated: rated voltage, V.
        U: voltage at the element, V.
    Returns: power, W.
    Valid: P_rated 0..1 MW; U_rated 1..1000 V; U 0..1000 V.
    Raises: OutOfRangeError.
    Source: Joule.
    """
    return P_rated * (U / U_rated) ** 2


@kernel(P_rated="W", returns="W", source=RATED_INPUT, valid={"P_rated": (200.0, 1e6)})
def element_power_lowest(P_rated: float) -> float:
    """Lowest power at rated voltage within the tolerance of a rated input.

    Formula: 0.90·P_rated.
    Args:
        P_rated: rated power, W.
    Returns: power, W.
    Valid: P_rated 200 W..1 MW.
    Raises: OutOfRangeError.
    Source: IEC 60335-1, 10.1, from memory.
    """
    return 0.90 * P_rated


@kernel(P_rated="W", returns="W", source=RATED_INPUT, valid={"P_rated": (200.0, 1e6)})
def element_power_highest(P_rated: float) -> float:
    """Highest power at rated voltage within the tolerance of a rated input.

    Formula: P_rated + max(0.05·P_rated, 20 W).
    Args:
        P_rated: rated power, W.
    Returns: power, W.
    Valid: P_rated 200 W..1 MW.
    Raises: OutOfRangeError.
    Source: IEC 60335-1, 10.1, from memory.
    """
    return P_rated + max(0.05 * P_rated, 20.0)


Metal = tuple[tuple[float, float], ...]


def metal_capacity(metal: Metal) -> float:
    """Heat capacity of metal parts.

    Formula: Σ m·c.
    Args:
        metal: (mass kg, specific heat J/(kg·K)) of each part.
    Returns: heat capacity, J/K.
    Valid: masses and heats not negative.
    Raises: OutOfRangeError.
    Source: arithmetic.
    """
    for mass, heat in metal:
        if not (0.0 <= mass < math.inf and 0.0 <= heat < math.inf):
            raise OutOfRangeError("metal_capacity", "metal", min(mass, heat), 0.0, None, "")
    return sum(mass * heat for mass, heat in metal)


def heat_stored(m_water: float, metal: Metal, T1: float, T2: float) -> float:
    """Heat that water and metal take up.

    Formula: E = m·(h(T2) − h(T1)) + Σ m·c·(T2 − T1).
    Args:
        m_water: mass of water, kg.
        metal: (mass kg, specific heat J/(kg·K)) of each part that heats with it.
        T1: temperature at the start, K.
        T2: temperature at the end, K.
    Returns: energy, J.
    Valid: m_water 0..10 t; T1, T2 273.15..623.15 K.
    Raises: OutOfRangeError.
    Source: IAPWS R7-97.
    """
    if not 0.0 <= m_water <= 1e4:
        raise OutOfRangeError("heat_stored", "m_water", m_water, 0.0, 1e4, "kg")
    return m_water * (enthalpy_liquid(T2) - enthalpy_liquid(T1)) + metal_capacity(metal) * (T2 - T1)


@kernel(
    C_group="J/K",
    UA_group="W/K",
    UA_room="W/K",
    T_boiler="K",
    T_amb="K",
    T_start="K",
    difference="K",
    returns="s",
    source=LUMPED_HEAT,
    valid={
        "C_group": CAPACITY,
        "UA_group": (1e-6, 1e4),
        "UA_room": CONDUCTANCE,
        "T_boiler": LIQUID_T,
        "T_amb": AMBIENT,
        "T_start": (233.15, 623.15),
        "difference": (1e-3, 100.0),
    },
)
def time_soak(
    C_group: float,
    UA_group: float,
    UA_room: float,
    T_boiler: float,
    T_amb: float,
    T_start: float,
    difference: float,
) -> float:
    """Time until a group or casing is as warm as it gets, its boiler held at set point.

    Formula: T∞ = (UA_g·T_b + UA_r·T_amb)/(UA_g + UA_r); t = C/(UA_g + UA_r)·ln((T∞ − T_start)/δ), 0 where it
        is within δ already.
    Args:
        C_group: heat capacity of group or casing, J/K.
        UA_group: conductance between boiler and group, W/K.
        UA_room: conductance between group and room, W/K.
        T_boiler: temperature at which the boiler is held, K.
        T_amb: room temperature, K.
        T_start: temperature of the group at the start, K.
        difference: δ, the difference from its final temperature that counts as there, K.
    Returns: time, s.
    Valid: C_group 1 mJ/K..1 GJ/K; UA_group 1e-6..1e4 W/K; UA_room 0..1e4 W/K; T_boiler 273.15..623.15 K;
        T_amb 233.15..333.15 K; T_start 233.15..623.15 K; difference 0.001..100 K.
    Raises: OutOfRangeError.
    Source: first-order lag of a lumped mass.
    """
    total = UA_group + UA_room
    final = (UA_group * T_boiler + UA_room * T_amb) / total
    gap = abs(final - T_start)
    return C_group / total * math.log(gap / difference) if gap > difference else 0.0


@kernel(
    T_feed="K",
    T_steam="K",
    effectiveness="",
    returns="K",
    source=LUMPED_HEAT,
    valid={"T_feed": LIQUID_T, "T_steam": LIQUID_T, "effectiveness": (0.0, 1.0)},
)
def preheated_feed_temperature(T_feed: float, T_steam: float, effectiveness: float) -> float:
    """Temperature at which feed water leaves an exchanger in the steam boiler.

    Formula: T = T_feed + ε·(T_steam − T_feed).
    Args:
        T_feed: temperature of the feed water, K.
        T_steam: temperature of the steam boiler, K.
        effectiveness: ε of the exchanger at the flow of a draw.
    Returns: temperature, K.
    Valid: T_feed, T_steam 273.15..623.15 K; effectiveness 0..1.
    Raises: OutOfRangeError.
    Source: definition of the effectiveness with a boiler of constant temperature.
    """
    return T_feed + effectiveness * (T_steam - T_feed)


@kernel(
    m_draw="kg",
    T_feed="K",
    T_set="K",
    P="W",
    loss="W",
    returns="s",
    source=LUMPED_HEAT,
    valid={"m_draw": (0.0, 1e3), "T_feed": LIQUID_T, "T_set": LIQUID_T, "P": POWER, "loss": POWER},
)
def recovery_time(m_draw: float, T_feed: float, T_set: float, P: float, loss: float) -> float:
    """Time in which the element brings the water of a draw to the set point.

    Formula: t = m·(h(T_set) − h(T_feed))/(P − loss); 0 where the feed is not below the set point.
    Args:
        m_draw: mass drawn, kg.
        T_feed: temperature at which the feed enters the boiler (after any preheating), K.
        T_set: set point, K.
        P: power of the element, W.
        loss: heat lost to the room at set point, W.
    Returns: time, s.
    Valid: m_draw 0..1000 kg; T_feed, T_set 273.15..623.15 K; P, loss 0..1 MW.
    Raises: OutOfRangeError; UnavailableError heat.not_reached.
    Source: heat balance; IAPWS R7-97.
    """
    if loss >= P:
        raise UnavailableError(NOT_REACHED, power=P, loss=loss)
    return max(0.0, m_draw * (enthalpy_liquid(T_set) - enthalpy_liquid(T_feed)) / (P - loss))


@kernel(
    C="J/K",
    UA="W/K",
    loss="W",
    difference="K",
    returns="s",
    source=LUMPED_HEAT,
    valid={"C": CAPACITY, "UA": CONDUCTANCE, "loss": POWER, "difference": BAND},
)
def time_off(C: float, UA: float, loss: float, difference: float) -> float:
    """Time in which a hot boiler left alone cools to where its thermostat switches on.

    Formula: t = (C/UA)·ln[L/(L − UA·ΔT)], L the loss at the set point; C·ΔT/L without conductance. A group
        on the boiler keeps its temperature meanwhile.
    Args:
        C: heat capacity of water and shell, J/K.
        UA: what the boiler loses more per kelvin, to room and group, W/K.
        loss: L, W.
        difference: ΔT of the thermostat, from off to on, K.
    Returns: time, s.
    Valid: C 1 mJ/K..1 GJ/K; UA 0..10 kW/K; loss 0..1 MW; difference 0.001..60 K.
    Raises: OutOfRangeError; UnavailableError heat.not_left.
    Source: heat balance with a linear loss, integrated.

    >>> round(time_off(32750.0, 4.0, 420.0, 1.0), 1)
    78.3
    """
    if loss <= UA * difference:
        raise UnavailableError(NOT_LEFT, loss=loss)
    return C * difference / loss * _mean_inverse(-UA * difference / loss)


@kernel(
    C="J/K",
    UA="W/K",
    P="W",
    loss="W",
    difference="K",
    returns="s",
    source=LUMPED_HEAT,
    valid={"C": CAPACITY, "UA": CONDUCTANCE, "P": POWER, "loss": POWER, "difference": BAND},
)
def time_on(C: float, UA: float, P: float, loss: float, difference: float) -> float:
    """Time for which an element is on until its thermostat switches off, nothing drawn.

    Formula: t = (C/UA)·ln[(P − L + UA·ΔT)/(P − L)], L the loss at the set point; C·ΔT/(P − L) without
        conductance. A group on the boiler keeps its temperature meanwhile.
    Args:
        C: heat capacity of water and shell, J/K.
        UA: what the boiler loses more per kelvin, to room and group, W/K.
        P: power of the boiler's elements, W.
        loss: L, W.
        difference: ΔT of the thermostat, from on to off, K.
    Returns: time, s.
    Valid: C 1 mJ/K..1 GJ/K; UA 0..10 kW/K; P, loss 0..1 MW; difference 0.001..60 K.
    Raises: OutOfRangeError; UnavailableError heat.not_reached.
    Source: heat balance with a linear loss, integrated.

    >>> round(time_on(32750.0, 4.0, 3500.0, 420.0, 1.0), 2)
    10.63
    """
    if loss >= P:
        raise UnavailableError(NOT_REACHED, power=P, loss=loss)
    return C * difference / (P - loss) * _mean_inverse(UA * difference / (P - loss))


def _mean_inverse(x: float) -> float:
    """ln(1 + x)/x: the mean of 1/y from 1 to 1 + x, and 1 without way."""
    return math.log1p(x) / x if x else 1.0


@kernel(
    V="m**3",
    T1="K",
    T2="K",
    returns="m**3",
    source=IAPWS_IF97,
    valid={"V": (0.0, 100.0), "T1": LIQUID_T, "T2": LIQUID_T},
)
def expansion_volume(V: float, T1: float, T2: float) -> float:
    """Water that a full, closed vessel pushes out as it heats.

    Formula: ΔV = V·(v(T2)/v(T1) − 1).
    Args:
        V: volume of the vessel, m3.
        T1: temperature before, K.
        T2: temperature after, K.
    Returns: volume at the temperature after, m3 (negative where it cools).
    Valid: V 0..100 m3; T1, T2 273.15..623.15 K.
    Raises: OutOfRangeError.
    Source: IAPWS R7-97.
    """
    return V * expansion_ratio(T1, T2)
