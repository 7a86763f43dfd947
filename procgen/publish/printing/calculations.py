"""The calculation sheet on paper: everything numbered, equal calculations together, inputs once.

A symbol is followed by the number of the calculation or input that it stands for, so that a chain of
calculations is followed by numbers instead of by repeated names.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from htpy import Element, Node, b, div, fragment, h1, h2, li, ol, p, section, span

from procgen.engineering.kernel import Source
from procgen.procedure.anchors import anchor
from procgen.publish.sheet import (
    at_highest,
    breakable,
    figure_text,
    group_title,
    groups_of,
    series_block,
    source_text,
    worked,
)
from procgen.publish.words import Words
from procgen.units.kinds import Preference
from procgen.values.shown import shown_pair, shown_span
from procgen.values.worksheet import Input, Value, Worksheet


@dataclass(frozen=True, slots=True)
class Sheet:
    """A worksheet in the order in which it is printed, with the numbers of what stands on it."""

    worksheet: Worksheet
    words: Words
    #: group -> calculations; each for one value, or for several marks whose figures are the same
    groups: dict[str, list[list[Value]]]
    inputs: list[Input]
    numbers: dict[str, int]
    sources: dict[Source, int]

    @property
    def prefer(self) -> Preference:
        """The guide's unit system."""
        return self.worksheet.prefer


def sheet_of(worksheet: Worksheet, words: Words) -> Sheet:
    """Put values together and number them, then the inputs that were typed, then the sources."""
    groups = {group: _alike(values, worksheet) for group, values in groups_of(worksheet).items()}
    numbers: dict[str, int] = {}
    sources: dict[Source, int] = {}
    calculations = [alike for group in groups.values() for alike in group]
    for number, alike in enumerate(calculations, 1):
        numbers |= {value.id: number for value in alike}
        sources.setdefault(alike[0].source, len(sources) + 1)
    inputs = _typed(worksheet)
    numbers |= {item.name: number for number, item in enumerate(inputs, len(calculations) + 1)}
    return Sheet(worksheet, words, groups, inputs, numbers, sources)


def _alike(values: Iterable[Value], worksheet: Worksheet) -> list[list[Value]]:
    """Values of one kind by mark whose calculation, figures put in, reads the same."""
    together: dict[tuple[object, ...], list[Value]] = {}
    for value in values:
        base, marked, _ = value.id.partition("[")
        shown = (value.value, value.low, value.high, value.why, value.series, *worked(value, worksheet))
        together.setdefault((base, *map(str, shown)) if marked else (value.id,), []).append(value)
    return list(together.values())


def _typed(worksheet: Worksheet) -> list[Input]:
    leaves: dict[str, Input] = {}
    for value in worksheet.values.values():
        for item in value.inputs:
            if item.origin != "value":
                leaves.setdefault(item.name, item)
    return sorted(leaves.values(), key=lambda item: (item.origin, item.name))


def calculation_pages(worksheet: Worksheet, words: Words) -> Element:
    """The whole sheet."""
    sheet = sheet_of(worksheet, words)
    return section(".part.sheet")[
        h1(id="worked-out")[span(".t")[words("figures_page")]],
        p(".sheet__lead")[words("print.sheet.lead")],
        div(".sheet__columns")[
            (_group(group, calculations, sheet) for group, calculations in sheet.groups.items()),
            h2(id="inputs")[words("print.sheet.inputs")],
            p[words("print.sheet.inputs_lead")],
            (_input(item, sheet) for item in sheet.inputs),
            h2(id="sources")[words("print.sheet.sources")],
            ol(".sources")[(li[source_text(source, words)] for source in sheet.sources)],
        ],
    ]


def _group(group: str, calculations: list[list[Value]], sheet: Sheet) -> Node:
    return fragment[
        h2(id=f"g-{group}")[group_title(group, sheet.words)],
        (_calculation(alike, sheet) for alike in calculations),
    ]


def _calculation(alike: list[Value], sheet: Sheet) -> Element:
    # Kept to few elements: a worst guide has thousands of symbols, and the engine lays out every one.
    value = alike[0]
    formula, filled = worked(value, sheet.worksheet)
    result, over = _result(value, sheet)
    marks = "".join(f", {_mark(one.id)}" for one in alike[1:])
    return div(".calc")[
        p(".calc__head", id=anchor("value", value.id))[
            (span(id=anchor("value", one.id)) for one in alike[1:]),
            f"{sheet.numbers[value.id]}  ",
            b[value.title, marks, result and f": {result}"],
            over,
        ],
        value.why and value.ok and p[value.why],
        formula and p(".calc__formula")[formula],
        filled and p(".calc__formula")[f"= {filled}"],
        p(".calc__formula")[_symbols(value, sheet)],
        series_block(value, sheet.prefer, sheet.words),
    ]


def _result(value: Value, sheet: Sheet) -> tuple[str, str]:
    """Result, and the range after it; or why there is none."""
    if not value.ok:
        return "", f": {sheet.words('sheet.unavailable')}: {value.why}"
    if value.value is None:
        return "", ""
    single, spanned = shown_pair(value, sheet.prefer), shown_span(value, sheet.prefer)
    over = f"; {sheet.words('print.sheet.range')} {spanned.text}" if spanned.text != single.text else ""
    return single.text, over


def _mark(identifier: str) -> str:
    return identifier.partition("[")[2].removesuffix("]")


def _symbols(value: Value, sheet: Sheet) -> str:
    """What the symbols stand for, by number, and where the formula is from."""
    named = {
        item.symbol: f"[{sheet.numbers[item.name]}]{_worst(item, sheet)}"
        for item in value.inputs
        if item.symbol
    }
    source = sheet.words("print.sheet.source", number=sheet.sources[value.source])
    # A symbol stays with its number at the end of a line.
    return "  ".join([*(f"{symbol}\u00a0{number}" for symbol, number in named.items()), source])


def _worst(item: Input, sheet: Sheet) -> str:
    if not at_highest(item, sheet.worksheet.values.get(item.name)):
        return ""
    return f"\u00a0({sheet.words('print.sheet.highest')})"


def _input(item: Input, sheet: Sheet) -> Element:
    design = f" ({sheet.words('sheet.design')})" if item.origin == "design" else ""
    return p(".input")[
        f"{sheet.numbers[item.name]}  ",
        breakable(item.name),
        ": ",
        b[figure_text(item, sheet.prefer)],
        f" {item.place}{design}",
    ]
