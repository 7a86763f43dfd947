"""The face of the doing side: large enough, nothing jumps, light, readable aloud, and off in print."""

from __future__ import annotations

import gzip
from pathlib import Path
from typing import Any, Literal

import axe_playwright_python
import pytest

from procgen.publish.assets import ASSETS, assets, light
from tests.phone.conftest import Phone, at_rest, confirm, field, measure, saved, tick, until

pytestmark = pytest.mark.browser

PAGES = ("index.html", "01-water.html", "02-electricity.html", "03-fill.html", "record.html")
SCHEMES: tuple[Literal["light", "dark"], ...] = ("light", "dark")
#: all our own scripts together, as a server would send them
MOST_BYTES = 40_000


def test_scripts_stay_light() -> None:
    own = assets()
    sent = {path: text for path, text in {**own.files, **own.field_files}.items() if path.endswith(".js")}
    ours = [text for path, text in sent.items() if "/vendor/" not in path]
    outside = [light((ASSETS / name).read_text(encoding="utf-8")).encode() for name in ("sw.js", "single.js")]
    written = sum(
        len(light(path.read_text(encoding="utf-8")).encode())
        for path in ASSETS.rglob("*.js")
        if "vendor" not in path.parts
    )
    assert sum(map(len, [*ours, *outside])) == written
    assert sum(len(gzip.compress(text, 9)) for text in [*ours, *outside]) <= MOST_BYTES


def test_every_target_is_large_enough_and_nothing_is_too_wide(phone: Phone) -> None:
    page = phone.open("03-fill.html")
    field(page, "timer", "fill.steam.fill").get_by_role("button").tap()
    until(page, "procgen.running(procgen.view()).length === 1")
    measure(page, "fill.steam.inlet", "1,2")
    saved(page)
    for name in PAGES:
        phone.open(name, page=page)
        small = page.evaluate(
            """() => Array.from(document.querySelectorAll('.field button, .field summary, '
            + '.field input:not(.vh), .field textarea, .field select, .timer-bar a, .go-on'))
            .filter(n => n.offsetParent || n.closest('.timer-bar'))
            .filter(n => { const b = n.getBoundingClientRect(); return b.height < 44 || b.width < 44; })
            .map(n => n.outerHTML.slice(0, 80))"""
        )
        assert small == [], name
        assert page.evaluate("document.documentElement.scrollWidth") <= 360, name


def test_nothing_jumps_while_a_page_opens(phone: Phone) -> None:
    page = phone.open("01-water.html")
    tick(page, "water.pour")
    phone.context.add_init_script(
        """window.jumps = 0; new PerformanceObserver(list => list.getEntries().forEach(e => {
        if (!e.hadRecentInput) jumps += e.value; })).observe({type: 'layout-shift', buffered: true});"""
    )
    for name in PAGES:
        phone.open(name, page=page)
        at_rest(page)
        assert page.evaluate("jumps") < 0.02, name


def test_a_screen_reader_finds_its_way(phone: Phone) -> None:
    page = phone.open("01-water.html")
    tick(page, "water.pour")
    confirm(page, "water.drain_proved")
    phone.open("03-fill.html", page=page)
    measure(page, "fill.steam.inlet", "1,2")
    field(page, "timer", "fill.steam.fill").get_by_role("button").tap()
    until(page, "procgen.running(procgen.view()).length === 1")
    found = []
    script = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8")
    for name in PAGES:
        phone.open(name, page=page)
        page.evaluate(script)
        for scheme in SCHEMES:
            page.emulate_media(color_scheme=scheme)
            at_rest(page)
            result = page.evaluate("axe.run({runOnly: ['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa']})")
            found += [(name, scheme, one["id"], one["nodes"][0]["html"]) for one in result["violations"]]
    assert found == []


def test_the_keyboard_does_it_all(phone: Phone) -> None:
    page = phone.open("01-water.html")
    button = field(page, "step", "water.pour").locator(".tick")
    button.focus()
    page.keyboard.press("Space")
    until(page, "procgen.view().items['water.pour'].done")
    hold = field(page, "hold", "water.drain_proved").locator(".act")
    hold.focus()
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.tagName") == "INPUT"
    page.keyboard.type("A. Tester")
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    page.keyboard.press("Enter")
    until(page, "procgen.view().items['water.drain_proved'].done")
    # A question that is left with Escape has changed nothing, and the focus is back where it was.
    take_back = field(page, "hold", "water.drain_proved").get_by_role("button")
    take_back.focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Escape")
    until(page, "document.activeElement.textContent === 'Take the confirmation back'")
    assert page.evaluate("procgen.view().items['water.drain_proved'].done") is True


def test_print_hides_the_controls_and_shows_the_lines_to_write_on(phone: Phone) -> None:
    page = phone.open("03-fill.html")
    assert page.locator(".reading .write-line").first.is_hidden()
    page.emulate_media(media="print")
    assert page.locator(".reading .write-line").first.is_visible()
    assert [node.is_visible() for node in page.locator(".field").all()] == [False] * page.locator(
        ".field"
    ).count()


def test_without_scripts_the_lines_stand_there(phone: Phone, make_phone: Any) -> None:
    plain = make_phone(java_script_enabled=False)
    page = plain.tab()
    page.goto(f"{plain.address}/first/03-fill.html")
    assert page.locator(".reading .write-line").first.is_visible()
    assert page.locator(".field").first.is_hidden()
    page.goto(f"{plain.address}/first/record.html")
    assert page.locator(".no-script").is_visible()
