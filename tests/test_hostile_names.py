"""Markup in what people type is data: it stands literally on the page and does nothing."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from bs4 import BeautifulSoup, Comment
from click.testing import CliRunner

from procgen.cli import main
from procgen.messages.catalog import Messages
from procgen.procedure.assemble import assemble
from procgen.profiles.workspace import read_workspace
from tests.conftest import ROOT

MODEL = "machine_profiles/models/umberlode-two.yml"
SITE = "machine_profiles/sites/ellunby-bakery.yml"
HOSTILE = [
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "{{ 7*7 }}",
    "{% raw %}x",
    "{# gone #}y",
    "../../etc/x",
    "*starred* and **twice**",
    "_under_ and __twice__",
    "[x](javascript:alert(1))",
    "`ticked`",
    "# no heading",
    "| a | b |",
    "&amp; & &lt;",
    "\\*escaped\\*",
    "\"quoted\" 'once'",
    "{.class #id}",
    "<!-- gone -->z",
]
TAGS = ("script", "img", "em", "strong", "code", "h1", "h2", "table", "a")
#: lists of the model that the procedure prints, a line each
LISTS = ("tools", "supplied_parts")


def _read(root: Path, messages: Messages) -> BeautifulSoup:
    """Every step of the guide, as a browser would read it."""
    workspace = read_workspace(root)
    guide = next(guide for guide in workspace.guides() if guide.guide == "ellunby-bakery")
    steps = assemble(guide, workspace.templates, messages).procedure.steps()
    return BeautifulSoup("".join(step.body.html for step in steps), "lxml")


def _workspace(root: Path, texts: list[str]) -> None:
    """The demo model and site, with texts at the head of two lists and twice inside the lines of a third."""
    model = (ROOT / MODEL).read_text(encoding="utf-8")
    told = [json.dumps(text, ensure_ascii=False) for text in texts]
    for name in LISTS:
        model = model.replace(f"\n{name}:\n", f"\n{name}:\n" + "".join(f"  - {text}\n" for text in told), 1)
    transit = "".join(f"  - what: {text}\n    where: {text}\n" for text in told)
    model = model.replace("\ntransit:\n", f"\ntransit:\n{transit}", 1)
    site = (ROOT / SITE).read_text(encoding="utf-8")
    for folder, name, text in (("models", MODEL, model), ("sites", SITE, site)):
        (root / "machine_profiles" / folder).mkdir(parents=True)
        (root / name).write_text(text, encoding="utf-8")
    shutil.copytree(ROOT / "docs_src", root / "docs_src")


@pytest.fixture(scope="module")
def before(messages: Messages) -> BeautifulSoup:
    """The guide as it is."""
    return _read(ROOT, messages)


@pytest.fixture(scope="module")
def after(tmp_path_factory: pytest.TempPathFactory, messages: Messages) -> BeautifulSoup:
    """The guide of a model whose texts are markup."""
    root = tmp_path_factory.mktemp("hostile")
    _workspace(root, HOSTILE)
    return _read(root, messages)


@pytest.mark.parametrize("text", HOSTILE)
def test_markup_stands_literally(before: BeautifulSoup, after: BeautifulSoup, text: str) -> None:
    # Once in each list, and twice in a line of what to take off.
    assert after.get_text().count(text) == before.get_text().count(text) + 4
    assert sum(item.get_text().strip() == text for item in after.find_all("li")) == 2


@pytest.mark.parametrize("tag", TAGS)
def test_no_markup_comes_from_it(before: BeautifulSoup, after: BeautifulSoup, tag: str) -> None:
    assert len(after.find_all(tag)) == len(before.find_all(tag))


def test_nothing_of_it_acts(after: BeautifulSoup) -> None:
    assert not [tag.name for tag in after.find_all(True) if any(name.startswith("on") for name in tag.attrs)]
    assert not after.find_all(string=lambda text: isinstance(text, Comment))
    assert not after.select("#id, .class")
    assert not [tag for tag in after.find_all(href=True) if "javascript" in tag["href"]]


COMMANDS = [["build"], ["build", "ellunby-bakery"], ["check"], ["values", "fennavar-museum"]]


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_a_fault_leaves_what_was_published_untouched(tmp_path: Path, command: list[str]) -> None:
    """A fault in one survey: exit 2, and the published folder stays byte for byte."""
    _workspace(tmp_path, ["x"])
    shutil.copy(ROOT / "mkdocs.yml", tmp_path)
    site = tmp_path / SITE
    text = site.read_text(encoding="utf-8").replace("altitude: 85 m", "altitude: 85")
    site.write_text(text, encoding="utf-8")
    for name in ("index.html", "ellunby-bakery/index.html", "ellunby-bakery/sw.js", "assets/a.css"):
        path = tmp_path / "site" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(name.encode() + b"\r\n\x00")
    before = _tree(tmp_path / "site")
    result = CliRunner().invoke(main, [*command, "--workspace", str(tmp_path)])
    assert (result.exit_code, result.stdout) == (2, "")
    line = text.split("altitude: 85")[0].count("\n") + 1
    assert result.stderr.splitlines() == [
        f"{SITE}:{line}:11: altitude: '85' has no unit; expected altitude in m, ft, for example '430 m'",
        "procgen: 1 fault",
    ]
    assert _tree(tmp_path / "site") == before
    left = {"machine_profiles", "docs_src", "mkdocs.yml", "site"}
    assert {path.name for path in tmp_path.iterdir()} == left


def _tree(folder: Path) -> dict[str, tuple[bytes, int]]:
    return {
        str(path.relative_to(folder)): (path.read_bytes() if path.is_file() else b"", path.stat().st_mtime_ns)
        for path in sorted(folder.rglob("*"))
    }
