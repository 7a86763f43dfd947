"""The file: fonts, tags, metadata, links, places on the sheet; read by poppler and pypdf."""

from __future__ import annotations

import re
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator, Mapping
from itertools import pairwise
from pathlib import Path

import pdfplumber
import pytest

from procgen.procedure.anchors import anchor
from procgen.publish.words import Words
from tests.conftest import ROOT
from tests.print.conftest import ADDRESS, Print
from tests.print.read import MM, Pdf, Sheet, Word, run, scanned
from tests.publish import fakes

#: PDF 32000-1:2008, 14.8.4.3.3: what a list may hold
IN_A_LIST = {"/LI", "/L", "/Caption"}


def test_paper_follows_the_unit_system_unless_asked(small: Mapping[str, Pdf], worst: Print) -> None:
    # ISO 216 A4, ANSI/ASME Y14.1 size A, in points.
    sizes = {name: (round(pdf.sheets[0].width), round(pdf.sheets[0].height)) for name, pdf in small.items()}
    assert sizes == {"A4": (595, 842), "Letter": (612, 792)}
    assert worst.guide.worksheet.prefer == "metric"
    assert {(round(sheet.width), round(sheet.height)) for sheet in worst.pdf.sheets} == {(595, 842)}


def test_us_guides_are_printed_on_letter(tmp_path: Path) -> None:
    from procgen.publish.printing.documents import Press

    assert Press(fakes.messages()).paper_for(fakes.job(prefer="us")) == "Letter"
    assert Press(fakes.messages(), paper="A4").paper_for(fakes.job(prefer="us")) == "A4"


def test_same_guide_same_bytes(small: Mapping[str, Pdf], tmp_path: Path) -> None:
    """Once more in another process with another hash seed."""
    again = tmp_path / "again.pdf"
    code = "from tests.print.conftest import *; import sys; print_fake(Path(sys.argv[1]))"
    subprocess.run(
        [sys.executable, "-c", code, str(again)], check=True, cwd=ROOT, env={"PYTHONHASHSEED": "7"}
    )
    assert again.read_bytes() == small["A4"].path.read_bytes()


def test_only_our_fonts_all_embedded_and_no_glyph_missing(worst: Print, small: Mapping[str, Pdf]) -> None:
    for pdf in (worst.pdf, *small.values()):
        rows = [row.split() for row in run("pdffonts", str(pdf.path)).splitlines()[2:]]
        names = {row[0].partition("+")[2] for row in rows}
        assert names
        assert all(re.fullmatch(r"Guide(Mono)?(-[\w-]+)?", name) for name in names), names
        # columns from the right: object (2), unicode, subset, embedded
        assert {tuple(row[-5:-2]) for row in rows} == {("yes", "yes", "yes")}
        text = pdf.text()
        assert not set(text) & {"\x00", "\ufffd", "\u25a1"}


def test_metadata(worst: Print) -> None:
    pdf, identity = worst.pdf, worst.site.identity
    meta = pdf.reader.metadata
    assert meta is not None
    assert meta.title == f"Installation guide: {identity.title}"
    assert meta.subject == identity.description
    site = worst.guide.site
    assert site is not None
    assert str(meta["/CreationDate"]) == "D:" + str(site.data.date).replace("-", "")
    assert str(pdf.root["/Lang"]) == "en"
    assert pdf.root["/MarkInfo"]["/Marked"] == True  # noqa: E712 - pypdf's own boolean
    assert pdf.root["/ViewerPreferences"]["/DisplayDocTitle"] == True  # noqa: E712
    # ISO 14289-1, 5: the file says that it claims to be PDF/UA-1.
    xmp = pdf.root["/Metadata"].get_object().get_data().decode()
    assert re.search(r'pdfuaid:part(?:>|=")1', xmp)


def test_tags(worst: Print) -> None:
    """Headings nest without a gap, lists hold items, pictures have words, cells know their headers."""
    headings, faults, figures, cells = [], Counter[str](), [], 0
    for parent, node in worst.pdf.structure():
        tag = str(node["/S"])
        if re.fullmatch(r"/H\d", tag):
            headings.append(int(tag[2]))
            faults["heading in heading"] += bool(re.fullmatch(r"/H\d", parent))
        if tag == "/Figure":
            figures.append(str(node.get("/Alt", "")))
        if parent == "/L":
            faults[f"{tag} in a list"] += tag not in IN_A_LIST
        if tag == "/TD":
            cells += 1
            attributes = node["/A"].get_object()
            faults["cell without headers"] += not attributes.get("/Headers")
    assert not +faults
    assert headings[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(headings))
    assert all(figures)
    assert cells > 100
    drawn = {name for step in worst.guide.procedure.steps() for name in step.figures}
    assert len(drawn) >= 6
    titles = [alt for alt in figures if len(alt) > 60]
    assert len(titles) >= len(drawn)


def test_poppler_reads_the_tags_too(small: Mapping[str, Pdf]) -> None:
    text = run("pdfinfo", "-struct-text", str(small["A4"].path))
    found = re.findall(r"^ *(H\d) \(block\)", text, re.MULTILINE)
    tags = [str(node["/S"])[1:] for _, node in small["A4"].structure()]
    assert found == [tag for tag in tags if re.fullmatch(r"H\d", tag)]
    assert len(found) > 10
    assert "Figure" in text


def test_contents_name_the_page_of_every_part_and_hold(worst: Print) -> None:
    pdf, procedure = worst.pdf, worst.guide.procedure
    lines = [line for line in pdf.text(2, 3).splitlines() if re.search(r" \d+$", line)]
    said = {line.rpartition(" ")[0].strip(): int(line.rpartition(" ")[2]) for line in lines}
    found = {f"{part.number} {part.title}": pdf.page_of(f"part-{part.id}") for part in procedure.parts}
    for part in procedure.parts:
        assert said[f"{part.number} {part.title}"] == found[f"{part.number} {part.title}"]
        assert part.title in pdf.text(
            found[f"{part.number} {part.title}"], found[f"{part.number} {part.title}"]
        )
    for hold in procedure.holds():
        line = next(line for line in said if line.endswith(hold.title))
        page = pdf.page_of(anchor("hold", hold.id))
        assert said[line] == page
        assert line.split()[0] in pdf.text(page, page)


def test_every_sheet_is_counted_and_carries_the_edition(worst: Print, small: Mapping[str, Pdf]) -> None:
    for pdf, edition, name in (
        (worst.pdf, worst.site.edition, "orrenholt-hall-install"),
        (small["Letter"], None, "ellunby-bakery-install"),
    ):
        count = len(pdf.sheets)
        for number, sheet in enumerate(pdf.sheets, 1):
            foot = " ".join(word.text for word in sheet.words if word.y0 > sheet.height - 16 * MM)
            assert f"Page {number} of {count}" in foot
            assert name in foot
            assert edition is None or f"edition {edition}" in foot


def test_links_lead_somewhere(worst: Print) -> None:
    known, inside, outside = set(worst.pdf.reader.named_destinations), 0, set()
    for page in worst.pdf.reader.pages:
        for note in page.get("/Annots", []):
            link = note.get_object()
            action = link.get("/A", {})
            if "/URI" in action:
                outside.add(str(action["/URI"]))
            else:
                assert str(link["/Dest"]) in known
                inside += 1
    assert inside > 300
    assert outside == {f"{ADDRESS}/orrenholt-hall/index.html"}


def test_bookmarks_are_the_headings(worst: Print) -> None:
    outline = worst.pdf.outline()
    titles = [title for _, title, _ in outline]
    for part in worst.guide.procedure.parts:
        assert part.title in titles
        for step in part.steps():
            assert any(title.endswith(step.title) for title in titles), step.id
    pages = [page for _, _, page in outline]
    assert pages == sorted(pages)


@pytest.mark.parametrize("which", ["worst", "A4", "Letter"])
def test_words_stay_on_the_sheet_and_off_each_other(
    which: str, worst: Print, small: Mapping[str, Pdf]
) -> None:
    pdf = worst.pdf if which == "worst" else small[which]
    for number, sheet in enumerate(pdf.sheets, 1):
        # the narrowest margins that the style sheet has, less the reach of a glyph
        outside = [
            word
            for word in sheet.words
            if word.x0 < 17 * MM
            or word.x1 > sheet.width - 16 * MM
            or word.y0 < 8 * MM
            or word.y1 > sheet.height - 6 * MM
        ]
        assert not outside, (number, outside[:3])
        assert not list(_clashes(sheet))[:3], number


def _clashes(sheet: Sheet) -> Iterator[tuple[Word, Word]]:
    """Words that lie over each other by more than a tenth of a line's height and half a letter."""
    words = sorted(sheet.words, key=lambda word: word.y0)
    for at, one in enumerate(words):
        for other in words[at + 1 :]:
            if other.y0 > one.y1:
                break
            if _over(one, other):
                yield one, other


def _over(one: Word, other: Word) -> bool:
    wide = min(one.x1, other.x1) - max(one.x0, other.x0)
    high = min(one.y1, other.y1) - max(one.y0, other.y0)
    # A word's box is as high as its font allows letters to be, which lines of a paragraph share.
    return wide > 1.5 and high > 0.45 * min(one.y1 - one.y0, other.y1 - other.y0)


def test_a_drawing_on_two_sheets_says_so_on_both(worst: Print) -> None:
    """Four groups, all their boilers and hoses: no sheet holds the water schematic whole."""
    pdf, words = worst.pdf, Words(fakes.messages())
    first = next(n for n in range(1, len(pdf.sheets)) if words("print.sheet_of", n=1, of=2) in pdf.text(n, n))
    title = "Water schematic: Thrumsel Four at Concert hall foyer, Orrenholt"
    assert title in pdf.text(first, first)
    assert words("print.goes_on_at", n=2, of=2) in pdf.text(first, first)
    assert words("print.goes_on", what=title, n=2, of=2) in pdf.text(first + 1, first + 1).replace("\n", " ")
    alts = [str(node.get("/Alt", "")) for _, node in pdf.structure() if str(node["/S"]) == "/Figure"]
    assert [alt[-13:] for alt in alts if alt.startswith(title)] == ["Sheet 1 of 2.", "Sheet 2 of 2."]


def test_no_sheet_inside_a_part_is_left_half_empty(worst: Print) -> None:
    """Before a large drawing either it, or some of it, or text goes on: the lower 40 % are never blank."""
    pdf, parts = worst.pdf, worst.guide.procedure.parts
    begins = {pdf.page_of(f"part-{part.id}") for part in parts} | {pdf.page_of("worked-out")}
    for number in range(pdf.page_of(f"part-{parts[0].id}"), pdf.page_of("worked-out")):
        sheet = pdf.sheets[number - 1]
        lowest = max(word.y1 for word in sheet.body())
        top, bottom = 19 * MM, sheet.height - 17 * MM
        assert number + 1 in begins or lowest > top + 0.6 * (bottom - top), number


def test_letters_of_drawings_can_be_read(worst: Print) -> None:
    """7 pt, less a hair for rounding, on every sheet that a drawing begins on."""
    names = [f"drawing-{name}" for step in worst.guide.procedure.steps() for name in step.figures]
    with pdfplumber.open(worst.pdf.path) as pdf:
        for page in {worst.pdf.page_of(name) for name in ("drawing-readiness-card", *names)}:
            assert min(char["size"] for char in pdf.pages[page - 1].chars) > 6.95, page


def test_a_reader_of_codes_finds_the_printed_address(worst: Print) -> None:
    """A decoder that shares nothing with the encoder, on the sheet as a phone would see it."""
    address = f"{ADDRESS}/orrenholt-hall/index.html"
    assert scanned(worst.pdf.path) == [address]
    assert address in worst.pdf.text(1, 1).replace("\n", "")


def test_without_an_address_the_cover_says_so(small: Mapping[str, Pdf]) -> None:
    assert Words(fakes.messages())("print.no_address") in small["A4"].text(1, 1)


def test_field_controls_of_the_phone_are_not_printed(worst: Print) -> None:
    from procgen.publish.printing.documents import sheets_of
    from procgen.publish.printing.frame import document
    from tests.print.conftest import press_of

    markup = document(sheets_of(worst.guide, press_of(fakes.messages()), "0" * 10))
    assert 'class="field' not in markup
    assert "data-field" not in markup
    assert not re.search(r"<(button|input|details|script|textarea|select)\b", markup)
