"""The calculation sheet on paper: each value in a few lines, equal calculations together, inputs once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from htpy import Element, Node, a, code, div, fragment, h1, h2, li, ol, p, section, span, sup

from htpy import table, tbody, th, thead, tr  # isort: skip
from markupsafe import Markup

from procgen.engineering.kernel import Source
from procgen.procedure.anchors import anchor
from procgen.publish.sheet import (
    breakable,
    figure_text,
    formula_block,
    group_title,
    groups_of,
    result_block,
    series_block,
    source_text,
)
from procgen.publish.words import Words
from procgen.values.worksheet import Input, Value, Worksheet


@dataclass(frozen=True, slots=True)
class Sources:
    """The sources of all values, numbered as they first occur."""

    numbers: dict[Source, int]

    @classmethod
    def of(cls, values: Iterable[Value]) -> Sources:
        """Number the sources of these values."""
        numbers: dict[Source, int] = {}
        for value in values:
            numbers.setdefault(value.source, len(numbers) + 1)
        return cls(numbers)


def calculation_pages(worksheet: Worksheet, words: Words) -> Element:
    """The whole sheet."""
    sources = Sources.of(worksheet.values.values())
    return section(".part.sheet")[
        h1(id="worked-out")[span(".t")[words("figures_page")]],
        p[words("print.sheet.lead")],
        (_group(group, values, worksheet, sources, words) for group, values in groups_of(worksheet).items()),
        h2(id="inputs")[words("print.sheet.inputs")],
        _inputs(worksheet, words),
        h2(id="sources")[words("print.sheet.sources")],
        ol(".sources")[
            (
                li(id=f"source-{number}")[source_text(source, words)]
                for source, number in sources.numbers.items()
            )
        ],
    ]


def _group(group: str, values: list[Value], worksheet: Worksheet, sources: Sources, words: Words) -> Node:
    return fragment[
        h2(id=f"g-{group}")[group_title(group, words)],
        (_calculation(alike, worksheet, sources, words) for alike in _alike(values, worksheet, words)),
    ]


def _alike(values: list[Value], worksheet: Worksheet, words: Words) -> list[list[Value]]:
    """Values of one kind by mark whose calculation, figures put in, reads the same."""
    together: dict[tuple[str, ...], list[Value]] = {}
    for value in values:
        base = value.id.partition("[")[0]
        worked = "" if "[" not in value.id else str(formula_block(value, worksheet, words))
        shown = str(result_block(value, worksheet.prefer, words)).replace(value.id, "")
        key = (base, worked, shown) if "[" in value.id else (value.id,)
        together.setdefault(key, []).append(value)
    return list(together.values())


def _calculation(alike: list[Value], worksheet: Worksheet, sources: Sources, words: Words) -> Element:
    value, number = alike[0], sources.numbers[alike[0].source]
    return div(".calc")[
        p(".calc__head")[
            (span(id=anchor("value", one.id)) for one in alike),
            span(".calc__title")[value.title],
            (span(".calc__also")[", ", _mark(one.id)] for one in alike[1:]),
            " ",
            code(".calc__id")[breakable(value.id)],
            sup(".calc__source")[a(href=f"#source-{number}")[str(number)]],
        ],
        result_block(value, worksheet.prefer, words),
        value.why and value.ok and p(".calc__note")[value.why],
        formula_block(value, worksheet, words),
        _symbols(value.inputs),
        series_block(value, worksheet.prefer, words),
    ]


def _mark(identifier: str) -> str:
    return identifier.partition("[")[2].removesuffix("]")


def _symbols(inputs: tuple[Input, ...]) -> Element | None:
    named = [item for item in inputs if item.symbol]
    if not named:
        return None
    return p(".calc__symbols")[
        (
            fragment[index > 0 and "; ", code[item.symbol], " ", breakable(item.name)]
            for index, item in enumerate(named)
        )
    ]


def _inputs(worksheet: Worksheet, words: Words) -> Element:
    leaves: dict[str, Input] = {}
    for value in worksheet.values.values():
        for item in value.inputs:
            if item.origin != "value":
                leaves.setdefault(item.name, item)
    heads = ("input", "figure", "origin")
    row = Markup("<tr><td>{}</td><td>{}</td><td>{}{}</td></tr>")
    return table(".inputs")[
        thead[tr[(th(scope="col")[words(f"sheet.{head}")] for head in heads)]],
        tbody[
            (
                row.format(
                    breakable(item.name),
                    figure_text(item, worksheet.prefer),
                    item.place,
                    f" ({words('sheet.design')})" if item.origin == "design" else "",
                )
                for item in sorted(leaves.values(), key=lambda item: (item.origin, item.name))
            )
        ],
    ]
