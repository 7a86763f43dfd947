"""What a guide carries to work without a network: worker, zip, one file."""

from __future__ import annotations

import base64
import hashlib
import io
import json
import re
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest
from bs4 import BeautifulSoup, Tag

from procgen.publish import adapter
from procgen.publish.bundle import bundle, kept_files, zipped
from procgen.publish.edition_file import EDITION_FILE
from procgen.publish.guide_pages import guide_site
from procgen.publish.keep import shown_size
from procgen.publish.policy import SITE_POLICY
from procgen.publish.single import SingleError, linked, page_order, single_file
from procgen.publish.words import Words
from tests.publish import fakes

WORDS = Words(fakes.messages())
GUIDE = "ellunby-bakery"


@pytest.fixture(scope="module")
def bundled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A guide with worker, zip and one file."""
    return build(tmp_path_factory.mktemp("bundled") / GUIDE)


def build(folder: Path, job: fakes.FakeJob | None = None) -> Path:
    site = guide_site(job or fakes.job(), fakes.messages(), fakes.draw)
    adapter.build(site.spec, folder, adapter.load_settings(None))
    bundle(folder, GUIDE, site.edition, WORDS)
    return folder


def single(folder: Path) -> BeautifulSoup:
    return BeautifulSoup((folder / "single.html").read_text(encoding="utf-8"), "lxml")


def squeezed(tag: Tag) -> str:
    return " ".join(tag.get_text(" ").split())


def test_the_list_is_every_file_by_content(bundled: Path) -> None:
    text = (bundled / "sw.js").read_text(encoding="utf-8")
    listed = json.loads(text.removeprefix("const KEPT = ").partition(";\n")[0])
    there = {
        path.relative_to(bundled).as_posix(): path.read_bytes()
        for path in bundled.rglob("*")
        if path.is_file() and path.name not in {"sw.js", "single.html", f"{GUIDE}.zip"}
    }
    expected = {
        name: "sha256-" + base64.b64encode(hashlib.sha256(content).digest()).decode()
        for name, content in there.items()
    }
    assert listed["files"] == expected
    assert listed["edition"] == json.loads(there[EDITION_FILE])["edition"]


def test_the_edition_file_tells_steps_holds_and_figures(bundled: Path) -> None:
    found = json.loads((bundled / EDITION_FILE).read_text(encoding="utf-8"))
    assert [part["title"] for part in found["parts"]] == ["1 Water & <drain>", "2 Electricity", "3 Filling"]
    assert [step["id"] for step in found["parts"][2]["steps"]] == [
        "fill.steam",
        "fill.bleed[G2]",
        "fill.before_heat",
    ]
    ready = next(value for value in found["values"] if value["id"] == "heat.time_ready")
    assert ready == {
        "id": "heat.time_ready",
        "title": "Time until the machine is ready",
        "shown": "23\u00a0min – 30\u00a0min",
    }


def test_the_zip_is_one_folder_of_the_same_bytes(bundled: Path) -> None:
    content = (bundled / f"{GUIDE}.zip").read_bytes()
    edition = json.loads((bundled / EDITION_FILE).read_text(encoding="utf-8"))["edition"]
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        inside = {name: archive.read(name) for name in archive.namelist()}
    expected = {**kept_files(bundled), "sw.js": (bundled / "sw.js").read_bytes()}
    assert inside == {f"{GUIDE}-{edition}/{name}": data for name, data in expected.items()}


def test_the_same_guide_gives_the_same_bytes(bundled: Path, tmp_path: Path) -> None:
    again = build(tmp_path / GUIDE)
    for path in bundled.rglob("*"):
        if path.is_file():
            assert path.read_bytes() == (again / path.relative_to(bundled)).read_bytes(), path


def test_a_zip_depends_on_names_and_contents_alone() -> None:
    assert zipped({"b": b"2", "a": b"1"}, "x") == zipped({"a": b"1", "b": b"2"}, "x")


def test_sizes_are_those_of_the_files(bundled: Path) -> None:
    page = BeautifulSoup((bundled / "index.html").read_text(encoding="utf-8"), "lxml")
    for link in page.select(".downloads a"):
        size = (bundled / str(link["href"])).stat().st_size
        [shown] = link.select(".downloads__size")
        assert shown.get_text() == shown_size(size, WORDS)


@pytest.mark.parametrize(
    ("size", "shown"), [(1, "10 kB"), (340_000, "340 kB"), (340_001, "350 kB"), (1_040_000, "1.1 MB")]
)
def test_a_size_is_never_below_what_it_is(size: int, shown: str) -> None:
    assert shown_size(size, WORDS) == shown


def test_one_file_holds_every_page_in_order(bundled: Path) -> None:
    found = single(bundled)
    sections = found.select("section.single")
    assert [section["id"] for section in sections] == [
        "p-index",
        "p-01-water",
        "p-02-electricity",
        "p-03-fill",
        "p-record",
        "p-figures",
    ]
    for section in sections[1:]:
        page = BeautifulSoup((bundled / f"{str(section['id'])[2:]}.html").read_text("utf-8"), "lxml")
        article = page.select_one("article")
        assert article is not None
        assert squeezed(section) == squeezed(article)
    assert len(found.select("h1")) == 1


def test_one_file_asks_for_nothing(bundled: Path) -> None:
    found = single(bundled)
    asked = [str(tag.get("src") or tag.get("href")) for tag in found.select("[src], [href]")]
    assert {re.split(r"[:#]", address)[0] for address in asked} <= {"", "data"}
    assert found.select("link[rel=stylesheet]") == []
    assert "assets/" not in (bundled / "single.html").read_text(encoding="utf-8").partition("<body")[0]


def test_links_and_ids_of_the_one_file_agree(bundled: Path) -> None:
    found = single(bundled)
    ids = [str(tag["id"]) for tag in found.select("[id]")]
    assert len(ids) == len(set(ids))
    for link in found.select("a[href^='#']"):
        assert str(link["href"])[1:] in ids, link
    for name in ("aria-labelledby", "aria-describedby", "for"):
        for tag in found.select(f"[{name}]"):
            assert set(str(tag[name]).split()) <= set(ids), tag
    for paint in re.findall(r"url\(#([^)]+)\)", (bundled / "single.html").read_text(encoding="utf-8")):
        assert paint in ids


def test_the_search_of_the_one_file_leads_into_it(bundled: Path) -> None:
    found = single(bundled)
    ids = {str(tag["id"]) for tag in found.select("[id]")}
    [data] = [script.get_text() for script in found.select("script") if "procgenSearchData=" in str(script)]
    documents = json.loads(data.partition("=")[2].rstrip().rstrip(";"))
    assert len(documents) > 10
    assert {document["u"][1:] for document in documents} <= ids


def test_the_one_files_policy_names_its_scripts_by_hash(bundled: Path) -> None:
    text = (bundled / "single.html").read_text(encoding="utf-8")
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', text)
    assert policy
    assert "'self'" not in policy.group(1)
    assert "unsafe" not in policy.group(1)
    scripts = re.findall(r"<script>(.*?)</script>", text, re.DOTALL)
    assert len(scripts) > 4
    for code in scripts:
        digest = base64.b64encode(hashlib.sha256(code.encode()).digest()).decode()
        assert f"'sha256-{digest}'" in policy.group(1)


def test_hostile_names_stay_text_in_the_one_file(tmp_path: Path) -> None:
    bad = '</section><script>alert(1)</script> id="x" href="01-water.html" <a href="y">'
    job = fakes.job()
    part = job.procedure.parts[2]
    step = replace(next(part.steps()), title=bad)
    machine = replace(job.machine, data=job.machine.data.model_copy(update={"name": bad}))
    items = (step,)
    procedure = replace(job.procedure, parts=(replace(part, title=bad, items=items),))
    folder = build(tmp_path / GUIDE, replace(job, procedure=procedure, machine=machine))
    found = single(folder)
    assert "alert(1)" not in [script.get_text() for script in found.select("script")]
    [heading] = found.select("[id='s-fill-steam']")
    assert squeezed(heading).endswith(" ".join(bad.split()))
    assert len(found.select("section.single")) == 4


@pytest.mark.parametrize(
    ("address", "expected"),
    [
        ("#a", "#p-two-a"),
        ("one.html", "#p-one"),
        ("one.html#a", "#a"),
        ("https://example.org/x", "https://example.org/x"),
        ("../index.html", None),
    ],
)
def test_addresses_become_places_in_the_file(address: str, expected: str | None) -> None:
    assert linked(address, "two.html", {"one.html": {"a": "a"}, "two.html": {"a": "p-two-a"}}) == expected


def frame(head: str = "", body: str = "<p>Text</p>", end: str = "") -> bytes:
    return (
        f'<html><head><meta http-equiv="Content-Security-Policy" content="{SITE_POLICY}">{head}</head><body>'
        f'<article class="md-content__inner md-typeset">{body}</article>{end}</body></html>'
    ).encode()


def test_two_pages_with_one_id_keep_both() -> None:
    one = '<h1 id="x">One</h1><a href="two.html#x">two</a>'
    two = '<h1 id="x">Two</h1><a href="#x">here</a><svg><path fill="url(#x)"/></svg>'
    files = {"index.html": frame(body=one), "two.html": frame(body=two)}
    text = single_file(files, ["index.html", "two.html"], "", "").decode()
    assert '<h1 id="x">One</h1><a href="#p-two-x">two</a>' in text
    assert '<h2 id="p-two-x">Two</h2><a href="#p-two-x">here</a>' in text
    assert 'fill="url(#p-two-x)"' in text


@pytest.mark.parametrize(
    ("page", "files", "message"),
    [
        (frame(end='<script src="a.js"></script>'), {}, "a page asks for a.js, which is not there"),
        (
            frame(end='<script src="a.js" defer></script>'),
            {"a.js": b"'</script>'"},
            "a script or style that is inlined holds </script or <!--",
        ),
        (b"<html></html>", {}, "a page without a main part"),
        (frame().replace(b"http-equiv", b"x"), {}, "a page without a content-security policy"),
    ],
)
def test_what_one_file_cannot_hold_is_refused(page: bytes, files: dict[str, bytes], message: str) -> None:
    with pytest.raises(SingleError) as caught:
        single_file({"index.html": page, **files}, ["index.html"], "", "")
    assert str(caught.value) == message


def test_pages_follow_the_contents_list(bundled: Path) -> None:
    assert page_order(kept_files(bundled)) == [
        "index.html",
        "01-water.html",
        "02-electricity.html",
        "03-fill.html",
        "record.html",
        "figures.html",
    ]


def test_a_preview_has_no_worker_and_no_policy() -> None:
    """A live preview's reload is an inline script, and a kept page would never change."""
    extra = guide_site(fakes.job(), fakes.messages(), fakes.draw, preview=True).spec.extra["procgen"]
    assert (extra["policy"], extra["keep"]["worker"]) == ("", "")
