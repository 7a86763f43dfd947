"""The water inlet: pressure window, reducer, pressure test, flushing, water hammer, expansion."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from procgen.engineering import sources_general as s
from procgen.engineering.kernel import OutOfRangeError, Source, kernel

GRAVITY = 9.80665


@dataclass(frozen=True)
class Limit:
    """One figure of a code with its source."""

    figure: float
    source: Source


@dataclass(frozen=True)
class TestRule:
    """Pressure test of a code: factor on the working pressure, and the least pressure in any case."""

    __test__ = False  # a rule of plumbing, not a test of ours

    factor: float
    minimum: float  # Pa gauge
    source: Source


#: Static pressure above which a code asks for a reducer, Pa gauge.
REDUCER_THRESHOLD: dict[str, Limit] = {
    "ipc": Limit(552e3, s.IPC_604_8),
    "upc": Limit(552e3, s.UPC_608_2),
    "as_nzs_3500": Limit(500e3, s.AS_NZS_3500_1),
    "en": Limit(500e3, s.EN_806_2),
}

#: EN 806: 1.1 times the maximum design pressure, itself 1.5 times the highest operating pressure.
TEST_RULES: dict[str, TestRule] = {
    "uk": TestRule(1.5, 0.0, s.UK_WATER_FITTINGS),
    "en": TestRule(1.1 * 1.5, 0.0, s.EN_806_4),
    "ipc": TestRule(1.0, 0.0, s.IPC_312_5),
    "upc": TestRule(1.0, 0.0, s.UPC_609),
    "as_nzs_3500": TestRule(1.0, 1500e3, s.AS_NZS_3500_1),
}

#: Device by fluid category where the code speaks in categories.
BACKFLOW_DEVICES = {2: "single_check", 3: "double_check", 4: "reduced_pressure_zone", 5: "air_gap"}
#: Codes that name devices by fluid category; the US codes name the device by the appliance.
CATEGORY_CODES = frozenset({"en", "uk"})

_GAUGE = (0.0, 5e6)


@kernel(flows="m**3/s", returns="m**3/s", source=s.ARITHMETIC)
def peak_flow(flows: Sequence[float]) -> float:
    """Flow of all that draws at once.

    Formula: sum of flows

    Args:
        flows: that may run together [m**3/s]
    Returns: flow [m**3/s]
    Valid: each 0 to 1 m**3/s
    Raises: OutOfRangeError outside the range
    Source: arithmetic
    """
    for flow in flows:
        s.require("peak_flow", "flows", flow, (0.0, 1.0), "m**3/s")
    return math.fsum(flows)


@kernel(
    height="m", density="kg/m**3", returns="Pa", source=s.HYDROSTATICS,
    valid={"height": (-500, 500), "density": (900, 1100)},
)  # fmt: skip
def hydrostatic_head(height: float, density: float = 998.2) -> float:
    """Pressure that a column of water adds; below zero where the machine stands higher than the gauge.

    Formula: p = rho g h; g = 9.80665 m/s2

    Args:
        height: gauge above machine [m]
        density: of the water, at 20 degrees Celsius unless given [kg/m**3]
    Returns: pressure difference [Pa]
    Valid: height -500 to 500 m; density 900 to 1100 kg/m**3
    Raises: OutOfRangeError outside these ranges
    Source: hydrostatics

    >>> round(hydrostatic_head(1.0) / 1e5, 4)
    0.0979
    """
    return density * GRAVITY * height


def inlet_verdict(flowing: float, static: float, minimum: float, maximum: float) -> tuple[str, ...]:
    """Ids of what is wrong with the pressure at the inlet; empty when it fits.

    Formula: flowing < minimum: "flowing_low"; static > maximum: "static_high";
        flowing > static: "readings_exchanged"

    Args:
        flowing: least pressure at peak flow, gauge [Pa]
        static: greatest pressure without flow (night), gauge [Pa]
        minimum: that the machine needs, gauge [Pa]
        maximum: that it bears, gauge [Pa]
    Returns: ids []
    Valid: 0 to 5e6 Pa each; minimum below maximum
    Raises: OutOfRangeError outside these ranges
    Source: arithmetic
    """
    for name, found in (("flowing", flowing), ("static", static), ("maximum", maximum)):
        s.require("inlet_verdict", name, found, _GAUGE, "Pa")
    s.require("inlet_verdict", "minimum", minimum, (0.0, maximum), "Pa")
    wrong = (
        ("flowing_low", flowing < minimum),
        ("static_high", static > maximum),
        ("readings_exchanged", flowing > static),
    )
    return tuple(name for name, holds in wrong if holds)


@kernel(code="", returns="Pa", source=s.UPC_608_2)
def reducer_threshold(code: str) -> float:
    """Static pressure above which the declared code asks for a pressure-reducing valve.

    Formula: table by code

    Args:
        code: declared code, a family of `CODES` or a name of `CODE_NAMES` []
    Returns: gauge pressure [Pa]
    Valid: codes of the table
    Raises: UnknownEntryError for a code without a figure
    Source: UPC 608.2; IPC 604.8, AS/NZS 3500.1, EN 806-2 from memory
    """
    return s.code_entry("reducer_threshold", REDUCER_THRESHOLD, code).figure


def reducer_needed(static: float, code: str, maximum: float) -> bool:
    """Whether static pressure [Pa gauge] passes the code's threshold or the machine's maximum [Pa gauge]."""
    s.require("reducer_needed", "static", static, _GAUGE, "Pa")
    s.require("reducer_needed", "maximum", maximum, _GAUGE, "Pa")
    return static > min(reducer_threshold(code), maximum)


@kernel(
    minimum="Pa", maximum="Pa", losses="Pa", fall_off="Pa", returns="Pa", source=s.COMMON_PRACTICE,
    valid={"minimum": _GAUGE, "maximum": _GAUGE, "losses": (0, 2e6), "fall_off": (0, 1e6)},
)  # fmt: skip
def reducer_setting(minimum: float, maximum: float, losses: float, fall_off: float) -> float:
    """Setting of the reducer without flow: midway between what is needed at peak flow and what is borne.

    Formula: (minimum + losses + fall-off + maximum)/2

    Args:
        minimum: that the machine needs flowing, gauge [Pa]
        maximum: that it bears without flow, gauge [Pa]
        losses: between reducer and machine at peak flow [Pa]
        fall_off: drop of the reducer's own outlet pressure from no flow to peak flow [Pa]
    Returns: setting without flow, gauge [Pa]
    Valid: pressures 0 to 5e6 Pa; minimum + losses + fall-off not above maximum
    Raises: OutOfRangeError where no setting serves both ends
    Source: common practice, no source
    """
    lowest = minimum + losses + fall_off
    if lowest > maximum:
        raise OutOfRangeError("reducer_setting", "maximum", maximum, lowest, None, "Pa")
    return (lowest + maximum) / 2.0


@kernel(working="Pa", code="", returns="Pa", source=s.EN_806_4, valid={"working": _GAUGE})
def pressure_test(working: float, code: str) -> float:
    """Pressure of the test on new pipework, machine and cartridge isolated.

    Formula: max(factor working, minimum of the code); "uk" 1.5; "en" 1.1 x 1.5; US codes 1;
        "as_nzs_3500" 1500 kPa at least

    Args:
        working: highest operating pressure, gauge [Pa]
        code: declared code, a family of `CODES` or a name of `CODE_NAMES` []
    Returns: gauge pressure [Pa]
    Valid: 0 to 5e6 Pa
    Raises: OutOfRangeError outside the range; UnknownEntryError for another code
    Source: EN 806-4 6.1 with EN 806-2 3.4.2; UK interpretation; others from memory

    >>> round(pressure_test(5e5, "en") / 1e5, 2)
    8.25
    """
    rule = s.code_entry("pressure_test", TEST_RULES, code)
    return max(rule.factor * working, rule.minimum)


@kernel(
    bore="m", length="m", returns="m**3", source=s.ARITHMETIC,
    valid={"bore": (0.001, 0.2), "length": (0, 1000)},
)  # fmt: skip
def pipe_volume(bore: float, length: float) -> float:
    """Water in a pipe.

    Formula: pi/4 D^2 L

    Args:
        bore: of the pipe [m]
        length: of the pipe [m]
    Returns: volume [m**3]
    Valid: bore 1 to 200 mm; length 0 to 1000 m
    Raises: OutOfRangeError outside these ranges
    Source: arithmetic
    """
    return math.pi / 4.0 * bore * bore * length


@kernel(
    bore="m", length="m", changes="", returns="m**3", source=s.COMMON_PRACTICE,
    valid={"bore": (0.001, 0.2), "length": (0, 1000), "changes": (1, 20)},
)  # fmt: skip
def flush_volume(bore: float, length: float, changes: float = 3.0) -> float:
    """Water to run to waste so that a line's content is changed.

    Formula: changes * pi/4 D^2 L

    Args:
        bore: of the line [m]
        length: of the line [m]
        changes: of its content, three unless told []
    Returns: volume [m**3]
    Valid: bore 1 to 200 mm; length 0 to 1000 m; changes 1 to 20
    Raises: OutOfRangeError outside these ranges
    Source: common practice, no source
    """
    return changes * pipe_volume(bore, length)


@kernel(
    volume="m**3", flow="m**3/s", returns="s", source=s.ARITHMETIC,
    valid={"volume": (0, 100), "flow": (1e-7, 1)},
)  # fmt: skip
def flush_time(volume: float, flow: float) -> float:
    """How long a volume runs.

    Formula: V/Q

    Args:
        volume: to waste [m**3]
        flow: of the open line [m**3/s]
    Returns: time [s]
    Valid: volume 0 to 100 m**3; flow 1e-7 to 1 m**3/s
    Raises: OutOfRangeError outside these ranges
    Source: arithmetic
    """
    return volume / flow


@kernel(
    flow="m**3/s", bore="m", returns="m/s", source=s.ARITHMETIC,
    valid={"flow": (0, 1), "bore": (0.001, 0.2)},
)  # fmt: skip
def flow_velocity(flow: float, bore: float) -> float:
    """Mean velocity in a full pipe.

    Formula: v = Q/(pi/4 D^2)

    Args:
        flow: through the pipe [m**3/s]
        bore: of the pipe [m]
    Returns: velocity [m/s]
    Valid: flow 0 to 1 m**3/s; bore 1 to 200 mm
    Raises: OutOfRangeError outside these ranges
    Source: arithmetic
    """
    return flow / (math.pi / 4.0 * bore * bore)


@kernel(
    bore="m", wall="m", modulus="Pa", density="kg/m**3", bulk_modulus="Pa", returns="m/s", source=s.KORTEWEG,
    valid={
        "bore": (0.001, 0.2), "wall": (1e-4, 0.05), "modulus": (1e6, 1e12),
        "density": (900, 1100), "bulk_modulus": (1e9, 3e9),
    },
)  # fmt: skip
def wave_speed(
    bore: float, wall: float, modulus: float, density: float = 998.2, bulk_modulus: float = 2.19e9
) -> float:
    """Speed of a pressure wave in water inside an elastic pipe.

    Formula: a = sqrt((K/rho)/(1 + K D/(E e)))

    Args:
        bore: D [m]
        wall: thickness e [m]
        modulus: of elasticity of the pipe, E [Pa]
        density: of the water [kg/m**3]
        bulk_modulus: of the water, K [Pa]
    Returns: speed [m/s]
    Valid: bore 1 to 200 mm; wall 0.1 to 50 mm; E 1e6 to 1e12 Pa; density 900 to 1100; K 1e9 to 3e9 Pa
    Raises: OutOfRangeError outside these ranges
    Source: Korteweg
    """
    return math.sqrt(bulk_modulus / density / (1.0 + bulk_modulus * bore / (modulus * wall)))


@kernel(
    velocity="m/s", speed="m/s", length="m", closing_time="s", density="kg/m**3",
    returns="Pa", source=s.JOUKOWSKY,
    valid={
        "velocity": (0, 20), "speed": (10, 1500), "length": (0, 1000), "closing_time": (0, 60),
        "density": (900, 1100),
    },
)  # fmt: skip
def hammer(
    velocity: float, speed: float, length: float, closing_time: float, density: float = 998.2
) -> float:
    """Pressure rise when a valve closes on flowing water.

    Formula: rho a v where the valve closes within 2 L/a; 2 rho L v/t where it closes more slowly

    Args:
        velocity: of the water before closing [m/s]
        speed: of the pressure wave, a [m/s]
        length: of the line up to the next large pipe, L [m]
        closing_time: of the valve, t [s]
        density: of the water [kg/m**3]
    Returns: rise above the pressure before [Pa]
    Valid: velocity 0 to 20 m/s; speed 10 to 1500 m/s; length 0 to 1000 m; time 0 to 60 s
    Raises: OutOfRangeError outside these ranges
    Source: Joukowsky; Michaud
    """
    if closing_time <= 2.0 * length / speed:
        return density * speed * velocity
    return 2.0 * density * length * velocity / closing_time


@kernel(
    opening="Pa", tolerance="", night="Pa", pump_rise="Pa", returns="Pa", source=s.ARITHMETIC,
    valid={"opening": (0, 5e6), "tolerance": (0, 0.5), "night": _GAUGE, "pump_rise": (0, 3e6)},
)  # fmt: skip
def expansion_valve_margin(opening: float, tolerance: float, night: float, pump_rise: float) -> float:
    """How far the expansion valve's earliest opening lies above the highest pressure before it.

    Formula: opening (1 - tolerance) - (night + pump rise)

    Args:
        opening: set pressure of the valve, gauge [Pa]
        tolerance: of its opening, share []
        night: highest static pressure of the mains, gauge [Pa]
        pump_rise: pressure that the pump adds at its setting [Pa]
    Returns: margin; below zero it drips or the pump cannot reach its setting [Pa]
    Valid: opening and night 0 to 5e6 Pa; tolerance 0 to 0.5; pump 0 to 3e6 Pa
    Raises: OutOfRangeError outside these ranges
    Source: arithmetic
    """
    return opening * (1.0 - tolerance) - (night + pump_rise)


def backflow_device(category: int, code: str) -> str:
    """Id of the device for a fluid category, where the code speaks in categories (EN 1717, from memory).

    US and Australian codes name the device by the appliance: UnknownEntryError, and the site states it.
    """
    family = s.CODE_NAMES.get(code, code)
    if family not in CATEGORY_CODES:
        raise s.UnknownEntryError("backflow_device", code, tuple(sorted(CATEGORY_CODES)))
    return s.entry("fluid category", BACKFLOW_DEVICES, category)
