"""How a worksheet's figures read: predicted ranges outward, permitted limits inward, wherever they stand."""

from __future__ import annotations

from procgen.units.kinds import Preference
from procgen.units.show import Shown
from procgen.values.figure import Figure, Mode, shown_figure
from procgen.values.worksheet import Value


def figure_of(value: Value, mode: Mode) -> Figure:
    """A value as a figure that is shown in one way.

    A limit is kept wherever in its own range it lies: what may be reached at most is its lower end.
    """
    assert value.value is not None
    low = value.value if value.low is None else value.low
    high = value.value if value.high is None else value.high
    if mode == "at_most":
        high = low
    elif mode == "at_least":
        low = high
    return Figure(value.kind, value.value, low, high, value.step, mode, value.id)


def at_nominal(value: Value) -> Figure:
    """A value at nominal inputs; a limit without a range as the limit it is."""
    fixed = value.low is None or value.low == value.high
    return figure_of(value, value.limit if value.limit and fixed else "pair")


def over_range(value: Value) -> Figure:
    """A value over the ranges of its inputs; of a limit the one figure that keeps it."""
    return figure_of(value, value.limit or ("pair" if value.low is None else "span"))


def shown_pair(value: Value, prefer: Preference) -> Shown:
    """A value at nominal inputs."""
    return shown_figure(at_nominal(value), prefer)


def shown_span(value: Value, prefer: Preference) -> Shown:
    """A value over the ranges of its inputs."""
    return shown_figure(over_range(value), prefer)
