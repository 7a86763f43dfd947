"""The adapter's short cuts change no byte of a page."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from bs4 import BeautifulSoup, Tag

from procgen.publish.adapter import (
    THEME_DIR,
    Heading,
    Html,
    Page,
    SiteFault,
    SiteSpec,
    build,
    escape_markdown,
    load_settings,
    site_config,
)
from procgen.publish.guide_pages import guide_site
from tests.publish import fakes

SETTINGS = load_settings(None)


def files(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def plain_build(spec: SiteSpec, folder: Path) -> Path:
    """The same configuration and pages, written down and built by the generator's own command."""
    docs = folder / "docs"
    for page in spec.pages:
        (docs / page.path).parent.mkdir(parents=True, exist_ok=True)
        (docs / page.path).write_text(page.markdown(), encoding="utf-8")
    for path, content in spec.files.items():
        (docs / path).parent.mkdir(parents=True, exist_ok=True)
        (docs / path).write_bytes(content)
    config = site_config(spec, SETTINGS, docs, folder / "site")
    config["theme"]["custom_dir"] = str(THEME_DIR)
    (folder / "mkdocs.yml").write_text(json.dumps(config), encoding="utf-8")
    # The generator's command warns of deprecations of its own; here only its pages matter.
    subprocess.run(
        [sys.executable, "-W", "ignore", "-m", "mkdocs", "build", "-q", "-f", str(folder / "mkdocs.yml")],
        check=True,
        capture_output=True,
        env={**os.environ, "NO_MKDOCS_2_WARNING": "1"},
    )
    return folder / "site"


@pytest.mark.parametrize("name", ["ellunby-bakery", "pippetree-one"])
def test_pages_are_those_of_a_plain_build(tmp_path: Path, name: str) -> None:
    # The second guide of a process meets a warm environment.
    for other in ("umberlode-two", name):
        spec = guide_site(fakes.job(other), fakes.messages(), fakes.draw).spec
        build(spec, tmp_path / other, SETTINGS)
    ours, theirs = files(tmp_path / name), files(plain_build(spec, tmp_path / "plain"))
    assert len([path for path in ours if path.endswith(".html")]) == 6
    # What the adapter adds: the data attributes of the root element.
    root = f'<html data-guide="{name}" data-edition="{spec.root["edition"]}" '.encode()
    expected = {path: theirs[path] for path in ours}
    assert {path: text.replace(root, b"<html ") for path, text in ours.items()} == expected
    assert all(root in text for path, text in ours.items() if path.endswith(".html"))
    left_out = {path for path in theirs if path not in ours}
    assert left_out == {
        path
        for path in left_out
        if "javascripts" in path
        or ".map" in path
        or path.endswith((".gz", "favicon.png", "sitemap.xml", "404.html"))
        or "palette" in path
    }


def test_same_inputs_same_bytes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    spec = guide_site(fakes.job(), fakes.messages(), fakes.draw).spec
    build(spec, tmp_path / "one", SETTINGS)
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "86400")
    again = guide_site(fakes.job(), fakes.messages(), fakes.draw).spec
    build(again, tmp_path / "two", SETTINGS)
    assert files(tmp_path / "one") == files(tmp_path / "two")


def site(*blocks: Heading | Html) -> SiteSpec:
    return SiteSpec("A site", [Page("index.md", "Home", blocks)], {})


def test_headings_keep_their_anchors_and_words(tmp_path: Path) -> None:
    words = "Set *K1* to 93 °C & <open> {#x} [y](z) `q` ~ 1. #"
    build(site(Heading(1, "Home", "top"), Heading(2, words, "s-a-b_c-", "4.3", "step-h")), tmp_path, SETTINGS)
    page = BeautifulSoup((tmp_path / "index.html").read_text(encoding="utf-8"), "lxml")
    heading = page.find("h2")
    assert isinstance(heading, Tag)
    assert (heading["id"], heading["class"]) == ("s-a-b_c-", ["step-h"])
    assert heading.get_text() == f"4.3 {words}"
    assert [child.name for child in heading.find_all()] == ["span"]
    link = page.select(".pg-toc a")[0]
    assert (link["href"], link.get_text(), link.find_all()) == ("#s-a-b_c-", f"4.3 {words}", [])


def test_finished_html_passes_untouched(tmp_path: Path) -> None:
    body = '<svg viewBox="0 0 1 1"><text>a *b* _c_ 1.</text></svg>\n\n<p>    *not emphasis*</p>\n\n# none'
    build(site(Heading(1, "Home", "top"), Html(body)), tmp_path, SETTINGS)
    assert f'<div class="pg">\n{body}\n</div>' in (tmp_path / "index.html").read_text(encoding="utf-8")


def test_a_warning_of_the_generator_is_a_fault(tmp_path: Path) -> None:
    spec = replace(site(), pages=[Page("index.md", "Home", ()), Page("index.md", "Twice", ())])
    broken = replace(spec, pages=[Page("index.md", "Home", [_Link()])])  # type: ignore[list-item]
    with pytest.raises(SiteFault) as caught:
        build(broken, tmp_path, SETTINGS)
    assert caught.value.messages == [
        "Doc file 'index.md' contains a link 'gone.md', "
        "but the target is not found among documentation files.",
        "Doc file 'index.md' contains a link '#gone', but there is no such anchor on this page.",
    ]


class _Link(Heading):
    """A heading whose text is Markdown, so that it holds links."""

    def __init__(self) -> None:
        super().__init__(1, "x", "x")


@pytest.fixture(autouse=True)
def _raw_headings(monkeypatch: pytest.MonkeyPatch) -> None:
    from procgen.publish import adapter

    original = adapter._block_markdown

    def markdown(block: Heading | Html) -> str:
        return "# x\n\n[a](gone.md) [b](#gone)" if isinstance(block, _Link) else original(block)

    monkeypatch.setattr(adapter, "_block_markdown", markdown)


def test_overrides_of_the_workspace_are_not_served_stale(tmp_path: Path) -> None:
    own = tmp_path / "own" / "partials"
    own.mkdir(parents=True)
    config = tmp_path / "mkdocs.yml"
    config.write_text(
        "site_name: x\ndocs_dir: docs\ntheme:\n  name: material\n  custom_dir: own\n", encoding="utf-8"
    )
    (tmp_path / "docs").mkdir()
    found = []
    for words in ("first words", "second words"):
        (own / "content.html").write_text(f"<p>{words}</p>{{{{ page.content }}}}", encoding="utf-8")
        build(site(Heading(1, "Home", "top")), tmp_path / "built", load_settings(config))
        page = (tmp_path / "built" / "index.html").read_text(encoding="utf-8")
        found.append(words in page and "pg-header" in page)
    assert found == [True, True]


def test_theme_settings_come_from_the_site_configuration(tmp_path: Path) -> None:
    config = tmp_path / "mkdocs.yml"
    (tmp_path / "docs").mkdir()
    config.write_text(
        "site_name: x\nsite_url: https://guides.example/\ntheme:\n  name: material\n  language: de\n"
        "  font:\n    text: Some Font\n",
        encoding="utf-8",
    )
    settings = load_settings(config)
    assert settings.site_url == "https://guides.example/"
    assert settings.theme["language"] == "de"
    assert settings.theme["font"] is False
    build(site(Heading(1, "Home", "top")), tmp_path / "built", settings)
    page = (tmp_path / "built" / "index.html").read_text(encoding="utf-8")
    assert '<html lang="de"' in page
    assert "fonts.g" not in page


def test_a_broken_site_configuration_is_a_fault(tmp_path: Path) -> None:
    config = tmp_path / "mkdocs.yml"
    config.write_text("site_name: x\ndocs_dir: nowhere\n", encoding="utf-8")
    with pytest.raises(SiteFault) as caught:
        load_settings(config)
    assert "docs_dir" in caught.value.messages[0]


@pytest.mark.parametrize("text", ["a\nb", "  a   b "])
def test_escaped_text_stays_on_one_line(text: str) -> None:
    assert escape_markdown(text) == "a b"
