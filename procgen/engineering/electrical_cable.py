"""Conductors: resistance, voltage drop, current-carrying capacity and the devices before them.

Guidance beside the licensed electrician, who decides.
"""

from __future__ import annotations

import math

from procgen.engineering import sources_general as s
from procgen.engineering.kernel import OutOfRangeError, kernel

#: Greatest resistance at 20 degC in ohm/km by nominal section in mm2; class 2 (also 1) and class 5.
RESISTANCE_20: dict[int, dict[float, float]] = {
    2: {1.5: 12.1, 2.5: 7.41, 4.0: 4.61, 6.0: 3.08, 10.0: 1.83, 16.0: 1.15},
    5: {1.5: 13.3, 2.5: 7.98, 4.0: 4.95, 6.0: 3.30, 10.0: 1.91, 16.0: 1.21},
}
#: Beyond the nominal sections: the greatest resistance times section in the table, ohm m (on the safe side).
RESISTIVITY_20 = {2: 1.853e-8, 5: 1.995e-8}
#: Rise of copper's resistance, 1/K, from 20 degC.
COPPER_COEFFICIENT = 0.00393

#: Copper at working temperature, 1.25 times that at 20 degC, and reactance, as Annex G gives them.
ANNEX_G_RESISTIVITY = 2.25e-8
ANNEX_G_REACTANCE = 8.0e-5

#: Capacity in A by nominal section in mm2 and number of loaded conductors, method C, PVC, 30 degC.
CAPACITY_C: dict[int, dict[float, float]] = {
    2: {1.5: 19.5, 2.5: 27.0, 4.0: 36.0, 6.0: 46.0, 10.0: 63.0, 16.0: 85.0},
    3: {1.5: 17.5, 2.5: 24.0, 4.0: 32.0, 6.0: 41.0, 10.0: 57.0, 16.0: 76.0},
}
#: Capacity in A by wire gauge, given as section in mm2 (14, 12, 10, 8, 6), 60 degC, 30 degC ambient.
CAPACITY_GAUGE: dict[float, float] = {2.08: 15.0, 3.31: 20.0, 5.26: 30.0, 8.37: 40.0, 13.3: 55.0}

#: Grouping factors for 1, 2, 3 ... circuits.
GROUPING: dict[str, tuple[float, ...]] = {
    "bunched": (1.00, 0.80, 0.70, 0.65, 0.60, 0.57, 0.54, 0.52, 0.50),
    "single_layer": (1.00, 0.85, 0.79, 0.75, 0.73, 0.72, 0.72, 0.71, 0.70),
}
#: Highest working temperature of the conductor, K, by electrical code.
CONDUCTOR_TEMPERATURE = {"IEC 60364": 343.15, "AS/NZS 3000": 343.15, "NEC": 333.15}
#: Standard ratings of overcurrent devices, A.
_IEC_RATINGS = (6.0, 10.0, 13.0, 16.0, 20.0, 25.0, 32.0, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0)
DEVICE_RATINGS: dict[str, tuple[float, ...]] = {
    "IEC 60364": _IEC_RATINGS,
    "AS/NZS 3000": _IEC_RATINGS,
    "NEC": (15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0, 110.0, 125.0),
}
#: Share of the design current that the device must carry for a continuous load.
CONTINUOUS_FACTOR = {"IEC 60364": 1.0, "AS/NZS 3000": 1.0, "NEC": 1.25}

#: Greatest voltage drop from the origin, share of the nominal voltage: (public supply, private supply).
DROP_LIMITS = {"lighting": (0.03, 0.06), "other": (0.05, 0.08)}

_SECTION = (0.5e-6, 50e-6)


def _nominal(section: float, table: dict[float, float]) -> float | None:
    """The table's section in mm2 that a section in m2 stands for, or None."""
    square_mm = section * 1e6
    for nominal in table:
        # Gauges convert to sections with a few digits; half a per cent tells them apart from any neighbour.
        if abs(square_mm - nominal) <= 0.005 * nominal:
            return nominal
    return None


@kernel(
    section="m**2", length="m", conductor_class="", T="K", returns="ohm", source=s.IEC_60228,
    valid={"section": _SECTION, "length": (0, 1000), "T": (233.15, 423.15)},
)  # fmt: skip
def conductor_resistance(section: float, length: float, conductor_class: int = 2, T: float = 293.15) -> float:
    """Resistance of one copper conductor, at most what its class allows.

    Formula: R20 L (1 + 0.00393 (T - 293.15)); R20 from the table, elsewhere resistivity over section

    Args:
        section: nominal cross-section [m**2]
        length: of the one conductor [m]
        conductor_class: 2 (also for class 1) or 5 []
        T: conductor temperature [K]
    Returns: resistance [ohm]
    Valid: section 0.5 to 50 mm2; length 0 to 1000 m; T 233.15 to 423.15 K
    Raises: OutOfRangeError outside these ranges; UnknownEntryError for another class
    Source: IEC 60228, tables 1 to 3

    >>> round(conductor_resistance(2.5e-6, 1000.0), 2)
    7.41
    """
    table = s.entry("conductor_class", RESISTANCE_20, conductor_class)
    nominal = _nominal(section, table)
    per_metre = RESISTIVITY_20[conductor_class] / section if nominal is None else table[nominal] / 1000.0
    return per_metre * length * (1.0 + COPPER_COEFFICIENT * (T - 293.15))


@kernel(
    current="A", length="m", section="m**2", power_factor="", phases="", returns="V",
    source=s.IEC_60364_5_52_G,
    valid={"current": (0, 1000), "length": (0, 1000), "section": _SECTION, "power_factor": (0, 1)},
)  # fmt: skip
def voltage_drop(current: float, length: float, section: float, power_factor: float, phases: int) -> float:
    """Voltage lost in a copper cable; for three phases against the line-to-neutral voltage.

    Formula: u = b (rho1 L/S cos phi + lambda L sin phi) I_B; b = 1 three-phase, 2 single-phase;
        rho1 = 0.0225 ohm mm2/m; lambda = 0.08 mohm/m

    Args:
        current: design current [A]
        length: of the cable, one way [m]
        section: cross-section [m**2]
        power_factor: cos phi []
        phases: 1 or 3 []
    Returns: voltage drop [V]
    Valid: current and length 0 to 1000; section 0.5 to 50 mm2; power factor 0 to 1
    Raises: OutOfRangeError outside these ranges; UnknownEntryError for another number of phases
    Source: IEC 60364-5-52 Annex G

    >>> round(voltage_drop(16.0, 20.0, 2.5e-6, 1.0, 1), 2)
    5.76
    """
    b = s.entry("phases", {1: 2.0, 3: 1.0}, phases)
    sine = math.sqrt(1.0 - power_factor * power_factor)
    per_metre = ANNEX_G_RESISTIVITY / section * power_factor + ANNEX_G_REACTANCE * sine
    return b * per_metre * length * current


@kernel(purpose="", owner="", returns="", source=s.IEC_60364_5_52_G)
def voltage_drop_limit(purpose: str, owner: str) -> float:
    """Greatest share of the nominal voltage that may be lost between origin and load.

    Formula: table: lighting 3 % public, 6 % private; other uses 5 % and 8 %

    Args:
        purpose: "lighting" or "other" []
        owner: of the supply, "public" or "private" []
    Returns: share []
    Valid: entries of the table
    Raises: UnknownEntryError for others
    Source: IEC 60364-5-52 Annex G
    """
    public, private = s.entry("voltage_drop_limit", DROP_LIMITS, purpose)
    return s.entry("supply_owner", {"public": public, "private": private}, owner)


@kernel(T="K", code="", returns="", source=s.IEC_60364_5_52_B, valid={"T": (263.15, 343.15)})
def ambient_factor(T: float, code: str = "IEC 60364") -> float:
    """Derating of a PVC cable for the air around it.

    Formula: sqrt((T_conductor - T)/(T_conductor - 303.15)); the standard's table is this, rounded

    Args:
        T: ambient air; below 10 degrees Celsius, where the table begins, it counts as 10 [K]
        code: electrical code: "IEC 60364", "AS/NZS 3000" (70 degC) or "NEC" (60 degC) []
    Returns: factor []
    Valid: 263.15 K to 5 K below the conductor's highest temperature
    Raises: OutOfRangeError outside the range; UnknownEntryError for another code
    Source: IEC 60364-5-52 Annex B, from memory
    """
    highest = s.entry("electrical code", CONDUCTOR_TEMPERATURE, code)
    s.require("ambient_factor", "T", T, (263.15, highest - 5.0), "K")
    return math.sqrt((highest - max(T, 283.15)) / (highest - 303.15))


@kernel(circuits="", layout="", returns="", source=s.IEC_60364_5_52_B, valid={"circuits": (1, 100)})
def grouping_factor(circuits: int, layout: str = "bunched") -> float:
    """Derating for circuits that run together; a single layer keeps its last factor from nine circuits on.

    Formula: table by number of circuits

    Args:
        circuits: loaded circuits together, this one counted []
        layout: "bunched" or "single_layer" (on a wall) []
    Returns: factor []
    Valid: bunched 1 to 9 circuits; single layer 1 and more
    Raises: OutOfRangeError beyond the table; UnknownEntryError for another layout
    Source: IEC 60364-5-52 Annex B, from memory
    """
    factors = s.entry("grouping_factor", GROUPING, layout)
    if layout == "bunched":
        s.require("grouping_factor", "circuits", circuits, (1, len(factors)), "")
    return factors[min(int(circuits), len(factors)) - 1]


def _capacities(loaded: int, code: str) -> dict[float, float]:
    s.entry("electrical code", CONDUCTOR_TEMPERATURE, code)
    return CAPACITY_GAUGE if code == "NEC" else s.entry("loaded conductors", CAPACITY_C, loaded)


@kernel(
    section="m**2", loaded="", code="", returns="A", source=s.IEC_60364_5_52_B, valid={"section": _SECTION}
)
def cable_capacity(section: float, loaded: int, code: str = "IEC 60364") -> float:
    """Current a PVC cable carries for ever, alone, clipped to a wall, in air of 30 degC.

    Formula: table by nominal section; a section between two takes the smaller one's figure

    Args:
        section: cross-section [m**2]
        loaded: loaded conductors, 2 or 3 (one table serves both under the NEC) []
        code: electrical code []
    Returns: capacity I_z before derating [A]
    Valid: from the smallest section of the table (1.5 mm2; 14 AWG under the NEC) to 50 mm2
    Raises: OutOfRangeError below the table; UnknownEntryError for another count or code
    Source: IEC 60364-5-52 Annex B method C; NEC table 310.16; from memory
    """
    table = _capacities(loaded, code)
    smallest = min(table)
    s.require("cable_capacity", "section", section, (smallest * 0.995e-6, None), "m**2")
    return max(amps for nominal, amps in table.items() if nominal * 0.995e-6 <= section)


@kernel(
    section="m**2", loaded="", T="K", circuits="", code="", returns="A", source=s.IEC_60364_5_52_B,
    valid={"section": _SECTION, "T": (263.15, 343.15), "circuits": (1, 100)},
)  # fmt: skip
def derated_capacity(section: float, loaded: int, T: float, circuits: int, code: str = "IEC 60364") -> float:
    """Current a cable carries in warm air and among other bunched circuits.

    Formula: capacity * ambient factor * grouping factor

    Args:
        section: cross-section [m**2]
        loaded: loaded conductors, 2 or 3 []
        T: ambient air [K]
        circuits: loaded circuits bunched, this one counted []
        code: electrical code []
    Returns: capacity I_z [A]
    Valid: as `cable_capacity`, `ambient_factor` and `grouping_factor`
    Raises: OutOfRangeError; UnknownEntryError
    Source: IEC 60364-5-52 Annex B, from memory
    """
    return cable_capacity(section, loaded, code) * ambient_factor(T, code) * grouping_factor(circuits)


@kernel(
    current="A", loaded="", T="K", circuits="", code="", returns="m**2", source=s.IEC_60364_5_52_B,
    valid={"current": (0, 1000), "T": (263.15, 343.15), "circuits": (1, 100)},
)  # fmt: skip
def minimum_section(current: float, loaded: int, T: float, circuits: int, code: str = "IEC 60364") -> float:
    """Smallest section of the table that carries a current.

    Formula: least S with derated capacity(S) >= current

    Args:
        current: to be carried, that of the device [A]
        loaded: loaded conductors, 2 or 3 []
        T: ambient air [K]
        circuits: loaded circuits bunched, this one counted []
        code: electrical code []
    Returns: cross-section [m**2]
    Valid: as `derated_capacity`; up to what the largest section of the table carries
    Raises: OutOfRangeError; UnknownEntryError
    Source: IEC 60364-5-52 Annex B, from memory
    """
    largest = 0.0
    for nominal in sorted(_capacities(loaded, code)):
        largest = derated_capacity(nominal * 1e-6, loaded, T, circuits, code)
        if largest >= current:
            return nominal * 1e-6
    raise OutOfRangeError("minimum_section", "current", current, 0.0, largest, "A")


@kernel(
    design_current="A", code="", returns="A", source=s.IEC_60364_4_43, valid={"design_current": (0, 1000)}
)
def device_minimum(design_current: float, code: str = "IEC 60364") -> float:
    """Smallest standard rating of the overcurrent device for a continuous load.

    Formula: least standard I_n >= I_B; under the NEC >= 1.25 I_B

    Args:
        design_current: I_B [A]
        code: electrical code: "IEC 60364", "AS/NZS 3000" or "NEC" []
    Returns: rating I_n [A]
    Valid: up to 125 A
    Raises: OutOfRangeError beyond the largest rating; UnknownEntryError for another code
    Source: IEC 60364-4-43; NEC 210.20(A); from memory
    """
    ratings = s.entry("electrical code", DEVICE_RATINGS, code)
    needed = design_current * CONTINUOUS_FACTOR[code]
    for rating in ratings:
        if rating >= needed:
            return rating
    raise OutOfRangeError("device_minimum", "design_current", needed, 0.0, ratings[-1], "A")


def coordination(
    design_current: float, rating: float, capacity: float, trip_factor: float = 1.45
) -> tuple[str, ...]:
    """Ids of the conditions that load, device and cable break; empty when they agree.

    Formula: I_B <= I_n ("device_below_load"); I_n <= I_z ("device_above_cable");
        I_2 = trip_factor I_n <= 1.45 I_z ("trip_above_cable")

    Args:
        design_current: I_B [A]
        rating: of the device, I_n [A]
        capacity: of the cable as laid, I_z [A]
        trip_factor: conventional tripping current over rating, 1.45 for circuit breakers []
    Returns: ids []
    Valid: currents 0 to 1000 A
    Raises: OutOfRangeError outside the range
    Source: IEC 60364-4-43, 433.1, from memory
    """
    currents = {"design_current": design_current, "rating": rating, "capacity": capacity}
    for name, found in currents.items():
        s.require("coordination", name, found, (0.0, 1000.0), "A")
    s.require("coordination", "trip_factor", trip_factor, (1.0, 3.0), "")
    broken = (
        ("device_below_load", design_current > rating),
        ("device_above_cable", rating > capacity),
        ("trip_above_cable", trip_factor * rating > 1.45 * capacity),
    )
    return tuple(name for name, holds in broken if holds)
