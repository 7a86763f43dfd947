"""The waste side: falls, what a pipe carries, air gap, waste temperature, by the code the site declares."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from procgen.engineering import sources_general as s
from procgen.engineering.kernel import OutOfRangeError, Source, kernel


@dataclass(frozen=True)
class FallRule:
    """Least fall for pipes up to a bore."""

    bore_maximum: float  # m
    fall: float  # m/m
    source: Source


@dataclass(frozen=True)
class Limit:
    """One figure of a code with its source."""

    figure: float
    source: Source


#: Least falls by code, narrowest first. Bounds are nominal sizes: actual bores lie at or just below them.
FALL_RULES: dict[str, tuple[FallRule, ...]] = {
    "ipc": (
        FallRule(0.0635, 1 / 48, s.IPC_704_1),
        FallRule(0.1524, 1 / 96, s.IPC_704_1_LARGE),
    ),
    # 1/8 in per ft from 4 in on needs the authority's consent, so it is not taken for granted here.
    "upc": (FallRule(0.1524, 1 / 48, s.UPC_708),),
    "as_nzs_3500": (
        FallRule(0.065, 0.025, s.AS_NZS_3500_2),
        FallRule(0.100, 0.0165, s.AS_NZS_3500_2_LARGE),
        FallRule(0.125, 0.0125, s.AS_NZS_3500_2_LARGE),
        FallRule(0.150, 0.0100, s.AS_NZS_3500_2_LARGE),
    ),
    "en": (FallRule(0.150, 0.010, s.EN_12056_2),),
    "uk": (FallRule(0.150, 0.018, s.UK_DOCUMENT_H),),
}

#: Least air gap beside two bores, m.
AIR_GAP_MINIMUM: dict[str, Limit] = {
    "ipc": Limit(0.0254, s.US_AIR_GAP),
    "upc": Limit(0.0254, s.US_AIR_GAP),
    "as_nzs_3500": Limit(0.025, s.AS_NZS_AIR_GAP),
    "en": Limit(0.020, s.EN_1717),
    "uk": Limit(0.020, s.EN_1717),
}

#: Hottest waste a code lets into the drain, K. Codes without an entry leave it to the pipe's own rating.
WASTE_TEMPERATURE: dict[str, Limit] = {
    "ipc": Limit(333.15, s.US_WASTE_TEMPERATURE),
    "upc": Limit(333.15, s.US_WASTE_TEMPERATURE),
}

#: Hottest continuous waste by pipe material, K.
PIPE_TEMPERATURE: dict[str, Limit] = {
    "pvc_u": Limit(333.15, s.PIPE_TEMPERATURE),
    "abs": Limit(343.15, s.PIPE_TEMPERATURE),
    "pe_hd": Limit(353.15, s.PIPE_TEMPERATURE),
    "pp": Limit(368.15, s.PIPE_TEMPERATURE),
    "copper": Limit(368.15, s.PIPE_TEMPERATURE),
    "cast_iron": Limit(368.15, s.PIPE_TEMPERATURE),
    # Not said which plastic: the one that bears least.
    "plastic": Limit(333.15, s.PIPE_TEMPERATURE),
    "flexible_hose": Limit(333.15, s.PIPE_TEMPERATURE),
}

#: Manning's roughness of used waste pipes, s/m^(1/3), on the rough side.
ROUGHNESS: dict[str, Limit] = {
    "plastic": Limit(0.011, s.MANNING_ROUGHNESS),
    "copper": Limit(0.011, s.MANNING_ROUGHNESS),
    "cast_iron": Limit(0.013, s.MANNING_ROUGHNESS),
    "flexible_hose": Limit(0.020, s.MANNING_ROUGHNESS),
}

#: Depth at which a circular pipe carries most, as a share of the bore (Manning).
DEPTH_OF_LARGEST_FLOW = 0.938181

_PIPE = {"bore": (0.005, 1.0), "fall": (1e-6, 1.0), "n": (0.005, 0.1)}


@kernel(
    start_height="m", end_height="m", length="m", returns="", source=s.ARITHMETIC,
    valid={"start_height": (-50, 500), "end_height": (-50, 500), "length": (0.01, 1000)},
)  # fmt: skip
def segment_fall(start_height: float, end_height: float, length: float) -> float:
    """Fall of one segment; below zero it rises.

    Formula: (start height - end height)/length

    Args:
        start_height: invert where the water enters [m]
        end_height: invert where it leaves, from the same datum [m]
        length: of the segment along the floor [m]
    Returns: fall, metres per metre []
    Valid: heights -50 to 500 m; length 0.01 to 1000 m
    Raises: OutOfRangeError outside these ranges
    Source: arithmetic
    """
    return (start_height - end_height) / length


@kernel(fall="", length="m", returns="m", source=s.ARITHMETIC, valid={"fall": (-1, 1), "length": (0, 1000)})
def drop(fall: float, length: float) -> float:
    """Height lost over a length at a fall.

    Formula: fall * length

    Args:
        fall: metres per metre []
        length: along the floor [m]
    Returns: height lost [m]
    Valid: fall -1 to 1; length 0 to 1000 m
    Raises: OutOfRangeError outside these ranges
    Source: arithmetic

    >>> drop(1 / 40, 1.5)
    0.037500000000000006
    """
    return fall * length


def rises(falls: Sequence[float]) -> tuple[int, ...]:
    """Positions of the segments that rise (fall below zero); a level segment is not a rise."""
    for fall in falls:
        s.require("rises", "falls", fall, (None, None), "")
    return tuple(index for index, fall in enumerate(falls) if fall < 0)


def fall_rule(bore: float, code: str) -> FallRule:
    """The rule of a code that covers a bore in m, with its source; raises where the code has none."""
    rules = s.code_entry("required_fall", FALL_RULES, code)
    for rule in rules:
        if bore <= rule.bore_maximum:
            return rule
    raise OutOfRangeError("required_fall", "bore", bore, 0.0, rules[-1].bore_maximum, "m")


@kernel(bore="m", code="", returns="", source=s.IPC_704_1, valid={"bore": (0.005, 1.0)})
def required_fall(bore: float, code: str) -> float:
    """Least fall that the declared code asks of a waste pipe; `fall_rule` gives its source.

    Formula: table by code and bore

    Args:
        bore: of the waste pipe [m]
        code: id of the declared code, a family of `CODES` or a name of `CODE_NAMES` []
    Returns: fall, metres per metre []
    Valid: bore 0.005 m to the end of the code's table
    Raises: OutOfRangeError beyond the table; UnknownEntryError for a code without one
    Source: IPC 704.1; AS/NZS 3500.2; UPC 708.1, EN 12056-2 and Approved Document H from memory
    """
    return fall_rule(bore, code).fall


@kernel(
    hydraulic_radius="m", fall="", n="", returns="m/s", source=s.MANNING,
    valid={"hydraulic_radius": (1e-4, 10), "fall": (1e-6, 1.0), "n": (0.005, 0.1)},
)  # fmt: skip
def manning_velocity(hydraulic_radius: float, fall: float, n: float) -> float:
    """Mean velocity of steady flow under gravity.

    Formula: v = R^(2/3) S^(1/2)/n

    Args:
        hydraulic_radius: area over wetted perimeter [m]
        fall: metres per metre []
        n: Manning's roughness (s/m^(1/3)), about 0.009 to 0.013 for drain pipes []
    Returns: velocity [m/s]
    Valid: radius 1e-4 to 10 m; fall 1e-6 to 1; n 0.005 to 0.1
    Raises: OutOfRangeError outside these ranges
    Source: Manning
    """
    return hydraulic_radius ** (2.0 / 3.0) * math.sqrt(fall) / n


@kernel(material="", returns="", source=s.MANNING_ROUGHNESS)
def roughness(material: str) -> float:
    """Manning's roughness of a waste pipe, a corrugated hose taken for a flexible one.

    Formula: table: plastic and copper 0.011, cast iron 0.013, flexible hose 0.020

    Args:
        material: id of the pipe material []
    Returns: n (s/m^(1/3)) []
    Valid: materials of the table
    Raises: UnknownEntryError for another material
    Source: common practice, from memory
    """
    return s.entry("roughness", ROUGHNESS, material).figure


@kernel(bore="m", fall="", n="", returns="m**3/s", source=s.MANNING, valid=_PIPE)
def capacity_full(bore: float, fall: float, n: float) -> float:
    """What a waste pipe carries running full, without pressure.

    Formula: Q = (pi/4) D^2 (D/4)^(2/3) S^(1/2)/n

    Args:
        bore: of the pipe [m]
        fall: metres per metre []
        n: Manning's roughness []
    Returns: flow [m**3/s]
    Valid: bore 0.005 to 1 m; fall 1e-6 to 1; n 0.005 to 0.1
    Raises: OutOfRangeError outside these ranges
    Source: Manning

    >>> round(capacity_full(0.040, 1 / 40, 0.011) * 1000, 3)
    0.838
    """
    return math.pi / 4.0 * bore * bore * manning_velocity(bore / 4.0, fall, n)


def _angle(depth_ratio: float) -> float:
    return 2.0 * math.acos(1.0 - 2.0 * depth_ratio)


@kernel(depth_ratio="", returns="", source=s.MANNING, valid={"depth_ratio": (0.001, 1)})
def part_full_ratio(depth_ratio: float) -> float:
    """Flow in a part-full circular pipe over its flow running full.

    Formula: theta = 2 acos(1 - 2 y/D); Q/Qfull = (theta - sin theta)/(2 pi) * (1 - sin theta/theta)^(2/3)

    Args:
        depth_ratio: depth of water over bore, y/D []
    Returns: share of the full flow; largest 1.076 near y/D 0.938 []
    Valid: 0.001 to 1
    Raises: OutOfRangeError outside the range
    Source: Manning with the geometry of a circle

    >>> round(part_full_ratio(0.75), 3)
    0.912
    """
    theta = _angle(depth_ratio)
    return (theta - math.sin(theta)) / (2.0 * math.pi) * (1.0 - math.sin(theta) / theta) ** (2.0 / 3.0)


@kernel(
    bore="m", fall="", n="", depth_ratio="", returns="m**3/s", source=s.MANNING,
    valid={**_PIPE, "depth_ratio": (0.001, 1)},
)  # fmt: skip
def capacity_part_full(bore: float, fall: float, n: float, depth_ratio: float) -> float:
    """What a waste pipe carries at a depth.

    Formula: Qfull * Q/Qfull(y/D)

    Args:
        bore: of the pipe [m]
        fall: metres per metre []
        n: Manning's roughness []
        depth_ratio: depth of water over bore []
    Returns: flow [m**3/s]
    Valid: bore 0.005 to 1 m; fall 1e-6 to 1; n 0.005 to 0.1; depth 0.001 to 1
    Raises: OutOfRangeError outside these ranges
    Source: Manning
    """
    return capacity_full(bore, fall, n) * part_full_ratio(depth_ratio)


@kernel(
    bore="m", fall="", n="", depth_ratio="", returns="m/s", source=s.MANNING,
    valid={**_PIPE, "depth_ratio": (0.001, 1)},
)  # fmt: skip
def velocity(bore: float, fall: float, n: float, depth_ratio: float = 1.0) -> float:
    """Mean velocity in a waste pipe at a depth.

    Formula: Manning with R = D/4 (1 - sin theta/theta)

    Args:
        bore: of the pipe [m]
        fall: metres per metre []
        n: Manning's roughness []
        depth_ratio: depth of water over bore []
    Returns: velocity [m/s]
    Valid: bore 0.005 to 1 m; fall 1e-6 to 1; n 0.005 to 0.1; depth 0.001 to 1
    Raises: OutOfRangeError outside these ranges
    Source: Manning
    """
    theta = _angle(depth_ratio)
    return manning_velocity(bore / 4.0, fall, n) * (1.0 - math.sin(theta) / theta) ** (2.0 / 3.0)


@kernel(
    flow="m**3/s", bore="m", fall="", n="", returns="", source=s.MANNING,
    valid={**_PIPE, "flow": (0, 10)},
)  # fmt: skip
def depth_ratio_for_flow(flow: float, bore: float, fall: float, n: float) -> float:
    """Depth at which a waste pipe carries a flow, as a share of the bore.

    Formula: the root of Qfull * Q/Qfull(y/D) = Q below the depth of largest flow, by bisection

    Args:
        flow: to be carried [m**3/s]
        bore: of the pipe [m]
        fall: metres per metre []
        n: Manning's roughness []
    Returns: depth over bore, 0.001 at least []
    Valid: flow up to the largest the pipe carries; bore 0.005 to 1 m; fall 1e-6 to 1; n 0.005 to 0.1
    Raises: OutOfRangeError outside these ranges
    Source: Manning
    """
    full = capacity_full(bore, fall, n)
    largest = full * part_full_ratio(DEPTH_OF_LARGEST_FLOW)
    s.require("depth_ratio_for_flow", "flow", flow, (0.0, largest), "m**3/s")
    low, high = 0.001, DEPTH_OF_LARGEST_FLOW
    for _ in range(50):
        middle = (low + high) / 2.0
        if full * part_full_ratio(middle) < flow:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


@kernel(bore="m", code="", returns="m", source=s.EN_1717, valid={"bore": (0.001, 0.2)})
def air_gap(bore: float, code: str) -> float:
    """Least air gap between the outlet of a waste pipe and the flood level below it.

    Formula: max(2 bore, minimum of the code)

    Args:
        bore: of the outlet above the gap [m]
        code: id of the declared code, a family of `CODES` or a name of `CODE_NAMES` []
    Returns: air gap [m]
    Valid: bore 0.001 to 0.2 m
    Raises: OutOfRangeError outside the range; UnknownEntryError for a code without a figure
    Source: EN 1717; IPC and UPC; AS/NZS 3500.1; all from memory
    """
    return max(2.0 * bore, s.code_entry("air_gap", AIR_GAP_MINIMUM, code).figure)


@kernel(flows="kg/s", temperatures="K", returns="K", source=s.MIXING)
def waste_temperature(flows: Sequence[float], temperatures: Sequence[float]) -> float:
    """Temperature of discharges that run together.

    Formula: sum(m T)/sum(m), equal heat capacity

    Args:
        flows: mass flows, or masses, of the discharges [kg/s]
        temperatures: of the same discharges, in the same order [K]
    Returns: temperature of the mixture [K]
    Valid: flows not negative and not all zero; temperatures 273.15 to 373.15 K
    Raises: OutOfRangeError outside these ranges; ValueError for lists of different length
    Source: energy balance
    """
    s.same_length("waste_temperature", "flows", len(flows), "temperatures", len(temperatures))
    for flow, temperature in zip(flows, temperatures, strict=True):
        s.require("waste_temperature", "flows", flow, (0.0, 1e6), "kg/s")
        s.require("waste_temperature", "temperatures", temperature, (273.15, 373.15), "K")
    total = math.fsum(flows)
    s.require("waste_temperature", "flows", total, (1e-12, None), "kg/s")
    return math.fsum(f * t for f, t in zip(flows, temperatures, strict=True)) / total


@kernel(code="", returns="K", source=s.US_WASTE_TEMPERATURE)
def waste_temperature_limit(code: str) -> float:
    """Hottest waste the declared code lets into the drain.

    Formula: table by code

    Args:
        code: id of the declared code, a family of `CODES` or a name of `CODE_NAMES` []
    Returns: temperature [K]
    Valid: codes that state a limit
    Raises: UnknownEntryError for a code that states none (the pipe's rating remains)
    Source: IPC and UPC, from memory
    """
    return s.code_entry("waste_temperature_limit", WASTE_TEMPERATURE, code).figure


@kernel(material="", returns="K", source=s.PIPE_TEMPERATURE)
def pipe_temperature_limit(material: str) -> float:
    """Hottest continuous waste for a pipe material, where its maker states nothing else.

    Formula: table by material

    Args:
        material: id of the pipe material []
    Returns: temperature [K]
    Valid: materials of the table
    Raises: UnknownEntryError for another material
    Source: common practice, no source; from memory
    """
    return s.entry("pipe_temperature_limit", PIPE_TEMPERATURE, material).figure


@kernel(continuous="m**3/s", intermittent="m**3/s", at_once="", returns="m**3/s", source=s.COMMON_PRACTICE)
def peak_flow(continuous: Sequence[float], intermittent: Sequence[float], at_once: int) -> float:
    """Largest discharge to be expected: all that always runs, and the largest few of the rest.

    Formula: sum(continuous) + sum of the `at_once` largest of intermittent

    Args:
        continuous: discharges that run together at all times [m**3/s]
        intermittent: discharges of which only some run at once [m**3/s]
        at_once: how many of them may run at once []
    Returns: flow [m**3/s]
    Valid: flows not negative; at_once 0 or more
    Raises: OutOfRangeError outside these ranges
    Source: common practice, no source
    """
    s.require("peak_flow", "at_once", at_once, (0, None), "")
    for flow in (*continuous, *intermittent):
        s.require("peak_flow", "flows", flow, (0.0, 1e3), "m**3/s")
    return math.fsum(continuous) + math.fsum(sorted(intermittent, reverse=True)[:at_once])
