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
    "records": {"procedure", "values", "profiles", "messages", "units"},
    "checks": {"procedure", "values", "engineering", "profiles", "messages", "units"},
    "publish": {"figures", "procedure", "values", "engineering", "profiles", "messages", "units"},
}
HOMES = {
    "pint": {"units"},
    "yaml": {"messages/yamltext.py"},
    "pydantic": {
        "profiles",
        "records/schema.py",
        "records/read.py",
        "figures",
        "procedure/views.py",
        "values/leaves.py",
        "values/reader.py",
        "values/judge.py",
    },
    "pydantic_core": {"profiles"},
    "weasyprint": {"publish/printing/engine.py"},
    "segno": {"publish/printing/code.py"},
    "jinja2": {"procedure", "publish/adapter.py"},
    "mkdocs": {"publish/adapter.py"},
    "material": {"publish/adapter.py"},
    "bs4": {"checks"},
    "tinycss2": {"publish/trim.py"},
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
        path.name: n for path in sources() if (n := len(path.read_text(encoding="utf-8").splitlines())) > 540
    }
    assert long == {}


def test_no_module_imports_itself_by_a_detour() -> None:
    """Modules import each other in one direction. What stands inside functions counts; what only types need
    (``if TYPE_CHECKING``) is never run."""
    modules = {_module(path): path for path in sources()}
    graph = {
        name: {found for given in _named(path) if (found := _nearest(given, modules)) and found != name}
        for name, path in modules.items()
    }
    assert len(graph["procgen.cli"]) > 3
    assert _circles(graph) == []


def _module(path: Path) -> str:
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _named(path: Path) -> Iterator[str]:
    """What a module imports when it runs, to the imported name."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in tree.body:
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            node.body = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def _nearest(name: str, modules: dict[str, Path]) -> str:
    """The module that a full name is, or stands in."""
    while name and name not in modules:
        name = name.rpartition(".")[0]
    return name


def _circles(graph: dict[str, set[str]]) -> list[list[str]]:
    """Modules that reach themselves, together with those on the way."""
    reach = {name: _reached(name, graph) for name in graph}
    own = [name for name in graph if name in reach[name]]
    circles = {frozenset(other for other in reach[name] if name in reach[other]) for name in own}
    return sorted(sorted(circle) for circle in circles)


def _reached(start: str, graph: dict[str, set[str]]) -> set[str]:
    seen: set[str] = set()
    waiting = list(graph[start])
    while waiting:
        name = waiting.pop()
        if name not in seen:
            seen.add(name)
            waiting += graph[name]
    return seen


def test_circles_would_be_found() -> None:
    graph: dict[str, set[str]] = {"a": {"b"}, "b": {"c"}, "c": {"b"}, "d": set()}
    assert _circles(graph) == [["b", "c"]]


def test_imports_are_absolute() -> None:
    """The tests above read full names only."""
    for path in sources():
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            assert not (isinstance(node, ast.ImportFrom) and node.level), path
