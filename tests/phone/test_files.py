"""The zip and the one file, opened from a folder as somebody does who got them by message."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.phone.kit import edition_of, find, make_guide, phone, says, state

pytestmark = pytest.mark.browser

GUIDE = "ellunby-bakery"


@pytest.fixture(scope="module")
def guide(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A guide with its zip and its one file."""
    folder = tmp_path_factory.mktemp("files") / GUIDE
    make_guide(folder)
    return folder


@pytest.fixture
def reader(browser: Browser) -> Iterator[Page]:
    """A page that fails the test on any complaint and on any request but for files."""
    wrong: list[str] = []
    with phone(browser) as context:
        page = context.new_page()
        page.on(
            "console", lambda line: wrong.append(line.text) if line.type in {"error", "warning"} else None
        )
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("request", lambda r: None if r.url.startswith(("file:", "data:")) else wrong.append(r.url))
        yield page
        assert page.evaluate("self.violations") == []
    assert wrong == []


def test_the_unzipped_folder_is_a_whole_guide(guide: Path, tmp_path: Path, reader: Page) -> None:
    with zipfile.ZipFile(guide / f"{GUIDE}.zip") as archive:
        archive.extractall(tmp_path)
    [folder] = tmp_path.iterdir()
    for path in sorted(folder.glob("*.html")):
        reader.goto(path.as_uri())
        state(reader, "folder")
        assert says(reader).startswith(f"Opened from a folder: edition {edition_of(reader)}")
        assert reader.evaluate("getComputedStyle(document.querySelector('.pg-header')).position") == "sticky"
        assert reader.evaluate("self.violations") == []
    # Nothing here leads out of the folder: there is no catalogue above and nothing to download.
    reader.goto((folder / "index.html").as_uri())
    assert reader.locator("a[download]:visible").count() == 0
    reader.locator("[data-pg-menu]").click()
    assert reader.locator(".pg-nav__up:visible").count() == 0
    reader.keyboard.press("Escape")
    assert any("Fill the steam boiler" in title for title in find(reader, "steam boler"))
    reader.locator(".pg-search__list a", has_text="3.1 Fill the steam boiler").first.click()
    reader.wait_for_url("**/03-fill.html#s-fill-steam")


def test_the_published_folder_keeps_its_way_up(guide: Path, reader: Page) -> None:
    reader.goto((guide / "index.html").as_uri())
    state(reader, "folder")
    reader.locator("[data-pg-menu]").click()
    assert reader.locator(".pg-nav__up:visible").count() == 1
    assert reader.locator("a[download]:visible").count() == 2


def test_the_one_file_alone_is_a_whole_guide(guide: Path, tmp_path: Path, reader: Page) -> None:
    alone = tmp_path / "sent by message.html"
    alone.write_bytes((guide / "single.html").read_bytes())
    reader.goto(alone.as_uri())
    state(reader, "single")
    assert f"edition {edition_of(reader)}" in says(reader)
    assert reader.evaluate("document.documentElement.scrollWidth") == 360
    reader.locator(".partlist a").nth(2).click()
    assert reader.locator("#p-03-fill").evaluate("e => Math.abs(e.getBoundingClientRect().top) < 200")
    assert any("Prove dead" in title for title in find(reader, "prove daed"))
    reader.locator(".pg-search__list a").first.click()
    assert reader.url.endswith("#s-electricity-dead")
    reader.locator("a.q[data-value='fill.time']").first.click()
    assert reader.url.endswith("#v-fill-time")
    # A link that a script makes to a page finds the part of the file.
    reader.evaluate(
        """() => {
          const link = document.createElement("a");
          link.href = "02-electricity.html";
          link.id = "made";
          link.textContent = "made";
          document.querySelector("#p-index").prepend(link);
          link.click();
        }"""
    )
    assert reader.url.endswith("#p-02-electricity")


def test_the_one_file_is_read_with_scripts_off(guide: Path, browser: Browser) -> None:
    with phone(browser, java_script_enabled=False) as context:
        page = context.new_page()
        page.goto((guide / "single.html").as_uri())
        assert page.locator("[data-when=scriptless]").is_visible()
        assert page.locator("#s-fill-steam").is_visible()
        assert page.locator("[data-when=kept]").is_hidden()
        page.locator(".partlist a").first.click()
        assert page.url.endswith("#p-01-water")
