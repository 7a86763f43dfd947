"""Axes, bands and legends of the charts: both units on the axes, no word inside the plot."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from procgen.figures.canvas import LINE, Canvas
from procgen.figures.text import Paragraph, lay_out
from procgen.units.kinds import KINDS, Preference, from_si, to_si
from procgen.units.show import number_text

SMALL = 11.0
LEFT = 46.0
RIGHT = 46.0
#: width of a legend's sample
SAMPLE = 34.0
_TIME_STEPS = (5, 10, 15, 30, 60, 120, 300, 600, 900, 1200, 1800, 3600, 7200)


@dataclass(frozen=True)
class Axis:
    """A quantity along an edge of the plot, in SI."""

    kind: str
    low: float
    high: float
    title: str
    prefer: Preference = "metric"

    def symbols(self) -> tuple[str, str]:
        """The reader's unit and the other one; empty where there is no other."""
        if self.kind == "time":
            return ("min" if self.high - self.low > 180 else "s"), ""
        kind = KINDS[self.kind]
        first, second = (kind.metric, kind.us) if self.prefer == "metric" else (kind.us, kind.metric)
        return first, second if second != first else ""

    def ticks(self, symbol: str, count: int) -> list[tuple[float, str]]:
        """About so many round figures of a unit, as SI place and text."""
        if self.kind == "time":
            return self._time_ticks(symbol, count)
        kind = KINDS[self.kind]
        low, high = from_si(kind, symbol, self.low), from_si(kind, symbol, self.high)
        step = _round_step((high - low) / max(count, 1))
        decimals = next(d for d in range(12) if abs(step * 10**d - round(step * 10**d)) < 1e-6)
        first = math.ceil(low / step - 1e-9)
        last = math.floor(high / step + 1e-9)
        return [
            (to_si(kind, symbol, k * step), number_text(k * step, decimals)) for k in range(first, last + 1)
        ]

    def _time_ticks(self, symbol: str, count: int) -> list[tuple[float, str]]:
        wanted = (self.high - self.low) / max(count, 1)
        unit = 60 if symbol == "min" else 1
        step = next((s for s in _TIME_STEPS if s >= wanted and s % unit == 0), _TIME_STEPS[-1])
        return [(k * step, str(k * step // unit)) for k in range(math.floor(self.high / step) + 1)]


def _round_step(raw: float) -> float:
    exponent = 10.0 ** math.floor(math.log10(raw))
    return next(m * exponent for m in (1, 2, 2.5, 5, 10) if m * exponent >= raw * 0.999)


@dataclass(frozen=True)
class Frame:
    """The plot's area and its two axes."""

    x: Axis
    y: Axis
    left: float
    top: float
    right: float
    bottom: float
    #: space for marks between the axis titles and the plot
    head: float = 0.0

    def px(self, si: float) -> float:
        """Place along the horizontal axis."""
        return self.left + (si - self.x.low) / (self.x.high - self.x.low) * (self.right - self.left)

    def py(self, si: float) -> float:
        """Place along the vertical axis."""
        return self.bottom - (si - self.y.low) / (self.y.high - self.y.low) * (self.bottom - self.top)

    def points(self, pairs: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        """Points in SI as places; what lies on the line between its neighbours is left out."""
        return thinned([(self.px(x), self.py(y)) for x, y in pairs])


#: how far beside a curve its drawn line may lie, in the drawing's units: less than places are rounded to
_BESIDE = 0.08


def thinned(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """The fewest of the points between which straight lines stay on the curve (Douglas and Peucker, 1973)."""
    if len(points) < 3:
        return points
    (x1, y1), (x2, y2) = points[0], points[-1]
    length = math.hypot(x2 - x1, y2 - y1)

    def beside(x: float, y: float) -> float:
        if length == 0:
            return math.hypot(x - x1, y - y1)
        return abs((x2 - x1) * (y1 - y) - (x1 - x) * (y2 - y1)) / length

    far, at = max((beside(*points[i]), i) for i in range(1, len(points) - 1))
    if far <= _BESIDE:
        return [points[0], points[-1]]
    return thinned(points[: at + 1])[:-1] + thinned(points[at:])


def frame(canvas: Canvas, x: Axis, y: Axis, head: float = 0, top: float = 0) -> Frame:
    """The plot below the axis titles and ``head`` of space for marks above it."""
    height = 240.0 if canvas.width >= 600 else 200.0
    right = canvas.width - (RIGHT if y.symbols()[1] else 14)
    start = top + 22 + head
    return Frame(x, y, LEFT, start, right, start + height, head)


def axes(canvas: Canvas, f: Frame, x_ticks: Sequence[tuple[float, str]] | None = None) -> float:
    """Grid, ticks and titles; gives the lowest point."""
    first, second = f.y.symbols()
    title_y = f.top - f.head - 20
    _title(canvas, 2, title_y, f"{f.y.title}, {first}" if first else f.y.title, "start", f.right - 40)
    for si, text in f.y.ticks(first, 5):
        y = f.py(si)
        canvas.line(f.left, y, f.right, y, "grid")
        canvas.line(f.left - 4, y, f.left, y, "thin")
        canvas.text(f.left - 7, y - LINE / 2, text, 60, anchor="end", size=SMALL, role="soft")
    if second:
        _title(canvas, canvas.width - 2, title_y, second, "end", 60)
        for si, text in f.y.ticks(second, 5):
            y = f.py(si)
            canvas.line(f.right, y, f.right + 4, y, "thin")
            canvas.text(f.right + 7, y - LINE / 2, text, 60, size=SMALL, role="soft")
    canvas.poly([(f.left, f.top), (f.left, f.bottom), (f.right, f.bottom), (f.right, f.top)], "thin")
    return _below(canvas, f, x_ticks)


def _title(canvas: Canvas, x: float, y: float, text: str, anchor: str, limit: float) -> None:
    canvas.text(x, y, text, limit, anchor=anchor, size=SMALL, role="soft", max_lines=1)  # type: ignore[arg-type]


def _below(canvas: Canvas, f: Frame, given: Sequence[tuple[float, str]] | None) -> float:
    first, second = f.x.symbols()
    count = 8 if canvas.width >= 600 else 5
    y = f.bottom
    _row(canvas, f, given if given is not None else f.x.ticks(first, count), y, 1)
    y += 20
    if given is None and second:
        _row(canvas, f, f.x.ticks(second, count), y - 3, -1)
        y += 16
    unit = f"{first}" + (f" / {second}" if second and given is None else "")
    text = f"{f.x.title}, {unit}" if unit and given is None else f.x.title
    height = canvas.text(
        (f.left + f.right) / 2, y + 1, text, f.right - f.left, anchor="middle", size=SMALL, role="soft"
    )
    return y + height + 4


def _row(canvas: Canvas, f: Frame, ticks: Sequence[tuple[float, str]], y: float, mark: int) -> None:
    used = -1e9
    for si, text in ticks:
        x = f.px(si)
        if not f.left - 0.5 <= x <= f.right + 0.5:
            continue
        if mark > 0:
            canvas.line(x, y, x, y + 4, "thin")
        half = lay_out([text], 90, SMALL).width / 2
        if x - half < used + 4 or x + half > canvas.width:
            continue
        canvas.text(x, y + 5, text, 90, anchor="middle", size=SMALL, role="soft", max_lines=1)
        used = x + half


#: draws a sample around a point
Sample = Callable[[Canvas, float, float], None]


def line_sample(role: str) -> Sample:
    """A piece of a curve."""
    return lambda canvas, x, y: canvas.line(x, y, x + SAMPLE - 8, y, role)


def band_sample(role: str, edge: str = "") -> Sample:
    """A piece of a band."""

    def draw(canvas: Canvas, x: float, y: float) -> None:
        canvas.rect(x, y - 6, SAMPLE - 8, 12, role)
        if edge:
            canvas.line(x, y - 6, x + SAMPLE - 8, y - 6, edge)

    return draw


def mark_sample(mark: Callable[[Canvas, float, float], None]) -> Sample:
    """A mark."""
    return lambda canvas, x, y: mark(canvas, x + (SAMPLE - 8) / 2, y)


def legend(canvas: Canvas, y: float, entries: Sequence[tuple[Sample | None, Sequence[Paragraph]]]) -> float:
    """What marks and lines mean, with figures, in two columns where there is room; gives the lowest point."""
    y += 8
    columns = 2 if canvas.width >= 600 else 1
    each = canvas.width / columns
    for first in range(0, len(entries), columns):
        heights = []
        for i, (sample, lines) in enumerate(entries[first : first + columns]):
            left = SAMPLE + 2 if sample else 2
            label = lay_out(lines, each - left - 12, 12.0)
            canvas.label(each * i + left, y, label)
            if sample:
                sample(canvas, each * i + 2, y + LINE / 2)
            heights.append(label.lines * LINE + 7)
        y += max(heights)
    return y


def disc(canvas: Canvas, x: float, y: float) -> None:
    """A set point reached."""
    canvas.circle(x, y, 4.5, "ink")


def diamond(canvas: Canvas, x: float, y: float) -> None:
    """Ready, or a hold point."""
    canvas.poly([(x, y - 6.5), (x + 6.5, y), (x, y + 6.5), (x - 6.5, y)], "body", close=True)


def octagon(canvas: Canvas, x: float, y: float, r: float = 8.0) -> None:
    """Stop."""
    k = r * 0.414
    points = [(-k, -r), (k, -r), (r, -k), (r, k), (k, r), (-k, r), (-r, k), (-r, -k)]
    canvas.poly([(x + a, y + b) for a, b in points], "stop", close=True)
    canvas.rect(x - r * 0.55, y - r * 0.2, r * 1.1, r * 0.4, "on")


def triangle(canvas: Canvas, x: float, y: float) -> None:
    """Something happens at this time."""
    canvas.path(f"M{x:.1f} {y + 5:.1f}L{x - 5:.1f} {y - 4:.1f}H{x + 5:.1f}Z", "ink")


def whisker(canvas: Canvas, f: Frame, low: float, value: float, high: float, y: float) -> None:
    """A range on a row of its own above the plot."""
    x1, x2 = f.px(low), f.px(high)
    if x2 - x1 > 2:
        canvas.path(
            f"M{x1:.1f} {y - 4:.1f}V{y + 4:.1f}M{x1:.1f} {y:.1f}H{x2:.1f}M{x2:.1f} {y - 4:.1f}V{y + 4:.1f}",
            "thin",
        )
