"""A figure in a drawing: its text in both units, and the markup that says which figure it is."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from html import escape
from typing import Literal

from procgen.procedure.filters import inward_range
from procgen.units.kinds import Preference
from procgen.units.measure import Measure
from procgen.units.show import Shown, measure_pair, pair, pair_range
from procgen.values.figure import Figure
from procgen.values.worksheet import Value

Show = Literal["pair", "span", "limits", "upper", "lower", "at_most", "at_least", "count_span"]
_END = {
    "upper": ("outward", True),
    "lower": ("outward", False),
    "at_most": ("inward", True),
    "at_least": ("inward", False),
}


@dataclass(frozen=True)
class Quantity:
    """A shown figure with its origin."""

    primary: str
    secondary: str
    attributes: tuple[tuple[str, str], ...]
    #: 1 where the first figure stands alone: for narrow places whose table gives both
    value_id: str = ""

    @property
    def text(self) -> str:
        """Both units as text."""
        return f"{self.primary} ({self.secondary})" if self.secondary else self.primary

    @property
    def attribute_text(self) -> str:
        """The attributes, escaped."""
        return "".join(f' {name}="{escape(text)}"' for name, text in self.attributes)

    def html(self) -> str:
        """As the other figures of a page are marked up."""
        inner = f'<span class="q1">{escape(self.primary)}</span>'
        if self.secondary:
            inner += f' (<span class="q2">{escape(self.secondary)}</span>)'
        return f'<span class="q"{self.attribute_text}>{inner}</span>'

    def alone(self) -> Quantity:
        """The reader's own unit only."""
        return Quantity(self.primary, "", self.attributes, self.value_id)


def _digits(figure: float) -> str:
    """A figure as text: twelve digits are more than any check compares."""
    return f"{float(figure):.12g}"


def _attributes(
    name: str, text: str, kind: str, figures: dict[str, float], step: float, show: str
) -> tuple[tuple[str, str], ...]:
    written = {key: _digits(figure) for key, figure in figures.items()}
    return (
        (name, text),
        ("data-kind", kind),
        *((f"data-{key}", figure) for key, figure in written.items()),
        ("data-step", _digits(step)),
        *((("data-show", show),) if show != "pair" else ()),
    )


def shown_value(value: Value, prefer: Preference, show: Show = "span") -> Quantity:
    """A worksheet value, which must be available and be one figure."""
    if not value.ok or value.value is None:
        raise ValueError(f"{value.id} is unavailable")
    low = value.value if value.low is None else value.low
    high = value.value if value.high is None else value.high
    shown, step = _shown(value.kind, (low, value.value, high), value.step, prefer, show)
    figures = {"si": value.value} if show == "pair" else {"si": value.value, "low": low, "high": high}
    attributes = _attributes("data-value", value.id, value.kind, figures, step, show)
    return Quantity(shown.primary, shown.secondary, attributes, value.id)


def shown_measure(measure: Measure, leaf: str, prefer: Preference, show: Show = "pair") -> Quantity:
    """A typed quantity of the profile or survey."""
    if show == "pair" and measure.is_range:
        show = "span"
    figures = (
        {"si": measure.value}
        if show == "pair"
        else {"si": measure.value, "low": measure.low, "high": measure.high}
    )
    if show == "pair":
        shown, step = measure_pair(measure, prefer), measure.step
    else:
        shown, step = _shown(
            measure.kind, (measure.low, measure.value, measure.high), measure.step, prefer, show
        )
    attributes = _attributes("data-leaf", leaf, measure.kind, figures, step, show)
    if show == "pair" and measure.trade:
        attributes = (*attributes, ("data-trade", _digits(_trade_rounding(measure))))
    return Quantity(shown.primary, shown.secondary, attributes)


def _trade_rounding(measure: Measure) -> float:
    from procgen.procedure.filters import Figure

    return float(Figure(measure, "pair")._trade_rounding())


def _shown(
    kind: str, ends: tuple[float, float, float], step: float, prefer: Preference, show: Show
) -> tuple[Shown, float]:
    low, value, high = ends
    if show == "pair":
        return pair(kind, value, step, prefer), step
    if show in {"span", "count_span"}:
        return pair_range(kind, low, high, step, prefer, "outward"), step
    if show == "limits":
        return inward_range(kind, low, high, step, prefer)
    rounding, upward = _END[show]
    return pair(kind, high if upward else low, step, prefer, rounding, upward), step  # type: ignore[arg-type]


def shown_figure(kind: str, si: float, step: float, prefer: Preference) -> Quantity:
    """A point of a curve or a sum of typed figures: a figure without an id of its own."""
    shown = pair(kind, si, step, prefer)
    attributes = (
        ("data-kind", kind),
        ("data-si", _digits(si)),
        ("data-step", _digits(step)),
        ("data-show", "pair"),
    )
    return Quantity(shown.primary, shown.secondary, attributes)


def sentence_pieces(parts: Iterable[str | Figure], prefer: Preference) -> list[str | Quantity]:
    """A finding's sentence with its figures marked."""
    return [part if isinstance(part, str) else _figure_quantity(part, prefer) for part in parts]


def _figure_quantity(figure: Figure, prefer: Preference) -> Quantity:
    shown, step = _shown(
        figure.kind, (figure.low, figure.value, figure.high), figure.step, prefer, figure.mode
    )
    figures = {"si": figure.value}
    if figure.mode != "pair":
        figures |= {"low": figure.low, "high": figure.high}
    name = "data-leaf" if figure.is_leaf else "data-value"
    attributes = _attributes(name, figure.name, figure.kind, figures, step, figure.mode)
    return Quantity(shown.primary, shown.secondary, attributes, "" if figure.is_leaf else figure.name)
