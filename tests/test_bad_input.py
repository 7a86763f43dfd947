"""Bad input: one message with file, line, what was found and what was expected; exit 2; nothing changes."""
# ruff: noqa: E501 -- whole messages stand on one line

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
from click.testing import CliRunner

from procgen.cli import main
from procgen.messages.catalog import Messages
from procgen.procedure.assemble import assemble
from procgen.profiles.workspace import read_workspace
from tests.conftest import ROOT

MODEL = "machine_profiles/models/umberlode-two.yml"
SITE = "machine_profiles/sites/ellunby-bakery.yml"
Make = Callable[[Mapping[str, "str | bytes"]], Path]


def changed(name: str, *pairs: tuple[str, str]) -> dict[str, str | bytes]:
    """A demo file with some text replaced, once."""
    text = (ROOT / name).read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new, 1)
    return {name: text}


def line_of(files: Mapping[str, str | bytes], name: str, needle: str) -> int:
    """Line of a text in a changed file."""
    text = files[name]
    assert isinstance(text, str)
    return text[: text.index(needle)].count("\n") + 1


def faults(workspace: Path, *command: str) -> list[str]:
    """What a command says on standard error; it must exit 2 and publish nothing."""
    published = workspace / "site"
    published.mkdir(exist_ok=True)
    (published / "index.html").write_text("as it was", encoding="utf-8")
    result = CliRunner().invoke(main, [*(command or ("build",)), "--workspace", str(workspace)])
    assert result.exit_code == 2, result.output
    assert "Traceback" not in result.stderr
    assert [path.name for path in published.rglob("*")] == ["index.html"]
    assert (published / "index.html").read_text(encoding="utf-8") == "as it was"
    return result.stderr.splitlines()


CASES = [
    ("missing unit", MODEL, "volume_total: 11.2 L", "volume_total: 11.2",
     "steam_boiler.volume_total: '11.2' has no unit; expected volume in L, mL, m³, gal, US gal, for example '11 L'"),
    ("wrong dimension", MODEL, "volume_total: 11.2 L", "volume_total: 11.2 kg",
     "steam_boiler.volume_total: '11.2 kg' is a mass; expected volume in"),
    ("negative volume", MODEL, "volume_total: 11.2 L", "volume_total: -3 L",
     "steam_boiler.volume_total: '-3 L' is below what is physically possible"),
    ("300 degrees in a boiler", MODEL, "temperature_range: 110..130 °C", "temperature_range: 110..300 °C",
     "steam_boiler.temperature_range: '110..300 °C' cannot be right; expected 30 °C to 150 °C"),
    ("absolute where gauge stands", MODEL, "setting: 1.8 bar", "setting: 1.8 bar(a)",
     "steam_boiler.relief_valve.setting: '1.8 bar(a)' is marked absolute; this field holds gauge pressure"),
    ("a torque where a pressure stands", MODEL, "setting: 1.8 bar", "setting: 10 Nm",
     "steam_boiler.relief_valve.setting: '10 Nm' is a torque; expected gauge pressure in"),
    ("a fall without a run", SITE, "slope: 0.2 %", "slope: 1:0",
     "counter.slope: '1:0' has no run; expected a fall such as '1:40'"),
    ("a range upside down", SITE, "static_pressure: 3.5 bar", "static_pressure: 4..3 bar",
     "mains.static_pressure: '4..3 bar' runs from high to low; expected low..high"),
    ("unknown model", SITE, "machine: umberlode-two", "machine: umberlode-tow",
     "machine: no machine profile 'umberlode-tow'; did you mean 'umberlode-two'?"),
    ("unknown variant", SITE, "supply_variant: three-phase-400", "supply_variant: three-phase-40",
     "supply_variant: this model has no supply variant 'three-phase-40'; did you mean 'three-phase-400'?"),
    ("unknown field", SITE, "night_pressure: 3.7 bar", "nigth_pressure: 3.7 bar",
     "mains.nigth_pressure: unknown field 'nigth_pressure'; did you mean 'night_pressure'?"),
    ("duplicate key", SITE, "night_pressure: 3.7 bar", "night_pressure: 3.7 bar\n  night_pressure: 4.4 bar",
     "mains.night_pressure: 'night_pressure' stands here again (first on line "),
    ("a number where yes or no stands", SITE, "strainer: yes", "strainer: 0x12",
     "mains.strainer: found '0x12'; expected yes or no"),
    ("a date that is none", SITE, "date: 2025-03-04", "date: 2025-13-04",
     "date: found '2025-13-04'; expected a date as 2026-03-31"),
    ("a set point outside its range", MODEL, "temperature_range: 110..130 °C", "temperature_range: 110..120 °C",
     "steam_boiler.set_temperature: '125 °C (257 °F to the nearest 1 °F)' lies outside its own range"),
    ("a trade figure that disagrees", MODEL, "125 °C (257 °F to the nearest 1 °F)", "125 °C (260 °F to the nearest 1 °F)",
     "disagrees with"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "path", "old", "new", "said"), CASES, ids=[case[0] for case in CASES])
def test_one_message_with_its_place(
    workspace: Make, name: str, path: str, old: str, new: str, said: str
) -> None:
    files = changed(path, (old, new))
    lines = faults(workspace(files))
    about = [line for line in lines if line.startswith(f"{path}:")]
    assert any(said in line for line in about), lines
    if name not in {"a set point outside its range"}:
        at = line_of(files, path, new.splitlines()[-1].strip())
        assert any(line.startswith(f"{path}:{at}:") and said in line for line in about), lines


def test_a_torque_is_a_torque(workspace: Make) -> None:
    files = changed(MODEL, ("maker_torque: 8..10..12 N·m", "maker_torque: 10 Nm"))
    machine = read_workspace(workspace(files)).machines["umberlode-two"].data
    torque = machine.fittings[0].maker_torque
    assert torque is not None
    assert (torque.kind, torque.value) == ("torque", 10.0)


BROKEN: list[tuple[str, str | bytes, str]] = [
    ("empty", "", "the file is empty"),
    ("not UTF-8", b"kind: site\nname: caf\xe9\n", ":2:10: byte 0xe9 is not UTF-8"),
    ("tab", "kind: site\n\tname: x\n", "a tab in"),
    ("a list", "- kind: site\n", "found a list or a single text"),
    ("no YAML", "kind: [site\n", "not YAML"),
    ("large", b"# " + b"x" * 50_000_000, "expected at most 524,288"),
    (
        "alias bomb",
        "a: &a [x, x, x, x, x, x, x, x, x]\n"
        + "".join(f"{c}: &{c} [{', '.join('*' + p for _ in range(9))}]\n" for p, c in zip("abcdefg", "bcdefgh", strict=True)),
        "unfolds into too many",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("name", "content", "said"), BROKEN, ids=[case[0] for case in BROKEN])
def test_a_file_that_is_no_survey(workspace: Make, name: str, content: str | bytes, said: str) -> None:
    path = "machine_profiles/sites/broken.yml"
    lines = faults(workspace({path: content}))
    assert len(lines) == 2, lines
    assert lines[0].startswith(f"{path}:")
    assert said in lines[0]
    assert lines[1] == "procgen: 1 fault"


def test_all_faults_of_a_run_are_told_together_in_order(workspace: Make) -> None:
    files = changed(
        MODEL, ("volume_total: 11.2 L", "volume_total: 11.2"), ("setting: 1.8 bar", "setting: 10 Nm")
    )
    files |= changed("machine_profiles/sites/orrenholt-hall.yml", ("units: metric", "units: imperial"))
    lines = faults(workspace(files))
    assert [line.split(":")[0] for line in lines[:-1]] == [
        MODEL,
        MODEL,
        "machine_profiles/sites/orrenholt-hall.yml",
    ]
    assert [int(line.split(":")[1]) for line in lines[:2]] == sorted(
        int(line.split(":")[1]) for line in lines[:2]
    )
    assert lines[-1] == "procgen: 3 faults"


TEMPLATES = [
    ("undefined", "{{ machine.nmae }}", "name"),
    ("syntax", "{% if machine %}", ""),
    ("typed figure", "Wait 25 min.", "25"),
    ("unknown value", '{{ v("fill.tiem") | pair }}', "fill.time"),
]


@pytest.mark.parametrize(("name", "body", "said"), TEMPLATES, ids=[case[0] for case in TEMPLATES])
def test_a_template_at_fault(workspace: Make, name: str, body: str, said: str) -> None:
    path = "docs_src/procedure/99-extra.md"
    page = f'{{% part "extra", title="Extra" %}}\n{body}\n{{% endpart %}}\n'
    lines = faults(workspace({path: page}), "build", "ellunby-bakery")
    assert lines[0].startswith(f"{path}:"), lines
    assert said in lines[0]


HOSTILE = "<script>alert(1)</script> {{ 7*7 }} {% raw %} ../../x *bold* [a](b) | `c` &amp;"


def test_markup_in_a_name_is_data(workspace: Make, messages: Messages) -> None:
    files = changed(SITE, ("Corner bakery, Ellunby", HOSTILE.replace('"', "")))
    files = {SITE: str(files[SITE]).replace(f"name: {HOSTILE}", f"name: '{HOSTILE}'", 1)}
    read = read_workspace(workspace(files))
    guide = next(guide for guide in read.guides() if guide.guide == "ellunby-bakery")
    assert guide.site is not None
    assert guide.site.data.name == HOSTILE
    html = "".join(step.body.html for step in assemble(guide, read.templates, messages).procedure.steps())
    assert "<script" not in html


def test_a_mark_may_not_be_markup(workspace: Make) -> None:
    lines = faults(workspace(changed(MODEL, ("- mark: U6", "- mark: '<b>'"))))
    assert any("expected a short mark" in line for line in lines)


def test_a_folder_that_is_no_workspace(tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["list", "--workspace", str(tmp_path)])
    assert result.exit_code == 2
    assert "has no folder 'machine_profiles'" in result.stderr
