"""Files of the wrong shape: every field says what it expected, in words, at its place."""
# ruff: noqa: E501 -- whole messages stand on one line

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from procgen.messages.catalog import Messages
from procgen.messages.diagnostic import InputFaultsError
from procgen.messages.yamltext import dotted, read
from procgen.profiles.loader import load
from procgen.profiles.machine import Machine
from procgen.profiles.site import Site
from procgen.profiles.workspace import Workspace, read_workspace
from tests.conftest import ROOT
from tests.profiles.kit import pointed, said_of

O, P, U, W, G = (  # noqa: E741
    f"models/{name}.yml"
    for name in ("oskerel-three", "pippetree-one", "umberlode-two", "wickenlathe-two", "grellowane-three")
)
F = "sites/fennavar-museum.yml"
DEMO = [
    f"{kind}/{path.name}"
    for kind in ("models", "sites")
    for path in sorted((ROOT / "machine_profiles" / kind).glob("*.yml"))
]

#: file, old text, new text, what is said
SAID: list[tuple[str, str, str, list[str]]] = [
    # unknown fields, at each depth and in the sections of a union
    (P, "summary:", "sumary:", [
        "»kind: machine | summary: the field 'summary' is missing; expected it here",
        "sumary: »>- | sumary: unknown field 'sumary'; did you mean 'summary'?",
    ]),
    (P, "  width: 418 mm", "  width: 418 mm\n  widht: 418 mm", [
        "widht: »418 mm | body.widht: unknown field 'widht'; did you mean 'width'?",
    ]),
    (P, "head_loss: 0.6 W/K", "head_loss: 0.6 W/K\n    head_los: 0.6 W/K", [
        "head_los: »0.6 W/K | groups[0].head_los: unknown field 'head_los'; did you mean 'head_loss'?",
    ]),
    (P, '      mark: "34"', '      mark: "34"\n      locaton: x', [
        "locaton: »x | groups[0].bleed_point.locaton: unknown field 'locaton'; did you mean 'location'?",
    ]),
    (P, "    reseat_below: 10 %", "    reseat_below: 10 %\n    reseat: 10 %", [
        "reseat: »10 % | steam_boiler.relief_valve.reseat: unknown field 'reseat'; did you mean 'reseat_below'?",
    ]),
    (P, "          flow: 116 L/h", "          flow: 116 L/h\n          presure: 0 bar", [
        "presure: »0 bar | pumps.units[0].curve[0].presure: unknown field 'presure'; did you mean 'pressure'?",
    ]),
    (P, "  method: none", "  method: none\n  reson: x", [
        "reson: »x | hot_water.reson: unknown field 'reson'; did you mean 'reason'?",
    ]),
    (P, "  method: none", "  method: none\n  outlet_bore: 6 mm", [
        "outlet_bore: »6 mm | hot_water.outlet_bore: unknown field 'outlet_bore'; expected one of method, reason",
    ]),
    (O, "    - position: plain", "    - position: plain\n      boer: 1 mm", [
        "boer: »1 mm | hot_water.positions[0].boer: unknown field 'boer'; did you mean 'bore'?",
    ]),
    (O, "  adjuster_mark: 6v", "  adjuster_mark: 6v\n  ajuster: 6v", [
        "ajuster: »6v | hot_water.ajuster: unknown field 'ajuster'; did you mean 'adjuster_mark'?",
    ]),
    (G, "  scale:", "  scael: 90 °C\n  scale:", [
        "scael: »90 °C | hot_water.scael: unknown field 'scael'; did you mean 'scale'?",
    ]),
    (W, "  cycle:", "  cylce: 3 s\n  cycle:", [
        "cylce: »3 s | hot_water.cylce: unknown field 'cylce'; did you mean 'cycle'?",
    ]),
    (F, "  static_pressure: 3.1 bar", "  static_pressure: 3.1 bar\n  static: 3.1 bar", [
        "static: »3.1 bar | mains.static: unknown field 'static'; expected one of backflow_device, expansion_control,"
        " flowing, hammer_arrestor, isolating_valve, line, night_pressure, reducer, static_pressure, strainer, water_temperature",
    ]),
    (F, "    flow: 3 L/min\n", "    flow: 3 L/min\n    flwo: 3 L/min\n", [
        "flwo: »3 L/min | mains.flowing.flwo: unknown field 'flwo'; did you mean 'flow'?",
    ]),
    (F, "water:\n", "water:\n  <<: {ph: 7}\n", [
        "»<<: {ph: 7} | water.<<: unknown field '<<'; expected one of alkalinity, calcium, chloride, conductivity,"
        " hardness, magnesium, ph, sample_point, sampled, sulfate, tds",
    ]),
    # missing fields
    (P, "  depth: 552 mm\n", "", ["»body: | body.depth: the field 'depth' is missing; expected it here"]),
    (P, '    brew_boiler: "22"\n', "", ['- »mark: "31" | groups[0].brew_boiler: the field \'brew_boiler\' is missing; expected it here']),
    (P, "  reason: This", "  # reason: This", ["»hot_water: | hot_water.reason: the field 'reason' is missing; expected it here"]),
    (P, "  method: none\n", "", ["»hot_water: | hot_water.method: the field 'method' is missing; expected it here"]),
    (F, "  flush_volume: 3 L\n", "", ["»treatment: | treatment.flush_volume: the field 'flush_volume' is missing; expected it here"]),
    # wrong shapes
    (P, "groups:\n", "groups: none\ngroup_s:\n", [
        "groups: »none | groups: found none; expected a list",
        "»group_s: | group_s: unknown field 'group_s'; did you mean 'groups'?",
    ]),
    (P, "tools:\n", "tools: []\npump:\n", [
        "»tools: [] | tools: found 0 entries; expected at least 1",
        "»pump: | pump: unknown field 'pump'; did you mean 'pumps'?",
    ]),
    (F, "altitude: 60 m", "altitude: [60 m]", ["»altitude: [60 m] | altitude: found a list; expected altitude with its unit, for example '430 m'"]),
    (F, "altitude: 60 m", "altitude: {m: 60}", ["»altitude: {m: 60} | altitude: found a group of fields; expected altitude with its unit, for example '430 m'"]),
    (F, "altitude: 60 m", "altitude:", ["altitude:» | altitude: '' is not a quantity; expected altitude, for example '430 m'"]),
    (F, "  strainer: yes", "  strainer: [yes]", ["»strainer: [yes] | mains.strainer: found a list; expected yes or no"]),
    (F, "  stairs: 0", "  stairs: {n: 0}", ["»stairs: {n: 0} | access.stairs: found a group of fields; expected a whole number"]),
    (F, "  name: Cartridge, small size", "  name: [Cartridge]", ["»name: [Cartridge] | treatment.name: found a list; expected text"]),
    (F, "codes:\n", "codes: EN 806\ncode:\n", [
        "codes: »EN 806 | codes: found EN 806; expected a group of fields",
        "»code: | code: unknown field 'code'; did you mean 'codes'?",
    ]),
    # words of a fixed set
    (F, "units: metric", "units: imperial", ["units: »imperial | units: found 'imperial'; expected one of 'metric' or 'us'"]),
    (F, "kind: site", "kind: machine", ["kind: »machine | kind: found 'machine'; expected one of 'site'"]),
    (P, "  method: none", "  method: tap", [
        "method: »tap | hot_water.method: found 'tap'; expected one of 'none', 'pump_setting', 'restrictor', 'thermostatic_valve', 'timed_dilution'",
    ]),
    (P, "arrangement: 1N", "arrangement: 2N", [
        "arrangement: »2N | supply_variants[0].arrangement: found '2N'; expected one of '1N', '3N', '3', 'split', 'two_legs' or '3_delta_208'",
    ]),
    # plain fields, and what YAML 1.1 would have made of them
    (F, "\n  trap: yes", "\n  trap: on", ["trap: »on | drain.trap: found 'on'; expected yes or no"]),
    (F, "\n  trap: yes", "\n  trap: Yes", ["trap: »Yes | drain.trap: found 'Yes'; expected yes or no"]),
    (F, "stairs: 0", "stairs: 010", ["stairs: »010 | access.stairs: found '010'; expected a whole number"]),
    (F, "stairs: 0", "stairs: 0x12", ["stairs: »0x12 | access.stairs: found '0x12'; expected a whole number"]),
    (F, "stairs: 0", "stairs: 1_2", ["stairs: »1_2 | access.stairs: found '1_2'; expected a whole number"]),
    (F, "stairs: 0", "stairs: -1", ["stairs: »-1 | access.stairs: found '-1'; expected a whole number"]),
    (F, "stairs: 0", "stairs: ²", ["stairs: »² | access.stairs: found '²'; expected a whole number"]),
    (F, "coffees: 60", "coffees: 1e3", ["coffees: »1e3 | use.coffees: found '1e3'; expected a whole number"]),
    (F, "date: 2025-05-30", "date: 2025-02-30", ["date: »2025-02-30 | date: found '2025-02-30'; expected a date as 2026-03-31"]),
    (F, "date: 2025-05-30", "date: 30.5.2025", ["date: »30.5.2025 | date: found '30.5.2025'; expected a date as 2026-03-31"]),
    (F, "date: 2025-05-30", "date: ２０２５-05-30", ["date: »２０２５-05-30 | date: found '２０２５-05-30'; expected a date as 2026-03-31"]),
    (F, "machine: pippetree-one", "machine: ../pippetree", ["machine: »../pippetree | machine: found '../pippetree'; expected lower-case letters, digits and hyphens"]),
    (F, 'revision: "1"', 'revision: " "', ["revision: »\" \" | revision: found ' '; expected some text, without control characters"]),
    (F, "floor: Ground floor", f"floor: {'x' * 601}", [f"floor: »{'x' * 601} | access.floor: the text has 601 characters; expected at most 600"]),
    (P, '- mark: "31"', "- mark: a/b", [
        "- mark: »a/b | groups[0].mark: found 'a/b'; expected a short mark as it stands on the machine, without brackets, quotes or slashes",
    ]),
    # quantities
    (F, "altitude: 60 m", "altitude: 60", ["altitude: »60 | altitude: '60' has no unit; expected altitude in m, ft, for example '430 m'"]),
    (F, "altitude: 60 m", "altitude: 60 m²", ["altitude: »60 m² | altitude: the unit 'm²' in '60 m²' is not known; expected altitude in m, ft, for example '430 m'"]),
    (F, "altitude: 60 m", "altitude: 9000 m", ["altitude: »9000 m | altitude: '9000 m' cannot be right; expected -430 m to 5000 m"]),
    (F, "static_pressure: 3.1 bar", "static_pressure: 3.1 bar(a)", [
        "static_pressure: »3.1 bar(a) | mains.static_pressure: '3.1 bar(a)' is marked absolute; this field holds gauge pressure, for example '4.2 bar'",
    ]),
    (F, "      loss: 0.4 bar", "      loss: 0.4 bar(g)", [
        "loss: »0.4 bar(g) | treatment.loss[1].loss: '0.4 bar(g)' is marked gauge; this field holds difference pressure, for example '0.3 bar'",
    ]),
    (F, "ph: 7.3", "ph: 7.3 pH", ["ph: »7.3 pH | water.ph: '7.3 pH' has the unit 'pH'; expected a plain number, for example '7.5'"]),
    (F, "slope: 0.2 %", "slope: 1:0", ["slope: »1:0 | counter.slope: '1:0' has no run; expected a fall such as '1:40'"]),
]  # fmt: skip


@pytest.mark.parametrize(("name", "old", "new", "said"), SAID)
def test_what_is_wrong_is_said_where_it_is(
    tmp_path: Path, messages: Messages, name: str, old: str, new: str, said: list[str]
) -> None:
    assert pointed(tmp_path, name, messages, (old, new)) == said


KEPT = [
    # text that YAML 1.1 would have turned into something else
    ("revision: \"1\"", "revision: 1:40", "revision", "1:40"),
    ("revision: \"1\"", "revision: 010", "revision", "010"),
    ("revision: \"1\"", "revision: 1e3", "revision", "1e3"),
    ("revision: \"1\"", "revision: 12_5", "revision", "12_5"),
    ("revision: \"1\"", "revision: 2025-01-01", "revision", "2025-01-01"),
    ("name: Museum tea room, Fennavar", "name: no", "name", "no"),
    ("name: Museum tea room, Fennavar", "name: ~", "name", "~"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "field", "kept"), KEPT)
def test_text_stays_what_was_typed(tmp_path: Path, old: str, new: str, field: str, kept: str) -> None:
    path = tmp_path / "fennavar-museum.yml"
    text = (ROOT / "machine_profiles" / F).read_text(encoding="utf-8")
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    loaded, faults = load(path, tmp_path, Site)
    assert faults == []
    assert loaded is not None
    assert getattr(loaded.data, field) == kept


def test_a_fall_is_no_number_of_base_sixty(tmp_path: Path) -> None:
    path = tmp_path / "fennavar-museum.yml"
    text = (ROOT / "machine_profiles" / F).read_text(encoding="utf-8")
    path.write_text(text.replace("slope: 0.2 %", "slope: 1:40"), encoding="utf-8")
    loaded, _ = load(path, tmp_path, Site)
    assert loaded is not None
    assert loaded.data.counter is not None
    assert loaded.data.counter.slope is not None
    assert loaded.data.counter.slope.value == 0.025


@pytest.mark.parametrize("name", DEMO)
def test_every_leaf_has_its_line(name: str) -> None:
    """The place of a leaf is where its text begins in the file."""
    path = ROOT / "machine_profiles" / name
    document = read(path)
    lines = path.read_text(encoding="utf-8").splitlines()
    count = 0
    for location, leaf in _leaves(document.data, ()):
        assert location in document.marks, dotted(location)
        line, column = document.marks[location]
        there = lines[line - 1][column - 1 :]
        count += 1
        assert there.startswith((leaf.split("\n")[0], '"' + leaf, "'", ">-")), (dotted(location), there)
    assert count > 30
    loaded, _ = load(path, ROOT, Site if name.startswith("sites") else Machine)
    assert loaded is not None
    line = loaded.document.mark(("id",))[0]
    assert loaded.place(("id",)) == f"machine_profiles/{name}:{line}"
    assert lines[line - 1].startswith("id: ")


def _leaves(data: Any, path: tuple[str | int, ...]) -> Iterator[tuple[tuple[str | int, ...], str]]:
    if isinstance(data, dict | list):
        for key, value in data.items() if isinstance(data, dict) else enumerate(data):
            yield from _leaves(value, (*path, key))
    else:
        yield path, data


ODD: list[tuple[str, Any]] = [
    ("nothing", ""),
    ("blank", " "),
    ("a sign", "²"),
    ("a negative number", "-1"),
    ("a quantity of something else", "3 lm"),
    ("an endless number", "9" * 400 + " bar"),
    ("a control character", "a\x07b"),
    ("braces", "{found} {0} %s"),
    ("a list", ["x"]),
    ("an empty list", []),
    ("a group", {"a": "b"}),
    ("an empty group", {}),
]


@pytest.mark.parametrize("name", [U, O, P, F, "sites/ellunby-bakery.yml"])
@pytest.mark.parametrize(("odd", "value"), ODD, ids=[odd for odd, _ in ODD])
def test_whatever_stands_in_a_field_is_answered_in_words(
    tmp_path: Path, messages: Messages, name: str, odd: str, value: Any
) -> None:
    """Every leaf at once replaced by the same odd thing: a message each, none without words."""
    data = yaml.load((ROOT / "machine_profiles" / name).read_text(encoding="utf-8"), yaml.BaseLoader)
    text = yaml.safe_dump(_replaced(data, lambda leaf: value), allow_unicode=True, sort_keys=False)
    if odd == "a control character":
        text = text.replace("\\a", "\\x07")
    told = said_of(tmp_path, name, text, messages)
    fields = len(list(_leaves(data, ())))
    assert len(told) > (fields / 4 if odd in {"a sign", "a negative number", "braces"} else fields / 2)
    for line in told:
        assert line.count("\n") == 0
        assert (
            "expected" in line or "did you mean" in line or "first on line" in line or "not below" in line
        ), line
        assert len(line) < 700


@pytest.mark.parametrize("name", [U, F])
@pytest.mark.parametrize("value", ["x", [], {}, ["x"], {"a": "b"}], ids=repr)
@pytest.mark.parametrize("depth", [1, 2, 3])
def test_whatever_stands_for_a_section_is_answered_in_words(
    tmp_path: Path, messages: Messages, name: str, value: Any, depth: int
) -> None:
    data = yaml.load((ROOT / "machine_profiles" / name).read_text(encoding="utf-8"), yaml.BaseLoader)
    text = yaml.safe_dump(_spoiled(data, value, depth), allow_unicode=True, sort_keys=False)
    told = said_of(tmp_path, name, text, messages)
    assert told
    assert all("expected" in line or "did you mean" in line for line in told)


def _replaced(data: Any, change: Callable[[Any], Any]) -> Any:
    if isinstance(data, dict):
        return {key: _replaced(value, change) for key, value in data.items()}
    if isinstance(data, list):
        return [_replaced(value, change) for value in data]
    return change(data)


def _spoiled(data: Any, value: Any, depth: int) -> Any:
    """Sections and lists at a depth replaced."""
    if not isinstance(data, dict | list):
        return data
    if depth == 0:
        return value
    if isinstance(data, dict):
        return {key: _spoiled(item, value, depth - 1) for key, item in data.items()}
    return [_spoiled(item, value, depth - 1) for item in data]


Make = Callable[..., Path]


def _faults(root: Path, messages: Messages) -> list[str]:
    with pytest.raises(InputFaultsError) as caught:
        read_workspace(root)
    return [messages.diagnostic(fault, root) for fault in caught.value.faults]


def _model(name: str, **changes: str) -> str:
    text = (ROOT / "machine_profiles" / name).read_text(encoding="utf-8")
    for old, new in changes.items():
        text = text.replace(f"\n{old}: ", f"\n{old}: {new} #", 1)
    return text


def test_a_folder_without_models_says_so(tmp_path: Path, messages: Messages) -> None:
    (tmp_path / "machine_profiles").mkdir()
    assert _faults(tmp_path, messages) == [
        "machine_profiles/models: no machine profile here; expected at least one .yml file"
    ]


def test_a_site_of_a_broken_model_is_not_blamed(tmp_path: Path, messages: Messages) -> None:
    base = tmp_path / "machine_profiles"
    (base / "models").mkdir(parents=True)
    (base / "sites").mkdir()
    (base / "models" / "pippetree-one.yml").write_text(_model(P, date="never"), encoding="utf-8")
    (base / "sites" / "fennavar-museum.yml").write_text(_model(F), encoding="utf-8")
    assert _faults(tmp_path, messages) == [
        "machine_profiles/models/pippetree-one.yml:9:7: date: found 'never'; expected a date as 2026-03-31"
    ]


def test_a_site_with_the_id_of_a_model_is_refused(tmp_path: Path, messages: Messages) -> None:
    base = tmp_path / "machine_profiles"
    (base / "models").mkdir(parents=True)
    (base / "sites").mkdir()
    (base / "models" / "pippetree-one.yml").write_text(_model(P), encoding="utf-8")
    (base / "sites" / "pippetree-one.yml").write_text(_model(F, id="pippetree-one"), encoding="utf-8")
    assert _faults(tmp_path, messages) == [
        "machine_profiles/sites/pippetree-one.yml:5:5: id: 'pippetree-one' is a model's id as well;"
        " expected an id that no model has"
    ]


def test_guides_come_sites_first_each_by_id(root: Path) -> None:
    workspace = read_workspace(root)
    guides = [guide.guide for guide in workspace.guides()]
    assert guides == [*sorted(workspace.sites), *sorted(workspace.machines)]
    assert isinstance(workspace, Workspace)
    for guide in workspace.guides():
        wanted = guide.site.data.supply_variant if guide.site else guide.machine.data.supply_variants[0].id
        assert guide.variant.id == wanted
