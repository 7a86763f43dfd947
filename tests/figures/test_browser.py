"""In a real browser: no label meets a label, a line or the edge; form and colours follow the page."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest
from playwright.sync_api import Page

from procgen.figures import Drawing, stylesheet
from tests.figures.browser import Measured, measure, open_page
from tests.figures.kit import drawings, guides, names, preferring, replaced

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def page() -> Iterator[Page]:
    """One page for the module."""
    with open_page() as opened:
        yield opened


def meetings(page: Page, found: dict[str, Drawing]) -> list[tuple[str, str, str, str]]:
    """What meets in all drawings of a guide."""
    faults = []
    for figure, drawing in found.items():
        for picture in measure(page, drawing.svg):
            assert picture.labels > 4
            assert picture.strokes > 4
            faults += [(figure, picture.form, *pair) for pair in picture.meetings]
    return faults


@pytest.mark.parametrize("name", names())
@pytest.mark.parametrize("prefer", ["metric", "us"])
def test_no_label_meets_anything(page: Page, name: str, prefer: str) -> None:
    assert meetings(page, drawings(preferring(guides()[name], prefer))) == []


def test_no_label_meets_anything_with_the_longest_data(page: Page) -> None:
    long = "A very long name that somebody typed into a field " * 11
    guide = replaced(guides()["quathery-cellar"], name=long[:600])
    machine = guide.machine.data
    hoses = [h.model_copy(update={"start": long[:590]}) for h in machine.water.hoses]
    water = machine.water.model_copy(update={"hoses": hoses})
    variants = [v.model_copy(update={"terminal_block": long[:600]}) for v in machine.supply_variants]
    unbroken = machine.steam_boiler.relief_valve.model_copy(update={"discharge": "x" * 600})
    steam = machine.steam_boiler.model_copy(update={"relief_valve": unbroken})
    guide = replaced(guide, water=water, supply_variants=variants, steam_boiler=steam)
    assert guide.site is not None
    drain = guide.site.data.drain
    assert drain is not None
    segments = [s.model_copy(update={"name": long[:600]}) for s in drain.segments]
    data = guide.site.data.model_copy(update={"drain": drain.model_copy(update={"segments": segments})})
    guide = replace(guide, site=replace(guide.site, data=data))
    # The worksheet's falls are keyed by the old names; the drawing does without them.
    assert meetings(page, drawings(guide)) == []


def seeded(page: Page, drawing: Drawing, before: str, after: str) -> list[Measured]:
    """A drawing with something moved."""
    assert before in drawing.svg
    return measure(page, drawing.svg.replace(before, after, 1))


def test_a_label_moved_onto_another_is_found(page: Page) -> None:
    drawing = drawings(guides()["hobbin-row"])["fill-chart"]
    ticks = re.findall(r'<text x="([\d.]+)" y="([\d.]+)" font-size="11" text-anchor="end"', drawing.svg)
    (x1, y1), (_, y2) = ticks[0], ticks[1]
    found = seeded(page, drawing, f'x="{x1}" y="{y1}" font-size="11"', f'x="{x1}" y="{y2}" font-size="11"')
    assert any("4" in pair or "2" in pair for pair in found[0].meetings)
    assert found[1].meetings == ()


def test_a_line_through_a_label_is_found(page: Page) -> None:
    drawing = drawings(guides()["hobbin-row"])["water-schematic"]
    label = re.search(r'<g transform="translate\((\d+) (\d+)\)" data-mark="W3">', drawing.svg)
    assert label
    x, y = int(label.group(1)), int(label.group(2))
    line = f'<path d="M{x + 30} {y - 30}V{y + 30}" class="fg-line"/>'
    found = seeded(page, drawing, label.group(), line + label.group())
    assert any("Hose W3" in first for first, _ in found[0].meetings)


def test_a_symbol_moved_onto_its_words_is_found(page: Page) -> None:
    drawing = drawings(guides()["hobbin-row"])["water-schematic"]
    found = seeded(
        page, drawing, '<use href="#fg-ws-pump"/>', '<use href="#fg-ws-pump" transform="translate(40 0)"/>'
    )
    assert any("Pump D1" in first for first, _ in found[0].meetings)


def test_a_label_beyond_the_edge_is_found(page: Page) -> None:
    drawing = drawings(guides()["hobbin-row"])["timeline"]
    found = seeded(page, drawing, '<text x="2" ', '<text x="-30" ')
    assert any(second == "the edge" for _, second in found[0].meetings)


@pytest.mark.parametrize(("width", "form"), [(360, "narrow"), (1200, "wide")])
def test_the_form_that_fits_is_shown_and_nothing_needs_zooming(page: Page, width: int, form: str) -> None:
    page.set_viewport_size({"width": width, "height": 800})
    body = "".join(d.svg for d in drawings(guides()["orrenholt-hall"]).values())
    page.set_content(
        '<meta name="viewport" content="width=device-width">'
        f"<style>{stylesheet()} body {{ margin: 12px }}</style>{body}"
    )
    shown = page.evaluate(
        "[...document.querySelectorAll('svg[data-form]')].filter(s => s.getBoundingClientRect().width > 0)"
        ".map(s => s.dataset.form)"
    )
    assert set(shown) == {form}
    assert len(shown) == 9
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    sizes = page.evaluate(
        "[...document.querySelectorAll('svg[data-form]')].filter(s => s.getBoundingClientRect().width > 0)"
        ".map(s => s.getScreenCTM().a)"
    )
    # The smallest letters, 11 units high, stay above ten pixels.
    assert min(sizes) * 11 > 10


def test_colours_follow_the_theme(page: Page) -> None:
    drawing = drawings(guides()["hobbin-row"])["water-schematic"]

    def colours(theme: str) -> tuple[str, str, str]:
        page.set_content(f'<html data-theme="{theme}"><style>{stylesheet()}</style>{drawing.svg}</html>')
        page.evaluate(f"document.documentElement.dataset.theme = '{theme}'")
        return tuple(  # type: ignore[return-value]
            page.evaluate(
                "(() => { const style = s => getComputedStyle(document.querySelector(s)); return ["
                "style('.fg text').fill, style('.fg-cold').stroke, style('.fg-body').fill]; })()"
            )
        )

    light, dark = colours("light"), colours("dark")
    assert all(a != b for a, b in zip(light, dark, strict=True))
    # A shape that is used is painted as well: its fill is the sheet's, not black.
    assert light[2] == "rgb(255, 255, 255)"
