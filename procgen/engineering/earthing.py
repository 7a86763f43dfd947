"""Protective measures: loop impedance, residual current, disconnection, acceptance of the first tests.

Guidance beside the licensed electrician, who decides and signs.
"""

from __future__ import annotations

import math

from procgen.engineering import sources_general as s
from procgen.engineering.electrical_cable import conductor_resistance
from procgen.engineering.kernel import OutOfRangeError, kernel

#: Multiple of the rated current at which a circuit breaker of a curve surely trips at once.
INSTANTANEOUS = {"B": 5.0, "C": 10.0, "D": 20.0}

#: Longest disconnection times in s of final circuits by (highest U0 in V, TN, TT).
DISCONNECTION = ((120.0, 0.8, 0.3), (230.0, 0.4, 0.2), (400.0, 0.2, 0.07), (math.inf, 0.1, 0.04))
#: Longest times of distribution circuits and of final circuits above 32 A, s.
DISCONNECTION_DISTRIBUTION = {"TN": 5.0, "TT": 1.0}

#: Standard rated residual currents, A.
RESIDUAL_RATINGS = (0.005, 0.006, 0.010, 0.030, 0.100, 0.300, 0.500)
#: Share of its rating that a residual-current device should carry as standing leakage.
STANDING_SHARE = 0.30
#: Share of its rating below which it must not trip.
NO_TRIP_SHARE = 0.5
#: Longest break time in s by multiple of the rated residual current, general type.
BREAK_TIMES = {1: 0.3, 2: 0.15, 5: 0.04}

#: Share of the greatest loop impedance that a measurement at room temperature may reach.
MEASURED_SHARE = {"IEC 60364": 2.0 / 3.0, "BS 7671": 0.8}

#: (highest nominal voltage in V, test voltage in V, least resistance in ohm)
INSULATION = ((500.0, 500.0, 1.0e6), (math.inf, 1000.0, 1.0e6))
INSULATION_EXTRA_LOW = (250.0, 0.5e6)

#: Greatest resistance inside an appliance from its earth terminal to metal that can be touched, ohm.
APPLIANCE_BOND = 0.1
TOUCH_VOLTAGE = 50.0


@kernel(
    rating="A", curve="", voltage="V", c_min="", returns="ohm", source=s.IEC_60364_4_41,
    valid={"rating": (0.5, 1000), "voltage": (50, 1000), "c_min": (0.8, 1.0)},
)  # fmt: skip
def loop_impedance_maximum(rating: float, curve: str, voltage: float, c_min: float = 0.95) -> float:
    """Greatest earth fault loop impedance at which a circuit breaker still trips at once.

    Formula: Zs = U0 Cmin/(k In); k = 5 (B), 10 (C), 20 (D)

    Args:
        rating: of the device [A]
        curve: "B", "C" or "D" []
        voltage: line to earth, U0 [V]
        c_min: allowance for low supply voltage, 0.95; 1 where the code makes none []
    Returns: impedance [ohm]
    Valid: rating 0.5 to 1000 A; voltage 50 to 1000 V; c_min 0.8 to 1
    Raises: OutOfRangeError outside these ranges; UnknownEntryError for another curve
    Source: IEC 60364-4-41; IEC 60898-1; from memory

    >>> round(loop_impedance_maximum(16.0, "B", 230.0), 2)
    2.73
    """
    return voltage * c_min / (s.entry("breaker curve", INSTANTANEOUS, curve) * rating)


@kernel(maximum="ohm", code="", returns="ohm", source=s.MEASURED_LOOP, valid={"maximum": (0, 1e4)})
def loop_impedance_measured_maximum(maximum: float, code: str = "IEC 60364") -> float:
    """What a meter may read on cold conductors, so that the hot ones still meet the limit.

    Formula: 2/3 of the limit (IEC 60364-6 Annex D); 0.8 of it (BS 7671 guidance)

    Args:
        maximum: greatest loop impedance at working temperature [ohm]
        code: "IEC 60364" or "BS 7671" []
    Returns: impedance [ohm]
    Valid: 0 to 10 000 ohm
    Raises: OutOfRangeError outside the range; UnknownEntryError for another code
    Source: IEC 60364-6 Annex D; BS 7671 guidance; from memory
    """
    return maximum * s.entry("measured loop impedance", MEASURED_SHARE, code)


@kernel(residual="A", returns="ohm", source=s.IEC_60364_4_41, valid={"residual": (0.001, 30)})
def residual_loop_impedance_maximum(residual: float) -> float:
    """Greatest loop impedance where a residual-current device gives the protection.

    Formula: 50 V/I_dn

    Args:
        residual: rated residual current [A]
    Returns: impedance [ohm]
    Valid: 0.001 to 30 A
    Raises: OutOfRangeError outside the range
    Source: IEC 60364-4-41, from memory
    """
    return TOUCH_VOLTAGE / residual


@kernel(
    external="ohm", line="ohm", protective="ohm", returns="ohm", source=s.OHM,
    valid={"external": (0, 1e4), "line": (0, 1e3), "protective": (0, 1e3)},
)  # fmt: skip
def loop_impedance_expected(external: float, line: float, protective: float) -> float:
    """Loop impedance to be expected at the machine, on the safe side for short cables.

    Formula: Zs = Ze + R1 + R2

    Args:
        external: of the loop before the circuit, Ze [ohm]
        line: of the line conductor, R1 [ohm]
        protective: of the protective conductor, R2 [ohm]
    Returns: impedance [ohm]
    Valid: 0 to 10 000 ohm; conductors 0 to 1000 ohm
    Raises: OutOfRangeError outside these ranges
    Source: Ohm's law
    """
    return external + line + protective


@kernel(
    voltage="V", system="", final="", returns="s", source=s.IEC_60364_4_41, valid={"voltage": (50.001, 1000)}
)
def disconnection_time(voltage: float, system: str, final: bool = True) -> float:
    """Longest time to disconnection after a fault to earth, alternating current.

    Formula: table by U0: TN 0.8, 0.4, 0.2, 0.1 s; TT 0.3, 0.2, 0.07, 0.04 s; distribution TN 5 s, TT 1 s

    Args:
        voltage: line to earth, U0 [V]
        system: "TN" or "TT" []
        final: true for a final circuit up to 32 A []
    Returns: time [s]
    Valid: above 50 V to 1000 V
    Raises: OutOfRangeError outside the range; UnknownEntryError for another system
    Source: IEC 60364-4-41, table 41.1, from memory
    """
    distribution = s.entry("earthing system", DISCONNECTION_DISTRIBUTION, system)
    if not final:
        return distribution
    tn, tt = next((tn, tt) for highest, tn, tt in DISCONNECTION if voltage <= highest)
    return tn if system == "TN" else tt


@kernel(residual="A", returns="A", source=s.RCD_PRACTICE, valid={"residual": (0.001, 30)})
def standing_leakage_limit(residual: float) -> float:
    """Standing leakage that leaves a residual-current device room not to trip without a fault.

    Formula: 0.3 I_dn

    Args:
        residual: rated residual current [A]
    Returns: current [A]
    Valid: 0.001 to 30 A
    Raises: OutOfRangeError outside the range
    Source: common practice, from memory
    """
    return STANDING_SHARE * residual


@kernel(
    leakage="A", residual="A", returns="", source=s.ARITHMETIC,
    valid={"leakage": (0, 30), "residual": (0.001, 30)},
)  # fmt: skip
def standing_leakage_share(leakage: float, residual: float) -> float:
    """Share of its rated residual current that the expected leakage takes up.

    Formula: leakage/I_dn

    Args:
        leakage: of all that the device protects [A]
        residual: rated residual current [A]
    Returns: share; above 0.3 nuisance trips are likely, from 0.5 it may trip at any time []
    Valid: leakage 0 to 30 A; rating 0.001 to 30 A
    Raises: OutOfRangeError outside these ranges
    Source: arithmetic
    """
    return leakage / residual


@kernel(residual="A", returns="A", source=s.IEC_61008, valid={"residual": (0.001, 30)})
def residual_no_trip(residual: float) -> float:
    """Residual current at which the device must not yet trip; between this and its rating it may.

    Formula: 0.5 I_dn

    Args:
        residual: rated residual current [A]
    Returns: current [A]
    Valid: 0.001 to 30 A
    Raises: OutOfRangeError outside the range
    Source: IEC 61008-1, from memory
    """
    return NO_TRIP_SHARE * residual


@kernel(multiple="", returns="s", source=s.IEC_61008)
def residual_break_time(multiple: int) -> float:
    """Longest break time of a general residual-current device.

    Formula: table: 0.3 s at I_dn, 0.15 s at 2 I_dn, 0.04 s at 5 I_dn

    Args:
        multiple: of the rated residual current: 1, 2 or 5 []
    Returns: time [s]
    Valid: 1, 2, 5
    Raises: UnknownEntryError for another multiple
    Source: IEC 61008-1, from memory
    """
    return s.entry("residual_break_time", BREAK_TIMES, multiple)


@kernel(leakage="A", returns="A", source=s.RCD_PRACTICE, valid={"leakage": (0, 30)})
def residual_rating_minimum(leakage: float) -> float:
    """Smallest standard rated residual current that the expected leakage leaves room in.

    Formula: least standard I_dn with leakage <= 0.3 I_dn

    Args:
        leakage: of all that the device protects [A]
    Returns: rated residual current [A]
    Valid: 0 to 0.15 A
    Raises: OutOfRangeError where even the largest rating is too small
    Source: common practice, from memory
    """
    for rating in RESIDUAL_RATINGS:
        if leakage <= STANDING_SHARE * rating:
            return rating
    largest = STANDING_SHARE * RESIDUAL_RATINGS[-1]
    raise OutOfRangeError("residual_rating_minimum", "leakage", leakage, 0.0, largest, "A")


def _insulation(voltage: float, extra_low: bool) -> tuple[float, float]:
    if extra_low:
        s.require("insulation", "voltage", voltage, (0.0, 50.0), "V")
        return INSULATION_EXTRA_LOW
    return next((test, least) for highest, test, least in INSULATION if voltage <= highest)


@kernel(voltage="V", extra_low="", returns="V", source=s.IEC_60364_6, valid={"voltage": (0, 1000)})
def insulation_test_voltage(voltage: float, extra_low: bool = False) -> float:
    """Direct voltage for the insulation test.

    Formula: table: separated extra-low voltage 250 V; up to 500 V 500 V; above 1000 V

    Args:
        voltage: nominal, of the circuit [V]
        extra_low: true for separated extra-low voltage []
    Returns: test voltage [V]
    Valid: up to 1000 V (50 V extra-low)
    Raises: OutOfRangeError outside the range
    Source: IEC 60364-6, 6.4.3, from memory
    """
    return _insulation(voltage, extra_low)[0]


@kernel(voltage="V", extra_low="", returns="ohm", source=s.IEC_60364_6, valid={"voltage": (0, 1000)})
def insulation_minimum(voltage: float, extra_low: bool = False) -> float:
    """Least insulation resistance of a circuit, live conductors joined to each other against earth.

    Formula: table: separated extra-low voltage 0.5 Mohm; others 1 Mohm

    Args:
        voltage: nominal, of the circuit [V]
        extra_low: true for separated extra-low voltage []
    Returns: resistance [ohm]
    Valid: up to 1000 V (50 V extra-low)
    Raises: OutOfRangeError outside the range
    Source: IEC 60364-6, 6.4.3, from memory
    """
    return _insulation(voltage, extra_low)[1]


@kernel(
    length="m", section="m**2", conductor_class="", T="K", returns="ohm", source=s.IEC_60228,
    valid={"length": (0, 1000), "section": (0.5e-6, 50e-6), "T": (233.15, 423.15)},
)  # fmt: skip
def protective_conductor_resistance(
    length: float, section: float, conductor_class: int = 2, T: float = 293.15
) -> float:
    """Resistance of the protective conductor, at most.

    Formula: as `conductor_resistance`

    Args:
        length: from the board's earth bar to the machine's terminal [m]
        section: nominal cross-section [m**2]
        conductor_class: 2 or 5 []
        T: conductor temperature at the test [K]
    Returns: resistance [ohm]
    Valid: length 0 to 1000 m; section 0.5 to 50 mm2; T 233.15 to 423.15 K
    Raises: OutOfRangeError outside these ranges; UnknownEntryError for another class
    Source: IEC 60228
    """
    return conductor_resistance(section, length, conductor_class, T)


@kernel(conductor="ohm", returns="ohm", source=s.IEC_60335_1_27, valid={"conductor": (0, 1000)})
def continuity_maximum(conductor: float) -> float:
    """Greatest reading from the earth bar to metal of the machine that can be touched.

    Formula: conductor + 0.1 ohm inside the appliance

    Args:
        conductor: resistance of the protective conductor up to the machine's terminal [ohm]
    Returns: resistance [ohm]
    Valid: 0 to 1000 ohm
    Raises: OutOfRangeError outside the range
    Source: IEC 60335-1, 27.5, from memory
    """
    return conductor + APPLIANCE_BOND


@kernel(section="m**2", returns="m**2", source=s.IEC_60364_5_54, valid={"section": (0.5e-6, 1e-3)})
def protective_section_minimum(section: float) -> float:
    """Least section of a protective conductor of the same metal as the line conductor.

    Formula: S up to 16 mm2; 16 mm2 up to 35 mm2; S/2 above

    Args:
        section: of the line conductor [m**2]
    Returns: cross-section [m**2]
    Valid: 0.5 to 1000 mm2
    Raises: OutOfRangeError outside the range
    Source: IEC 60364-5-54, table 54.2, from memory
    """
    if section <= 35.0e-6:
        return min(section, 16.0e-6)
    return section / 2.0
