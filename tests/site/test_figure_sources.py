"""Where a figure comes from, on a phone and from a folder; and the tables for readings that differ."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from bs4 import BeautifulSoup, Tag
from playwright.sync_api import Browser, Page, expect

from procgen.messages.catalog import load
from procgen.publish.sheet import calculation
from procgen.publish.words import Words
from procgen.units.show import read_back
from tests.conftest import DEMO as SITE
from tests.values.kit import sheet


@pytest.fixture(scope="module")
def guide(published: Path) -> Path:
    """One guide, published."""
    return published / "site" / SITE


@pytest.fixture(params=["light", "dark"])
def phone(browser: Browser, request: pytest.FixtureRequest) -> Iterator[Page]:
    page = browser.new_page(viewport={"width": 360, "height": 740}, color_scheme=request.param)
    troubles: list[str] = []
    page.on("request", lambda r: None if r.url.startswith("file:") else troubles.append(r.url))
    page.on("pageerror", lambda error: troubles.append(str(error)))
    yield page
    assert troubles == []
    page.close()


def sources(guide: Path) -> dict[str, Any]:
    """The data the script shows."""
    (path,) = guide.rglob("figures-data*.js")
    script = path.read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(script.removeprefix("self.procgenFigures=").removesuffix(";\n"))
    return found


def plain(html: str) -> str:
    # A place where a line may break is not a space.
    whole = BeautifulSoup(re.sub("</?wbr/?>", "", html), "lxml")
    return " ".join(whole.get_text(" ").split())


def soup(guide: Path, page: str) -> BeautifulSoup:
    return BeautifulSoup((guide / page).read_text(encoding="utf-8"), "lxml")


def test_every_linked_figure_has_its_source_and_it_is_the_sheet_s(guide: Path) -> None:
    entries = sources(guide)["values"]
    calculations = {tag["data-value"]: tag for tag in soup(guide, "figures.html").select(".calc")}
    linked = {
        str(link["data-value"])
        for path in guide.glob("*.html")
        if path.name != "figures.html"
        for link in soup(guide, path.name).select("a.q[data-value]")
    }
    assert len(linked) > 60
    for name in linked:
        assert plain(entries[name]) == plain(str(calculations[name]))


def test_a_figure_from_the_worst_end_of_a_range_says_so() -> None:
    worksheet = sheet("ellunby-bakery")
    runs, last = worksheet.value("fill.pump_runs"), worksheet.value("fill.stop_and_check_runs")
    assert (runs.value, runs.high) == (3, 4)
    entry = plain(str(calculation(last, worksheet, Words(load()))))
    assert f"{runs.title}, highest of its range {runs.high:.0f} calculated" in entry


def test_a_source_that_says_of_what_kind_it_is_does_not_say_it_twice(guide: Path) -> None:
    entries = sources(guide)["values"]
    for name, source in (
        ("fill.resets", "Arithmetic from the stated formula"),
        ("fill.stop_and_check_runs", "Common practice, no source"),
    ):
        assert plain(entries[name]).endswith(f"Source: {source}")
    assert plain(entries["steam.saturation_pressure"]).endswith(
        "computed by the library chemicals (standard)"
    )


def test_every_column_of_a_table_is_named_in_words(guide: Path) -> None:
    heads = [head.get_text() for head in soup(guide, "figures.html").select(".calc__series th")]
    assert {"Pump time", "Volume", "Time"} <= set(heads)
    assert [head for head in heads if not head[0].isupper() or "_" in head] == []


def test_a_source_says_formula_inputs_with_origin_and_method(guide: Path) -> None:
    worksheet = sheet(SITE)
    for name, html in sources(guide)["values"].items():
        value, shown = worksheet.value(name), plain(html)
        assert value.title in shown
        assert value.source.title in shown
        if value.formula:
            assert " ".join(value.formula.split()) in shown
        for item in value.inputs:
            if item.place:
                assert item.place in shown, (name, item)


@pytest.mark.browser
def test_a_tap_shows_where_a_figure_comes_from(guide: Path, phone: Page) -> None:
    phone.goto((guide / "07-fill.html").as_uri())
    link = phone.locator('a.q[data-value="fill.time"]').first
    link.click()
    dialog = phone.locator("dialog[open]")
    dialog.wait_for()
    assert " ".join(dialog.locator(".calc").inner_text().split()) == " ".join(
        _rendered(phone, sources(guide)["values"]["fill.time"]).split()
    )
    value = sheet(SITE).value("fill.time")
    assert value.low is not None
    texts = dialog.locator(".calc__result .q1").all_inner_texts()
    (low, half), _ = read_back("time", texts[-1])
    assert low == pytest.approx(value.low, abs=2 * half + 10)
    wide = phone.evaluate("[document.documentElement.scrollWidth, innerWidth]")
    assert wide[0] <= wide[1]
    box = phone.evaluate("(d => [d.scrollWidth, d.clientWidth])(document.querySelector('dialog'))")
    assert box[0] <= box[1]
    assert dialog.get_attribute("aria-labelledby") == "pg-figure-title"
    assert phone.locator("#pg-figure-title").inner_text() == value.title
    dialog.get_by_role("button", name="Close").click()
    expect(phone.locator("dialog[open]")).to_have_count(0)


def _rendered(page: Page, html: str) -> str:
    """An entry as the same browser lays it out, in a place of its own."""
    return str(
        page.evaluate(
            """html => { const box = document.createElement("div"); box.className = "pg-figure md-typeset";
            box.innerHTML = html; document.body.append(box); const text = box.innerText; box.remove();
            return text; }""",
            html,
        )
    )


@pytest.mark.browser
def test_the_keyboard_opens_and_escape_returns(guide: Path, phone: Page) -> None:
    phone.goto((guide / "09-heat.html").as_uri())
    link = phone.locator('a.q[data-value="heat.time_ready"]').first
    link.focus()
    phone.keyboard.press("Enter")
    phone.locator("dialog[open]").wait_for()
    phone.keyboard.press("Tab")
    assert phone.evaluate("document.querySelector('dialog').contains(document.activeElement)")
    phone.keyboard.press("Escape")
    phone.wait_for_function("!document.querySelector('dialog[open]')")
    expect(link).to_be_focused()
    assert phone.url.endswith("09-heat.html")


@pytest.mark.browser
def test_a_timer_s_wait_shows_its_source_too(guide: Path, phone: Page) -> None:
    phone.goto((guide / "07-fill.html").as_uri())
    phone.locator(".timer__wait a").first.click()
    phone.locator("dialog[open]").wait_for()
    assert phone.locator("dialog .calc").get_attribute("data-value") == "fill.time"


@pytest.mark.browser
def test_without_scripts_the_link_leads_to_the_sheet(guide: Path, browser: Browser) -> None:
    context = browser.new_context(java_script_enabled=False, viewport={"width": 360, "height": 740})
    page = context.new_page()
    page.goto((guide / "07-fill.html").as_uri())
    page.locator('a.q[data-value="fill.time"]').first.click()
    page.wait_for_url("**/figures.html#*")
    context.close()


@pytest.mark.parametrize(
    ("page", "reading", "table"),
    [
        ("04-water.html", "water.pressures.static", "fill.what_if"),
        ("09-heat.html", "heat.hot_electrical.voltage_loaded", "heat.what_if"),
    ],
)
def test_a_reading_carries_its_table(guide: Path, page: str, reading: str, table: str) -> None:
    block = soup(guide, page).select_one(f'[data-reading="{reading}"]')
    assert isinstance(block, Tag)
    assert block["data-what-if"] == table
    rows = block.select(f'[data-series="{table}"] tbody tr')
    series = sheet(SITE).value(table).series
    assert series is not None
    assert len(rows) == len(series.rows)
    names = [name for name, kind in series.columns if kind != "text"]
    for row, figures in zip(rows, series.rows, strict=True):
        for name, figure in zip(names, figures, strict=False):
            written = row.get(f"data-{name.replace('_', '-')}")
            assert (None if figure is None else float(figure)) == (
                None if written is None else float(str(written))
            )
        if figures[-1]:
            assert row.get("data-none") == "true"
            assert str(figures[-1]) in plain(str(row))
    assert soup(guide, "figures.html").select(f'.calc [data-series="{table}"] tbody tr')


@pytest.mark.browser
@pytest.mark.parametrize("page", ["04-water.html", "09-heat.html"])
def test_the_table_fits_a_phone(guide: Path, phone: Page, page: str) -> None:
    phone.goto((guide / page).as_uri())
    fits = phone.locator(".what-if .scroll").first.evaluate("box => box.scrollWidth <= box.clientWidth")
    assert fits
    assert phone.evaluate("document.documentElement.scrollWidth <= innerWidth")
