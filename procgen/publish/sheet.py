"""``figures.html``: how these figures were worked out, as an engineer's calculation sheet."""

from __future__ import annotations

import re
from collections.abc import Iterator

from htpy import (
    Element,
    Node,
    a,
    code,
    dd,
    div,
    dl,
    dt,
    fragment,
    li,
    nav,
    p,
    section,
    span,
    table,
    tbody,
    th,
    thead,
    tr,
    ul,
)
from markupsafe import Markup

from procgen.engineering.kernel import Source
from procgen.procedure.anchors import FIGURES_PAGE, anchor, value_href
from procgen.publish.adapter import Heading, Html, Page
from procgen.publish.quantities import leaf_figure, sentence, value_text
from procgen.publish.whatif import is_what_if, what_if_table
from procgen.publish.words import Words
from procgen.units.kinds import KINDS, Preference
from procgen.units.show import pair, step_for
from procgen.values.shown import shown_pair, shown_span
from procgen.values.worksheet import Effect, Input, Value, Worksheet

SHEET_SOURCE = FIGURES_PAGE.removesuffix(".html") + ".md"


def sheet_page(worksheet: Worksheet, words: Words) -> Page:
    """The calculation sheet of a guide."""
    return Page(SHEET_SOURCE, words("figures_page"), list(_blocks(worksheet, words)))


def groups_of(worksheet: Worksheet) -> dict[str, list[Value]]:
    """Values by the first word of their id, in worksheet order."""
    groups: dict[str, list[Value]] = {}
    for value in worksheet.values.values():
        groups.setdefault(value.id.partition(".")[0], []).append(value)
    return groups


def _blocks(worksheet: Worksheet, words: Words) -> Iterator[Heading | Html]:
    groups = groups_of(worksheet)
    yield Heading(1, words("figures_page"), "worked-out")
    yield Html(str(p(".lead")[words("sheet.lead")]))
    yield Html(str(_jump(groups, words)))
    for group, values in groups.items():
        yield Heading(2, group_title(group, words), f"g-{group}")
        yield Html("".join(str(calculation(value, worksheet, words)) for value in values))


def group_title(group: str, words: Words) -> str:
    """A group's name; its id where nobody has named it."""
    key = f"group.{group}"
    return words(key) if words.messages.has(f"site.{key}") else group


def _jump(groups: dict[str, list[Value]], words: Words) -> Element:
    return nav(".jump", aria_label=words("sheet.jump"))[
        ul[(li[a(href=f"#g-{group}")[group_title(group, words)]] for group in groups)]
    ]


def calculation(value: Value, worksheet: Worksheet, words: Words, *, sheet: bool = True) -> Element:
    """One value: result, formula, numbers put in, inputs, source; or why it is not available.

    Not on the sheet, it has no anchor of its own and leads to those of the sheet.
    """
    name = anchor("value", value.id) if sheet else None
    return section(".calc" if value.ok else ".calc.is-missing", id=name, data_value=value.id)[
        div(".calc__head")[span(".calc__title")[value.title], code(".calc__id")[value.id]],
        result_block(value, worksheet.prefer, words),
        value.why and value.ok and p(".calc__note")[span(".typed")[value.why]],
        series_block(value, worksheet.prefer, words),
        (p(".calc__effect")[_effect(effect, worksheet)] for effect in worksheet.about(value.id)),
        formula_block(value, worksheet, words),
        _inputs(value, worksheet, words, sheet) if value.inputs else None,
        _source(value, words),
    ]


def _effect(effect: Effect, worksheet: Worksheet) -> Markup:
    return sentence(effect.text_parts, worksheet.prefer, worksheet.values)


def result_block(value: Value, prefer: Preference, words: Words) -> Node:
    """Result and range; or why there is none."""
    if not value.ok:
        return p(".calc__missing")[span[words("sheet.unavailable")], ": ", span(".typed")[value.why]]
    if value.value is None:
        return None
    single, spanned = shown_pair(value, prefer), shown_span(value, prefer)
    return dl(".calc__result")[
        div[dt[words("sheet.result")], dd[value_text(value, prefer, "pair")]],
        spanned.text != single.text and div[dt[words("sheet.range")], dd[value_text(value, prefer, "span")]],
    ]


def formula_block(value: Value, worksheet: Worksheet, words: Words) -> Node:
    """The formula, and the same with its figures put in."""
    formula, filled = worked(value, worksheet)
    if not formula:
        return None
    head = words("sheet.equation" if value.residual else "sheet.formula")
    return dl(".calc__formula")[
        div[dt[head], dd[code[formula]]],
        filled and div[dt[words("sheet.put_in")], dd[code[filled]]],
    ]


def worked(value: Value, worksheet: Worksheet) -> tuple[str, str]:
    """A value's formula, or the equation that it solves, and the same with figures put in; else empty."""
    if value.residual:
        return _equation(value, worksheet)
    if not value.formula:
        return "", ""
    filled = put_in(value.formula, value.inputs, worksheet.prefer)
    return value.formula, filled if value.ok and filled != value.formula else ""


#: another value named in an equation
_NAMED = re.compile(r"\{([^{}]+)\}")


def _equation(value: Value, worksheet: Worksheet) -> tuple[str, str]:
    """A solved value: the equation that holds at the result, other values by their titles."""

    def title(found: re.Match[str]) -> str:
        other = worksheet.values.get(found.group(1))
        return f"[{other.title if other else found.group(1)}]"

    def figure(found: re.Match[str]) -> str:
        other = worksheet.values.get(found.group(1))
        if other is None or other.value is None:
            return title(found)
        return f"({pair(other.kind, other.value, other.step, worksheet.prefer).primary})"

    named, filled = _NAMED.sub(title, value.residual), _NAMED.sub(figure, value.residual)
    if filled == named:
        return f"{named} = 0", ""
    return f"{named} = 0", f"{put_in(filled, value.inputs, worksheet.prefer)} = 0"


def put_in(formula: str, inputs: tuple[Input, ...], prefer: Preference) -> str:
    """A formula with the figure and unit of each input in the place of its symbol."""
    figures = {
        i.symbol: _primary(i, prefer) for i in inputs if i.symbol and i.value is not None and i.kind in KINDS
    }

    def put(found: re.Match[str]) -> str:
        figure = figures[found.group()]
        before, after = formula[: found.start()].rstrip()[-1:], formula[found.end() :].lstrip()[:1]
        alone = before in {"", "(", ","} and after in {"", ")", ","}
        return figure if alone or "\u00a0" not in figure else f"({figure})"

    if not figures:
        return formula
    # The longest first: a symbol may end in a mark with a hyphen, as in V_K-1.
    known = "|".join(re.escape(symbol) for symbol in sorted(figures, key=len, reverse=True))
    return re.sub(rf"(?<!\w)(?:{known})(?!\w)", put, formula)


def _primary(item: Input, prefer: Preference) -> str:
    assert item.value is not None
    return pair(item.kind, item.value, item.step, prefer).primary


def _inputs(value: Value, worksheet: Worksheet, words: Words, sheet: bool) -> Element:
    return div(".scroll", tabindex="0")[
        table(".calc__inputs")[
            thead[
                tr[
                    (
                        th(scope="col")[words(f"sheet.{head}")]
                        for head in ("symbol", "input", "figure", "origin")
                    )
                ]
            ],
            tbody[(_input_row(item, worksheet, words, sheet) for item in value.inputs)],
        ]
    ]


#: rows are many, and filled in as text: each place is escaped
_ROW = Markup("<tr><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>")
_CODE, _PLACE = Markup("<code>{}</code>"), Markup('<code class="place">{}</code>{}')
_LINK = Markup('<a href="{}">{}</a>')


def _input_row(item: Input, worksheet: Worksheet, words: Words, sheet: bool) -> Markup:
    other = worksheet.values.get(item.name) if item.origin == "value" else None
    symbol = _CODE.format(item.symbol) if item.symbol else ""
    figure = figure_text(item, worksheet.prefer)
    if other is not None:
        href = f"#{anchor('value', item.name)}" if sheet else value_href(item.name)
        link = _LINK.format(href, words("sheet.from_value"))
        return _ROW.format(symbol, _input_title(item, other, words), figure, link)
    design = f" ({words('sheet.design')})" if item.origin == "design" else ""
    place = breakable_place(item.place)
    return _ROW.format(symbol, _CODE.format(breakable(item.name)), figure, _PLACE.format(place, design))


def _input_title(item: Input, other: Value, words: Words) -> str:
    """The title of a value that another is computed from."""
    return words("sheet.highest_of", title=other.title) if at_highest(item, other) else other.title


def at_highest(item: Input, other: Value | None) -> bool:
    """Whether an input is the highest figure of another value's range and not its nominal one."""
    return other is not None and item.value != other.value


def breakable(path: str) -> Markup:
    """A dotted path that may be broken before each of its names."""
    return Markup("<wbr>.").join(path.split("."))


def breakable_place(place: str) -> Markup:
    """A file and line that may be broken after each folder."""
    return Markup("/<wbr>").join(place.split("/"))


def figure_text(item: Input, prefer: Preference) -> str:
    """An input's figure in both units; its text where it has none."""
    if item.value is None or item.kind not in KINDS:
        return item.text or "–"
    return leaf_figure(item.name, item.kind, item.value, item.step, prefer, low=item.low, high=item.high)


def series_block(value: Value, prefer: Preference, words: Words) -> Element | None:
    """A value's curve or table."""
    if value.series is None:
        return None
    if is_what_if(value.id):
        return what_if_table(value.id, value.series, prefer, words)
    series = value.series
    cell = Markup("<td>{}</td>")
    rows = (
        Markup("<tr>{}</tr>").format(
            Markup("").join(
                cell.format(_cell(found, name, kind, prefer))
                for found, (name, kind) in zip(row, series.columns, strict=True)
            )
        )
        for row in series.rows
    )
    return div(".scroll", tabindex="0", role="region", aria_label=words("sheet.series", title=value.title))[
        table(".calc__series")[
            thead[tr[(th(scope="col")[_column(name, words)] for name, _ in series.columns)]],
            tbody[Markup("").join(rows)],
        ]
    ]


def _column(name: str, words: Words) -> str:
    """A column's name; a boiler's column bears its mark."""
    key = f"sheet.columns.{name}"
    return words(key) if words.messages.has(f"site.{key}") else name


def _cell(cell: float | str | None, name: str, kind: str, prefer: Preference) -> str:
    if isinstance(cell, str):
        return Markup('<span class="typed">{}</span>').format(cell)
    if cell is None or kind not in KINDS:
        return "–"
    step = 1.0 if kind == "count" else step_for(cell, kind, 3)
    return leaf_figure(f"series.{name}", kind, cell, step, prefer)


def _source(value: Value, words: Words) -> Element:
    return p(".calc__source")[
        span(".calc__source-head")[f"{words('sheet.source')}: "], source_text(value.source, words)
    ]


def source_text(source: Source, words: Words) -> Node:
    """A source with its clause, of what kind it is, and whether it was recalled."""
    key = f"sheet.kind.{source.kind}"
    kind = words(key) if words.messages.has(f"site.{key}") else source.kind
    # A title that says of what kind it is needs no mark that repeats it.
    marks = [kind] if kind.casefold() not in source.title.casefold() else []
    if source.from_memory:
        marks.append(words("sheet.from_memory"))
    clause = f", {source.clause}" if source.clause else ""
    return fragment[span(".typed")[f"{source.title}{clause}"], marks and f" ({', '.join(marks)})"]
