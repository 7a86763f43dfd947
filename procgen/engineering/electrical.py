"""Currents, powers and voltages of the machine's supply; the licensed electrician decides.

The phasor solver and the cable tables live in modules of their own and are offered here under one name.
"""

from __future__ import annotations

import math

from procgen.engineering import sources_general as s
from procgen.engineering.electrical_cable import (
    ambient_factor,
    cable_capacity,
    conductor_resistance,
    coordination,
    derated_capacity,
    device_minimum,
    grouping_factor,
    minimum_section,
    voltage_drop,
    voltage_drop_limit,
)
from procgen.engineering.electrical_network import (
    ARRANGEMENTS,
    Load,
    LostNeutral,
    Miswire,
    Solution,
    delta_loads,
    lost_neutral,
    lost_neutral_worst,
    miswire,
    solve,
    star_loads,
    supply_phasors,
)
from procgen.engineering.kernel import kernel

__all__ = [
    "ARRANGEMENTS",
    "Load",
    "LostNeutral",
    "Miswire",
    "Solution",
    "ambient_factor",
    "cable_capacity",
    "conductor_resistance",
    "coordination",
    "current_single",
    "current_three",
    "delta_loads",
    "derated_capacity",
    "device_minimum",
    "element_power",
    "expected_leakage",
    "grouping_factor",
    "loaded_voltage",
    "lost_neutral",
    "lost_neutral_worst",
    "minimum_section",
    "miswire",
    "neutral_current",
    "neutral_current_split",
    "neutral_current_two_legs",
    "power_ratio",
    "solve",
    "star_loads",
    "supply_phasors",
    "voltage_drop",
    "voltage_drop_limit",
    "voltage_unbalance",
]

_AMPS = (0.0, 10_000.0)
_VOLTS = (1.0, 1000.0)


@kernel(i1="A", i2="A", i3="A", returns="A", source=s.PHASORS, valid={"i1": _AMPS, "i2": _AMPS, "i3": _AMPS})
def neutral_current(i1: float, i2: float, i3: float) -> float:
    """Current in the neutral of a three-phase supply, for equal power factors on the three lines.

    Formula: I_N = sqrt(I1^2 + I2^2 + I3^2 - I1 I2 - I2 I3 - I3 I1)

    Args:
        i1: current from L1 to neutral [A]
        i2: current from L2 to neutral [A]
        i3: current from L3 to neutral [A]
    Returns: current in the neutral [A]
    Valid: 0 to 10 000 A each
    Raises: OutOfRangeError outside the range
    Source: Kirchhoff's laws on complex phasors

    >>> round(neutral_current(10.0, 15.0, 20.0), 2)
    8.66
    """
    # Half the sum of squared differences is the same and never turns negative by rounding.
    return math.sqrt(((i1 - i2) ** 2 + (i2 - i3) ** 2 + (i3 - i1) ** 2) / 2.0)


@kernel(i1="A", i2="A", returns="A", source=s.PHASORS, valid={"i1": _AMPS, "i2": _AMPS})
def neutral_current_split(i1: float, i2: float) -> float:
    """Current in the neutral of a split-phase supply, whose two lines stand opposite.

    Formula: I_N = |I1 - I2|

    Args:
        i1: current from L1 to neutral [A]
        i2: current from L2 to neutral [A]
    Returns: current in the neutral [A]
    Valid: 0 to 10 000 A each; equal power factors
    Raises: OutOfRangeError outside the range
    Source: Kirchhoff's laws on complex phasors
    """
    return abs(i1 - i2)


@kernel(i1="A", i2="A", returns="A", source=s.PHASORS, valid={"i1": _AMPS, "i2": _AMPS})
def neutral_current_two_legs(i1: float, i2: float) -> float:
    """Current in the neutral of two legs of a three-phase supply, which stand 120 degrees apart.

    Formula: I_N = sqrt(I1^2 + I2^2 - I1 I2)

    Args:
        i1: current from L1 to neutral [A]
        i2: current from L2 to neutral [A]
    Returns: current in the neutral [A]
    Valid: 0 to 10 000 A each; equal power factors
    Raises: OutOfRangeError outside the range
    Source: Kirchhoff's laws on complex phasors

    >>> neutral_current_two_legs(10.0, 10.0)
    10.0
    """
    return math.sqrt((i1 - i2) ** 2 + i1 * i2)


@kernel(
    power="W", voltage="V", power_factor="", returns="A", source=s.OHM,
    valid={"power": (0, 1e6), "voltage": _VOLTS, "power_factor": (0.05, 1)},
)  # fmt: skip
def current_single(power: float, voltage: float, power_factor: float = 1.0) -> float:
    """Current of a load between two conductors.

    Formula: I = P/(U cos phi)

    Args:
        power: active power [W]
        voltage: across the load [V]
        power_factor: cos phi []
    Returns: current [A]
    Valid: power 0 to 1e6 W; voltage 1 to 1000 V; power factor 0.05 to 1
    Raises: OutOfRangeError outside these ranges
    Source: Joule's law
    """
    return power / (voltage * power_factor)


@kernel(
    power="W", line_voltage="V", power_factor="", returns="A", source=s.OHM,
    valid={"power": (0, 1e6), "line_voltage": _VOLTS, "power_factor": (0.05, 1)},
)  # fmt: skip
def current_three(power: float, line_voltage: float, power_factor: float = 1.0) -> float:
    """Current in each line of a balanced three-phase load.

    Formula: I = P/(sqrt(3) U cos phi)

    Args:
        power: active power of the three phases together [W]
        line_voltage: between two lines [V]
        power_factor: cos phi []
    Returns: current [A]
    Valid: power 0 to 1e6 W; voltage 1 to 1000 V; power factor 0.05 to 1
    Raises: OutOfRangeError outside these ranges
    Source: Joule's law

    >>> round(current_three(9000.0, 400.0), 2)
    12.99
    """
    return power / (math.sqrt(3.0) * line_voltage * power_factor)


@kernel(
    voltage="V", rated_voltage="V", returns="", source=s.OHM,
    valid={"voltage": (0, 1000), "rated_voltage": _VOLTS},
)  # fmt: skip
def power_ratio(voltage: float, rated_voltage: float) -> float:
    """Power of an element over its rating, at another voltage than the rated one.

    Formula: (U/U_rated)^2, resistance taken as constant

    Args:
        voltage: across the element [V]
        rated_voltage: for which it is made [V]
    Returns: ratio []
    Valid: voltage 0 to 1000 V; rated 1 to 1000 V
    Raises: OutOfRangeError outside these ranges
    Source: Ohm's law and Joule's law

    >>> round(power_ratio(400.0, 230.0), 4)
    3.0246
    """
    return (voltage / rated_voltage) ** 2


@kernel(
    rated_power="W", voltage="V", rated_voltage="V", returns="W", source=s.OHM,
    valid={"rated_power": (0, 1e6), "voltage": (0, 1000), "rated_voltage": _VOLTS},
)  # fmt: skip
def element_power(rated_power: float, voltage: float, rated_voltage: float) -> float:
    """Power of an element at a voltage.

    Formula: P = P_rated (U/U_rated)^2

    Args:
        rated_power: at the rated voltage [W]
        voltage: across the element [V]
        rated_voltage: for which it is made [V]
    Returns: power [W]
    Valid: power 0 to 1e6 W; voltage 0 to 1000 V; rated 1 to 1000 V
    Raises: OutOfRangeError outside these ranges
    Source: Ohm's law and Joule's law
    """
    return rated_power * power_ratio(voltage, rated_voltage)


@kernel(
    open_voltage="V", current="A", resistance="ohm", returns="V", source=s.OHM,
    valid={"open_voltage": _VOLTS, "current": _AMPS, "resistance": (0, 100)},
)  # fmt: skip
def loaded_voltage(open_voltage: float, current: float, resistance: float) -> float:
    """Voltage at the machine under load, with a resistive load.

    Formula: U = U0 - I R

    Args:
        open_voltage: without load [V]
        current: drawn [A]
        resistance: of the way there and back [ohm]
    Returns: voltage [V]
    Valid: voltage 1 to 1000 V; resistance 0 to 100 ohm; the drop not above the open voltage
    Raises: OutOfRangeError outside these ranges
    Source: Ohm's law
    """
    drop = current * resistance
    s.require("loaded_voltage", "drop", drop, (0.0, open_voltage), "V")
    return open_voltage - drop


@kernel(
    u12="V", u23="V", u31="V", returns="", source=s.NEMA_MG1,
    valid={"u12": _VOLTS, "u23": _VOLTS, "u31": _VOLTS},
)  # fmt: skip
def voltage_unbalance(u12: float, u23: float, u31: float) -> float:
    """How uneven three line-to-line voltages are.

    Formula: greatest deviation from the mean over the mean

    Args:
        u12: between L1 and L2 [V]
        u23: between L2 and L3 [V]
        u31: between L3 and L1 [V]
    Returns: share []
    Valid: 1 to 1000 V each
    Raises: OutOfRangeError outside the range
    Source: NEMA MG 1, from memory
    """
    mean = (u12 + u23 + u31) / 3.0
    return max(abs(u - mean) for u in (u12, u23, u31)) / mean


@kernel(power="W", returns="A", source=s.IEC_60335_1_13, valid={"power": (0, 1e6)})
def expected_leakage(power: float) -> float:
    """Leakage current that a stationary heating appliance of class I may have when hot.

    Formula: 0.75 mA per kW of rated input, 0.75 mA at least, 5 mA at most

    Args:
        power: rated input [W]
    Returns: current [A]
    Valid: 0 to 1e6 W
    Raises: OutOfRangeError outside the range
    Source: IEC 60335-1 clause 13, from memory
    """
    return min(max(0.75e-3, 0.75e-6 * power), 5.0e-3)
