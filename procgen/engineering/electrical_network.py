"""Currents and voltages of a machine's elements on its supply, by complex phasors.

A supply arrangement is a set of phasors; every load is an impedance between two conductors.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from procgen.engineering import sources_general as s
from procgen.engineering.kernel import OutOfRangeError

#: Angle of each conductor in degrees. A neutral stands at zero volts.
_ANGLES: dict[str, dict[str, float]] = {
    "1N": {"L1": 0.0},
    "3N": {"L1": 0.0, "L2": -120.0, "L3": 120.0},
    "3": {"L1": 0.0, "L2": -120.0, "L3": 120.0},
    "split": {"L1": 0.0, "L2": 180.0},
    "two_legs": {"L1": 0.0, "L2": -120.0},
    "3_delta_208": {"L1": 0.0, "L2": -120.0, "L3": 120.0},
}
#: Arrangements without a neutral, whose declared voltage is between lines.
WITHOUT_NEUTRAL = frozenset({"3", "3_delta_208"})
ARRANGEMENTS = tuple(_ANGLES)


class Load(NamedTuple):
    """An element or motor between two conductors, at its rating."""

    power: float  # W at the rated voltage
    rated_voltage: float  # V
    terminals: tuple[str, str]  # ("L1", "N"), ("L1", "L2") ...
    power_factor: float = 1.0  # 1 for elements; lagging below that

    @property
    def admittance(self) -> complex:
        """Constant admittance in S that draws the rating at the rated voltage."""
        magnitude = self.power / (self.power_factor * self.rated_voltage**2)
        return cmath.rect(magnitude, -math.acos(self.power_factor))


class Solution(NamedTuple):
    """What the supply delivers: currents into the machine, and what each load gets."""

    currents: dict[str, complex]  # A, positive from the conductor into the machine
    power: float  # W
    apparent_power: float  # VA, by conductor to the common point of the supply
    load_voltages: tuple[complex, ...]  # V
    load_powers: tuple[float, ...]  # W

    def magnitude(self, conductor: str) -> float:
        """Current in a conductor [A]; 0 for a conductor that the arrangement lacks."""
        return abs(self.currents.get(conductor, 0j))


@dataclass(frozen=True)
class Miswire:
    """What one exchange of a line and the neutral does to one load."""

    swapped: tuple[str, str]
    load: int  # position in the list of loads
    voltage: float  # V across the load after the exchange
    power_ratio: float  # power over rated power


@dataclass(frozen=True)
class LostNeutral:
    """Voltages when the machine's neutral is no longer joined to the supply's."""

    star_point: complex  # V of the machine's neutral against the supply's
    voltages: tuple[float, ...]  # V across each load
    power_ratios: tuple[float, ...]  # power over rated power, each load


def supply_phasors(arrangement: str, voltage: float) -> dict[str, complex]:
    """Phasor of each conductor.

    Formula: line k = U_star * exp(j angle); U_star = voltage, or voltage/sqrt(3) without a neutral; N = 0

    Args:
        arrangement: one of `ARRANGEMENTS` []
        voltage: line to neutral; line to line for "3" and "3_delta_208" [V]
    Returns: phasors by conductor [V]
    Valid: voltage 1 to 1000 V
    Raises: OutOfRangeError for the voltage; UnknownEntryError for the arrangement
    Source: Kirchhoff's laws on complex phasors
    """
    angles = s.entry("arrangement", _ANGLES, arrangement)
    s.require("supply_phasors", "voltage", voltage, (1.0, 1000.0), "V")
    star = voltage / math.sqrt(3.0) if arrangement in WITHOUT_NEUTRAL else voltage
    phasors = {name: cmath.rect(star, math.radians(angle)) for name, angle in angles.items()}
    if arrangement not in WITHOUT_NEUTRAL:
        phasors["N"] = 0j
    return phasors


def _check(load: Load, phasors: dict[str, complex]) -> None:
    s.require("solve", "power", load.power, (0.0, 1e6), "W")
    s.require("solve", "rated_voltage", load.rated_voltage, (1.0, 1000.0), "V")
    s.require("solve", "power_factor", load.power_factor, (0.05, 1.0), "")
    for terminal in load.terminals:
        s.entry("terminals", phasors, terminal)


def _across(load: Load, phasors: dict[str, complex]) -> complex:
    return phasors[load.terminals[0]] - phasors[load.terminals[1]]


def _power(load: Load, voltage: complex) -> float:
    return load.power * (abs(voltage) / load.rated_voltage) ** 2


def solve(arrangement: str, voltage: float, loads: Sequence[Load]) -> Solution:
    """Currents in every conductor and the power of every load.

    Formula: I_load = (Va - Vb) Y; I_conductor = sum of its loads' currents; P = sum P_rated (U/U_rated)^2

    Args:
        arrangement: one of `ARRANGEMENTS` []
        voltage: line to neutral; line to line for "3" and "3_delta_208" [V]
        loads: what is on at once [W, V]
    Returns: `Solution` [A, W, V]
    Valid: power 0 to 1e6 W; voltages 1 to 1000 V; power factor 0.05 to 1
    Raises: OutOfRangeError; UnknownEntryError for an arrangement or a terminal that it lacks
    Source: Kirchhoff's laws on complex phasors
    """
    phasors = supply_phasors(arrangement, voltage)
    currents = dict.fromkeys(phasors, 0j)
    voltages = []
    for load in loads:
        _check(load, phasors)
        across = _across(load, phasors)
        current = across * load.admittance
        currents[load.terminals[0]] += current
        currents[load.terminals[1]] -= current
        voltages.append(across)
    powers = tuple(_power(load, across) for load, across in zip(loads, voltages, strict=True))
    apparent = math.fsum(abs(phasors[name]) * abs(current) for name, current in currents.items())
    return Solution(currents, math.fsum(powers), apparent, tuple(voltages), powers)


def path_current(arrangement: str, currents: Mapping[str, complex], path: tuple[str, str]) -> float:
    """Current that counts for the voltage lost between two conductors of one cable, equally thick.

    What flows out through one and back through the other loses voltage in both; only the part in phase with
    the voltage between them takes from it. Balanced on three lines the neutral carries nothing, and this is
    the line's own current; a line alone loses as much again in its neutral.

    Formula: Re((I_a - I_b)/(V_a - V_b)) U_star; share lost = R of one conductor times this over U_star

    Args:
        arrangement: one of `ARRANGEMENTS` []
        currents: by conductor, positive into the machine [A]
        path: the two conductors []
    Returns: current [A]
    Valid: any currents; for a cable whose reactance does not count (up to 16 mm2)
    Raises: UnknownEntryError for an arrangement or a conductor that it lacks
    Source: Kirchhoff's laws on complex phasors
    """
    phasors = supply_phasors(arrangement, 1.0)
    first, second = (s.entry("conductor", phasors, name) for name in path)
    flowing = currents[path[0]] - currents[path[1]]
    star = max(abs(phasor) for phasor in phasors.values())
    return (flowing / (first - second)).real * star


def star_loads(power: float, phase_voltage: float, power_factor: float = 1.0) -> tuple[Load, ...]:
    """A balanced load in star on L1, L2, L3 and N: total power [W], line-to-neutral rating [V]."""
    return tuple(Load(power / 3.0, phase_voltage, (f"L{k}", "N"), power_factor) for k in (1, 2, 3))


def delta_loads(power: float, line_voltage: float, power_factor: float = 1.0) -> tuple[Load, ...]:
    """A balanced load in delta between L1, L2 and L3: total power [W], line-to-line rating [V]."""
    pairs = (("L1", "L2"), ("L2", "L3"), ("L3", "L1"))
    return tuple(Load(power / 3.0, line_voltage, pair, power_factor) for pair in pairs)


def miswire(arrangement: str, voltage: float, loads: Sequence[Load]) -> tuple[Miswire, ...]:
    """Every exchange of one line with the neutral that raises the voltage on a line-to-neutral load.

    Formula: the conductors' phasors exchanged; ratio = (U/U_rated)^2

    Args:
        arrangement: one of `ARRANGEMENTS` []
        voltage: line to neutral; line to line for "3" and "3_delta_208" [V]
        loads: elements as they are connected when right [W, V]
    Returns: one `Miswire` for each exchange and load that it harms, in order [V, 1]
    Valid: as `solve`
    Raises: OutOfRangeError; UnknownEntryError
    Source: Kirchhoff's laws on complex phasors
    """
    phasors = supply_phasors(arrangement, voltage)
    found: list[Miswire] = []
    if "N" not in phasors:
        return ()
    for line in (name for name in phasors if name != "N"):
        swapped = {**phasors, line: phasors["N"], "N": phasors[line]}
        for index, load in enumerate(loads):
            _check(load, phasors)
            if "N" not in load.terminals:
                continue
            now, right = abs(_across(load, swapped)), abs(_across(load, phasors))
            if now > right * (1.0 + 1e-9):
                found.append(Miswire((line, "N"), index, now, (now / load.rated_voltage) ** 2))
    return tuple(found)


def lost_neutral(arrangement: str, voltage: float, loads: Sequence[Load]) -> LostNeutral:
    """Voltages on the loads when the neutral is broken before the machine.

    Formula: star point = sum(V_k Y_k)/sum(Y_k) over the loads on the neutral (Millman)

    Args:
        arrangement: one of `ARRANGEMENTS` with a neutral []
        voltage: line to neutral [V]
        loads: what is on at once [W, V]
    Returns: `LostNeutral` [V, 1]
    Valid: as `solve`; at least one load with power on the neutral
    Raises: OutOfRangeError; UnknownEntryError for an arrangement without a neutral
    Source: Millman's theorem
    """
    phasors = supply_phasors(arrangement, voltage)
    s.entry("neutral", phasors, "N")
    weighted, total = 0j, 0j
    for load in loads:
        _check(load, phasors)
        if "N" in load.terminals:
            line = load.terminals[0] if load.terminals[1] == "N" else load.terminals[1]
            weighted += phasors[line] * load.admittance
            total += load.admittance
    if abs(total) < 1e-12:
        raise OutOfRangeError("lost_neutral", "admittance on the neutral", abs(total), 1e-12, None, "S")
    floating = {**phasors, "N": weighted / total}
    across = [_across(load, floating) for load in loads]
    ratios = tuple((abs(u) / load.rated_voltage) ** 2 for load, u in zip(loads, across, strict=True))
    return LostNeutral(floating["N"], tuple(abs(u) for u in across), ratios)


def lost_neutral_worst(arrangement: str, voltage: float, loads: Sequence[Load]) -> float:
    """Highest voltage on a load when the neutral is lost, whatever the controls have switched on by then.

    Worst is a small load alone on its line while everything of one other line is on: the two stand in series
    between the lines, and the small one takes nearly all of the voltage.

    Formula: max |V_a - V_b| |Y_b/(Y_b + Y_k)|; k the smallest load of line a, Y_b all of line b

    Args:
        arrangement: one of `ARRANGEMENTS` with a neutral []
        voltage: line to neutral [V]
        loads: everything that may be on [W, V]
    Returns: voltage [V]
    Valid: as `solve`; loads on the neutral from two lines at least
    Raises: OutOfRangeError; UnknownEntryError for an arrangement without a neutral
    Source: Millman's theorem
    """
    phasors = supply_phasors(arrangement, voltage)
    s.entry("neutral", phasors, "N")
    by_line: dict[str, list[complex]] = {}
    for load in loads:
        _check(load, phasors)
        if "N" in load.terminals and load.power > 0.0:
            line = load.terminals[0] if load.terminals[1] == "N" else load.terminals[1]
            by_line.setdefault(line, []).append(load.admittance)
    if len(by_line) < 2:
        raise OutOfRangeError("lost_neutral_worst", "lines that share the neutral", len(by_line), 2, None, "")
    return max(
        abs(phasors[a] - phasors[b]) * abs(sum(by_line[b]) / (sum(by_line[b]) + min(by_line[a], key=abs)))
        for a in by_line
        for b in by_line
        if a != b
    )
