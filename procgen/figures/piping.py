"""The way of the water from the marks of a profile: which hose leads to which pump and inlet."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Literal

from procgen.profiles.machine import Machine
from procgen.profiles.waterside import Hose, Inlet, Pump

Duty = Literal["brew", "steam_fill", "cold_water"]
DUTIES: tuple[Duty, ...] = ("brew", "steam_fill", "cold_water")


@dataclass
class Lane:
    """One connection of the machine with what stands before it, in the direction of flow."""

    inlet: Inlet
    #: hoses and at most one pump, first the one nearest to the treatment
    way: list[Hose | Pump] = field(default_factory=list)


def names(text: str, mark: str) -> bool:
    """True where a hose's end names a mark as a word of its own."""
    return re.search(rf"(?<![\w.\-]){re.escape(mark)}(?![\w\-])", text) is not None


def pump_of(machine: Machine, mark: str) -> Pump | None:
    """A pump by its mark."""
    return next((unit for unit in machine.pumps.units if unit.mark == mark), None)


def lanes(machine: Machine) -> list[Lane]:
    """The way to each inlet, as far back as the hoses say."""
    return [Lane(inlet, _way(machine, inlet)) for inlet in machine.water.inlets]


def _way(machine: Machine, inlet: Inlet) -> list[Hose | Pump]:
    hoses = list(machine.water.hoses)
    outside = machine.pumps.layout.endswith("external")
    pump = pump_of(machine, inlet.source) if outside else None
    way: list[Hose | Pump] = []
    hose = next((h for h in hoses if names(h.end, inlet.mark)), None)
    while hose is not None and hose not in way:
        way.insert(0, hose)
        if pump is not None and pump not in way and names(hose.start, pump.outlet_mark):
            way.insert(0, pump)
            hose = next((h for h in hoses if names(h.end, pump.inlet_mark)), None)
        else:
            start = hose.start
            hose = next((h for h in hoses if h.end == start and h not in way), None)
    if pump is not None and pump not in way:
        way.insert(0, pump)
    return way


def shared(found: list[Lane]) -> list[Hose | Pump]:
    """What all ways have in common at their beginning."""
    common: list[Hose | Pump] = []
    for pieces in zip(*(lane.way for lane in found), strict=False):
        if any(piece is not pieces[0] for piece in pieces):
            break
        common.append(pieces[0])
    return common


def built_in(machine: Machine, inlet: Inlet) -> list[Pump]:
    """Pumps that stand behind an inlet, inside the machine."""
    if machine.pumps.layout.endswith("external"):
        return []
    return [unit for unit in machine.pumps.units if set(unit.feeds) & set(inlet.feeds)]


def in_order(duties: list[Duty]) -> list[Duty]:
    """Duties from brewing to hot water."""
    return [duty for duty in DUTIES if duty in duties]
