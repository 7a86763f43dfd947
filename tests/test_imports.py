"""Imports point down, nothing goes in circles, and each third party has one home."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.conftest import ROOT

PACKAGE = ROOT / "procgen"
#: What each floor may import beside itself.
BELOW = {
    "units": set(),
    "engineering": {"units"},
    "messages": {"units"},
    "profiles": {"messages", "units"},
    "values": {"engineering", "profiles", "messages", "units"},
    "procedure": {"values", "engineering", "profiles", "messages", "units"},
    "figures": {"procedure", "values", "profiles", "messages", "units", "engineering"},
    "checks": {"procedure", "values", "engineering", "profiles", "messages", "units"},
    "publish": {"figures", "procedure", "values", "engineering", "profiles", "messages", "units"},
}
HOMES = {
    "pint": {"units"},
    "yaml": {"messages/yamltext.py"},
    "pydantic": {
        "profiles",
        "figures",
        "procedure/views.py",
        "values/leaves.py",
        "values/reader.py",
        "values/judge.py",
    },
    "pydantic_core": {"profiles"},
    "jinja2": {"procedure", "publish/adapter.py"},
    "mkdocs": {"publish/adapter.py"},
    "material": {"publish/adapter.py"},
    "bs4": {"checks"},
    "click": {"cli.py"},
    "fluids": {"engineering"},
    "chemicals": {"engineering"},
}


def sources() -> list[Path]:
    """Every module of the package."""
    return sorted(path for path in PACKAGE.rglob("*.py") if "__pycache__" not in path.parts)


def imported(path: Path) -> Iterator[str]:
    """Full names of what a module imports, inside functions too."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            yield node.module


def floor(path: Path) -> str:
    """The floor a module lives on; the top has none."""
    parts = path.relative_to(PACKAGE).parts
    return parts[0] if len(parts) > 1 else ""


@pytest.mark.parametrize("path", sources(), ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_imports_point_down(path: Path) -> None:
    here = floor(path)
    if not here:
        return
    allowed = BELOW[here] | {here}
    floors = {name.split(".")[1] for name in imported(path) if name.startswith("procgen.")}
    assert floors <= allowed


def test_third_parties_have_one_home() -> None:
    astray = []
    for path in sources():
        place = path.relative_to(PACKAGE).as_posix()
        for name in imported(path):
            homes = HOMES.get(name.split(".")[0])
            if homes is not None and not any(place == home or place.startswith(f"{home}/") for home in homes):
                astray.append(f"{place}: {name}")
    assert astray == []


def test_floors_say_what_lives_there_and_what_may_not() -> None:
    for name in BELOW:
        if not (PACKAGE / name / "__init__.py").exists():
            continue
        text = (
            ast.get_docstring(ast.parse((PACKAGE / name / "__init__.py").read_text(encoding="utf-8"))) or ""
        )
        assert "Lives here:" in text, name
        assert "May not live here:" in text, name


def test_no_file_outgrows_a_sitting() -> None:
    long = {
        path.name: n for path in sources() if (n := len(path.read_text(encoding="utf-8").splitlines())) > 500
    }
    assert long == {}
