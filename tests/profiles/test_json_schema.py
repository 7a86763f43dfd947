"""The JSON Schema for editors: up to date, takes every demo file, refuses what a schema can refuse."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from procgen.messages.catalog import Messages
from procgen.profiles.json_schema import json_schema
from tests.conftest import ROOT
from tests.profiles.kit import changed, said_of

FILES = [
    (kind, path)
    for kind, folder in (("machine", "models"), ("site", "sites"))
    for path in sorted((ROOT / "machine_profiles").rglob(f"{folder}/*.yml"))
]


class Editor(yaml.SafeLoader):
    """YAML as editors read it: the core schema of YAML 1.2, where yes and 1:40 are text and 4 a number."""


Editor.yaml_implicit_resolvers = {}
for tag, pattern, first in (
    ("bool", r"^(true|True|TRUE|false|False|FALSE)$", "tTfF"),
    ("null", r"^(~|null|Null|NULL|)$", ["~", "n", "N", ""]),
    ("int", r"^([-+]?[0-9]+|0x[0-9a-fA-F]+)$", "-+0123456789"),
    ("float", r"^[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?$", "-+.0123456789"),
):
    Editor.add_implicit_resolver(f"tag:yaml.org,2002:{tag}", re.compile(pattern), list(first))


def complaints(kind: str, text: str) -> list[str]:
    """Where an editor would draw its lines."""
    data: Any = yaml.load(text, Editor)
    return [error.json_path for error in Draft202012Validator(json_schema(kind)).iter_errors(data)]


@pytest.mark.parametrize("kind", ["machine", "site"])
def test_the_files_that_editors_read_are_up_to_date(root: Path, kind: str) -> None:
    path = root / "machine_profiles" / "schema" / f"{kind}.schema.json"
    assert json.loads(path.read_text(encoding="utf-8")) == json_schema(kind), "run: procgen schema"


def test_a_field_that_needs_words_says_them_beside_its_unit() -> None:
    treatment = json_schema("site")["$defs"]["Treatment"]["properties"]
    assert treatment["rejection"]["description"].startswith(
        "Reverse osmosis only: share of the dissolved salts"
    )
    assert treatment["rejection"]["examples"] == treatment["bypass"]["examples"] == ["30 %"]


@pytest.mark.parametrize("kind", ["machine", "site"])
def test_it_is_a_schema(kind: str) -> None:
    Draft202012Validator.check_schema(json_schema(kind))


@pytest.mark.parametrize(("kind", "path"), FILES, ids=[path.stem for _, path in FILES])
def test_every_demo_file_passes_and_names_its_schema(kind: str, path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert complaints(kind, text) == []
    named = re.match(r"# yaml-language-server: \$schema=(\S+)\n", text)
    assert named
    assert (path.parent / named[1]).resolve() == ROOT / "machine_profiles" / "schema" / f"{kind}.schema.json"


P, O, F = "models/pippetree-one.yml", "models/oskerel-three.yml", "sites/fennavar-museum.yml"  # noqa: E741

REFUSED = [
    # file, old text, new text, where the editor complains
    (F, "altitude: 60 m", "altitude: 60", "$.altitude"),
    (F, "altitude: 60 m", "altitude: 60 bar", "$.altitude"),
    (F, "altitude: 60 m", "altitude: m 60", "$.altitude"),
    (F, "altitude: 60 m", "altitude:", "$.altitude"),
    (F, "static_pressure: 3.1 bar", "static_pressure: 3.1 bar(a)", "$.mains.static_pressure"),
    (F, "static_pressure: 3.1 bar", "static_pressure: 3.1", "$.mains.static_pressure"),
    (F, "      loss: 0.4 bar", "      loss: 0.4 bar(g)", "$.treatment.loss[1].loss"),
    (F, "ph: 7.3", "ph: 7.3 pH", "$.water.ph"),
    (F, "strainer: yes", "strainer: on", "$.mains.strainer"),
    (F, "strainer: yes", "strainer: 1", "$.mains.strainer"),
    (F, "stairs: 0", "stairs: -1", "$.access.stairs"),
    (F, "stairs: 0", "stairs: 1.5", "$.access.stairs"),
    (F, "stairs: 0", "stairs: none", "$.access.stairs"),
    (F, "date: 2025-05-30", "date: 30.5.2025", "$.date"),
    (F, "machine: pippetree-one", "machine: Pippetree One", "$.machine"),
    (F, "units: metric", "units: imperial", "$.units"),
    (F, "name: Museum tea room, Fennavar", "name:", "$.name"),
    (F, "  strainer: yes", "  strianer: yes", "$.mains"),
    (F, "  flush_volume: 3 L\n", "", "$.treatment"),
    (P, '- mark: "31"', "- mark: <b>", "$.groups[0].mark"),
    (P, "section: 1.5 mm²", "section: AWG 5/0", "$.supply_variants[0].cord.section"),
    (P, "property_class: A2-70", "property_class: 9.9", "$.fittings[1].bolt.property_class"),
    (P, "arrangement: 1N", "arrangement: 2", "$.supply_variants[0].arrangement"),
    (P, "  method: none", "  method: tap", "$.hot_water"),
    (O, "  adjuster_mark: 6v", "  ajuster_mark: 6v", "$.hot_water"),
]


@pytest.mark.parametrize(("name", "old", "new", "where"), REFUSED)
def test_an_editor_complains_where_the_program_does(
    tmp_path: Path, messages: Messages, name: str, old: str, new: str, where: str
) -> None:
    text = changed(name, (old, new))
    assert complaints("site" if name.startswith("sites") else "machine", text) == [where]
    assert said_of(tmp_path, name, text, messages)


TAKEN = [
    (F, "altitude: 60 m", "altitude: -5..60 ft"),
    (F, "altitude: 60 m", "altitude: −5..0..60 m"),
    (F, "static_pressure: 3.1 bar", "static_pressure: 310 kPa gauge"),
    (F, "slope: 0.2 %", "slope: 1:500"),
    (F, "section: 2.5 mm²", "section: 12 AWG"),
    (F, "strainer: yes", "strainer: true"),
    (F, "revision: \"1\"", "revision: 1.0"),
    (F, "ph: 7.3", "ph: 7.1..7.5"),
    (P, "set_temperature: 92 °C", "set_temperature: 92 °C (198 °F to the nearest 1 °F)"),
    (P, 'mark: "11"', "mark: 11"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "old", "new"), TAKEN)
def test_an_editor_takes_what_the_program_takes(
    tmp_path: Path, messages: Messages, name: str, old: str, new: str
) -> None:
    text = changed(name, (old, new))
    assert said_of(tmp_path, name, text, messages) == []
    assert complaints("site" if name.startswith("sites") else "machine", text) == []


@pytest.mark.parametrize("kind", ["machine", "site"])
def test_every_quantity_says_its_units_and_an_example(kind: str) -> None:
    seen = 0
    for field in _fields(json_schema(kind)):
        if "pattern" in field and "with its unit" in field.get("description", ""):
            seen += 1
            assert field["examples"]
            assert all(re.search(field["pattern"], example) for example in field["examples"])
            assert "no unit" in field["description"] or field["type"] == "string"
    assert seen > 20


def _fields(schema: Any) -> Any:
    if isinstance(schema, dict):
        yield schema
        schema = list(schema.values())
    if isinstance(schema, list):
        for part in schema:
            yield from _fields(part)
