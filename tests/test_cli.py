"""The commands: help with an example, exit codes, output for people and for programs kept apart."""

from __future__ import annotations

import csv
import io
import json
import math
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner, Result
from jsonschema import Draft202012Validator

from procgen.cli import main
from procgen.units.kinds import KINDS
from procgen.values.export import COLUMNS
from tests.conftest import ROOT

COMMANDS = sorted(main.commands)
SETTLE, NOT_READY, US_SITE, MODEL = "ellunby-bakery", "calvessa-pass", "wexlode-corner", "umberlode-two"
GUIDES = [NOT_READY, SETTLE, US_SITE, MODEL]


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace with one model and three sites."""
    root = tmp_path_factory.mktemp("small")
    shutil.copytree(ROOT / "docs_src", root / "docs_src")
    shutil.copy(ROOT / "mkdocs.yml", root)
    for kind, names in (("models", [MODEL]), ("sites", [SETTLE, NOT_READY, US_SITE])):
        (root / "machine_profiles" / kind).mkdir(parents=True)
        for name in names:
            file = f"machine_profiles/{kind}/{name}.yml"
            shutil.copy(ROOT / file, root / file)
    return root


def run(root: Path, *words: str) -> Result:
    return CliRunner().invoke(main, [*words, "--workspace", str(root)])


@pytest.fixture(scope="module", params=GUIDES)
def printed(request: pytest.FixtureRequest, small: Path) -> tuple[str, Any]:
    """A guide and what ``values --format json`` prints of it, NaN and infinities refused."""

    def refuse(name: str) -> float:
        raise AssertionError(f"{name} is no JSON")

    result = run(small, "values", request.param, "--format", "json")
    assert (result.exit_code, result.stderr) == (0, "")
    return request.param, json.loads(result.stdout, parse_constant=refuse)


@pytest.mark.parametrize("command", COMMANDS)
def test_help_has_an_example_that_is_a_command(command: str) -> None:
    result = CliRunner().invoke(main, [command, "--help"], prog_name="procgen")
    assert result.exit_code == 0
    assert result.stdout.startswith(f"Usage: procgen {command}")
    example = re.search(r"Example:\n +procgen (.+)", result.stdout)
    assert example
    words = example[1].partition(" > ")[0].split()
    parsed = main.commands[words[0]].make_context("procgen", words[1:])
    assert words[0] == command
    guide = parsed.params.get("guide") or parsed.params.get("guides")
    known = {path.stem for path in (ROOT / "machine_profiles").glob("*/*.yml")}
    assert not guide or set([guide] if isinstance(guide, str) else guide) <= known


@pytest.mark.parametrize("command", COMMANDS)
def test_every_option_says_what_it_does(command: str) -> None:
    for parameter in main.commands[command].params:
        if isinstance(parameter, click.Option) and not isinstance(parameter.type, click.Choice):
            assert parameter.help, (command, parameter.name)
    assert "-h" in main.context_settings["help_option_names"]


def test_help_of_all_and_the_version() -> None:
    result = CliRunner().invoke(main, ["--help"], prog_name="procgen")
    assert all(f"\n  {command} " in result.stdout for command in COMMANDS)
    assert re.fullmatch(r"procgen \d+\.\d+\.\d+\n", CliRunner().invoke(main, ["--version"]).stdout)


USAGE = [
    (["values"], "Missing argument 'GUIDE'"),
    (["values", SETTLE, "--format", "xml"], "'xml' is not one of 'table', 'json', 'csv'"),
    (["list", "--format", "csv"], "'csv' is not one of 'table', 'json'"),
    (["schema", "pump"], "'pump' is not one of 'machine', 'site', 'values'"),
    (["serve", SETTLE, "--port", "x"], "'x' is not a valid integer"),
    (["bulid"], "No such command 'bulid'"),
    (["list", "--all"], "No such option"),
    (["list", "-C", "/nowhere"], "no workspace: /nowhere has no folder 'machine_profiles' (use --workspace)"),
]


@pytest.mark.parametrize(("words", "said"), USAGE)
def test_wrong_usage_exits_2_and_says_so_on_standard_error(words: list[str], said: str) -> None:
    result = CliRunner().invoke(main, words)
    assert (result.exit_code, result.stdout) == (2, "")
    assert said in result.stderr


@pytest.mark.parametrize("command", ["build", "values"])
def test_an_unknown_guide_names_the_nearest(small: Path, command: str) -> None:
    result = run(small, command, "ellunby-bakry")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == "procgen: no guide 'ellunby-bakry'; did you mean ellunby-bakery?\n"
    assert not (small / "site").exists()


def test_values_fit_their_published_schema(printed: tuple[str, Any]) -> None:
    guide, data = printed
    schema = json.loads(CliRunner().invoke(main, ["schema", "values"]).stdout)
    Draft202012Validator.check_schema(schema)
    assert [e.message for e in Draft202012Validator(schema).iter_errors(data)] == []
    assert data["guide"] == guide
    assert (data["model"], data["site"]) == (MODEL, None if guide == MODEL else guide)
    assert data["edition"] is None


def test_values_are_whole_in_themselves(printed: tuple[str, Any]) -> None:
    _, data = printed
    ids = [value["id"] for value in data["values"]]
    assert len(ids) == len(set(ids)) > 50
    for value in data["values"]:
        if value["status"] == "unavailable":
            assert value["why"], value["id"]
            assert value["value"] is None
        elif value["series"] is None:
            assert value["low"] <= value["value"] <= value["high"], value["id"]
            assert value["unit"] == KINDS[value["kind"]].si
            assert value["formula"], value["id"]
            assert value["source"], value["id"]


def test_csv_holds_the_same_figures(small: Path, printed: tuple[str, Any]) -> None:
    guide, data = printed
    result = run(small, "values", guide, "--format", "csv")
    assert (result.exit_code, result.stderr) == (0, "")
    rows = list(csv.DictReader(io.StringIO(result.stdout, newline="")))
    assert tuple(rows[0]) == COLUMNS
    assert [row["id"] for row in rows] == [value["id"] for value in data["values"]]
    for row, value in zip(rows, data["values"], strict=True):
        assert None not in row
        for name in ("value", "low", "high"):
            assert (float(row[name]) if row[name] else None) == value[name]
            assert not row[name] or math.isfinite(float(row[name]))
        assert (row["status"], row["why"], row["unit"]) == (value["status"], value["why"], value["unit"])


def test_the_table_pairs_units_in_the_order_of_the_site(small: Path) -> None:
    for guide, said in ((SETTLE, r"bar \([\d.–]+ psi\)"), (US_SITE, r"psi \([\d.–]+ bar\)")):
        result = run(small, "values", guide)
        line = next(x for x in result.stdout.splitlines() if x.startswith("supply.inlet_pressure "))
        assert re.search(said, line.replace("\u00a0", " ")), line
        assert "nan" not in result.stdout.lower().split()


def test_list_for_programs(small: Path) -> None:
    result = run(small, "list", "--format", "json")
    assert (result.exit_code, result.stderr) == (0, "")
    entries = json.loads(result.stdout)
    assert [entry["guide"] for entry in entries] == GUIDES
    for entry in entries:
        assert list(entry) == ["guide", "model", "site", "readiness", "revision", "edition"]
        assert entry["site"] == (None if entry["guide"] == MODEL else entry["guide"])
        assert (entry["model"], entry["edition"]) == (MODEL, None)
        assert entry["readiness"] in {"ready", "attention", "not_ready"}
    states = {entry["guide"]: entry["readiness"] for entry in entries}
    # The bakery's cartridge leaves acid water in the pipe: a point to settle.
    assert (states[SETTLE], states[NOT_READY]) == ("attention", "not_ready")


def test_list_for_people(small: Path) -> None:
    lines = run(small, "list").stdout.splitlines()
    assert [line.split()[0] for line in lines] == GUIDES
    assert all(line.endswith("not built") for line in lines)
    assert "not ready" in lines[0]


@pytest.mark.parametrize("name", ["machine", "site", "values"])
def test_schemas_are_schemas(name: str) -> None:
    result = CliRunner().invoke(main, ["schema", name])
    assert result.exit_code == 0
    Draft202012Validator.check_schema(json.loads(result.stdout))


def test_schema_without_a_name_writes_the_files_of_editors(small: Path) -> None:
    result = run(small, "schema")
    folder = small / "machine_profiles" / "schema"
    assert result.stdout.splitlines() == [str(folder / f"{kind}.schema.json") for kind in ("machine", "site")]
    for kind in ("machine", "site"):
        own = (folder / f"{kind}.schema.json").read_bytes()
        assert own == (ROOT / "machine_profiles" / "schema" / f"{kind}.schema.json").read_bytes()


def _process(*words: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """The program in a process of its own, as the console script starts it."""
    start = "import sys; from procgen.cli import main; sys.argv[0] = 'procgen'; main()"
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", start, *words],
        cwd=ROOT,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=False,
    )


def test_a_process_exits_as_promised_without_colour_codes() -> None:
    good = _process("list", "--help", NO_COLOR="1")
    assert (good.returncode, good.stderr) == (0, "")
    bad = _process("values", "ellunby-bakry", NO_COLOR="1", FORCE_COLOR="1")
    assert (bad.returncode, bad.stdout) == (2, "")
    assert bad.stderr == "procgen: no guide 'ellunby-bakry'; did you mean ellunby-bakery?\n"
    assert "\x1b" not in good.stdout + bad.stderr


def test_help_does_not_wait_for_the_heavy_parts() -> None:
    """Start-up imports neither the theme nor pint: help answers at once."""
    heavy = {"pint", "mkdocs", "pydantic", "jinja2"}
    start = f"import sys, procgen.cli; print(sorted({heavy} & set(sys.modules)))"
    told = subprocess.run([sys.executable, "-c", start], cwd=ROOT, capture_output=True, text=True, check=True)
    assert told.stdout == "[]\n"
