"""The water side of a machine: pumps, inlets, hoses, the fill path, hot water, the drain outlet."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from procgen.profiles.fields import (
    Coefficient,
    Concentration,
    Conductivity,
    Difference,
    Duration,
    FlowRate,
    Gauge,
    Hardness,
    Length,
    Level,
    Mark,
    Mass,
    PhValue,
    Power,
    Section,
    Size,
    Temperature,
    TemperatureDifference,
    Text,
    Volume,
    WaterTemperature,
    YesNo,
)

Duty = Literal["brew", "steam_fill", "cold_water"]
WaterSource = Annotated[str, Field(description="`mains`, or the mark of the pump that feeds this path")]


class PumpPoint(Section):
    """What the pump delivers against a pressure difference (maker's curve)."""

    pressure: Difference
    flow: FlowRate


class Pump(Section):
    """A rotary vane pump with its bypass."""

    mark: Mark
    #: what this pump feeds; the branch to the steam boiler may sit on either pump
    feeds: list[Duty] = Field(min_length=1)
    inlet_mark: Mark
    outlet_mark: Mark
    rotation_sign: Text
    curve: list[PumpPoint] = Field(min_length=2)
    bypass_range: Gauge
    #: inlet pressure the maker adjusted the bypass at, and the outlet it then gave
    factory_inlet: Gauge
    factory_outlet: Gauge
    #: how the adjuster turns: "clockwise raises" in the machine's own words
    adjuster: Text
    dry_run_limit: Duration
    motor_power: Power
    mass: Mass | None = None


class Pumps(Section):
    """Which pumps the machine has and where they stand."""

    layout: Literal["twin_external", "twin_built_in", "single_external", "single_built_in"]
    units: list[Pump] = Field(min_length=1, max_length=2)


class Brewing(Section):
    """What the groups are set to under load."""

    pressure: Gauge
    pressure_maximum: Gauge
    #: flow through a basket of coffee while a group brews
    flow_under_load: FlowRate
    expansion_valve_mark: Mark
    expansion_valve_setting: Gauge
    expansion_valve_discharge: Text


class Inlet(Section):
    """A water connection of the machine."""

    mark: Mark
    feeds: list[Duty] = Field(min_length=1)
    source: WaterSource
    thread: Text
    fitting: Mark


class Hose(Section):
    """A supplied hose between two marks."""

    mark: Mark
    start: Text
    end: Text
    length: Length
    bore: Size
    #: sum of the loss coefficients of its fittings
    fittings_loss: Coefficient


class FillPath(Section):
    """The way of the water into the steam boiler."""

    source: WaterSource
    inlet: Mark
    hoses: list[Mark] = Field(min_length=1)
    orifice_bore: Size
    orifice_discharge: Coefficient
    check_valve_opens: Difference
    #: height of the boiler's inlet above the machine's inlet
    lift: Level


class BrewFeed(Section):
    """The way of the water into the brew boilers."""

    source: WaterSource
    inlet: Mark
    hoses: list[Mark] = Field(min_length=1)
    check_valve_opens: Difference


class WaterLimits(Section):
    """What the maker allows the water to be."""

    basis: Text
    hardness: Hardness
    alkalinity: Hardness
    chloride_maximum: Concentration
    ph: PhValue
    conductivity: Conductivity
    tds: Concentration


class WaterSide(Section):
    """Inlets, hoses and limits of the water that enters."""

    inlet_pressure: Gauge
    feedwater_temperature: WaterTemperature
    inlets: list[Inlet] = Field(min_length=1)
    hoses: list[Hose] = Field(min_length=1)
    fill: FillPath
    brew_feed: BrewFeed
    limits: WaterLimits


class NoHotWater(Section):
    """A machine without a hot-water outlet."""

    method: Literal["none"]
    reason: Text


class _Mixing(Section):
    outlets: list[Mark] = Field(min_length=1)
    target: Temperature
    target_window: Temperature
    hot_bore: Size
    hot_discharge: Coefficient
    outlet_bore: Size
    outlet_discharge: Coefficient


class PumpSettingHotWater(_Mixing):
    """Outlet temperature follows the setting of the pump that feeds the cold water."""

    method: Literal["pump_setting"]
    pump: Mark
    cold_bore: Size
    cold_discharge: Coefficient
    setting_range: Gauge


class RestrictorPosition(Section):
    """One position of an adjustable restrictor."""

    position: Text
    bore: Size


class RestrictorHotWater(_Mixing):
    """Outlet temperature follows an adjustable restrictor in the cold water."""

    method: Literal["restrictor"]
    source: WaterSource
    adjuster_mark: Mark
    cold_discharge: Coefficient
    positions: list[RestrictorPosition] = Field(min_length=2)


class ThermostaticHotWater(_Mixing):
    """A thermostatic valve mixes to the temperature on its scale."""

    method: Literal["thermostatic_valve"]
    source: WaterSource
    valve_mark: Mark
    cold_bore: Size
    cold_discharge: Coefficient
    scale: Temperature
    accuracy: TemperatureDifference
    #: the hot side must be at least this much hotter than the mixed water for the valve to regulate
    hot_margin: TemperatureDifference


class TimedDilutionHotWater(_Mixing):
    """Cold water is let in for a share of each cycle."""

    method: Literal["timed_dilution"]
    source: WaterSource
    valve_mark: Mark
    cold_bore: Size
    cold_discharge: Coefficient
    cycle: Duration
    setting_name: Text


HotWater = Annotated[
    NoHotWater | PumpSettingHotWater | RestrictorHotWater | ThermostaticHotWater | TimedDilutionHotWater,
    Field(discriminator="method"),
]


class DrainOutlet(Section):
    """What the machine lets go and where."""

    mark: Mark
    bore: Size
    box_volume: Volume
    hose_supplied: YesNo
