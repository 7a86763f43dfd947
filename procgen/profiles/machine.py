"""The machine profile: one model, its parts, limits, and the words it uses for its own switches and lamps."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from procgen.profiles.boilers import BrewBoiler, Element, Group, SteamBoiler
from procgen.profiles.fields import (
    Altitude,
    Coefficient,
    Date,
    FlowRate,
    Gauge,
    Identifier,
    Length,
    Mark,
    Mass,
    Power,
    Ratio,
    RoomTemperature,
    Section,
    Share,
    Size,
    Text,
    Torque,
    WaterTemperature,
    Whole,
    YesNo,
)
from procgen.profiles.power import SupplyVariant
from procgen.profiles.waterside import Brewing, DrainOutlet, HotWater, Pumps, WaterSide


class Body(Section):
    """Size, mass and how the machine stands."""

    width: Size
    depth: Size
    height: Size
    dry_mass: Mass
    #: cups the top may carry
    cups_mass: Mass
    feet: Whole
    foot_diameter: Size
    foot_adjustment: Size
    grip_height: Size
    clearance_back: Size
    clearance_side: Size
    clearance_top: Size
    cutout_diameter: Size


class Switch(Section):
    """A switch as the machine marks it."""

    mark: Mark
    name: Text
    location: Text
    positions: list[Text] = Field(min_length=1)


class Controls(Section):
    """How this machine is brought into each state, in the words on its own switches."""

    switches: list[Switch] = Field(min_length=1)
    off: Text
    #: energised with heating disabled and automatic fill and pumps inhibited
    inhibited: Text
    #: pumps run by hand, briefly, without filling or heating
    pump_run: Text
    #: automatic fill allowed, heating disabled
    fill_cold: Text
    heat: Text
    run_group: Text
    set_brew_temperature: Text
    set_steam: Text


class Indications(Section):
    """What the machine shows."""

    fill_timeout: Text
    fill_timeout_reset: Text
    level_reached: Text
    heating: Text
    ready: Text
    overheat: Text


class CupWarmer(Section):
    """A heated top."""

    mark: Mark
    power: Power
    how: Text


class DripTray(Section):
    """The tray under the groups."""

    heights: list[Text] = Field(min_length=1)
    how: Text


class Lighting(Section):
    """Work lighting."""

    how: Text


class Portions(Section):
    """How portion volumes are taught."""

    how: Text
    keys: list[Text] = Field(min_length=1)


class SteamWand(Section):
    """One steam outlet."""

    mark: Mark
    operated_by: Text


class Options(Section):
    """Present or absent on this model; absent is left out."""

    steam_wands: list[SteamWand] = Field(min_length=1)
    drip_tray: DripTray | None = None
    lighting: Lighting | None = None
    cup_warmer: CupWarmer | None = None
    portions: Portions | None = None


class TransitItem(Section):
    """A plug, cap or strap that must come off before the machine is used."""

    what: Text
    where: Text


class Bolt(Section):
    """A screw that carries load: its torque follows from the preload."""

    thread: Text
    diameter: Size
    pitch: Size
    property_class: Literal["8.8", "10.9", "12.9", "A2-70"]
    proof_share: Ratio
    nut_factor: Coefficient


class Fitting(Section):
    """Something tightened with a torque: the maker's figure, or a bolt whose preload is computed."""

    mark: Mark
    name: Text
    where: Text
    maker_torque: Torque | None = None
    bolt: Bolt | None = None


class Task(Section):
    """A maintenance task and when it is first due."""

    after_days: Whole
    task: Text
    role: Literal["technician", "owner", "electrician"]


class Design(Section):
    """Ranges the model is designed for: used where a site has no measurement, and said so."""

    mains_static: Gauge
    mains_flowing_flow: FlowRate
    mains_flowing: Gauge
    line_length: Length
    line_bore: Size
    water_temperature: WaterTemperature
    ambient_temperature: RoomTemperature
    altitude: Altitude
    altitude_maximum: Altitude
    #: lowest and highest supply voltage as a share of the rated one, e.g. `90..100..110 %`
    voltage_share: Share
    drain_bore: Size


class Machine(Section):
    """A machine profile."""

    kind: Literal["machine"]
    id: Identifier
    name: Text
    maker: Text
    revision: Text
    date: Date
    #: invented demonstration data: every page says so
    demo: YesNo
    summary: Text
    body: Body
    groups: list[Group] = Field(min_length=1, max_length=6)
    brew_boilers: list[BrewBoiler] = Field(min_length=1, max_length=6)
    steam_boiler: SteamBoiler
    elements: list[Element] = Field(min_length=1)
    supply_variants: list[SupplyVariant] = Field(min_length=1)
    pumps: Pumps
    brewing: Brewing
    water: WaterSide
    hot_water: HotWater
    drain: DrainOutlet
    controls: Controls
    indications: Indications
    options: Options
    transit: list[TransitItem] = Field(min_length=1)
    fittings: list[Fitting] = Field(min_length=1)
    tools: list[Text] = Field(min_length=1)
    supplied_parts: list[Text] = Field(min_length=1)
    first_maintenance: list[Task] = Field(min_length=1)
    design: Design
