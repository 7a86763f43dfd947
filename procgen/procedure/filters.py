"""Filters that write quantities: paired units, honest rounding, markup that says which figure it is."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from html import escape
from typing import Any

from jinja2 import pass_context
from jinja2.runtime import Context
from markupsafe import Markup

from procgen.messages.catalog import MissingMessageError
from procgen.procedure.anchors import value_href
from procgen.procedure.builder import Builder
from procgen.procedure.faults import TemplateFaultError, nearest
from procgen.procedure.fragments import Token
from procgen.procedure.views import DataText, data_markup, entities, path_of, target_of
from procgen.units.kinds import KINDS, Preference
from procgen.units.measure import Measure
from procgen.units.show import Shown, measure_pair, pair, pair_range, read_back, step_of

BUILDER_KEY = "\x00builder"
_TRADE_ROUNDING = re.compile(r"to the nearest ([\d.]+)\s*(.+?)\)\s*$")


class Figure:
    """A quantity to be shown: a typed measure or a worksheet value, its SI figures and their origin."""

    def __init__(self, given: Any, filter_name: str) -> None:
        target = target_of(given)
        self.path = path_of(given)
        self.measure = target if isinstance(target, Measure) else None
        self.value_id = ""
        if self.measure is None:
            self._of_value(target, filter_name)
            return
        self.kind = self.measure.kind
        self.low, self.value, self.high = self.measure.low, self.measure.value, self.measure.high
        self.step = self.measure.step

    def _of_value(self, target: Any, filter_name: str) -> None:
        if not hasattr(target, "status") or not hasattr(target, "kind"):
            raise TemplateFaultError("template_not_a_quantity", filter=filter_name, found=_described(target))
        self.value_id = str(target.id)
        if target.status != "ok":
            raise TemplateFaultError("template_value_unavailable", found=target.id, why=str(target.why))
        if target.series is not None or target.value is None or target.kind not in KINDS:
            raise TemplateFaultError("template_series", found=target.id, filter=filter_name)
        self.kind = target.kind
        self.value = float(target.value)
        self.low = self.value if target.low is None else float(target.low)
        self.high = self.value if target.high is None else float(target.high)
        self.step = float(target.step)

    @classmethod
    def of_part(cls, part: Any) -> Figure:
        """The figure inside a sentence of a finding."""
        figure = cls.__new__(cls)
        figure.measure = None
        figure.path, figure.value_id = (part.name, "") if part.is_leaf else ("", part.name)
        figure.kind, figure.step = part.kind, part.step
        figure.low, figure.value, figure.high = part.low, part.value, part.high
        return figure

    @property
    def permitted_low(self) -> float:
        """What may not be passed below: a typed window's lower end, but a computed limit's higher one."""
        return self.high if self.value_id else self.low

    @property
    def permitted_high(self) -> float:
        """What may not be passed above: a typed window's upper end, but a computed limit's lower one."""
        return self.low if self.value_id else self.high

    def _trade_rounding(self) -> str:
        """SI size of the rounding of a figure that the profile states in the other unit system."""
        stated = _TRADE_ROUNDING.search(self.measure.text) if self.measure and self.measure.trade else None
        if stated is None:
            return ""
        return repr(step_of(KINDS[self.kind], stated.group(2), float(stated.group(1))))

    def token(self, shown: Shown, show: str, si: dict[str, float]) -> Token:
        """The markup of the shown figure."""
        attributes = {
            "data-value": self.value_id,
            "data-leaf": self.path if not self.value_id else "",
            "data-kind": self.kind,
            **{f"data-{name}": repr(float(figure)) for name, figure in si.items()},
            "data-step": repr(float(self.step)),
            "data-show": show,
            "data-trade": self._trade_rounding(),
        }
        written = "".join(f' {name}="{escape(text)}"' for name, text in attributes.items() if text)
        inner = f'<span class="q1">{escape(shown.primary)}</span>'
        if shown.secondary:
            inner += f' (<span class="q2">{escape(shown.secondary)}</span>)'
        if self.value_id:
            html = f'<a class="q" href="{value_href(self.value_id)}"{written}>{inner}</a>'
        else:
            html = f'<span class="q"{written}>{inner}</span>'
        return Token(html, shown.text, self.value_id)


def figure_of(given: Any, name: str) -> Figure:
    """What a filter was given, as a figure."""
    return given if isinstance(given, Figure) else Figure(given, name)


def nominal(given: Any, prefer: Preference, name: str = "pair") -> Token:
    """The nominal figure in both units."""
    figure = figure_of(given, name)
    if figure.measure is not None:
        shown = measure_pair(figure.measure, prefer)
    else:
        shown = pair(figure.kind, figure.value, figure.step, prefer)
    return figure.token(shown, "pair", {"si": figure.value})


def predicted_span(given: Any, prefer: Preference) -> Token:
    """The predicted range, rounded outward."""
    figure = figure_of(given, "span")
    shown = pair_range(figure.kind, figure.low, figure.high, figure.step, prefer, "outward")
    si = {"si": figure.value, "low": figure.low, "high": figure.high}
    return figure.token(shown, "span", si)


def permitted_limits(given: Any, prefer: Preference) -> Token:
    """The permitted range, rounded inward."""
    figure = Figure(given, "limits")
    shown, figure.step = inward_range(figure.kind, figure.low, figure.high, figure.step, prefer)
    return figure.token(shown, "limits", {"si": figure.value, "low": figure.low, "high": figure.high})


def inward_range(kind: str, low: float, high: float, step: float, prefer: Preference) -> tuple[Shown, float]:
    """A permitted range and the step it is shown with: finer where rounding would turn it upside down."""
    for digits in range(5):
        finer = step / 10.0**digits
        shown = pair_range(kind, low, high, finer, prefer, "inward")
        texts = [text for text in (shown.primary, shown.secondary) if text]
        ends = [[figure for figure, _ in read_back(kind, text)] for text in texts]
        if all(found[0] <= found[-1] for found in ends) and low <= high:
            return shown, finer
    raise TemplateFaultError("template_limits_empty", low=f"{low:g}", high=f"{high:g}", kind=kind)


def extreme(given: Any, prefer: Preference, name: str, high: bool, permitted: bool) -> Token:
    """One end of a range: outward where it is predicted, inward where it is a limit."""
    figure = figure_of(given, name)
    if permitted:
        si = figure.permitted_high if high else figure.permitted_low
    else:
        si = figure.high if high else figure.low
    rounding = "inward" if permitted else "outward"
    shown = pair(figure.kind, si, figure.step, prefer, rounding, upward=high)  # type: ignore[arg-type]
    return figure.token(shown, name, {"si": si})


_EXTREMES = {
    "upper": (True, False),
    "lower": (False, False),
    "at_most": (True, True),
    "at_least": (False, True),
}


def sentence_tokens(parts: Sequence[Any], prefer: Preference) -> list[Token]:
    """A finding's sentence: its words as data, its figures as figures."""
    tokens = []
    for part in parts:
        if isinstance(part, str):
            tokens.append(Token(str(data_markup(part)), part))
        elif part.mode in _EXTREMES:
            tokens.append(extreme(Figure.of_part(part), prefer, part.mode, *_EXTREMES[part.mode]))
        elif part.mode == "span":
            tokens.append(predicted_span(Figure.of_part(part), prefer))
        else:
            tokens.append(nominal(Figure.of_part(part), prefer))
    return tokens


def _builder(context: Context) -> Builder:
    found: Builder = context.parent[BUILDER_KEY]
    return found


def _kept(context: Context, token: Token) -> Markup:
    return _builder(context).tokens.add(token)


@pass_context
def filter_pair(context: Context, given: Any) -> Markup:
    """``x | pair``: the nominal figure."""
    return _kept(context, nominal(given, _builder(context).prefer))


@pass_context
def filter_span(context: Context, given: Any) -> Markup:
    """``x | span``: predicted low to high."""
    return _kept(context, predicted_span(given, _builder(context).prefer))


@pass_context
def filter_limits(context: Context, given: Any) -> Markup:
    """``x | limits``: permitted low to high."""
    return _kept(context, permitted_limits(given, _builder(context).prefer))


@pass_context
def filter_at_most(context: Context, given: Any) -> Markup:
    """``x | at_most``: the permitted upper limit."""
    return _kept(context, extreme(given, _builder(context).prefer, "at_most", True, True))


@pass_context
def filter_at_least(context: Context, given: Any) -> Markup:
    """``x | at_least``: the permitted lower limit."""
    return _kept(context, extreme(given, _builder(context).prefer, "at_least", False, True))


@pass_context
def filter_upper(context: Context, given: Any) -> Markup | str:
    """``x | upper``: the highest predicted figure."""
    return _kept(context, extreme(given, _builder(context).prefer, "upper", True, False))


@pass_context
def filter_lower(context: Context, given: Any) -> Markup | str:
    """``x | lower``: the lowest predicted figure; small letters of a text."""
    if isinstance(given, str) and not isinstance(given, Markup):
        return DataText(given.lower())
    return _kept(context, extreme(given, _builder(context).prefer, "lower", False, False))


@pass_context
def filter_count(context: Context, given: Any, noun: str) -> Markup:
    """``n | count("run")``: ``3 runs``."""
    builder = _builder(context)
    if isinstance(given, int) and not isinstance(given, bool):
        text = _counted(builder, noun, given)
        return builder.tokens.add(Token(str(data_markup(text)), text))
    figure = _whole(given, "count")
    shown = Shown(_counted(builder, noun, round(figure.value)))
    return builder.tokens.add(figure.token(shown, "count", {"si": figure.value}))


@pass_context
def filter_count_span(context: Context, given: Any, noun: str) -> Markup:
    """``v("fill.pump_runs") | count_span("run")``: ``3 to 5 runs``."""
    builder = _builder(context)
    figure = _whole(given, "count_span")
    low, high = math.floor(figure.low + 1e-9), math.ceil(figure.high - 1e-9)
    text = _counted(builder, noun, high)
    if low != high:
        text = builder.messages.text("procedure.count_span", low=str(low), high=text)
    si = {"si": figure.value, "low": figure.low, "high": figure.high}
    return builder.tokens.add(figure.token(Shown(text), "count_span", si))


@pass_context
def filter_word(context: Context, code: Any) -> DataText:
    """``boiler.material | word``: the word for a code of the schema."""
    messages = _builder(context).messages
    try:
        return DataText(messages.word(str(code)))
    except MissingMessageError:
        known = [key.removeprefix("words.") for key in messages.keys() if key.startswith("words.")]  # noqa: SIM118
        raise TemplateFaultError(
            "template_no_word", found=str(code), expected=nearest(str(code), known)
        ) from None


@pass_context
def filter_listing(context: Context, items: Sequence[Any]) -> Markup:
    """``list | listing``: ``A, B and C``."""
    builder = _builder(context)
    if isinstance(items, str) or not isinstance(items, Sequence):
        items = list(items) if not isinstance(items, str) else [items]
    parts = [str(item) if isinstance(item, Markup) else str(_shown_item(item)) for item in items]
    return Markup(builder.messages.listing(parts))


def filter_join(items: Any, separator: str = "") -> Markup:
    """``list | join(", ")``, every item as data."""
    parts = [str(item) if isinstance(item, Markup) else str(_shown_item(item)) for item in items]
    return Markup(str(entities(separator)).join(parts))


def filter_sentence(text: str) -> DataText:
    """``text | sentence``: the first letter made a capital, the rest left alone."""
    return DataText(text[:1].upper() + text[1:])


def concat(*parts: Any) -> Markup | str:
    """``a ~ b``: data stays data beside markup."""
    if any(isinstance(part, Markup) for part in parts):
        return Markup("".join(str(p) if isinstance(p, Markup) else _shown_item(p) for p in parts))
    return DataText("".join(printable(part) for part in parts))


def printable(value: Any) -> str:
    """A value that may be printed as it is: text or a whole number; anything else is a fault."""
    if isinstance(value, str):
        return str(value)
    if isinstance(value, int) and not isinstance(value, bool):
        return str(value)
    raise TemplateFaultError("template_not_printable", found=_described(value))


def _shown_item(item: Any) -> str:
    return str(data_markup(printable(item)))


def _whole(given: Any, name: str) -> Figure:
    figure = Figure(given, name)
    if figure.kind != "count":
        raise TemplateFaultError("template_not_a_count", filter=name, found=figure.value_id or figure.path)
    return figure


def _counted(builder: Builder, noun: str, number: int) -> str:
    try:
        return builder.messages.counted(noun, number)
    except MissingMessageError:
        known = {
            key.split(".")[1]
            for key in builder.messages.keys()  # noqa: SIM118
            if key.startswith("counted.")
        }
        raise TemplateFaultError("template_no_noun", found=noun, expected=nearest(noun, known)) from None


def _described(value: Any) -> str:
    if value is None:
        return "nothing (the field is empty here)"
    if isinstance(value, str):
        return f"the text '{value[:40]}'"
    if isinstance(value, bool | int | float):
        return f"the bare number {value}" if not isinstance(value, bool) else f"the answer {value}"
    if path_of(value):
        return path_of(value)
    return f"a {type(value).__name__}"


FILTERS = {
    "pair": filter_pair,
    "span": filter_span,
    "limits": filter_limits,
    "at_most": filter_at_most,
    "at_least": filter_at_least,
    "upper": filter_upper,
    "lower": filter_lower,
    "count": filter_count,
    "count_span": filter_count_span,
    "word": filter_word,
    "listing": filter_listing,
    "join": filter_join,
    "sentence": filter_sentence,
}
