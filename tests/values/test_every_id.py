"""The public ids: each exists in every guide, with figure and provenance or with a reason; and the export."""

from __future__ import annotations

import json
import math
import re
from functools import cache
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from procgen.commands import schemas
from procgen.procedure.assemble import Assembled, assemble
from procgen.profiles.workspace import GuideInput, read_workspace
from procgen.units.kinds import KINDS
from procgen.values import Value
from procgen.values.export import worksheet_data
from tests.conftest import ROOT
from tests.values.kit import words
from tests.values.mutate import worksheet

WORKSPACE = read_workspace(ROOT, "machine_profiles", "machine_profiles/synthetic")
GUIDES: dict[str, GuideInput] = {guide.guide: guide for guide in WORKSPACE.guides()}

#: the ids that records, translations and other tools lean on
IDS = [
    "site.atmospheric_pressure",
    "water.boiling_point_site",
    "steam.saturation_pressure", "steam.relief_margin",
    "brew.set_temperature", "brew.temperature_limit", "brew.flash_fraction",
    "supply.inlet_pressure", "supply.static_maximum", "supply.treatment_loss", "supply.reducer_setting",
    "supply.peak_flow", "supply.hose_loss", "supply.temperature",
    "flush.volume_line", "flush.volume_cartridge", "flush.volume_outlets", "flush.time",
    "fill.brew_time", "fill.brew_trapped_air", "fill.flow", "fill.volume", "fill.time", "fill.pump_runs",
    "fill.resets", "fill.stop_and_check_runs",
    "heat.time_setpoint", "heat.time_ready", "heat.time_steam", "heat.time_brew", "heat.energy",
    "heat.curve", "heat.expansion_volume",
    "pump.brew_setting", "pump.brew_static_setting", "pump.brew_maximum", "pump.cold_water_setting",
    "hotwater.mix_temperature", "hotwater.setting_for_target", "hotwater.table",
    "treatment.hardness", "treatment.alkalinity", "treatment.lsi_brew", "treatment.lsi_steam",
    "treatment.larson_skold", "treatment.chloride", "treatment.conductivity_probe",
    "treatment.concentration_ratio", "treatment.blend", "treatment.capacity", "treatment.change_interval",
    "drain.fall_required", "drain.fall_worst", "drain.capacity", "drain.peak_flow", "drain.temperature",
    "drain.air_gap",
    "electrical.power", "electrical.current_L1", "electrical.current_L2", "electrical.current_L3",
    "electrical.current_N", "electrical.voltage_drop", "electrical.voltage_loaded",
    "electrical.device_minimum", "electrical.cable_derating", "electrical.loop_impedance_maximum",
    "electrical.leakage_expected", "electrical.miswire_power_ratio", "electrical.lost_neutral_voltage",
    "handling.mass", "handling.lift_index", "handling.people", "handling.lifting_aid", "handling.foot_load",
    "use.water_per_day", "use.energy_per_day", "use.heat_to_room",
    "time.total",
]  # fmt: skip
#: ids that repeat, by what they repeat for
BY_BREW_BOILER = ["brew.set_temperature", "brew.flash_fraction", "fill.brew_trapped_air", "heat.time_brew"]
BY_FITTING = ["fastening.torque", "fastening.preload"]


@cache
def assembled(name: str) -> Assembled:
    return assemble(GUIDES[name], WORKSPACE.templates, words())


def ids(guide: Assembled) -> list[str]:
    """Every id that this guide must have."""
    machine = guide.machine.data
    roles = sorted({step.role for part in guide.procedure.parts for step in part.steps() if step.minutes})
    return [
        *IDS,
        *(f"{name}[{boiler.mark}]" for name in BY_BREW_BOILER for boiler in machine.brew_boilers),
        *(f"{name}[{fitting.mark}]" for name in BY_FITTING for fitting in machine.fittings),
        *(f"time.by_role[{role}]" for role in roles),
    ]


def faults_of(value: Value) -> list[str]:
    """What a value lacks."""
    if not value.ok:
        spoken = re.fullmatch(r"[A-Z].{15,}\.", value.why, re.DOTALL)
        return ["no reason in words"] if not spoken or re.search(r"[_{}]|\bm\*\*|\bnan\b", value.why) else []
    faults = [] if value.source.title else ["no source"]
    if value.series is not None:
        return faults + ([] if value.series.rows and value.series.columns else ["empty table"])
    if value.low is None or value.value is None or value.high is None:
        return [*faults, "no figure"]
    if not value.low <= value.value <= value.high:
        faults.append("figure outside its own range")
    if not (value.formula or value.residual):
        faults.append("no formula")
    if not value.step > 0:
        faults.append("no digits")
    # Where a part is absent nothing is lost in it: such a nought comes from no figure.
    if not value.inputs and (value.formula, value.value) != ("0", 0.0):
        faults.append("no inputs")
    faults += [f"input {item.name} has no origin" for item in value.inputs if not item.origin]
    faults += [
        f"input {item.name} has no place"
        for item in value.inputs
        if item.origin in {"profile", "survey", "design", "standard"} and not item.place
    ]
    return faults


@pytest.mark.parametrize("name", GUIDES)
def test_every_public_id_has_a_figure_or_a_reason(name: str) -> None:
    guide = assembled(name)
    known = guide.worksheet.values
    assert [identifier for identifier in ids(guide) if identifier not in known] == []
    faults = {identifier: faults_of(value) for identifier, value in known.items()}
    assert {identifier: found for identifier, found in faults.items() if found} == {}


@pytest.mark.parametrize("name", GUIDES)
def test_the_bare_id_of_a_family_is_its_worst(name: str) -> None:
    values = assembled(name).worksheet.values
    for family in BY_BREW_BOILER:
        members = [v.value for i, v in values.items() if i.startswith(f"{family}[") and v.value is not None]
        assert values[family].value == (max(members) if members else None)


def test_every_id_is_had_somewhere() -> None:
    """A value that no guide at all can have would be a promise without a product."""
    sampled = {"sampled": "From the drain tap", "ph": "8.4", "tds": "900 mg/L", "calcium": "90 mg/L"}
    boiler = worksheet("ellunby-bakery", {"boiler_water": {**sampled, "alkalinity": "150 mg/L CaCO3"}})
    sheets = [boiler, *(assembled(name).worksheet for name in GUIDES)]
    had = {i for sheet in sheets for i, value in sheet.values.items() if value.ok}
    assert [identifier for identifier in IDS if identifier not in had] == []


def test_a_lacking_value_is_found() -> None:
    values = assembled("ellunby-bakery").worksheet.values
    good = values["fill.time"]
    assert faults_of(good) == []
    assert good.high is not None
    assert faults_of(good._replace(value=good.high * 2)) == ["figure outside its own range"]
    assert faults_of(good._replace(inputs=())) == ["no inputs"]
    assert faults_of(good._replace(formula="", residual="", step=0.0)) == ["no formula", "no digits"]
    gone = values["treatment.lsi_steam"]
    assert faults_of(gone) == []
    assert faults_of(gone._replace(why="")) == ["no reason in words"]
    assert faults_of(gone._replace(why="T_amb = 423.1 K lies outside the range.")) == ["no reason in words"]


@cache
def exported(name: str) -> Any:
    """What ``values --format json`` prints; a figure that is none cannot be written."""
    data = worksheet_data(assembled(name).worksheet, None)
    return json.loads(json.dumps(data, allow_nan=False, ensure_ascii=False))


@pytest.mark.parametrize("name", GUIDES)
def test_the_export_keeps_its_published_schema(name: str) -> None:
    schema = schemas("values")
    Draft202012Validator.check_schema(schema)
    assert [error.message for error in Draft202012Validator(schema).iter_errors(exported(name))] == []


def test_the_schema_refuses_what_it_must() -> None:
    validator = Draft202012Validator(schemas("values"))
    for change in ({"status": "perhaps"}, {"value": "1.3 bar"}, {"reference": "sealed"}, {"extra": 1}):
        data = json.loads(json.dumps(exported("ellunby-bakery")))
        data["values"][0] |= change
        assert not validator.is_valid(data), change


@pytest.mark.parametrize("name", GUIDES)
def test_the_export_is_unrounded_and_states_its_units(name: str) -> None:
    values = assembled(name).worksheet.values
    for item in exported(name)["values"]:
        value = values[item["id"]]
        assert (item["value"], item["low"], item["high"]) == (value.value, value.low, value.high)
        if value.kind in KINDS:
            assert item["unit"] == KINDS[value.kind].si
            assert item["reference"] == KINDS[value.kind].reference
        if item["status"] == "unavailable":
            assert (item["value"], item["low"], item["high"], item["series"]) == (None, None, None, None)
        if item["series"] is not None:
            columns = item["series"]["columns"]
            assert all(column["name"] for column in columns)
            for column in columns:
                assert column["kind"] == "text" or column["unit"] == KINDS[column["kind"]].si
            assert {len(row) for row in item["series"]["rows"]} == {len(columns)}
            cells = [cell for row in item["series"]["rows"] for cell in row if isinstance(cell, float)]
            assert all(math.isfinite(cell) for cell in cells)
