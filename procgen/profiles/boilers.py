"""The wet and hot parts of a machine: groups, brew boilers, steam boiler, elements."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from procgen.profiles.fields import (
    BoilerTemperature,
    Coefficient,
    Conductance,
    Conductivity,
    Duration,
    Gauge,
    Mark,
    Mass,
    Power,
    Ratio,
    Section,
    Size,
    TemperatureDifference,
    Text,
    Voltage,
    Volume,
    Whole,
)

Material = Literal["stainless_steel", "copper", "brass"]


class BleedPoint(Section):
    """Where air leaves when the group's outlet is not the boiler's highest point."""

    mark: Mark
    location: Text


class Group(Section):
    """One group: the head that brews, and the brew boiler that feeds it."""

    mark: Mark
    brew_boiler: Mark
    head_mass: Mass
    head_material: Material
    #: heat path from boiler to head, and from head to the room
    head_coupling: Conductance
    head_loss: Conductance
    #: water reaches the basket through this drilled restrictor
    restrictor_bore: Size
    restrictor_discharge: Coefficient
    #: None: air leaves through the group itself
    bleed_point: BleedPoint | None = None
    portion_keys: Whole


class Preheat(Section):
    """Feed to the brew boiler passes an exchanger inside the steam boiler."""

    exchanger_conductance: Conductance


class BrewBoiler(Section):
    """A boiler that makes brewing water."""

    mark: Mark
    volume: Volume
    shell_mass: Mass
    material: Material
    loss: Conductance
    set_temperature: BoilerTemperature
    controller_range: BoilerTemperature
    #: how far below the set point its elements come on again
    hysteresis: TemperatureDifference
    working_pressure_maximum: Gauge
    elements: list[Mark] = Field(min_length=1)
    preheat: Preheat | None = None


class ReliefValve(Section):
    """The safety relief valve: never adjusted, never plugged."""

    mark: Mark
    setting: Gauge
    opening_tolerance: Ratio
    #: how far below its setting it closes again
    reseat_below: Ratio
    discharge: Text


class LevelSign(Section):
    """How a person sees that the steam boiler holds its level."""

    shown_by: Literal["sight_glass", "display", "test_tap"]
    name: Text
    full_sign: Text


class SafetyThermostat(Section):
    """The limiter that cuts an element for good until someone resets it."""

    mark: Mark
    location: Text
    reset: Literal["manual", "automatic"]
    trips_at: BoilerTemperature


class VacuumBreaker(Section):
    """Lets air in when the boiler cools and out while it fills and heats."""

    mark: Mark
    location: Text


class SteamBoiler(Section):
    """The boiler that makes steam and hot water."""

    mark: Mark
    volume_total: Volume
    volume_to_probe: Volume
    shell_mass: Mass
    material: Material
    loss: Conductance
    holds: Literal["temperature", "pressure"]
    set_temperature: BoilerTemperature | None = None
    set_pressure: Gauge | None = None
    temperature_range: BoilerTemperature | None = None
    pressure_range: Gauge | None = None
    #: how far below the set point its elements come on again
    hysteresis: TemperatureDifference
    overshoot: TemperatureDifference
    working_pressure_maximum: Gauge
    relief_valve: ReliefValve
    vacuum_breaker: VacuumBreaker
    safety_thermostat: SafetyThermostat
    level: LevelSign
    #: below this the level probe no longer sees the water
    probe_conductivity_minimum: Conductivity
    fill_timeout: Duration
    elements: list[Mark] = Field(min_length=1)


class Element(Section):
    """One heating element."""

    mark: Mark
    rating: Power
    rated_voltage: Voltage
