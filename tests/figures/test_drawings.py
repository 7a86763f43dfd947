"""What holds for every drawing: bytes, size, markup, words, figures with their origin."""

from __future__ import annotations

import hashlib
import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image
from weasyprint import HTML

from procgen.checks.figures import check_figures
from procgen.checks.quantities import check_quantities
from procgen.figures import FIGURES, draw_for, stylesheet
from procgen.figures.style import _PAPER
from tests.figures.kit import (
    ROOT,
    SVG,
    drawings,
    form,
    guides,
    messages,
    names,
    parsed,
    preferring,
    replaced,
    text_of,
)

LIMIT = 40_000


@pytest.mark.parametrize("name", names())
@pytest.mark.parametrize("prefer", ["metric", "us"])
def test_drawing_is_small_well_formed_and_says_what_it_is(name: str, prefer: str) -> None:
    for figure, drawing in drawings(preferring(guides()[name], prefer)).items():
        assert len(drawing.svg.encode()) < LIMIT, figure
        pictures = [svg for svg in parsed(drawing).iter(f"{SVG}svg") if svg.get("data-form")]
        assert [svg.get("data-form") for svg in pictures] == ["wide", "narrow"]
        for svg in pictures:
            assert svg[0].tag == f"{SVG}title"
            assert text_of(svg[0]) == " ".join(drawing.title.split())
            assert svg[1].tag == f"{SVG}desc"
            assert text_of(svg[1])
            assert svg.get("viewBox") == f"0 0 {svg.get('width')} {svg.get('height')}"
        assert drawing.title
        assert drawing.description
        assert drawing.table_html.count("<tr>") > 1
        assert "<th scope=" in drawing.table_html
        assert "style=" not in drawing.svg
        assert not re.search(r"(?:href|src|url)\W+(?:https?:|//)", drawing.svg)


@pytest.mark.parametrize("name", ["orrenholt-hall", "wexlode-corner", "pippetree-one"])
def test_ids_of_all_drawings_are_unique_and_start_with_the_figure(name: str) -> None:
    found = drawings(guides()[name])
    ids = [(figure, i) for figure, d in found.items() for i in re.findall(r' id="([^"]*)"', d.svg)]
    assert ids
    assert len({i for _, i in ids}) == len(ids)
    for figure, identifier in ids:
        assert identifier.startswith("fg-" + "".join(word[0] for word in figure.split("-")) + "-")
    for figure, drawing in found.items():
        used = set(re.findall(r'href="#([^"]*)"', drawing.svg))
        assert used <= {i for f, i in ids if f == figure}


def test_every_figure_exists_in_some_guide_and_an_unknown_name_gives_none() -> None:
    found = {figure for name in ("hobbin-row", "orrenholt-hall") for figure in drawings(guides()[name])}
    assert found == set(FIGURES)
    assert draw_for(guides()["hobbin-row"], messages())("no-such-figure") is None


def test_what_a_guide_does_not_have_is_left_out_and_said() -> None:
    without_hot_water = drawings(guides()["fennavar-museum"])
    assert "hot-water-chart" not in without_hot_water
    assert "No hot-water outlet" in without_hot_water["water-schematic"].description
    bare = drawings(guides()["zedrun-arcade"])
    assert "drain-route" not in bare
    assert "The counter is not surveyed." in bare["positioning"].left_out
    assert "The drain route is not surveyed." in bare["water-schematic"].left_out
    model = drawings(guides()["umberlode-two"])
    assert any("no survey" in sentence for sentence in model["supply-diagram"].left_out)


def test_the_same_guide_gives_the_same_bytes_in_another_process() -> None:
    script = (
        "from tests.figures.kit import assembled, drawings\n"
        "import hashlib\n"
        "text = ''.join(d.svg + d.table_html for d in drawings(assembled('lorrimund-gallery')).values())\n"
        "print(hashlib.sha256(text.encode()).hexdigest())"
    )
    here = "".join(d.svg + d.table_html for d in drawings(guides()["lorrimund-gallery"]).values())
    environment = {**os.environ, "PYTHONHASHSEED": "7"}
    other = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, env=environment, capture_output=True, text=True, check=True
    )
    assert other.stdout.strip() == hashlib.sha256(here.encode()).hexdigest()


def page_of(folder: Path, name: str, prefer: str = "metric") -> Path:
    """A folder whose one page shows all drawings of a guide with their tables."""
    body = "".join(d.svg + d.table_html for d in drawings(preferring(guides()[name], prefer)).values())
    folder.mkdir(exist_ok=True)
    (folder / "index.html").write_text(f"<!doctype html><html><body>{body}</body></html>", encoding="utf-8")
    return folder


@pytest.mark.parametrize("name", names())
@pytest.mark.parametrize("prefer", ["metric", "us"])
def test_every_figure_of_every_drawing_is_the_worksheets(tmp_path: Path, name: str, prefer: str) -> None:
    folder = page_of(tmp_path / "page", name, prefer)
    values = guides()[name].worksheet.values
    assert check_quantities(folder) == []
    assert check_figures(folder, values) == []


def test_a_changed_figure_is_found(tmp_path: Path) -> None:
    folder = page_of(tmp_path / "page", "hobbin-row")
    page = folder / "index.html"
    source = page.read_text(encoding="utf-8")
    marked = re.search(r'data-value="fill\.flow"[^>]*><tspan class="q1">([\d.]+)', source)
    assert marked
    changed = source[: marked.start(1)] + "7" + source[marked.start(1) + 1 :]
    page.write_text(changed, encoding="utf-8")
    codes = {fault.code for fault in check_quantities(folder)}
    assert "check_quantity_rounding" in codes


@pytest.mark.parametrize("name", ["hobbin-row", "tibbenrow-plaza", "thrumsel-four"])
def test_both_forms_say_the_same(name: str) -> None:
    for drawing in drawings(guides()[name]).values():
        wide, narrow = (
            sorted(text_of(text) for text in form(drawing, which).iter(f"{SVG}text"))
            for which in ("wide", "narrow")
        )
        words = [" ".join(texts).split() for texts in (wide, narrow)]
        numbers = [{w for w in found if re.search(r"\d", w) and len(w) > 2} for found in words]
        # Ticks of an axis differ with the room there is; nothing with a unit or a mark does.
        assert {w for w in numbers[0] ^ numbers[1] if not re.fullmatch(r"\(?[\d.,−]+", w)} == set(), (
            drawing.id
        )


def test_data_is_data() -> None:
    evil = '</text><script>alert("1")</script> & ]]> <b> ' + "unbrokenword" * 60
    guide = guides()["quathery-cellar"]
    site = guide.site
    assert site is not None
    drain = site.data.drain
    assert drain is not None
    segments = [drain.segments[0].model_copy(update={"name": evil[:600]}), *drain.segments[1:]]
    data = site.data.model_copy(
        update={"name": evil[:600], "drain": drain.model_copy(update={"segments": segments})}
    )
    changed = replace(replaced(guide, name=evil[:600]), site=replace(site, data=data))
    for drawing in drawings(changed).values():
        parsed(drawing)
        assert "<script" not in drawing.svg + drawing.table_html
        assert "<b>" not in drawing.svg + drawing.table_html


@pytest.mark.parametrize("name", ["orrenholt-hall", "tibbenrow-plaza"])
def test_print_needs_no_style_sheet(name: str) -> None:
    for drawing in drawings(guides()[name], "print").values():
        pictures = list(parsed(drawing).iter(f"{SVG}svg"))
        assert [svg.get("data-form") for svg in pictures] == ["wide"]
        assert "currentColor" not in drawing.svg
        assert "var(" not in drawing.svg
        for element in pictures[0].iter():
            assert not (element.get("class") or "").startswith("fg-") or element is pictures[0]
        shapes = [e for e in pictures[0].iter() if e.tag in {f"{SVG}path", f"{SVG}rect", f"{SVG}circle"}]
        assert all(shape.get("fill") for shape in shapes)


def test_style_sheet_has_a_rule_for_every_class_that_is_drawn() -> None:
    css = stylesheet()
    drawn = {
        c
        for d in drawings(guides()["orrenholt-hall"]).values()
        for c in re.findall(r'class="(fg-[\w-]+)"', d.svg)
    }
    for name in drawn - {"fg-wide", "fg-narrow", "fg-defs", "fg-table"}:
        assert f".{name} {{" in css, name
    # Colours come from properties that follow the theme, never straight from a rule of a role.
    for role in _PAPER:
        rule = re.search(rf"\.fg-{re.escape(role)} {{(.*?)}}", css)
        assert rule
        assert "#" not in rule.group(1) or role in {"mark"}


@pytest.mark.parametrize("name", ["orrenholt-hall", "tibbenrow-plaza"])
def test_the_print_engine_sets_every_word_in_its_colour(tmp_path: Path, name: str) -> None:
    found = drawings(guides()[name], "print")
    body = "".join(f'<div style="break-after:page">{d.svg}</div>' for d in found.values())
    page = f"<style>@page {{ size: 300mm 1200mm; margin: 10mm }} body {{ color: red }}</style>{body}"
    pdf = tmp_path / "drawings.pdf"
    HTML(string=page).write_pdf(pdf)
    text = subprocess.run(["pdftotext", "-raw", pdf, "-"], capture_output=True, text=True, check=True).stdout
    printed = "".join(text.replace("\u00a0", " ").split())
    for drawing in found.values():
        for element in form(drawing).iter(f"{SVG}tspan"):
            assert "".join(text_of(element).split()) in printed, (drawing.id, text_of(element))
    subprocess.run(["pdftoppm", "-r", "30", "-png", pdf, tmp_path / "page"], check=True)
    seen = {colour for path in sorted(tmp_path.glob("page-*.png")) for colour in _colours(path)}
    assert not any(red > 240 and green < 60 and blue < 60 for red, green, blue in seen)
    # Cold, hot and the conductor of protection: by the print engine's own hand, not all black.
    assert any(blue > 120 and red < 90 for red, _, blue in seen)
    assert any(red > 140 and blue < 90 and green < 120 for red, green, blue in seen)
    assert any(green > red + 20 and green > blue + 20 for red, green, blue in seen)


def _colours(path: Path) -> set[tuple[int, int, int]]:
    with Image.open(path) as image:
        found = image.convert("RGB").getcolors(maxcolors=1 << 24)
    assert found
    return {colour for _, colour in found}  # type: ignore[misc]
