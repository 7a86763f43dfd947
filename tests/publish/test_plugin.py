"""Plain ``mkdocs build`` on the one site configuration: catalogue and handbook, nothing else."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from bs4 import BeautifulSoup

from procgen.publish.build import build_site
from procgen.publish.plugin import page_documents
from tests.publish import fakes


@pytest.fixture
def full_workspace(workspace: Path) -> Path:
    """With profiles and surveys, templates and messages."""
    for kind, names in (("models", ("umberlode-two", "pippetree-one")), ("sites", ("ellunby-bakery",))):
        folder = workspace / "machine_profiles" / kind
        folder.mkdir(parents=True)
        for name in names:
            shutil.copy(fakes.ROOT / "machine_profiles" / kind / f"{name}.yml", folder)
    (workspace / "docs_src" / "procedure").mkdir()
    (workspace / "docs_src" / "procedure" / "01-water.md").write_text("{% part %}", encoding="utf-8")
    (workspace / "docs_src" / "messages").mkdir()
    (workspace / "docs_src" / "messages" / "en.yml").write_text(
        "site:\n  catalogue:\n    model: Type\n", encoding="utf-8"
    )
    return workspace


def mkdocs(workspace: Path, *more: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "mkdocs", "build", "--strict", *(more or ("-q",))],
        cwd=workspace,
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "NO_MKDOCS_2_WARNING": "1"},
    )


def test_plain_build(full_workspace: Path) -> None:
    run = mkdocs(full_workspace)
    assert (run.returncode, run.stderr) == (0, "")
    built = full_workspace / "build" / "catalogue"
    pages = {str(path.relative_to(built)) for path in built.rglob("*.html")}
    handbook = (full_workspace / "docs_src" / "handbook").iterdir()
    assert pages == {
        "index.html",
        *(f"handbook/{path.stem}.html" for path in handbook),
    }
    assert not list(built.rglob("procedure*"))
    assert not list(built.rglob("en.yml"))
    assert not (full_workspace / "site").exists()
    page = BeautifulSoup((built / "index.html").read_text(encoding="utf-8"), "lxml")
    cards = page.select(".cards > li")
    assert [card["data-guide"] for card in cards] == ["ellunby-bakery", "pippetree-one", "umberlode-two"]
    words = " ".join(cards[0].get_text(" ").split())
    # The workspace's own word for a model, and no edition before the first build.
    assert "Type Umberlode Two" in words
    assert "Edition not built yet" in words
    assert [script for script in page.find_all("script") if not script.get("src")] == []


def test_same_inputs_same_bytes(full_workspace: Path) -> None:
    built = full_workspace / "build" / "catalogue"

    def files() -> dict[str, bytes]:
        assert mkdocs(full_workspace).returncode == 0
        return {str(p.relative_to(built)): p.read_bytes() for p in built.rglob("*") if p.is_file()}

    assert files() == files()


def test_plain_build_never_touches_site(full_workspace: Path) -> None:
    build_site([fakes.job("ellunby-bakery")], full_workspace, fakes.messages())
    site = full_workspace / "site"
    before = {str(p): (p.read_bytes(), p.stat().st_mtime_ns) for p in site.rglob("*") if p.is_file()}
    assert mkdocs(full_workspace).returncode == 0
    assert {str(p): (p.read_bytes(), p.stat().st_mtime_ns) for p in site.rglob("*") if p.is_file()} == before
    page = (full_workspace / "build" / "catalogue" / "index.html").read_text(encoding="utf-8")
    assert "Edition" in page
    assert page.count("not built yet") == 2


def test_a_fault_of_a_profile_is_told_with_its_place(full_workspace: Path) -> None:
    survey = full_workspace / "machine_profiles" / "sites" / "ellunby-bakery.yml"
    survey.write_text(survey.read_text(encoding="utf-8").replace("altitude:", "altitud:"), encoding="utf-8")
    run = mkdocs(full_workspace)
    assert run.returncode == 1
    assert "machine_profiles/sites/ellunby-bakery.yml:" in run.stderr
    assert "altitud" in run.stderr


def test_a_dead_link_in_the_handbook_fails_a_strict_build(full_workspace: Path) -> None:
    page = full_workspace / "docs_src" / "handbook" / "planner.md"
    page.write_text("# For planners\n\n[gone](readiness.md#no-such-heading)\n", encoding="utf-8")
    # -q would hide the warning from the generator's own count
    run = mkdocs(full_workspace, "--clean")
    assert run.returncode == 1
    assert "no-such-heading" in run.stderr


def test_documents_of_a_page() -> None:
    html = '<h1 id="a">Title</h1><p>One &amp; two.</p><h2 id="b">Sub <em>x</em></h2><p>Three.</p>'
    assert page_documents(html, "handbook/a.html", "Title") == [
        {"u": "handbook/a.html", "t": "Title", "k": "Title", "b": "One & two."},
        {"u": "handbook/a.html#b", "t": "Sub x", "k": "Title", "b": "Three."},
    ]


def test_a_table_of_the_handbook_scrolls_in_a_box_of_its_own(full_workspace: Path) -> None:
    page = full_workspace / "docs_src" / "handbook" / "planner.md"
    page.write_text("# Planning\n\n| A | B |\n| --- | --- |\n| 1 | 2 |\n", encoding="utf-8")
    assert mkdocs(full_workspace).returncode == 0
    built = full_workspace / "build" / "catalogue" / "handbook" / "planner.html"
    (table,) = BeautifulSoup(built.read_text(encoding="utf-8"), "lxml").select("article table")
    box = table.parent
    assert box is not None
    # Reached by keyboard, since it may have to be scrolled.
    assert ("scroll" in box["class"], box["tabindex"]) == (True, "0")
