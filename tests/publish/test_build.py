"""A whole site: guides, catalogue, manifest; put in place as one."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest
from bs4 import BeautifulSoup

from procgen.publish.adapter import SiteFault
from procgen.publish.build import UnknownGuideError, build_site
from procgen.publish.manifest import MANIFEST, editions, read_manifest
from procgen.publish.switch import LOCK, WORK
from tests.publish import fakes

GUIDES = ("ellunby-bakery", "fennavar-museum", "pippetree-one")


def files(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def run(
    workspace: Path, *only: str, jobs: tuple[fakes.FakeJob, ...] | None = None, **more: object
) -> list[str]:
    chosen = jobs or tuple(fakes.job(guide) for guide in GUIDES)
    built = build_site(
        chosen,
        workspace,
        fakes.messages(),
        only or None,
        draw_for=fakes.draw_for,
        **more,  # type: ignore[arg-type]
    )
    return [entry.guide for entry in built]


def changed(guide: str) -> fakes.FakeJob:
    job = fakes.job(guide)
    values = {
        **fakes.values(),
        "heat.time_ready": fakes.value("heat.time_ready", "time", "Ready", 2400, 2100, 2700, 60),
    }
    return replace(job, worksheet=replace(job.worksheet, values=values))


def test_a_site_of_guides_and_catalogue(workspace: Path) -> None:
    told = []
    assert run(workspace, progress=lambda entry, done, of: told.append((entry.guide, done, of))) == list(
        GUIDES
    )
    assert told == [("ellunby-bakery", 1, 3), ("fennavar-museum", 2, 3), ("pippetree-one", 3, 3)]
    site = workspace / "site"
    assert {path.name for path in site.iterdir()} == {
        *GUIDES,
        "assets",
        "handbook",
        "index.html",
        MANIFEST,
        "search-data.js",
    }
    assert [path.name for path in (workspace / WORK).iterdir()] == [LOCK]
    manifest = read_manifest(site)
    assert {
        name: (one.model, one.site, one.readiness, one.stops, one.revision) for name, one in manifest.items()
    } == {
        "ellunby-bakery": ("umberlode-two", "Corner bakery, Ellunby", "not_ready", 1, "2 of 2025-03-04"),
        "fennavar-museum": ("pippetree-one", "Museum tea room, Fennavar", "not_ready", 1, "1 of 2025-05-30"),
        "pippetree-one": ("pippetree-one", None, "not_ready", 1, "B of 2024-09-30"),
    }
    for name, edition in editions(site).items():
        assert f"<dd>{edition}</dd>" in (site / name / "index.html").read_text(encoding="utf-8")


def test_same_inputs_same_bytes_whatever_the_number_of_processes(workspace: Path) -> None:
    run(workspace)
    first = files(workspace / "site")
    run(workspace, workers=2)
    assert files(workspace / "site") == first


def test_only_some_guides(workspace: Path) -> None:
    run(workspace)
    before = files(workspace / "site")
    jobs = (changed("ellunby-bakery"), changed("fennavar-museum"), changed("pippetree-one"))
    assert run(workspace, "ellunby-bakery", jobs=jobs) == list(GUIDES)
    after = files(workspace / "site")
    for path in before:
        if path.startswith(("fennavar-museum/", "pippetree-one/")):
            assert after[path] == before[path]
    old, new = (json.loads(found[MANIFEST])["guides"] for found in (before, after))
    assert old["ellunby-bakery"]["edition"] != new["ellunby-bakery"]["edition"]
    assert old["fennavar-museum"] == new["fennavar-museum"]
    assert new["ellunby-bakery"]["edition"].encode() in after["index.html"]


def test_only_before_the_first_build(workspace: Path) -> None:
    assert run(workspace, "pippetree-one") == ["pippetree-one"]
    assert (workspace / "site" / "pippetree-one" / "index.html").is_file()


def test_a_full_build_drops_guides_that_are_gone(workspace: Path) -> None:
    run(workspace)
    assert run(workspace, jobs=(fakes.job("pippetree-one"),)) == ["pippetree-one"]
    assert not (workspace / "site" / "ellunby-bakery").exists()


def test_an_unknown_guide(workspace: Path) -> None:
    with pytest.raises(UnknownGuideError) as caught:
        run(workspace, "nowhere")
    assert (caught.value.guide, caught.value.known) == ("nowhere", list(GUIDES))
    assert not (workspace / "site").exists()


@pytest.mark.parametrize("stage", ["guide", "catalogue", "check"])
def test_a_failed_build_changes_nothing(workspace: Path, stage: str) -> None:
    run(workspace)
    before = files(workspace / "site")
    more: dict[str, object] = {}
    jobs = tuple(changed(guide) for guide in GUIDES)
    expected: type[Exception] = SiteFault
    if stage == "guide":
        part = jobs[1].procedure.parts[0]
        twice = replace(jobs[1].procedure, parts=(part, replace(part, items=())))
        jobs = (jobs[0], replace(jobs[1], procedure=twice), jobs[2])
    elif stage == "catalogue":
        (workspace / "docs_src" / "handbook" / "planner.md").write_text("[gone](gone.md)", encoding="utf-8")
    else:
        expected = RuntimeError
        more["check"] = _refuse
    with pytest.raises(expected):
        run(workspace, jobs=jobs, **more)
    assert files(workspace / "site") == before
    assert [path.name for path in (workspace / WORK).iterdir()] == [LOCK]


def _refuse(_staged: Path) -> None:
    raise RuntimeError("refused")


def test_the_catalogue_lists_guides_and_models(workspace: Path) -> None:
    run(workspace)
    page = BeautifulSoup((workspace / "site" / "index.html").read_text(encoding="utf-8"), "lxml")
    cards = page.select(".cards > li")
    assert [card["data-guide"] for card in cards] == list(GUIDES)
    words = " ".join(cards[0].get_text(" ").split())
    edition = editions(workspace / "site")["ellunby-bakery"]
    offered = cards[0].select(".card__downloads a")
    assert [link["href"] for link in offered] == [
        "ellunby-bakery/single.html",
        "ellunby-bakery/ellunby-bakery.zip",
    ]
    files = " ".join(link.get_text() for link in offered)
    assert re.fullmatch(r"One file, \d+ kB Zip, \d+ kB", files)
    assert words == (
        "Corner bakery, Ellunby Not ready (1 stop) Stop : Night pressure (Builder) "
        "To settle : Drain fall (Planner) 1 passed Model Umberlode Two Revision 2 of 2025-03-04 "
        f"Edition {edition} {files}"
    )
    assert cards[0].select_one("a")["href"] == "ellunby-bakery/index.html"  # type: ignore[index]
    # Each check by its shape as well as in words.
    shapes = [str(mark["class"]) for mark in cards[0].select(".card__checks svg")]
    assert [re.findall(r"verdict--(\w+)", shape) for shape in shapes] == [["stop"], ["attention"], ["pass"]]


def test_every_link_of_the_site_leads_somewhere(workspace: Path) -> None:
    run(workspace)
    site = workspace / "site"
    pages = {path: BeautifulSoup(path.read_text(encoding="utf-8"), "lxml") for path in site.rglob("*.html")}
    ids = {path: {tag["id"] for tag in page.select("[id]")} for path, page in pages.items()}
    seen = 0
    for path, page in pages.items():
        for tag in page.select("[href], [src]"):
            address = str(tag.get("href") or tag.get("src"))
            if path.name == "single.html" and address.startswith("data:"):
                continue
            assert not re.match(r"[a-z]+:|//|/", address), (path, address)
            target, _, anchor = address.partition("#")
            file = (path.parent / target).resolve() if target else path
            assert file.is_file(), (path, address)
            assert not anchor or anchor in ids[file], (path, address)
            seen += 1
    assert seen > 100


def test_a_workspace_without_site_configuration(workspace: Path) -> None:
    (workspace / "mkdocs.yml").unlink()
    run(workspace, "pippetree-one")
    page = (workspace / "site" / "index.html").read_text(encoding="utf-8")
    assert 'href="pippetree-one/index.html"' in page


def test_a_damaged_manifest_entry_is_not_carried(workspace: Path) -> None:
    run(workspace)
    manifest = workspace / "site" / MANIFEST
    data = json.loads(manifest.read_text(encoding="utf-8"))
    manifest.write_text(json.dumps({**data, "schema": 99}), encoding="utf-8")
    assert run(workspace, "pippetree-one") == ["pippetree-one"]
