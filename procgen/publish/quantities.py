"""A worksheet figure as marked-up text: both units, and the way to its calculation."""

from __future__ import annotations

from collections.abc import Iterable

from htpy import Element, a, fragment, span
from markupsafe import Markup

from procgen.procedure.anchors import anchor, value_href
from procgen.units.kinds import Preference
from procgen.units.show import Shown, pair, pair_range
from procgen.values.figure import Figure, Quoted, shown_figure
from procgen.values.shown import at_nominal, over_range
from procgen.values.worksheet import Value


def si_text(number: float) -> str:
    """A figure for a data attribute: as many digits as a float has, no more."""
    return repr(float(number))


def parts_of(shown: Shown) -> list[Element | str]:
    """Both units, each in a span of its own."""
    first: list[Element | str] = [span(".q1")[shown.primary]]
    return [*first, " (", span(".q2")[shown.secondary], ")"] if shown.secondary else first


def value_link(value: Value, prefer: Preference, show: str = "span", here: bool = False) -> Element:
    """A value as a link to its calculation; ``here`` on the page that holds the calculations."""
    href = f"#{anchor('value', value.id)}" if here else value_href(value.id)
    figure = _figure(value, show)
    return a(".q", href=href, **_data(figure, figure.mode))[parts_of(shown_figure(figure, prefer))]


def value_text(value: Value, prefer: Preference, show: str = "span") -> Element:
    """A value where its own calculation stands: marked, no link."""
    figure = _figure(value, show)
    return span(".q", **_data(figure, figure.mode))[parts_of(shown_figure(figure, prefer))]


def _figure(value: Value, show: str) -> Figure:
    return at_nominal(value) if show == "pair" else over_range(value)


def figure_in_sentence(figure: Figure, prefer: Preference, known: Iterable[str]) -> Element:
    """A figure of a finding's reason or remedy."""
    shown = shown_figure(figure, prefer)
    if figure.is_leaf or figure.name not in known:
        return span(".q", **_data(figure._replace(is_leaf=True), figure.mode))[parts_of(shown)]
    return a(".q", href=value_href(figure.name), **_data(figure, figure.mode))[parts_of(shown)]


def sentence(parts: Iterable[str | Figure], prefer: Preference, known: Iterable[str]) -> Markup:
    """A sentence of text and figures."""
    return Markup(str(fragment[[_part(part, prefer, known) for part in parts]]))


def _part(part: str | Figure, prefer: Preference, known: Iterable[str]) -> Element | str:
    if isinstance(part, Figure):
        return figure_in_sentence(part, prefer, known)
    return span(".typed")[str(part)] if isinstance(part, Quoted) else part


def leaf_figure(
    name: str,
    kind: str,
    number: float,
    step: float,
    prefer: Preference,
    *,
    low: float | None = None,
    high: float | None = None,
) -> Markup:
    """A figure that is no worksheet value: a leaf, a planned time, a cell of a table. Tables have thousands:
    the markup is filled in as text."""
    low, high = number if low is None else low, number if high is None else high
    spanned = high > low
    shown = pair_range(kind, low, high, step, prefer) if spanned else pair(kind, number, step, prefer)
    ends = _ENDS_TEXT.format(si_text(low), si_text(high)) if spanned else ""
    show = "span" if spanned else "pair"
    inner = _PAIR.format(shown.primary, shown.secondary) if shown.secondary else _ONE.format(shown.primary)
    return _LEAF.format(name, kind, show, si_text(number), ends, si_text(step), inner)


_LEAF = Markup(
    '<span class="q" data-leaf="{}" data-kind="{}" data-show="{}" data-si="{}"{} data-step="{}">{}</span>'
)
_ENDS_TEXT = Markup(' data-low="{}" data-high="{}"')
_ONE = Markup('<span class="q1">{}</span>')
_PAIR = Markup('<span class="q1">{}</span> (<span class="q2">{}</span>)')


def planned(name: str, minutes: float) -> Markup:
    """A planned time, typed in the procedure in minutes."""
    return leaf_figure(name, "time", minutes * 60.0, 60.0, "metric")


def _data(figure: Figure, show: str) -> dict[str, str]:
    data = {"data_leaf" if figure.is_leaf else "data_value": figure.name}
    data |= {"data_kind": figure.kind, "data_show": show, "data_si": si_text(figure.value)}
    if show != "pair":
        data |= {"data_low": si_text(figure.low), "data_high": si_text(figure.high)}
    return {**data, "data_step": si_text(figure.step)}
