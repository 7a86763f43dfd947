"""Job card and survey form: one sheet with what matters; every field of the schema asked for once."""

from __future__ import annotations

import io
import json
import re
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any, Literal

import pdfplumber
import pytest
from bs4 import BeautifulSoup, Tag
from pypdf import PdfReader

from procgen.commands import render
from procgen.messages.catalog import load
from procgen.procedure.assemble import Assembled
from procgen.profiles.fields import Gauge, Section, YesNo
from procgen.profiles.outline import Asked, Group, outline
from procgen.profiles.workspace import read_workspace
from procgen.publish.first_page import TEN
from procgen.publish.printing.documents import Press, about_of, print_document, sheets_of
from procgen.publish.printing.frame import Paper
from procgen.publish.printing.jobcard import chosen, left_out, lines_of
from procgen.publish.words import Words
from tests.conftest import ROOT
from tests.print.read import Pdf

EDITION = "0123456789ab"
#: most readings of all demo guides; four groups, three phases
WORST = "orrenholt-hall"


@cache
def guide(name: str) -> Assembled:
    return render(ROOT, load(ROOT), [name]).guides[0]


def content(name: str, document: str, paper: Paper | None = None, seed: int | None = None) -> str:
    """A document before it is laid out, made anew."""
    press = Press(load(ROOT), document, paper, "https://guides.example/site", seed=seed)
    return str(sheets_of(guide(name), press, EDITION).content)


_content = cache(content)


def page(name: str, document: str, paper: Paper | None = None, seed: int | None = None) -> BeautifulSoup:
    """The same as a tree, of what was made once."""
    return BeautifulSoup(_content(name, document, paper, seed), "html.parser")


def sheet_text(pdf: Pdf, number: int) -> str:
    """All words of a sheet, its running lines among them."""
    return " ".join(word.text for word in pdf.sheets[number - 1].words)


def texts(found: BeautifulSoup | Tag, css: str) -> list[str]:
    return [" ".join(tag.get_text(" ").split()) for tag in found.select(css)]


# ---------- the job card ----------


@pytest.fixture(scope="module")
def card(tmp_path_factory: pytest.TempPathFactory) -> Pdf:
    """The worst guide's card on the shorter paper."""
    path = tmp_path_factory.mktemp("card") / "card.pdf"
    path.write_bytes(print_document(guide(WORST), Press(load(ROOT), "jobcard", "Letter"), EDITION).content)
    return Pdf(path)


def test_the_worst_card_is_one_sheet_of_readable_type(card: Pdf) -> None:
    assert len(card.sheets) == 1
    with pdfplumber.open(card.path) as pdf:
        assert min(char["size"] for char in pdf.pages[0].chars) >= 7.5 - 0.01
    text = sheet_text(card, 1)
    words = Words(load(ROOT))
    numbers = about_of(guide(WORST), Press(load(ROOT), "jobcard"), EDITION).numbers
    for hold in guide(WORST).procedure.holds():
        assert numbers[hold.id] in text
    assert words("print.jobcard.heading", machine="Thrumsel Four") in text
    assert EDITION in text


@cache
def extremes(count: int = 5) -> list[str]:
    """The sites whose cards have most to hold, one of each model.

    Most is: what readings and hold points are repeated for (groups, elements, hoses, runs of the drain, each
    sign of the supply: ``3N``), and the characters of the names in the card's head.
    """
    space, heaviest = read_workspace(ROOT), dict[str, tuple[int, str]]()
    for entry in space.guides():
        machine, site = entry.machine.data, entry.site.data if entry.site else None
        if site is None:
            continue
        variant = next(one for one in machine.supply_variants if one.id == site.supply_variant)
        runs = site.drain.segments if site.drain else []
        parts = (machine.groups, machine.elements, machine.water.hoses, runs, variant.arrangement)
        weight = 100 * sum(map(len, parts)) + len(machine.name + site.name + variant.name)
        heaviest[machine.id] = max(heaviest.get(machine.id, (0, "")), (weight, site.id))
    found = [name for _, name in sorted(heaviest.values(), reverse=True)[:count]]
    assert found[1] == WORST
    return found


@pytest.mark.parametrize(
    ("place", "paper"), [(0, "A4"), (0, "Letter"), (1, "A4"), (2, "Letter"), (3, "Letter"), (4, "Letter")]
)
def test_a_card_is_one_sheet_for_the_guides_with_most_to_hold(place: int, paper: Paper) -> None:
    """On the lower paper, the two fullest on both (one of these is ``card``). All on both take minutes."""
    name = extremes()[place]
    printed = print_document(
        guide(name), Press(load(ROOT), "jobcard", paper, "https://guides.example/site"), EDITION
    )
    assert printed.pages == 1
    found = "".join(page.extract_text() for page in PdfReader(io.BytesIO(printed.content)).pages)
    holds = about_of(guide(name), Press(load(ROOT), "jobcard"), EDITION)
    missing = [hold.id for hold in holds.job.procedure.holds() if holds.numbers[hold.id] not in found]
    assert not missing


def test_what_did_not_fit_is_counted_and_was_least_at_stake(card: Pdf) -> None:
    """What is not on the sheet is said, and the readings before the electrical holds are on it."""
    lines = lines_of(about_of(guide(WORST), Press(load(ROOT), "jobcard"), EDITION))
    text = sheet_text(card, 1)
    # "3 more" is no part of "13 more"
    said = {n: re.escape(left_out(n, Words(load(ROOT)))) for n in range(1, len(lines))}
    left = [n for n, words in said.items() if re.search(rf"(?<!\d){words}", text)]
    assert len(left) == 1
    kept = chosen(lines, len(lines) - left[0])
    dropped = [line for line in lines if line not in kept]
    assert len(dropped) == left[0]
    assert max(line.rank for line in kept) <= min(line.rank for line in dropped) or min(
        line.rank for line in dropped
    ) == max(line.rank for line in lines)
    assert not [line for line in dropped if line.step.role == "electrician"]


def test_a_card_has_every_hold_every_reading_and_the_ten_figures() -> None:
    soup, job = page("ellunby-bakery", "jobcard"), guide("ellunby-bakery")
    readings = [f"{step.id}.{one.id}" for step in job.procedure.steps() for one in step.readings]
    assert [str(tag["data-reading"]) for tag in soup.select("[data-reading]")] == readings
    assert len(soup.select(".card__box")) == len(readings)
    holds = list(job.procedure.holds())
    assert len(soup.select(".card__hold .card__write")) == len(soup.select(".card__time")) == len(holds)
    for hold, text in zip(holds, texts(soup, ".card__what"), strict=True):
        assert text.endswith(hold.title)
    assert len(soup.select("[data-ten]")) == len(TEN)
    assert job.worksheet.readiness == "attention" or texts(soup, ".card__ready")[0]
    # one unit system, no link that leads nowhere
    assert not soup.select(".q2, a")


def test_stops_stand_on_the_card() -> None:
    stops = guide("aldrune-laboratory").worksheet.of("stop")
    assert stops
    assert texts(page("aldrune-laboratory", "jobcard"), ".card__stops") == ["; ".join(s.title for s in stops)]


# ---------- the survey form ----------


def schema_leaves(node: dict[str, Any], schema: dict[str, Any], path: tuple[str, ...] = ()) -> Iterator[str]:
    """Fields of a JSON Schema that hold no other fields: read from the exported file, not from the models."""
    for option in [node, *node.get("anyOf", ())]:
        if "$ref" in option:
            yield from schema_leaves(schema["$defs"][option["$ref"].rpartition("/")[2]], schema, path)
            return
        if option.get("type") == "array":
            yield from schema_leaves(option["items"], schema, path)
            return
        if "properties" in option:
            for name, child in option["properties"].items():
                yield from schema_leaves(child, schema, (*path, name))
            return
    yield ".".join(path)


def test_every_field_of_the_schema_is_asked_for_once() -> None:
    schema = json.loads((ROOT / "machine_profiles/schema/site.schema.json").read_text(encoding="utf-8"))
    wanted = Counter(schema_leaves(schema, schema))
    assert len(wanted) > 100
    asked = Counter(str(tag["data-asks"]) for tag in page("ellunby-bakery", "survey").select("[data-asks]"))
    assert asked == wanted
    assert set(asked.values()) == {1}


def test_a_new_field_stands_in_the_outline_by_itself() -> None:
    class Inner(Section):
        bore: Gauge | None = None
        kinds: list[Literal["a", "b"]] | None = None

    class New(Section):
        known: YesNo
        inner: Inner | None = None
        many: list[Inner]

    Inner.model_fields.pop("kinds")
    assert outline(New) == (
        Asked(("known",), "yes_no", required=True),
        Group(
            ("inner",),
            required=False,
            many=False,
            items=(Asked(("inner", "bore"), "quantity", False, "pressure_gauge", "0 bar", "40 bar"),),
        ),
        Group(
            ("many",),
            required=True,
            many=True,
            items=(Asked(("many", "bore"), "quantity", False, "pressure_gauge", "0 bar", "40 bar"),),
        ),
    )


def test_choices_are_boxes_in_the_trade_s_words() -> None:
    soup = page("ellunby-bakery", "survey")
    row = soup.select_one('[data-asks="drain.receiver"]')
    assert row is not None
    assert [str(box["data-tick"]) for box in row.select(".form__box")] == [
        "tundish",
        "standpipe",
        "floor_drain",
        "sink",
    ]
    assert texts(row, ".form__choice") == ["tundish", "standpipe", "floor drain", "sink"]
    variants = guide("ellunby-bakery").machine.data.supply_variants
    assert texts(soup, '[data-asks="supply_variant"] .form__choice') == [one.name for one in variants]
    # no code of the schema is left unworded
    assert not [text for text in texts(soup, ".form__choice") if "_" in text]
    assert not [text for text in texts(soup, ".form__label, .form__table th, h2, h3") if "_" in text]


@pytest.mark.parametrize(
    ("name", "paper", "unit"),
    [
        ("ellunby-bakery", None, "bar gauge"),
        ("tibbenrow-plaza", None, "psi gauge"),
        # the survey's own units, whatever the paper
        ("ellunby-bakery", "Letter", "bar gauge"),
        ("pippetree-one", None, "bar gauge"),
        ("pippetree-one", "Letter", "psi gauge"),
    ],
)
def test_it_asks_in_the_units_of_the_place(name: str, paper: Paper | None, unit: str) -> None:
    assert texts(page(name, "survey", paper), '[data-asks="mains.static_pressure"] .form__unit') == [unit]


def test_it_says_what_the_form_accepts() -> None:
    """The schema's span: 0 to 40 bar gauge; 1 bar is 14.5038 psi (NIST SP 811), so at most 580 psi."""
    spans = {
        name: texts(page(name, "survey"), '[data-asks="mains.static_pressure"] .form__span')
        for name in ("ellunby-bakery", "tibbenrow-plaza")
    }
    plain = {name: [text.replace("\u00a0", " ") for text in found] for name, found in spans.items()}
    assert plain["ellunby-bakery"] == ["0 bar to 40 bar"]
    assert plain["tibbenrow-plaza"] == ["0 psi to 580 psi"]


@pytest.mark.parametrize("document", ["survey", "training", "answers"])
def test_it_prints(document: str, tmp_path: Path) -> None:
    """Laid out without a warning of the engine, tagged, each sheet with its edition."""
    path = tmp_path / "it.pdf"
    printed = print_document(guide("pippetree-one"), Press(load(ROOT), document, "A4", seed=3), EDITION)
    path.write_bytes(printed.content)
    pdf = Pdf(path)
    assert len(pdf.sheets) == printed.pages
    assert all(
        f"pippetree-one-{document}" in sheet_text(pdf, n) and EDITION in sheet_text(pdf, n)
        for n in range(1, printed.pages + 1)
    )
    assert pdf.reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
