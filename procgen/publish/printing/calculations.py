"""The calculation sheet on paper: everything numbered, equal calculations together, inputs once.

A symbol is followed by the number of the calculation or input that it stands for, so that a chain of
calculations is followed by numbers instead of by repeated names.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from htpy import Element, Node, a, b, code, div, fragment, h1, h2, li, ol, p, section, span

from procgen.engineering.kernel import Source
from procgen.procedure.anchors import anchor
from procgen.publish.quantities import parts_of, shown_pair, shown_span
from procgen.publish.sheet import (
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
            ol(".sources")[
                (
                    li(id=f"source-{number}")[source_text(source, words)]
                    for source, number in sheet.sources.items()
                )
            ],
        ],
    ]


def _group(group: str, calculations: list[list[Value]], sheet: Sheet) -> Node:
    return fragment[
        h2(id=f"g-{group}")[group_title(group, sheet.words)],
        (_calculation(alike, sheet) for alike in calculations),
    ]


def _calculation(alike: list[Value], sheet: Sheet) -> Element:
    value = alike[0]
    formula, filled = worked(value, sheet.worksheet)
    return div(".calc")[
        p(".calc__head", id=anchor("value", value.id))[
            (span(id=anchor("value", one.id)) for one in alike[1:]),
            span(".calc__n")[str(sheet.numbers[value.id])],
            " ",
            b[value.title],
            (span(".calc__also")[", ", _mark(one.id)] for one in alike[1:]),
            _result(value, sheet),
        ],
        value.why and value.ok and p[value.why],
        formula and p(".calc__formula")[code[formula]],
        filled and p(".calc__formula.calc__filled")[code[filled]],
        p(".calc__symbols")[_symbols(value.inputs, sheet), _source(value, sheet)],
        series_block(value, sheet.prefer, sheet.words),
    ]


def _result(value: Value, sheet: Sheet) -> Node:
    """Result and range after the title; or why there is none."""
    if not value.ok:
        return fragment[": ", sheet.words("sheet.unavailable"), ": ", value.why]
    if value.value is None:
        return None
    single, spanned = shown_pair(value, sheet.prefer), shown_span(value, sheet.prefer)
    over = None
    if spanned.text != single.text:
        over = fragment["; ", sheet.words("print.sheet.range"), " ", parts_of(spanned)]
    return fragment[": ", b[parts_of(single)], over]


def _mark(identifier: str) -> str:
    return identifier.partition("[")[2].removesuffix("]")


def _symbols(inputs: tuple[Input, ...], sheet: Sheet) -> Node:
    # One number for each symbol; several with the same number differ by mark alone and say so there.
    named = {item.symbol: item.name for item in inputs if item.symbol}
    return fragment[
        (fragment[code[symbol], " ", _number(name, sheet), "  "] for symbol, name in named.items())
    ]


def _number(name: str, sheet: Sheet) -> Node:
    if name not in sheet.numbers:
        return breakable(name)
    number = sheet.numbers[name]
    target = anchor("value", name) if name in sheet.worksheet.values else f"input-{number}"
    return a(href=f"#{target}")[f"[{number}]"]


def _source(value: Value, sheet: Sheet) -> Element:
    number = sheet.sources[value.source]
    return a(".calc__source", href=f"#source-{number}")[sheet.words("print.sheet.source", number=number)]


def _input(item: Input, sheet: Sheet) -> Element:
    design = f" ({sheet.words('sheet.design')})" if item.origin == "design" else ""
    number = sheet.numbers[item.name]
    return p(".input", id=f"input-{number}")[
        span(".calc__n")[str(number)],
        " ",
        code[breakable(item.name)],
        ": ",
        b[figure_text(item, sheet.prefer)],
        span(".input__place")[f" {item.place}{design}"],
    ]
