"""A shown figure read again: its text to SI, converted by pint itself and not by the tables that wrote it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from bs4 import Tag

from procgen.units.kinds import KINDS, Kind
from procgen.units.registry import registry
from procgen.units.show import DASH, MINUS, NBSP, decimals_for, read_back, step_of

#: a figure that is a step to within this share is that step, as for the rounding that shows it
NOISE = 1e-8


@dataclass(frozen=True)
class Printed:
    """One printed figure: what its markup says and what its texts say."""

    kind: str
    show: str
    value_id: str
    leaf: str
    si: float | None
    low: float | None
    high: float | None
    step: float | None
    primary: str
    secondary: str
    #: SI size of the rounding of a figure that the trade states, or None
    trade: float | None

    @property
    def text(self) -> str:
        """What a reader sees."""
        return f"{self.primary} ({self.secondary})" if self.secondary else self.primary

    def read(self, text: str) -> tuple[tuple[float, float], ...]:
        """One of the texts read back; see ``read``."""
        return read(self.kind, self.show, text, self.step)

    @property
    def ends(self) -> tuple[float, float] | None:
        """SI figures of the shown ends; both the same for one figure."""
        low = self.si if self.low is None else self.low
        high = self.si if self.high is None else self.high
        if self.show in {"span", "limits", "count_span"}:
            ends = low, high
        elif self.show in {"upper", "at_most"}:
            ends = high, high
        elif self.show in {"lower", "at_least"}:
            ends = low, low
        else:
            ends = self.si, self.si
        return None if ends[0] is None or ends[1] is None else (ends[0], ends[1])


def printed(tag: Tag) -> Printed:
    """The figure of one element of class ``q``.

    Raises:
        ValueError: an attribute is missing or no number.
    """
    kind = str(tag.get("data-kind") or "")
    if kind not in KINDS:
        raise ValueError(f"data-kind={kind!r}")
    first, second = tag.find(class_="q1"), tag.find(class_="q2")
    return Printed(
        kind=kind,
        show=str(tag.get("data-show") or "pair"),
        value_id=str(tag.get("data-value") or ""),
        leaf=str(tag.get("data-leaf") or ""),
        si=_number(tag, "data-si"),
        low=_number(tag, "data-low"),
        high=_number(tag, "data-high"),
        step=_number(tag, "data-step"),
        primary=first.get_text() if first else tag.get_text(),
        secondary=second.get_text() if second else "",
        trade=_number(tag, "data-trade"),
    )


def _number(tag: Tag, name: str) -> float | None:
    text = tag.get(name)
    return None if text is None else float(str(text))


@lru_cache(maxsize=16384)
def read(kind: str, show: str, text: str, step: float | None = None) -> tuple[tuple[float, float], ...]:
    """SI figure and half its rounding for each end of a shown text.

    ``step`` is the SI step that the figure says it is shown with: 1150 may be rounded to tens. Without it,
    closing noughts of a whole number count as rounding.

    Raises:
        ValueError: the text is no figure of this kind.
    """
    if show in {"count", "count_span"}:
        numbers = re.findall(r"\d+", text)
        if not numbers:
            raise ValueError(f"no count in {text!r}")
        return tuple((float(number), 0.5) for number in numbers[:2])
    found = tuple(read_back(kind, text))
    for given, (si, half) in zip(_by_pint(kind, text), found, strict=False):
        if abs(given - si) > max(half * 1e-3, abs(si) * NOISE):
            raise ValueError(f"{text!r} is {given:g} by pint and {si:g} by the tables")
    if kind == "time":
        return tuple((si, max(half, (step or _watch_step(si)) / 2)) for si, half in found)
    coarse = _half_of_noughts(kind, text, step)
    return tuple((si, max(half, coarse)) for si, half in found)


def _watch_step(seconds: float) -> float:
    """The coarsest step of a watch that a duration is a whole number of."""
    return max((float(step) for step in (5, 10, 30, 60, 300, 600) if seconds % step == 0), default=1.0)


def _half_of_noughts(kind_name: str, text: str, step: float | None) -> float:
    """Half the rounding that closing noughts of whole numbers may stand for, no more than the step says."""
    kind = KINDS[kind_name]
    symbol = _symbol(kind, text)
    if symbol == "AWG" or "." in text:
        return 0.0
    numbers = re.findall(r"\d+", _plain(kind, text).removesuffix(symbol).replace("\u202f", ""))
    digits = min((len(n) - len(n.rstrip("0")) for n in numbers if n.strip("0")), default=0)
    if step:
        digits = min(digits, max(0, -decimals_for(kind, symbol, step)))
    return step_of(kind, symbol, 10.0**digits) / 2 if digits else 0.0


def _plain(kind: Kind, text: str) -> str:
    return text.replace(NBSP, " ").strip().removesuffix(kind.suffix)


def _symbol(kind: Kind, text: str) -> str:
    """The unit that a shown text ends with."""
    if text.startswith("AWG"):
        return "AWG"
    plain = _plain(kind, text)
    ordered = sorted({kind.metric, kind.us, kind.small}, key=len, reverse=True)
    return next((symbol for symbol in ordered if symbol and plain.endswith(symbol)), "")


def _by_pint(kind_name: str, text: str) -> list[float]:
    """The same text converted by pint, for units that pint knows by themselves."""
    kind = KINDS[kind_name]
    plain, symbol = _plain(kind, text), _symbol(kind, text)
    if not symbol or symbol == "AWG" or kind_name == "time":
        return []
    ureg = registry()
    numbers = re.split(rf"\s?{DASH}\s?", plain.removesuffix(symbol).strip())
    return [
        float(
            ureg.Quantity(float(number.replace("\u202f", "").replace(MINUS, "-")), kind.typed[symbol])
            .to(kind.si or "dimensionless")
            .magnitude
        )
        for number in numbers
    ]
