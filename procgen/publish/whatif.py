"""A what-if table as HTML: rows a person can read, their figures in SI for scripts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from htpy import Element, caption, div, p, table, tbody, td, th, thead, tr
from markupsafe import Markup

from procgen.publish.quantities import leaf_figure, si_text
from procgen.publish.words import Words
from procgen.units.kinds import KINDS, Preference, to_si
from procgen.units.show import step_for
from procgen.values.worksheet import Series


def is_what_if(identifier: str) -> bool:
    """True for the tables that have a row for a reading."""
    return identifier.endswith(".what_if")


def what_if_table(identifier: str, series: Series, prefer: Preference, words: Words) -> Element:
    """One row a reading. Ends of a range share a cell; a row without an answer says why."""
    columns = _shown(series)
    names = [name for name, _ in series.columns]
    steps = {name: _step(series, index, prefer) for index, (name, _) in enumerate(series.columns)}
    return div(".what-if.what-if--wide" if len(columns) > 4 else ".what-if", data_series=identifier)[
        div(".scroll", tabindex="0", role="region", aria_label=words(f"what_if.caption.{identifier}"))[
            table[
                caption[words(f"what_if.caption.{identifier}")],
                thead[tr[(th(scope="col")[words(f"what_if.columns.{name}")] for name in columns)]],
                tbody[
                    (
                        _row(identifier, dict(zip(names, row, strict=True)), columns, series, steps, prefer)
                        for row in series.rows
                    )
                ],
            ]
        ],
        p(".what-if__rule")[words(f"what_if.note.{identifier}")],
    ]


def _shown(series: Series) -> list[str]:
    """Columns as printed: a figure's two ends are one; the reason stands in the row's other cells."""
    names = [
        name.removesuffix("_low").removesuffix("_high") for name, kind in series.columns if kind in KINDS
    ]
    return list(dict.fromkeys(names))


def _row(
    identifier: str,
    row: dict[str, Any],
    columns: Sequence[str],
    series: Series,
    steps: dict[str, float],
    prefer: Preference,
) -> Element:
    kinds = dict(series.columns)
    data = {
        f"data_{name}": si_text(cell)
        for name, cell in row.items()
        if isinstance(cell, int | float) and kinds[name] in KINDS
    }
    first, *others = columns

    def cell(name: str) -> Markup:
        low, high = (
            (row.get(name), row.get(name)) if name in row else (row[f"{name}_low"], row[f"{name}_high"])
        )
        column = name if name in row else f"{name}_high"
        assert low is not None
        assert high is not None
        return leaf_figure(
            f"{identifier}.{name}", kinds[column], high, steps[column], prefer, low=low, high=high
        )

    why = row.get("why")
    if why:
        return tr(".what-if__none", data_none="true", **data)[
            th(scope="row")[cell(first)], td(colspan=str(len(others)))[str(why)]
        ]
    return tr(**data)[th(scope="row")[cell(first)], (td[cell(name)] for name in others)]


def _step(series: Series, index: int, prefer: Preference) -> float:
    """SI step that shows a column: of its largest figure; of a reading, as fine as its round rows need."""
    _, kind = series.columns[index]
    figures = [float(row[index]) for row in series.rows if isinstance(row[index], int | float)]
    if kind not in KINDS or not figures:
        return 1.0
    if kind == "count":
        return 1.0
    if index:
        return step_for(max(figures), kind, 2)
    return _reading_step(kind, figures, prefer)


def _reading_step(kind: str, figures: Sequence[float], prefer: Preference) -> float:
    unit = KINDS[kind].metric if prefer == "metric" else KINDS[kind].us
    one = to_si(KINDS[kind], unit, 1.0) - to_si(KINDS[kind], unit, 0.0)
    # The ends of a maker's window are round in one unit system only: 5 bar is 72.5 psi.
    for step, missed in ((1.0, 0.02), (0.1, 0.25)):
        shown = [figure / (one * step) for figure in figures]
        if all(abs(at - round(at)) < missed for at in shown):
            return one * step
    return one * 0.01
