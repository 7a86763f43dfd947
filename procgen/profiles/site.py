"""The site survey: one place, what was measured there and what was not."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from procgen.profiles.fields import (
    Altitude,
    Capacity,
    Concentration,
    Conductivity,
    CrossSection,
    Current,
    Date,
    Difference,
    Fall,
    FlowRate,
    Gauge,
    Hardness,
    Identifier,
    Length,
    Level,
    Mass,
    PhValue,
    Ratio,
    ResidualCurrent,
    Resistance,
    RoomTemperature,
    Section,
    Size,
    Temperature,
    Text,
    Voltage,
    Volume,
    WaterTemperature,
    Whole,
    YesNo,
)
from procgen.profiles.power import Arrangement


class Codes(Section):
    """The codes the site declares; the words of the code decide, this only selects the figures."""

    plumbing: Literal["EN 806", "UPC", "IPC", "AS/NZS 3500"]
    drainage: Literal["EN 12056", "IPC", "UPC", "AS/NZS 3500.2"]
    electrical: Literal["IEC 60364", "NEC", "AS/NZS 3000"]
    licensed_plumber_required: YesNo
    pressure_vessel_examination: Literal["required", "not_required", "unknown"]
    #: the device the declared code asks for at this connection, as the local water expert stated it
    backflow_device: Literal["single_check", "double_check", "reduced_pressure_zone", "air_gap", "unknown"]


class Flowing(Section):
    """A flowing pressure and the flow it was read at."""

    flow: FlowRate
    pressure: Gauge


class Reducer(Section):
    """A pressure-reducing valve that is in place."""

    setting: Gauge
    #: fall of the outlet at the nominal flow, as a share of the setting; stated together or not at all
    droop: Ratio | None = None
    nominal_flow: FlowRate | None = None


class Line(Section):
    """The pipe from the isolating valve to the treatment."""

    bore: Size
    length: Length


class Mains(Section):
    """The cold-water supply at the machine's isolating valve."""

    static_pressure: Gauge | None = None
    night_pressure: Gauge | None = None
    flowing: Flowing | None = None
    water_temperature: WaterTemperature | None = None
    line: Line | None = None
    isolating_valve: YesNo | None = None
    strainer: YesNo | None = None
    backflow_device: (
        Literal["none", "single_check", "double_check", "reduced_pressure_zone", "air_gap"] | None
    ) = None
    reducer: Reducer | None = None
    hammer_arrestor: YesNo | None = None
    expansion_control: YesNo | None = None


class WaterAnalysis(Section):
    """A water sample and what it was found to hold."""

    sampled: Text
    ph: PhValue | None = None
    hardness: Hardness | None = None
    calcium: Concentration | None = None
    magnesium: Concentration | None = None
    alkalinity: Hardness | None = None
    chloride: Concentration | None = None
    sulfate: Concentration | None = None
    tds: Concentration | None = None
    conductivity: Conductivity | None = None


SamplePoint = Annotated[
    Literal["before_treatment", "after_treatment"],
    Field(
        description=(
            "Where the sample was taken. Left out, it is raw water from before the treatment, and the figures"
            " work out what the treatment makes of it; after the treatment it is the water that reaches the"
            " machine, and nothing is worked out"
        )
    ),
]


class FeedAnalysis(WaterAnalysis):
    """A sample of the water that feeds the machine, from before or from after the site's treatment."""

    sample_point: SamplePoint | None = None

    @property
    def treated(self) -> bool:
        """True where the sample is what reaches the machine."""
        return self.sample_point == "after_treatment"


class LossPoint(Section):
    """A point of the maker's pressure-loss curve."""

    flow: FlowRate
    loss: Difference


class Treatment(Section):
    """Filter head and cartridge, or another treatment, between isolating valve and machine."""

    kind: Literal["particle_filter", "softening", "decarbonising", "reverse_osmosis"]
    name: Text
    loss: list[LossPoint] = Field(min_length=1)
    capacity: Capacity | None = None
    capacity_counts: Literal["carbonate_hardness", "total_hardness"] | None = None
    bypass: Ratio | None = None
    #: hardness the cartridge itself lets through, before the bypass is mixed in
    filtered_hardness: Hardness | None = None
    rejection: Annotated[
        Ratio | None,
        Field(
            description=(
                "Reverse osmosis only: share of the dissolved salts that the whole plant keeps back, permeate"
                " against feed, as its maker states it or as conductivity before and behind it shows. A"
                " single membrane keeps back more than its plant. Stated together with the bypass (0 % where"
                " no raw water is blended in)"
            )
        ),
    ] = None
    flush_volume: Volume
    pressure_maximum: Gauge
    temperature_maximum: WaterTemperature


class Device(Section):
    """The overcurrent device of the machine's own circuit."""

    rating: Current
    curve: Literal["B", "C", "D"] | None = None
    all_pole: YesNo


class ResidualDevice(Section):
    """The residual-current device."""

    rating: ResidualCurrent
    type: Literal["AC", "A", "F", "B", "people_protection"]


class Cable(Section):
    """The fixed cable from board to isolator."""

    section: CrossSection
    length: Length
    ambient: Temperature
    grouped_circuits: Whole
    conductor: Literal["copper"]


class Electricity(Section):
    """What the electrician found or declared."""

    arrangement: Arrangement | None = None
    line_to_neutral: Voltage | None = None
    line_to_line: Voltage | None = None
    device: Device | None = None
    residual_device: ResidualDevice | None = None
    cable: Cable | None = None
    loop_impedance: Resistance | None = None
    lockable_isolator: YesNo | None = None
    isolator_all_pole: YesNo | None = None
    supply_owner: Literal["public", "private"] | None = None


class DrainSegment(Section):
    """A straight run of the drain: heights over the finished floor at its start and end."""

    name: Text
    length: Length
    start_height: Level
    end_height: Level
    bore: Size
    #: a rise is no fault inside a declared trap, nor after a declared waste pump
    within_trap: YesNo = False
    after_pump: YesNo = False


class Drain(Section):
    """The drain route from the machine's outlet to the building's drain."""

    segments: list[DrainSegment] = Field(min_length=1)
    pipe: Literal["plastic", "cast_iron", "copper", "flexible_hose"]
    receiver: Literal["tundish", "standpipe", "floor_drain", "sink"]
    trap: YesNo
    air_gap: Size | None = None
    relief_discharge_visible: YesNo | None = None
    waste_temperature_maximum: Temperature | None = None


class Counter(Section):
    """What the machine stands on."""

    height: Size
    width: Size
    depth: Size
    clear_height: Size
    permitted_load: Mass | None = None
    material: Text
    cutout_diameter: Size | None = None
    slope: Fall | None = None


class Access(Section):
    """The way from the van to the counter."""

    floor: Text
    stairs: Whole
    lift: YesNo
    narrowest: Size
    distance: Length
    people: Whole


class Ambient(Section):
    """The room and the weather the machine comes in from."""

    temperature: RoomTemperature
    arrives_from_frost: YesNo


class Use(Section):
    """What the owner expects to serve in a day."""

    coffees: Whole
    milk_drinks: Whole
    hot_water: Volume
    hours_on: Whole


class Handover(Section):
    """Who does what when the technician has gone."""

    closes_water: Text
    contact: Text


class Site(Section):
    """A site survey."""

    kind: Literal["site"]
    id: Identifier
    name: Text
    revision: Text
    date: Date
    demo: YesNo
    machine: Identifier
    supply_variant: Identifier
    units: Literal["metric", "us"]
    summary: Text
    codes: Codes
    altitude: Altitude | None = None
    ambient: Ambient | None = None
    mains: Mains
    water: FeedAnalysis | None = None
    boiler_water: WaterAnalysis | None = None
    treatment: Treatment | None = None
    electricity: Electricity
    drain: Drain | None = None
    counter: Counter | None = None
    access: Access | None = None
    use: Use | None = None
    handover: Handover
