"""Every rule of machine profiles and surveys: a demo file, one thing wrong, and exactly what is said where."""
# ruff: noqa: E501 -- whole messages stand on one line

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from procgen.messages.catalog import Messages
from procgen.profiles.machine_rules import MACHINE_RULES
from procgen.profiles.site_rules import SITE_RULES
from tests.conftest import ROOT
from tests.profiles.kit import pointed, said_of

O, P, U = (f"models/{name}.yml" for name in ("oskerel-three", "pippetree-one", "umberlode-two"))  # noqa: E741
F = "sites/fennavar-museum.yml"
#: no treatment is surveyed there
Z = "sites/zedrun-arcade.yml"
#: a membrane is
A = "sites/aldrune-laboratory.yml"

#: file, old text, new text, what is said
BREACHES: list[tuple[str, str, str, list[str]]] = [
    (P, 'mark: "34"', 'mark: "31"', [
        'mark: »"31" | groups[0].bleed_point.mark: the mark \'31\' stands on two parts; expected each mark once',
    ]),
    (P, 'mark: "82"', 'mark: "81"', [
        '- mark: »"81" | fittings[1].mark: the mark \'81\' stands on two parts; expected each mark once',
    ]),
    (P, 'brew_boiler: "22"', 'brew_boiler: "23"', [
        'brew_boiler: »"23" | groups[0].brew_boiler: no brew boiler has the mark \'23\'; known are 22',
        '- mark: »"22" | brew_boilers[0].mark: no group is fed by \'22\'; expected at least one',
    ]),
    (P, 'elements:\n      - "42"', 'elements:\n      - "43"', [
        '- »"43" | brew_boilers[0].elements[0]: no element has the mark \'43\'; known are 41, 42',
        '- mark: »"42" | elements[1].mark: the element \'42\' stands in 0 boilers; expected exactly one',
    ]),
    (P, 'elements:\n    - "41"', 'elements:\n    - "49"', [
        '- »"49" | steam_boiler.elements[0]: no element has the mark \'49\'; known are 41, 42',
        '- mark: »"41" | elements[0].mark: the element \'41\' stands in 0 boilers; expected exactly one',
    ]),
    (P, 'fitting: "81"', 'fitting: "80"', [
        'fitting: »"80" | water.inlets[0].fitting: no fitting has the mark \'80\'; known are 81, 82, 83',
    ]),
    (P, 'inlet: "71"', 'inlet: "72"', [
        'inlet: »"72" | water.fill.inlet: no inlet has the mark \'72\'; known are 71',
    ]),
    (P, 'inlet: "71"\n    hoses:\n      - "76"\n    check_valve_opens: 0.15 bar', 'inlet: "72"\n    hoses:\n      - "76"\n    check_valve_opens: 0.15 bar', [
        'inlet: »"72" | water.brew_feed.inlet: no inlet has the mark \'72\'; known are 71',
    ]),
    (P, 'hoses:\n      - "76"', 'hoses:\n      - "77"', [
        '- »"77" | water.fill.hoses[0]: no hose has the mark \'77\'; known are 76',
    ]),
    (P, 'elements:\n    - "41"', 'elements:\n    - "41"\n    - "42"', [
        '- mark: »"42" | elements[1].mark: the element \'42\' stands in 2 boilers; expected exactly one',
    ]),
    (P, 'source: "61"', 'source: "60"', [
        'source: »"60" | water.fill.source: no pump has the mark \'60\'; known are 61, mains',
    ]),
    (P, 'feeds:\n        - brew\n        - steam_fill', 'feeds:\n        - brew', [
        'source: »"61" | water.fill.source: the pump \'61\' does not feed \'steam_fill\'; expected a pump that names it under \'feeds\'',
    ]),
    (O, 'source: mains\n  adjuster_mark', 'source: 6k\n  adjuster_mark', [
        "source: »6k | hot_water.source: the pump '6k' does not feed 'cold_water'; expected a pump that names it under 'feeds'",
    ]),
    (O, 'source: mains\n  adjuster_mark', 'source: 6z\n  adjuster_mark', [
        "source: »6z | hot_water.source: no pump has the mark '6z'; known are 6k, mains",
    ]),
    (U, 'pump: ', 'pump: X', [
        "pump: »XD2 | hot_water.pump: no pump has the mark 'XD2'; known are D1, D2",
    ]),
    (P, 'layout: single_built_in', 'layout: twin_built_in', [
        '»units: | pumps.units: found 1 pumps; the layout has 2',
    ]),
    (P, 'flow: 104 L/h', 'flow: 110 L/h', [
        "- »pressure: 9 bar | pumps.units[0].curve[2]: '110 L/h' is no point of a falling curve; expected rising pressure and falling flow",
    ]),
    (P, 'pressure: 9 bar\n          flow', 'pressure: 6 bar\n          flow', [
        "- »pressure: 6 bar | pumps.units[0].curve[2]: '104 L/h' is no point of a falling curve; expected rising pressure and falling flow",
    ]),
    (P, 'set_temperature: 92 °C', 'set_temperature: 98 °C', [
        "set_temperature: »98 °C | brew_boilers[0].set_temperature: '98 °C' lies outside its own range; expected 85..97 °C",
    ]),
    (P, 'set_temperature: 119 °C', 'set_temperature: 125 °C', [
        "set_temperature: »125 °C | steam_boiler.set_temperature: '125 °C' lies outside its own range; expected 108..124 °C",
    ]),
    (P, '  set_temperature: 119 °C\n', '', [
        "»steam_boiler: | steam_boiler.set_temperature: the field 'set_temperature' is missing; expected it here",
    ]),
    (P, '  temperature_range: 108..124 °C\n', '', [
        "»steam_boiler: | steam_boiler.temperature_range: the field 'temperature_range' is missing; expected it here",
    ]),
    (O, 'set_pressure: 16 psi', 'set_pressure: 21 psi', [
        "set_pressure: »21 psi | steam_boiler.set_pressure: '21 psi' lies outside its own range; expected 10..20 psi",
    ]),
    (O, '  set_pressure: 16 psi\n  pressure_range: 10..20 psi\n', '', [
        "»steam_boiler: | steam_boiler.set_pressure: the field 'set_pressure' is missing; expected it here",
        "»steam_boiler: | steam_boiler.pressure_range: the field 'pressure_range' is missing; expected it here",
    ]),
    (P, 'volume_to_probe: 2.3 L', 'volume_to_probe: 4.1 L', [
        "volume_to_probe: »4.1 L | steam_boiler.volume_to_probe: '4.1 L' is not below '4.1 L'",
    ]),
    (P, 'pressure: 8.5 bar', 'pressure: 9.6 bar', [
        "pressure: »9.6 bar | brewing.pressure: '9.6 bar' is not below '9.5 bar'",
    ]),
    (P, 'pressure_maximum: 9.5 bar', 'pressure_maximum: 11.5 bar', [
        "pressure_maximum: »11.5 bar | brewing.pressure_maximum: '11.5 bar' is not below '11.5 bar'",
    ]),
    (P, '    maker_torque: 7..9..11 N·m\n', '', [
        '- »mark: "81" | fittings[0]: \'81\' has both or neither of \'maker_torque\' and \'bolt\'; expected one of them',
    ]),
    (P, '    bolt:\n', '    maker_torque: 5 N·m\n    bolt:\n', [
        '- »mark: "82" | fittings[1]: \'82\' has both or neither of \'maker_torque\' and \'bolt\'; expected one of them',
    ]),
    (P, '    line_to_neutral: 230 V\n', '', [
        "- »id: one-phase-230 | supply_variants[0].line_to_neutral: the field 'line_to_neutral' is missing; expected it here",
    ]),
    (P, '    line_to_line: 240 V\n', '', [
        "- »id: split-240 | supply_variants[1].line_to_line: the field 'line_to_line' is missing; expected it here",
    ]),
    (P, 'line_to_line: 240 V', 'line_to_line: 208 V', [
        "line_to_line: »208 V | supply_variants[1].line_to_line: '208 V' does not belong to this arrangement; expected about 240 V",
    ]),
    (P, 'line_to_line: 208 V', 'line_to_line: 240 V', [
        "line_to_line: »240 V | supply_variants[2].line_to_line: '240 V' does not belong to this arrangement; expected about 208 V",
    ]),
    (P, 'terminals: L1-N', 'terminals: L1-L2', [
        "terminals: »L1-L2 | supply_variants[0].connections[0].terminals: 'L1-L2' does not exist in this supply; expected one of L1-N",
    ]),
    (P, 'power_factor: 0.68\n        terminals: L1-N', 'power_factor: 0.68\n        terminals: L1-L2', [
        "terminals: »L1-L2 | supply_variants[0].other_loads[0].terminals: 'L1-L2' does not exist in this supply; expected one of L1-N",
    ]),
    (P, '      - element: "42"\n        terminals: L1-N\n', '', [
        "»connections: | supply_variants[0].connections: the element '42' is connected 0 times; expected once",
    ]),
    (P, 'element: "42"', 'element: "41"', [
        "»connections: | supply_variants[0].connections: the element '41' is connected 2 times; expected once",
        "»connections: | supply_variants[0].connections: the element '42' is connected 0 times; expected once",
    ]),
    (P, 'element: "42"', 'element: "47"', [
        "»connections: | supply_variants[0].connections: the element '42' is connected 0 times; expected once",
        '- element: »"47" | supply_variants[0].connections[1].element: no element has the mark \'47\'; known are 41, 42',
    ]),
    (P, 'rated_voltage: 240 V', 'rated_voltage: 208 V', [
        '- »element: "41" | supply_variants[0].connections[0]: an element made for 208 V would get 230 V; expected 85 to 110 % of its rated voltage',
        '- »element: "41" | supply_variants[1].connections[0]: an element made for 208 V would get 240 V; expected 85 to 110 % of its rated voltage',
    ]),
    (P, 'rated_voltage: 240 V', 'rated_voltage: 277 V', [
        '- »element: "41" | supply_variants[0].connections[0]: an element made for 277 V would get 230 V; expected 85 to 110 % of its rated voltage',
        '- »element: "41" | supply_variants[2].connections[0]: an element made for 277 V would get 208 V; expected 85 to 110 % of its rated voltage',
    ]),
    (O, '      - 3y\n    cord', '    cord', [
        "»priority: | supply_variants[0].priority: '3y' stands in no place; with a current limit every element needs one",
    ]),
    (P, 'id: pippetree-one', 'id: pippetree', [
        "id: »pippetree | id: found 'pippetree'; expected the file's own name, 'pippetree-one'",
    ]),
    (F, 'pressure: 2.8 bar', 'pressure: 3.2 bar', [
        "pressure: »3.2 bar | mains.flowing.pressure: '3.2 bar' is not below '3.1 bar'",
    ]),
    (F, 'start_height: 0.44 m', 'start_height: 0.46 m', [
        'start_height: »0.46 m | drain.segments[2].start_height: this run starts at 0.46 m, above the end of the run before (0.44 m); expected it no higher',
    ]),
    (Z, "yearly mean\n", "yearly mean\n  sample_point: after_treatment\n", [
        "sample_point: »after_treatment | water.sample_point: 'after_treatment' needs a treatment to stand behind, and the survey has none; expected a section 'treatment', or 'before_treatment'",
    ]),
    (F, "  bypass: 30 %\n", "  bypass: 30 %\n  rejection: 95 %\n", [
        "rejection: »95 % | treatment.rejection: a treatment of the kind 'decarbonising' keeps no salts back; expected this only with 'reverse_osmosis'",
    ]),
    (A, "  flush_volume: 3 L\n", "  flush_volume: 3 L\n  rejection: 95 %\n", [
        "»treatment: | treatment.bypass: the field 'bypass' is missing; expected it here",
    ]),
    (F, '  capacity_counts: carbonate_hardness\n', '', [
        "»treatment: | treatment.capacity_counts: the field 'capacity_counts' is missing; expected it here",
    ]),
    (F, '  capacity: 4200 °dH·L\n', '', [
        "»treatment: | treatment.capacity: the field 'capacity' is missing; expected it here",
    ]),
    (F, 'loss: 0.4 bar', 'loss: 0.1 bar', [
        "- »flow: 3 L/min | treatment.loss[1]: '0.1 bar' is no point of a rising curve; expected more loss at more flow",
    ]),
    (F, 'flow: 3 L/min\n      loss', 'flow: 1 L/min\n      loss', [
        "- »flow: 1 L/min | treatment.loss[1]: '1 L/min' is no point of a rising curve; expected more loss at more flow",
    ]),
    (P, 'mark: "53"', 'mark: "54"', [
        'expansion_valve_mark: »"54" | brewing.expansion_valve_mark: the mark \'54\' stands on two parts; expected each mark once',
    ]),
    (O, '- 5v', '- 6v', [
        "- »6v | hot_water.outlets[0]: the mark '6v' stands on two parts; expected each mark once",
    ]),
    (O, '      - 3y\n    cord', '      - 3z\n    cord', [
        "- »3z | supply_variants[0].priority[5]: no element has the mark '3z'; known are 1y, 2y, 3y, 4y, 5y, 6y",
        "»priority: | supply_variants[0].priority: '3y' stands in no place; with a current limit every element needs one",
    ]),
    (O, '      - 3y\n    cord', '      - 2y\n      - 3y\n    cord', [
        "- »2y | supply_variants[0].priority[5]: the element '2y' stands here twice; expected it once",
    ]),
]  # fmt: skip


@pytest.mark.parametrize(("name", "old", "new", "said"), BREACHES)
def test_a_breach_is_told_where_it_is(
    tmp_path: Path, messages: Messages, name: str, old: str, new: str, said: list[str]
) -> None:
    assert pointed(tmp_path, name, messages, (old, new)) == said


PASSES = [
    # the closest neighbours of what is refused
    (P, "set_temperature: 92 °C", "set_temperature: 97 °C"),
    (P, "pressure: 8.5 bar", "pressure: 9.5 bar"),
    (P, "volume_to_probe: 2.3 L", "volume_to_probe: 4.09 L"),
    (P, "line_to_line: 240 V", "line_to_line: 244 V"),
    (P, "rated_voltage: 240 V", "rated_voltage: 244 V"),
    (P, "flow: 104 L/h", "flow: 109 L/h"),
    (F, "pressure: 2.8 bar", "pressure: 3.1 bar"),
    (F, "three minutes' run\n", "three minutes' run\n  sample_point: after_treatment\n"),
    (Z, "yearly mean\n", "yearly mean\n  sample_point: before_treatment\n"),
    (A, "  flush_volume: 3 L\n", "  flush_volume: 3 L\n  rejection: 95 %\n  bypass: 0 %\n"),
    (F, "start_height: 0.44 m", "start_height: 0.40 m"),
    (F, "loss: 0.4 bar", "loss: 0.11 bar"),
]


@pytest.mark.parametrize(("name", "old", "new"), PASSES)
def test_what_is_just_within_a_rule_passes(
    tmp_path: Path, messages: Messages, name: str, old: str, new: str
) -> None:
    assert pointed(tmp_path, name, messages, (old, new)) == []


@pytest.mark.parametrize("name", [path for kind in ("models", "sites") for path in sorted((ROOT / "machine_profiles" / kind).glob("*.yml"))], ids=lambda path: path.stem)  # fmt: skip
def test_every_demo_file_keeps_every_rule(tmp_path: Path, messages: Messages, name: Path) -> None:
    text = name.read_text(encoding="utf-8")
    assert said_of(tmp_path, f"{name.parent.name}/{name.name}", text, messages) == []


def _codes(module: str) -> Iterator[str]:
    """Every code that a rule may yield: the second of the three things of a breach."""
    tree = ast.parse((ROOT / "procgen" / "profiles" / module).read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Yield) and isinstance(node.value, ast.Tuple) and len(node.value.elts) == 3:
            code = node.value.elts[1]
            assert isinstance(code, ast.Constant), ast.unparse(node)
            yield str(code.value)


def test_every_code_of_the_rules_is_tested(messages: Messages) -> None:
    codes = {*_codes("machine_rules.py"), *_codes("site_rules.py")}
    assert len(codes) >= 19
    told = [line.partition(" | ")[2].partition(": ")[2] for *_, said in BREACHES for line in said]
    untold = [
        code
        for code in sorted(codes)
        if not any(_fits(messages.raw(f"diagnostics.{code}").partition(": ")[2], text) for text in told)
    ]
    assert untold == []


def _fits(words: str, text: str) -> bool:
    """The fixed parts of a message stand in a text, in order."""
    place = 0
    for part in (piece.partition("}")[2] for piece in ("}" + words).split("{")):
        place = text.find(part, place)
        if place < 0:
            return False
        place += len(part)
    return True


def test_the_rules_have_names_that_say_what_holds() -> None:
    for rule in (*MACHINE_RULES, *SITE_RULES):
        assert rule.__doc__, rule
        assert rule.__doc__.rstrip().endswith((".", ")."))
