"""A worksheet figure as marked-up text: both units, and the way to its calculation."""

from __future__ import annotations

from collections.abc import Iterable

from htpy import Element, a, fragment, span
from markupsafe import Markup

from procgen.procedure.anchors import anchor, value_href
from procgen.units.kinds import KINDS, Preference
from procgen.units.show import Shown, pair, pair_range
from procgen.values.worksheet import Figure, Value

#: how a figure of a sentence is rounded: (rounding, upward)
_ENDS = {
    "upper": ("outward", True),
    "lower": ("outward", False),
    "at_most": ("inward", True),
    "at_least": ("inward", False),
}


def si_text(number: float) -> str:
    """A figure for a data attribute: as many digits as a float has, no more."""
    return repr(float(number))


def shown_pair(value: Value, prefer: Preference) -> Shown:
    """A value at nominal inputs."""
    assert value.value is not None
    return pair(value.kind, value.value, value.step, prefer)


def shown_span(value: Value, prefer: Preference) -> Shown:
    """A value over the ranges of its inputs, rounded outward."""
    if value.low is None or value.high is None:
        return shown_pair(value, prefer)
    return pair_range(value.kind, value.low, value.high, value.step, prefer, "outward")


def parts_of(shown: Shown) -> list[Element | str]:
    """Both units, each in a span of its own."""
    first: list[Element | str] = [span(".q1")[shown.primary]]
    return [*first, " (", span(".q2")[shown.secondary], ")"] if shown.secondary else first


def value_link(value: Value, prefer: Preference, show: str = "span", here: bool = False) -> Element:
    """A value as a link to its calculation; ``here`` on the page that holds the calculations."""
    shown = shown_pair(value, prefer) if show == "pair" else shown_span(value, prefer)
    href = f"#{anchor('value', value.id)}" if here else value_href(value.id)
    return a(".q", href=href, **_data(value.id, value.kind, value.value, value.low, value.high, show))[
        parts_of(shown)
    ]


def figure_in_sentence(figure: Figure, prefer: Preference, known: Iterable[str]) -> Element:
    """A figure of a finding's reason or remedy."""
    shown = _shown_figure(figure, prefer)
    data = _data(figure.name, figure.kind, figure.value, figure.low, figure.high, figure.mode)
    if figure.is_leaf or figure.name not in known:
        data["data_leaf"] = data.pop("data_value")
        return span(".q", **data)[parts_of(shown)]
    return a(".q", href=value_href(figure.name), **data)[parts_of(shown)]


def _shown_figure(figure: Figure, prefer: Preference) -> Shown:
    if figure.mode == "span":
        return pair_range(figure.kind, figure.low, figure.high, figure.step, prefer, "outward")
    if figure.mode in _ENDS:
        rounding, upward = _ENDS[figure.mode]
        return pair(figure.kind, figure.high if upward else figure.low, figure.step, prefer, rounding, upward)  # type: ignore[arg-type]
    return pair(figure.kind, figure.value, figure.step, prefer)


def sentence(parts: Iterable[str | Figure], prefer: Preference, known: Iterable[str]) -> Markup:
    """A sentence of text and figures."""
    return Markup(
        str(fragment[[p if isinstance(p, str) else figure_in_sentence(p, prefer, known) for p in parts]])
    )


def _data(
    name: str, kind: str, value: float | None, low: float | None, high: float | None, show: str
) -> dict[str, str]:
    data = {"data_value": name, "data_kind": kind, "data_show": show}
    for key, number in (("data_si", value), ("data_low", low), ("data_high", high)):
        if number is not None:
            data[key] = si_text(number)
    return data


def bare_text(kind: str, number: float | None, step: float, prefer: Preference) -> str:
    """A figure as plain text; a dash where there is none or the kind has no figures."""
    if number is None or kind not in KINDS:
        return "–"
    return pair(kind, number, step, prefer).text
