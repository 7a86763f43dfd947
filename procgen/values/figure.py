"""A quantity inside a sentence, and sentences made of words and quantities."""

from __future__ import annotations

from functools import lru_cache
from typing import Literal, NamedTuple

from procgen.units.kinds import Preference
from procgen.units.show import Rounding, Shown, pair, pair_range

#: how a figure is shown: nominal, a range, one predicted end, one end of what is permitted
Mode = Literal["pair", "span", "upper", "lower", "at_most", "at_least"]

#: how one end of a range is rounded, and whether it is the upper one
_ENDS: dict[str, tuple[Rounding, bool]] = {
    "upper": ("outward", True),
    "lower": ("outward", False),
    "at_most": ("inward", True),
    "at_least": ("inward", False),
}


class Figure(NamedTuple):
    """A quantity inside a sentence: shown as a pair, or as a span where it has one."""

    kind: str
    value: float
    low: float
    high: float
    step: float
    mode: Mode = "pair"
    #: id of the value, or dotted path of the leaf
    name: str = ""
    is_leaf: bool = False


class Quoted(str):
    """Text of a profile or survey inside a sentence: data, whatever it says."""

    __slots__ = ()


#: words and figures, in order
Parts = tuple[str | Figure, ...]


def shown_figure(figure: Figure, prefer: Preference) -> Shown:
    """A figure of a sentence."""
    if figure.mode == "span":
        return pair_range(figure.kind, figure.low, figure.high, figure.step, prefer, "outward")
    if figure.mode in _ENDS:
        rounding, upward = _ENDS[figure.mode]
        end = figure.high if upward else figure.low
        return pair(figure.kind, end, figure.step, prefer, rounding, upward)
    return pair(figure.kind, figure.value, figure.step, prefer)


def plain_sentence(parts: Parts, prefer: Preference) -> str:
    """A sentence as text."""
    return "".join(part if isinstance(part, str) else figure_text(part, prefer) for part in parts)


@lru_cache(maxsize=4096)
def figure_text(figure: Figure, prefer: Preference) -> str:
    """A figure of a sentence as text."""
    return shown_figure(figure, prefer).text
