"""The search on pages opened from a folder, with the keyboard only."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from procgen.publish.search_index import guide_documents, index_script, plain
from procgen.publish.words import Words
from tests.publish import fakes
from tests.publish.test_guide_pages import soup


@pytest.fixture(scope="module")
def browser_page(browser: Browser) -> Iterator[Page]:
    page = browser.new_page(viewport={"width": 390, "height": 844})
    outside: list[str] = []
    page.on("request", lambda r: None if r.url.startswith("file:") else outside.append(r.url))
    page.on("pageerror", lambda error: outside.append(str(error)))
    yield page
    assert outside == []
    page.close()


def search(page: Page, guide: Path, query: str) -> list[str]:
    page.goto((guide / "01-water.html").as_uri())
    page.keyboard.press("/")
    page.locator("#pg-q").press_sequentially(query)
    page.wait_for_function("!document.querySelector('.pg-search__panel').hidden")
    page.wait_for_function(f"document.querySelector('#pg-q').value === {json.dumps(query)}")
    page.locator(".pg-search__status:not(:empty)").wait_for()
    return [text.split("\n")[0] for text in page.locator(".pg-search__title").all_inner_texts()]


@pytest.mark.browser
@pytest.mark.parametrize(
    ("query", "first"),
    [
        ("AB-12-345", "1.1 Pour test"),
        ("12-345", "1.1 Pour test"),
        ("ab12345", "1.1 Pour test"),
        ("insul", "2.1"),
        ("presure", "Night pressure"),
        ("fill the steam", "3.1 Fill the steam boiler"),
        ("2.8 bar", "3.1 Fill the steam boiler"),
        ("41 psi", "3.1 Fill the steam boiler"),
        ("fill.time", "Time to fill the steam boiler"),
        ("no water comes", "The pump runs, no water comes"),
    ],
)
def test_what_is_found_first(browser_page: Page, guide: Path, query: str, first: str) -> None:
    found = search(browser_page, guide, query)
    assert found
    assert found[0].startswith(first)


@pytest.mark.browser
def test_a_part_number_is_not_guessed_at(browser_page: Page, guide: Path) -> None:
    assert search(browser_page, guide, "AB-12-346") == []
    assert browser_page.locator(".pg-search__status").inner_text() == "Nothing found"


@pytest.mark.browser
def test_keyboard_only(browser_page: Page, guide: Path) -> None:
    search(browser_page, guide, "before heat")
    browser_page.keyboard.press("ArrowDown")
    active = browser_page.locator("#pg-q").get_attribute("aria-activedescendant")
    assert browser_page.locator(f"#{active}").get_attribute("aria-selected") == "true"
    browser_page.keyboard.press("Enter")
    browser_page.wait_for_url("**/03-fill.html#h-fill-before_heat")
    search(browser_page, guide, "fill")
    browser_page.keyboard.press("Escape")
    assert browser_page.locator(".pg-search__panel").is_hidden()


@pytest.mark.browser
def test_the_drawer_on_a_phone(browser_page: Page, guide: Path) -> None:
    browser_page.goto((guide / "03-fill.html").as_uri())
    menu = browser_page.locator("[data-pg-menu]")
    menu.focus()
    browser_page.keyboard.press("Enter")
    assert menu.get_attribute("aria-expanded") == "true"
    assert browser_page.evaluate("document.activeElement.getAttribute('aria-current')") == "page"
    browser_page.keyboard.press("Escape")
    assert menu.get_attribute("aria-expanded") == "false"
    assert browser_page.evaluate("document.activeElement.hasAttribute('data-pg-menu')")


@pytest.mark.browser
@pytest.mark.parametrize("width", [360, 390, 1440])
@pytest.mark.parametrize("name", ["index", "01-water", "02-electricity", "03-fill", "figures"])
def test_no_page_is_wider_than_its_window(browser_page: Page, guide: Path, width: int, name: str) -> None:
    browser_page.set_viewport_size({"width": width, "height": 844})
    browser_page.goto((guide / f"{name}.html").as_uri())
    assert browser_page.evaluate("document.documentElement.scrollWidth") == width
    small = browser_page.evaluate(
        """() => [...document.querySelectorAll(
             'button, .pg-nav a, .pg-turn a, .partlist a, .jump a, .hold__guards a, .pg-search__input')]
           .map((e) => [e, e.getBoundingClientRect()])
           .filter(([e, r]) => r.width && r.height && (r.width < 43.9 || r.height < 43.9))
           .map(([e]) => e.outerHTML.slice(0, 80))"""
    )
    assert small == []
    browser_page.set_viewport_size({"width": 390, "height": 844})


def test_every_document_leads_to_something(guide: Path) -> None:
    job = fakes.job()
    documents = guide_documents(job.procedure, job.worksheet, Words(fakes.messages()))
    assert len(documents) > 30
    for document in documents:
        page, _, anchor = document["u"].partition("#")
        found = soup(guide, page)
        assert not anchor or found.find(id=anchor), document["u"]


def test_the_index_is_data_in_one_classic_script(guide: Path) -> None:
    [path] = guide.glob("search-data.*.js")
    text = path.read_text(encoding="utf-8")
    assert text.startswith("self.procgenSearchData=[")
    documents = json.loads(text.removeprefix("self.procgenSearchData=").rstrip(";\n"))
    assert {document["t"] for document in documents} >= {"Pour test", "Danger: Electricity", "Night pressure"}


def test_nothing_in_the_data_ends_the_script() -> None:
    document = {"u": "a", "t": "</script>\u2028\"'", "k": "", "b": ""}
    script = index_script([document]).decode()
    assert "<" not in script
    assert "\u2028" not in script
    assert json.loads(script.removeprefix("self.procgenSearchData=").rstrip(";\n")) == [document]


def test_spaces_of_figures_are_plain() -> None:
    assert plain("12\u202f500\u00a0L \n of") == "12500 L of"
