"""The electrical side of a machine: supply variants and what is connected between which conductors."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from procgen.profiles.fields import (
    CrossSection,
    Current,
    Frequency,
    Identifier,
    Length,
    Mark,
    Power,
    PowerFactor,
    Section,
    Text,
    Voltage,
    YesNo,
)

#: 230 V 1N~ · 400/230 V 3N~ · 230 V 3~ without neutral · 240/120 V split phase ·
#: two legs of 208Y/120 V · 208 V 3~ delta. None stands in for another.
Arrangement = Literal["1N", "3N", "3", "split", "two_legs", "3_delta_208"]
Terminals = Literal["L1-N", "L2-N", "L3-N", "L1-L2", "L2-L3", "L3-L1"]


class Connection(Section):
    """One element between two conductors."""

    element: Mark
    terminals: Terminals


class Load(Section):
    """Something else that draws current: pump motors, electronics, lighting."""

    name: Text
    power: Power
    power_factor: PowerFactor
    terminals: Terminals
    runs: Annotated[
        Literal["always", "on_demand"],
        Field(
            description=(
                "always: as long as the machine is switched on, as control, lighting and a heated top do; its"
                " heat stays in the room. on_demand: only while something is drawn, as pump motors do."
            )
        ),
    ]


class Cord(Section):
    """The flexible cord the machine comes with or asks for."""

    supplied: YesNo
    section: CrossSection
    length: Length
    conductors: Text


class SupplyVariant(Section):
    """One way this model can be wired."""

    id: Identifier
    name: Text
    arrangement: Arrangement
    line_to_neutral: Voltage | None = None
    line_to_line: Voltage | None = None
    frequency: Frequency
    connections: list[Connection] = Field(min_length=1)
    other_loads: list[Load] = Field(default_factory=list)
    #: the control never lets the line current pass this; None: everything may be on together
    current_limit: Current | None = None
    #: which element is served first when not all may be on
    priority: list[Mark] = Field(default_factory=list)
    cord: Cord
    terminal_block: Annotated[Text, Field(description="Where the terminals are and how they are marked")]
