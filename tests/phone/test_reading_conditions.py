"""A real guide as it is read: in the sun, at night, in large text, by thumb, by keyboard, in any direction.

The figures sheet and the one file hold thousands of nodes of a few kinds; they are judged by the first ones
of each kind.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import axe_playwright_python
import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from tests.conftest import DEMO
from tests.phone.conftest import PHONE, at_rest, confirm, field, measure, ready, saved, tick, until

pytestmark = pytest.mark.browser

#: every kind of page: catalogue, words, first page, a part done, readings, a hold point, a timer, symptoms, …
PAGES = (
    "../index.html",
    "../handbook/phone.html",
    "index.html",
    "01-survey.html",
    "04-water.html",
    "05-electrical.html",
    "07-fill.html",
    "09-heat.html",
    "16-faults.html",
    "record.html",
    "figures.html",
)
MODES = ("light", "dark", "outdoor")
#: axe's groups of rules that ask how something looks or how much room there is
OF_LOOKS = ["cat.color", "cat.keyboard", "cat.sensory-and-visual-cues"]
HARDNESS = "water.treatment.hardness"
AXE = Path(axe_playwright_python.__file__).parent / "axe.min.js"

#: is it there for an eye? Not where it is hidden, or cut to nothing for screen readers only
SEEN = """const seen = n => { if (!n.checkVisibility({visibilityProperty: true})) return false;
for (let m = n; m; m = m.parentElement) if (getComputedStyle(m).clipPath !== 'none') return false;
return true; };"""

#: what is wider than the page, outside it, or cut off; what scrolls in a box of its own may be wider
CUT = (
    "() => {"
    + SEEN
    + """const out = [], wide = document.documentElement.clientWidth;
const scrolls = n => { for (let m = n.parentElement; m && m !== document.body; m = m.parentElement)
  if (/auto|scroll/.test(getComputedStyle(m).overflowX) && m.scrollWidth > m.clientWidth) return true;
  return false; };
if (document.documentElement.scrollWidth > wide) out.push('page: ' + document.documentElement.scrollWidth);
for (const n of document.querySelectorAll('body *')) {
  if (n.closest('svg') && n.tagName !== 'svg') continue;
  const box = n.getBoundingClientRect();
  if (!box.width || !box.height || !seen(n)) continue;
  const name = n.tagName + '.' + (n.getAttribute('class') || '') + ': ' + n.textContent.trim().slice(0, 40);
  if ((box.right > wide + 1 || box.left < -1) && !scrolls(n)) out.push('outside: ' + name);
  const s = getComputedStyle(n);
  if (/hidden|clip/.test(s.overflowX + s.overflowY) && n.textContent.trim()
    && (n.scrollWidth > n.clientWidth + 1 || n.scrollHeight > n.clientHeight + 2)) out.push('cut: ' + name);
}
return out.slice(0, 10); }"""
)

#: controls and links smaller than 44 × 44; a link in a sentence is excepted (WCAG 2.2, 2.5.8, "inline")
SMALL = (
    "() => {"
    + SEEN
    + """const out = [];
for (const n of document.querySelectorAll(
    'a[href], button, input, select, textarea, summary, [role=button]')) {
  const box = n.getBoundingClientRect();
  if (!box.width || !seen(n) || (box.width >= 43.9 && box.height >= 43.9)) continue;
  const others = [...n.parentElement.childNodes].filter(c => c !== n);
  const beside = others.map(c => c.textContent).join('').trim();
  if (n.tagName === 'A' && getComputedStyle(n).display === 'inline' && beside) continue;
  out.push(Math.round(box.width) + ' × ' + Math.round(box.height) + ' ' + n.outerHTML.slice(0, 90));
}
return out.slice(0, 10); }"""
)


@pytest.fixture(scope="module")
def worked(browser: Browser, demo_address: str) -> Iterator[BrowserContext]:
    """A phone in the middle of the work: a part done, a reading outside, a timer running, a hold waiting."""
    context = browser.new_context(**PHONE, service_workers="block")
    page = context.new_page()
    home = f"{demo_address}/{DEMO}"
    page.goto(f"{home}/01-survey.html")
    ready(page)
    for step in page.locator("[data-field='step']").all():
        tick(page, str(step.get_attribute("data-of")))
    confirm(page, "survey.site_ready", "Petra Lanner")
    page.goto(f"{home}/04-water.html")
    ready(page)
    measure(page, HARDNESS, "120")
    measure(page, "water.treatment.alkalinity", "50")
    measure(page, "water.pressures.static", "2.75")
    saved(page)
    page.goto(f"{home}/07-fill.html")
    ready(page)
    field(page, "timer", "fill.fill.fill").get_by_role("button").tap()
    until(page, "procgen.running(procgen.view()).length === 1 && !procgen.store.pending()")
    page.close()
    yield context
    context.close()


@pytest.fixture
def page(worked: BrowserContext) -> Iterator[Page]:
    """A tab of that phone; any script error fails the test."""
    wrong: list[str] = []
    tab = worked.new_page()
    tab.set_default_timeout(60_000)
    tab.on("pageerror", lambda error: wrong.append(str(error)))
    yield tab
    tab.close()
    assert wrong == []


def show(page: Page, address: str, name: str, mode: str = "light") -> None:
    """A page of the guide in one of the colours."""
    page.emulate_media(color_scheme="dark" if mode == "dark" else "light")
    page.goto(f"{address}/{DEMO}/{name}")
    set_mode(page, mode)
    if not name.startswith("../"):
        ready(page)
    if name in ("figures.html", "single.html"):
        page.evaluate(
            """() => { document.querySelectorAll('.calc').forEach((n, at) => { if (at > 25) n.remove(); });
            const keep = ['index', '05-electrical', 'figures'];
            document.querySelectorAll('.single').forEach(n => { n.style.contentVisibility = 'visible';
              if (!keep.includes(n.id.replace(/^p-/, ''))) n.remove(); }); }"""
        )


def set_mode(page: Page, mode: str) -> None:
    """The colours that the button would set; the button has its own test."""
    page.evaluate("mode => document.documentElement.setAttribute('data-theme', mode)", mode)


def violations(page: Page, mode: str, within: str) -> list[str]:
    """What axe finds: 7:1 for every word outdoors; but for the first colours only what hangs on looks."""
    options = {
        "resultTypes": ["violations"],
        "rules": {"color-contrast-enhanced": {"enabled": mode == "outdoor"}},
    }
    if mode != MODES[0]:
        options["runOnly"] = OF_LOOKS
    found = page.evaluate("([within, options]) => axe.run(within, options)", [within, options])["violations"]
    return [f"{one['id']}: {one['nodes'][0]['html'][:120]}" for one in found]


def judged(page: Page, dialog: str = "html") -> dict[str, list[str]]:
    """What axe finds in each of the colours; with a dialog open, its page is looked at once more in one."""
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found = {}
    for mode in MODES:
        page.emulate_media(color_scheme="dark" if mode == "dark" else "light")
        set_mode(page, mode)
        at_rest(page)
        found[mode] = violations(page, mode, "html" if mode == MODES[0] else dialog)
    return {mode: one for mode, one in found.items() if one}


@pytest.mark.parametrize("name", [*PAGES, "single.html"])
def test_axe_finds_nothing_on_any_kind_of_page(
    page: Page, published: Path, demo_address: str, name: str
) -> None:
    # The one file brings its own policy; it is sent by message and opened from a folder.
    show(page, (published / "site").as_uri() if name == "single.html" else demo_address, name)
    assert judged(page) == {}


def test_axe_finds_nothing_in_a_figure_s_source(page: Page, demo_address: str) -> None:
    show(page, demo_address, "05-electrical.html")
    page.locator("a.q").first.tap()
    page.locator("dialog.pg-figure").wait_for()
    assert judged(page, "dialog[open]") == {}


def test_axe_finds_nothing_in_a_question(page: Page, demo_address: str) -> None:
    show(page, demo_address, "01-survey.html")
    page.get_by_role("button", name="Take the confirmation back").tap()
    assert judged(page, "dialog[open]") == {}


@pytest.mark.parametrize("name", PAGES)
def test_nothing_is_cut_off_or_too_wide(page: Page, demo_address: str, name: str) -> None:
    show(page, demo_address, name)
    found = {}
    for mode, size, way in (
        ("light", "200%", ""),
        ("outdoor", "", ""),
        ("light", "", "rtl"),
        ("light", "200%", "rtl"),
    ):
        set_mode(page, mode)
        page.evaluate("size => { document.documentElement.style.fontSize = size; }", size)
        page.evaluate("way => { document.documentElement.dir = document.body.dir = way; }", way)
        at_rest(page)
        found[mode, size, way] = page.evaluate(CUT)
    assert {condition: one for condition, one in found.items() if one} == {}


def test_every_target_is_44_by_44(page: Page, demo_address: str) -> None:
    found = {}
    for name in PAGES:
        show(page, demo_address, name)
        found[name] = page.evaluate(SMALL)
        page.locator("[data-pg-menu]").tap()
        page.locator("#pg-nav a").first.wait_for()
        found[f"{name}, contents"] = page.evaluate(SMALL)
        page.keyboard.press("Escape")
    assert {name: one for name, one in found.items() if one} == {}


def test_the_entry_has_room_beside_a_long_unit(page: Page, demo_address: str) -> None:
    show(page, demo_address, "04-water.html")
    control = field(page, "reading", HARDNESS)
    assert control.locator("select").evaluate("s => s.options[s.selectedIndex].text") == "mg/L as CaCO3"
    assert control.locator("input").evaluate("n => n.getBoundingClientRect().width") >= 7 * 16


def test_the_button_goes_through_the_colours_and_says_which(page: Page, demo_address: str) -> None:
    show(page, demo_address, "04-water.html", "auto")
    page.evaluate("() => { localStorage.removeItem('procgen.theme'); }")
    page.reload()
    button = page.locator("[data-pg-theme]")
    step = page.locator(".step").first
    line = "n => parseFloat(getComputedStyle(n).borderInlineStartWidth)"
    size = "n => parseFloat(getComputedStyle(n).fontSize)"
    plain = (step.evaluate(line), step.evaluate(size))
    said = []
    for _ in range(3):
        button.tap()
        said.append(page.locator(".pg-said").inner_text())
        assert button.get_attribute("aria-label") == f"{said[-1]}; change"
    assert said == ["Light colours", "Dark colours", "Outdoor: strongest contrast, larger text"]
    assert (step.evaluate(line), step.evaluate(size)) > plain
    assert step.evaluate(size) > plain[1]
    page.reload()
    assert page.evaluate("document.documentElement.dataset.theme") == "outdoor"
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(0, 0, 0)"
    # A phone set to dark does not darken what was chosen for the sun; drawings go along.
    page.emulate_media(color_scheme="dark")
    page.goto(f"{demo_address}/{DEMO}/09-heat.html")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    drawing = page.locator(".fg").first
    assert drawing.evaluate("n => getComputedStyle(n).backgroundColor") == "rgb(255, 255, 255)"
    assert drawing.evaluate("n => getComputedStyle(n.querySelector('text')).fill") == "rgb(0, 0, 0)"
    button.tap()
    assert page.evaluate("document.documentElement.dataset.theme") is None
    # On paper nothing of it is left.
    set_mode(page, "outdoor")
    page.emulate_media(media="print")
    assert page.evaluate("parseFloat(getComputedStyle(document.documentElement).fontSize)") < 16
    page.emulate_media(media="screen", color_scheme="light")


def luminance(colour: str) -> float:
    """Relative luminance of ``#rrggbb`` (WCAG 2.2, definition of relative luminance)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_words_of_drawings_outdoors_at_seven_to_one(page: Page, demo_address: str) -> None:
    script = """() => [...new Set([...document.querySelectorAll('.fg svg text')]
      .filter(n => n.checkVisibility()).map(n => getComputedStyle(n).fill))]"""
    for name in ("index.html", "04-water.html", "09-heat.html"):
        show(page, demo_address, name, "outdoor")
        for fill in page.evaluate(script):
            red, green, blue = (int(part) for part in fill[4:-1].split(","))
            colour = f"#{red:02x}{green:02x}{blue:02x}"
            if colour == "#ffffff":
                continue  # stands on a dark shape
            assert 1.05 / (luminance(colour) + 0.05) >= 7, (name, fill)


def test_nothing_jumps(page: Page, demo_address: str) -> None:
    page.add_init_script(
        """window.jumps = 0; new PerformanceObserver(list => list.getEntries().forEach(e => {
        if (!e.hadRecentInput) jumps += e.value; })).observe({type: 'layout-shift', buffered: true});"""
    )
    found = {}
    for name in PAGES:
        page.goto(f"{demo_address}/{DEMO}/{name}")
        if not name.startswith("../"):
            ready(page)
        at_rest(page)
        found[name] = page.evaluate("jumps")
    assert {name: one for name, one in found.items() if one >= 0.02} == {}


def test_who_wants_no_motion_gets_none(page: Page, demo_address: str) -> None:
    page.emulate_media(reduced_motion="reduce")
    moving = """() => [...document.querySelectorAll('*')].filter(n => { const s = getComputedStyle(n);
      return s.transitionDuration.split(', ').some(d => d !== '0s') || s.animationName !== 'none'
        || s.scrollBehavior !== 'auto'; }).map(n => n.outerHTML.slice(0, 80)).slice(0, 5)"""
    for name in ("../index.html", "index.html", "04-water.html", "record.html"):
        show(page, demo_address, name)
        assert page.evaluate(moving) == [], name
    page.emulate_media(reduced_motion="no-preference")


def test_with_the_device_s_own_colours_controls_and_states_stay(page: Page, demo_address: str) -> None:
    page.emulate_media(forced_colors="active")
    page.goto(f"{demo_address}/{DEMO}/01-survey.html")
    ready(page)
    edges = """() => [...document.querySelectorAll('.act, .tick, .measured, .hold, .step')]
      .filter(n => n.checkVisibility() && parseFloat(getComputedStyle(n).borderBottomWidth) < 1)
      .map(n => n.outerHTML.slice(0, 80))"""
    assert page.evaluate(edges) == []
    mark = page.locator(".tick[aria-pressed=true] .tick-box").first
    assert mark.evaluate("n => getComputedStyle(n, '::before').content") == '"✓"'
    page.goto(f"{demo_address}/{DEMO}/04-water.html")
    ready(page)
    assert page.evaluate(edges) == []
    page.emulate_media(forced_colors="none")


def test_the_keyboard_goes_down_the_page(page: Page, demo_address: str) -> None:
    show(page, demo_address, "04-water.html")
    assert page.locator("[tabindex]:not([tabindex='0']):not([tabindex='-1'])").count() == 0
    places: list[float] = []
    for _ in range(45):
        page.keyboard.press("Tab")
        at = page.evaluate(
            """() => { const n = document.activeElement, s = getComputedStyle(n);
            return {top: n.getBoundingClientRect().top + scrollY, main: Boolean(n.closest('main')),
              ring: s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2,
              name: n.outerHTML.slice(0, 90)}; }"""
        )
        assert at["ring"], at["name"]
        if at["main"]:
            places.append(at["top"])
    assert len(places) > 30
    assert all(after >= before - 60 for before, after in pairwise(places))


def test_the_header_works_from_right_to_left(page: Page, demo_address: str) -> None:
    show(page, demo_address, "07-fill.html")
    page.evaluate("document.documentElement.dir = document.body.dir = 'rtl'")
    menu = page.locator("[data-pg-menu]").bounding_box()
    assert menu is not None
    assert menu["x"] > 300
    page.locator("[data-pg-menu]").tap()
    at_rest(page)
    drawer = page.locator(".md-sidebar--primary").bounding_box()
    assert drawer is not None
    assert drawer["x"] + drawer["width"] == pytest.approx(360, abs=1)
    page.keyboard.press("Escape")
    at_rest(page)
    closed = page.locator(".md-sidebar--primary").bounding_box()
    assert closed is None or closed["x"] >= 360
    page.locator("#pg-q").tap()
    page.locator("#pg-q").press_sequentially("probe")
    page.locator(".pg-search__list li").first.wait_for()
    assert page.evaluate("document.documentElement.scrollWidth") <= 360


def test_what_colour_says_stands_in_words_or_shapes_too(page: Page, demo_address: str) -> None:
    show(page, demo_address, "04-water.html")
    for reading, words in ((HARDNESS, "Too high."), ("water.treatment.alkalinity", "Within limits.")):
        assert words in field(page, "reading", reading).locator(".kept-readings li").first.inner_text()
    signals = page.locator(".notice")
    for notice in signals.all():
        word = notice.locator(".notice__word")
        assert word.inner_text().strip().lower() in {"danger", "warning", "caution", "notice"}
        assert notice.locator("svg").count() >= 1
    show(page, demo_address, "index.html")
    assert page.locator(".ready__word").inner_text() in {
        "Ready",
        "Not ready",
        "Ready, with points to settle",
    }
    shapes = page.evaluate(
        """() => ['stop', 'attention', 'pass'].map(kind => {
        const n = document.querySelector('.verdict--' + kind); return n && n.innerHTML; }).filter(Boolean)"""
    )
    assert len(set(shapes)) == len(shapes) >= 1
    done = page.locator(".field--progress.is-all span[aria-hidden]").all_inner_texts()
    assert done
    assert all(text.startswith("✓") for text in done)
    show(page, demo_address, "07-fill.html")
    assert "Run 1. Expected are" in page.locator(".timer.is-running .timer-words").inner_text()
