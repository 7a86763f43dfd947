"""The drawings as a reader meets them: on built pages, in both unit systems, in a real browser."""

from __future__ import annotations

import gzip
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from procgen.checks.drawings import page_faults
from procgen.checks.html import pages_of
from procgen.figures import FIGURES
from procgen.procedure import builder
from procgen.procedure.assemble import assemble
from procgen.profiles.workspace import read_workspace
from tests.conftest import copy_workspace
from tests.figures.browser import MEETINGS
from tests.figures.kit import messages
from tests.figures.pages import Built, figure_faults, flow_faults, mark_faults, publish

#: three phases and four groups; split phase; a drain that rises; one group and no survey
GUIDES = ("orrenholt-hall", "wexlode-corner", "quathery-cellar", "pippetree-one")
CASES = [(name, units) for name in GUIDES for units in ("metric", "us")]
KILOBYTE = 1000
#: bytes over the wire that a first page with all it loads, and all drawings of a guide, may weigh
FIRST_PAGE, DRAWINGS = 150 * KILOBYTE, 45 * KILOBYTE


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str, str], Built]:
    """A guide published in a unit system, each once."""
    base = tmp_path_factory.mktemp("drawn")
    known: dict[tuple[str, str], Built] = {}
    workspaces: dict[str, Path] = {}

    def workspace(units: str) -> Path:
        if units not in workspaces:
            workspaces[units] = copy_workspace(base / f"workspace-{units}")
            for path in (workspaces[units] / "machine_profiles/sites").glob("*.yml"):
                source = path.read_text(encoding="utf-8")
                path.write_text(
                    re.sub(r"^units: \w+$", f"units: {units}", source, flags=re.M), encoding="utf-8"
                )
        return workspaces[units]

    def give(name: str, units: str) -> Built:
        if (name, units) not in known:
            found = read_workspace(workspace(units))
            guide = next(one for one in found.guides() if one.guide == name)
            known[name, units] = publish(
                assemble(guide, found.templates, messages()), base / f"{name}-{units}"
            )
        return known[name, units]

    return give


@pytest.fixture(scope="module")
def open_page(browser: Browser) -> Iterator[Callable[..., Page]]:
    """Pages of one context, closed after the module."""
    opened: list[Page] = []

    def give(width: int, scheme: str = "light") -> Page:
        height = 740 if width < 600 else 900
        page = browser.new_page(viewport={"width": width, "height": height}, color_scheme=scheme)  # type: ignore[arg-type]
        opened.append(page)
        return page

    yield give
    for page in opened:
        page.close()


def drawn_pages(built: Built) -> list[Path]:
    """Pages with a drawing."""
    return [
        p for p in sorted(built.folder.glob("*.html")) if '<figure class="drawing"' in p.read_text("utf-8")
    ]


def test_templates_may_name_every_figure_but_the_first_pages() -> None:
    assert {*builder.FIGURES, "readiness-card"} == set(FIGURES)


@pytest.mark.parametrize(("name", "units"), CASES)
def test_each_drawing_stands_once_with_caption_table_and_what_is_left_out(
    built: Callable[[str, str], Built], name: str, units: str
) -> None:
    guide = built(name, units)
    names = [str(tag["data-figure"]) for tag in guide._read[0]]
    wanted = set(FIGURES) - ({"drain-route"} if name == "pippetree-one" else set())
    if not (guide.folder / "11-hot_water.html").exists():
        wanted -= {"hot-water-chart"}
    assert sorted(names) == sorted(wanted)
    for figure, drawing in guide.drawings.items():
        caption = drawing.select_one("figcaption")
        assert caption is not None
        assert caption.select(".drawing__title, .drawing__says")
        assert (drawing.select_one(".drawing__data table") is None) == (figure == "readiness-card")
    if name == "pippetree-one":
        left_out = guide.drawings["supply-diagram"].select_one(".drawing__left-out")
        assert left_out is not None
        assert "no survey" in left_out.get_text()


@pytest.mark.parametrize(("name", "units"), CASES)
def test_marks_figures_and_flow_in_the_pictures_are_those_of_the_text(
    built: Callable[[str, str], Built], name: str, units: str
) -> None:
    guide = built(name, units)
    assert mark_faults(guide) == []
    assert figure_faults(guide) == []
    assert flow_faults(guide) == []


def _spoilt(built: Built, page: str, before: str, after: str, folder: Path) -> Built:
    folder.mkdir()
    for path in built.folder.glob("*.html"):
        source = path.read_text(encoding="utf-8")
        if path.name.endswith(page):
            assert before in source
            source = source.replace(before, after)
        (folder / path.name).write_text(source, encoding="utf-8")
    return Built(folder)


@pytest.mark.parametrize(
    ("before", "after", "found_by"),
    [
        ('data-mark="A4"', 'data-mark="A9"', mark_faults),
        ("l-4-8h8z", "l-4 8h8z", flow_faults),
        ("Pump outlet D1-up to Machine inlet A4", "Machine inlet A4 to Pump outlet D1-up", flow_faults),
        ("in at D1-in, out at D1-up", "in at D1-up, out at D1-in", flow_faults),
        ('<tspan class="q1">30', '<tspan class="q1">31', figure_faults),
    ],
)
def test_a_picture_that_says_something_else_than_the_text_is_found(
    built: Callable[[str, str], Built],
    tmp_path: Path,
    before: str,
    after: str,
    found_by: Callable[[Built], list[str]],
) -> None:
    spoilt = _spoilt(built("wexlode-corner", "us"), "04-water.html", before, after, tmp_path / "spoilt")
    found = [check.__name__ for check in (mark_faults, figure_faults, flow_faults) if check(spoilt)]
    assert found == [found_by.__name__]


def test_forms_that_print_different_figures_are_found(
    built: Callable[[str, str], Built], tmp_path: Path
) -> None:
    guide = built("wexlode-corner", "us")
    assert [fault for page in pages_of(guide.folder) for fault in page_faults(page)] == []
    before = '<tspan class="typed">58'
    spoilt = _spoilt(guide, "04-water.html", before, before.replace("58", "85"), tmp_path / "spoilt")
    found = [fault for page in pages_of(spoilt.folder) for fault in page_faults(page)]
    assert [(fault.code, fault.params["found"]) for fault in found] == [
        ("check_drawing_narrow", "85 psi (4.00 bar)"),
        ("check_drawing_wide", "58 psi (4.00 bar)"),
    ]


def meetings(page: Page, paths: list[Path], form: str) -> list[tuple[str, str, str]]:
    """What meets in the pictures that are shown on pages, and pictures that are not in the form expected."""
    faults = []
    for path in paths:
        page.goto(path.as_uri())
        width = page.evaluate("document.documentElement.scrollWidth")
        if width > page.viewport_size["width"]:  # type: ignore[index]
            faults.append((path.name, "page", f"{width} wide"))
        shown = [svg for svg in page.query_selector_all("svg[data-form]") if svg.bounding_box()]
        for svg in shown:
            name = str(svg.get_attribute("data-figure"))
            if svg.get_attribute("data-form") != form:
                faults.append((path.name, name, "form"))
            measured = svg.evaluate(MEETINGS)
            assert measured["labels"] > 4
            faults += [(path.name, name, " × ".join(pair)) for pair in measured["found"]]
            # The smallest letters are 11 units high.
            if svg.evaluate("svg => svg.getScreenCTM().a") * 11 < 10:
                faults.append((path.name, name, "letters too small"))
    return faults


@pytest.mark.browser
@pytest.mark.parametrize(("width", "form"), [(360, "narrow"), (1280, "wide")])
@pytest.mark.parametrize(("name", "units"), CASES)
def test_no_label_meets_anything_on_the_page(
    built: Callable[[str, str], Built],
    open_page: Callable[..., Page],
    name: str,
    units: str,
    width: int,
    form: str,
) -> None:
    assert meetings(open_page(width), drawn_pages(built(name, units)), form) == []


@pytest.mark.browser
def test_a_label_moved_on_the_page_is_found(
    built: Callable[[str, str], Built], open_page: Callable[..., Page], tmp_path: Path
) -> None:
    guide = built("wexlode-corner", "us")
    place = re.search(
        r'<text x="22" y="(-?\d+)"><tspan class="fg-b">Hose W1',
        (guide.folder / "04-water.html").read_text("utf-8"),
    )
    assert place
    before = place.group()
    after = before.replace(f'y="{place.group(1)}"', f'y="{int(place.group(1)) - 50}"')
    page = tmp_path / "04-water.html"
    source = (guide.folder / page.name).read_text(encoding="utf-8").replace(before, after)
    page.write_text(
        source.replace('href="assets/', f'href="{guide.folder.as_uri()}/assets/'), encoding="utf-8"
    )
    found = meetings(open_page(1280), [page], "wide")
    assert any("Hose W1" in words and "Water treatment" in words for _, _, words in found)


@pytest.mark.browser
def test_the_larger_view_opens_pans_by_keyboard_and_closes(
    built: Callable[[str, str], Built], open_page: Callable[..., Page]
) -> None:
    page = open_page(360)
    page.goto((built("orrenholt-hall", "metric").folder / "04-water.html").as_uri())
    button = page.get_by_role("button", name="Larger view")
    button.focus()
    page.keyboard.press("Enter")
    pane = page.get_by_role("region", name=re.compile("Water schematic.*scroll"))
    expect(pane).to_be_focused()
    assert pane.evaluate("pane => pane.scrollWidth > pane.clientWidth")
    assert pane.locator("svg[data-form=wide]").bounding_box()
    page.keyboard.press("ArrowRight")
    expect(pane).not_to_have_js_property("scrollLeft", 0)
    page.keyboard.press("Escape")
    expect(page.locator("dialog")).to_have_count(0)
    expect(button).to_be_focused()
    assert page.locator(".drawing__view svg[data-form=narrow]").bounding_box()


#: contrast of the colours in a picture against its ground, by the formula of WCAG 2.2
CONTRASTS = """
() => {
  const light = c => {
    const [r, g, b] = c.match(/[\\d.]+/g).slice(0, 3).map(Number).map(v => v / 255)
      .map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const against = (a, b) => (Math.max(light(a), light(b)) + 0.05) / (Math.min(light(a), light(b)) + 0.05);
  const found = [];
  for (const svg of document.querySelectorAll('svg[data-form]')) {
    const ground = getComputedStyle(svg.closest('.fg')).backgroundColor;
    for (const text of svg.querySelectorAll('text, tspan'))
      found.push(['text', against(getComputedStyle(text).fill, ground), text.textContent.slice(0, 30)]);
    for (const shape of svg.querySelectorAll('path, rect, circle')) {
      const style = getComputedStyle(shape), role = shape.getAttribute('class') || '';
      if (style.stroke !== 'none' && !/fg-(grid|tick)/.test(role))
        found.push(['line', against(style.stroke, ground), role]);
    }
  }
  return found;
}
"""


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_and_lines_stand_out_from_their_ground(
    built: Callable[[str, str], Built], open_page: Callable[..., Page], scheme: str
) -> None:
    page = open_page(1280, scheme)
    for path in drawn_pages(built("quathery-cellar", "metric")):
        page.goto(path.as_uri())
        found = page.evaluate(CONTRASTS)
        assert found
        weak = [item for item in found if item[1] < (4.5 if item[0] == "text" else 3)]
        assert weak == [], path.name


def wire(paths: list[Path]) -> int:
    """Bytes of files as a server sends them."""
    return sum(len(gzip.compress(path.read_bytes(), 6)) for path in paths)


@pytest.mark.parametrize(("name", "units"), CASES)
def test_first_page_and_drawings_are_light(built: Callable[[str, str], Built], name: str, units: str) -> None:
    folder = built(name, units).folder
    source = (folder / "index.html").read_text(encoding="utf-8")
    loaded = {folder / found for found in re.findall(r'(?:href|src)="(assets/[^"#]+)"', source)}
    assert wire([folder / "index.html", *loaded]) < FIRST_PAGE
    weight = 0
    for path in drawn_pages(built(name, units)):
        source = path.read_text(encoding="utf-8")
        bare = re.sub(r'<figure class="drawing".*?</figure>', "", source, flags=re.DOTALL)
        assert bare != source
        weight += len(gzip.compress(source.encode(), 6)) - len(gzip.compress(bare.encode(), 6))
    assert 10 * KILOBYTE < weight < DRAWINGS
