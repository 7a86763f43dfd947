"""Timeline of the visit: time runs down, one column for each role, waits and hold points in their places."""

from __future__ import annotations

from dataclasses import dataclass

from procgen.figures import chart as c
from procgen.figures.canvas import LINE, Canvas, number
from procgen.figures.drawing import Content
from procgen.figures.quantity import shown_figure
from procgen.figures.scene import Scene, Table
from procgen.figures.text import Label, Paragraph, lay_out
from procgen.procedure.model import Hold, Part, Step
from procgen.procedure.plan import PlanRow, plan

ROLES = ("planner", "technician", "electrician", "water_expert", "builder", "owner")
CLOCK = 300.0
HOUR = 3600.0


@dataclass(frozen=True)
class Bar:
    """Work or a wait of one role, in seconds from the start."""

    role: str
    start: float
    end: float
    wait: bool


@dataclass(frozen=True)
class Event:
    """The start of a part, or a hold point."""

    at: float
    lines: list[Paragraph]
    hold: bool


def timeline(scene: Scene) -> Content | None:
    """The planned visit; None for a procedure without steps."""
    rows = {row.step: row for row in plan(scene.data.procedure).rows}
    bars, events, end = _laid_out(scene, rows)
    if not bars or end <= 0:
        return None
    roles = [role for role in ROLES if any(bar.role == role for bar in bars)]
    totals = _totals(scene, roles)

    def draw(canvas: Canvas) -> float:
        bottom = _Chart(canvas, scene, roles, bars, events, end).draw()
        return c.legend(canvas, bottom, totals)

    table = Table(
        (scene.say("timeline.column_what"), scene.say("timeline.column_when")),
        tuple((e.lines[0], [shown_figure("time", e.at, CLOCK, scene.prefer)]) for e in events),
    )
    return Content(draw, scene.say("timeline.title"), scene.say("timeline.description"), table)


def _laid_out(scene: Scene, rows: dict[str, PlanRow]) -> tuple[list[Bar], list[Event], float]:
    """Steps one after the other as the plan has them, holds after the step before them."""
    now = 0.0
    bars: list[Bar] = []
    events: list[Event] = []
    for part in scene.data.procedure.parts:
        events.append(Event(now, [scene.say("timeline.part", number=part.number, title=part.title)], False))
        now = _part(scene, part, rows, now, bars, events)
    return bars, events, now


def _part(
    scene: Scene, part: Part, rows: dict[str, PlanRow], now: float, bars: list[Bar], events: list[Event]
) -> float:
    for item in part.items:
        if isinstance(item, Step):
            row = rows[item.id]
            for seconds, wait in ((row.work_s, False), (row.wait_s, True)):
                if seconds > 0:
                    _append(bars, Bar(row.role, now, now + seconds, wait))
                    now += seconds
        elif isinstance(item, Hold):
            words = scene.say("timeline.hold", title=item.title, role=scene.word(item.by))
            events.append(Event(now, [words], True))
    return now


def _append(bars: list[Bar], bar: Bar) -> None:
    """Work that goes on is one bar."""
    if bars and bars[-1].role == bar.role and bars[-1].wait == bar.wait:
        bars[-1] = Bar(bar.role, bars[-1].start, bar.end, bar.wait)
    else:
        bars.append(bar)


def _totals(scene: Scene, roles: list[str]) -> list[tuple[c.Sample | None, list[Paragraph]]]:
    found: list[tuple[c.Sample | None, list[Paragraph]]] = [
        (c.band_sample("work"), [scene.say("timeline.work")]),
        (c.mark_sample(_wait_sample), [scene.say("timeline.wait")]),
        (c.mark_sample(c.diamond), [scene.say("timeline.hold_key")]),
    ]
    total = scene.q("time.total", "pair")
    if total is not None:
        found.append((None, [scene.pieces("timeline.total", time=total)]))
    # Nobody stays for hours beside a boiler that cools: it is no part of the visit's time.
    cooling = scene.q("flush.cooling", "span")
    if cooling is not None:
        found.append((None, [scene.pieces("timeline.cooling", time=cooling)]))
    for role in roles:
        figure = scene.q(f"time.by_role[{role}]", "pair")
        if figure is not None:
            pieces = scene.pieces("timeline.by_role", role=scene.word(role).capitalize(), time=figure)
            found.append((None, [pieces]))
    return found


def _wait_sample(canvas: Canvas, x: float, y: float) -> None:
    canvas.rect(x - 13, y - 6, 26, 12, "body")
    canvas.line(x, y - 4, x, y + 4, "dots")


class _Chart:
    """Draws the columns and the labels to their right."""

    def __init__(
        self, canvas: Canvas, scene: Scene, roles: list[str], bars: list[Bar], events: list[Event], end: float
    ) -> None:
        self.canvas = canvas
        self.scene = scene
        self.roles = roles
        self.bars = bars
        self.events = events
        self.end = end
        self.wide = canvas.width >= 600
        self.column = 76.0 if self.wide else 24.0
        self.left = 34.0
        self.after = self.left + self.column * len(roles)
        self.words = self.after + 44
        size = canvas.width - self.words - 4
        self.labels: list[Label] = [lay_out(e.lines, size, 12, bold_first=not e.hold) for e in events]
        needed = sum(label.lines * LINE + 5 for label in self.labels)
        # On paper a whole visit shares a sheet with the text before it.
        self.scale = max((34.0 if canvas.theme == "print" else 44.0) / HOUR, needed / end)
        self.top = self._head()

    def y(self, seconds: float) -> float:
        return self.top + seconds * self.scale

    def _head(self) -> float:
        """Names of the roles above their columns; on end where the columns are narrow."""
        words = [self.scene.word(role).capitalize() for role in self.roles]
        self.canvas.text(2, 0, self.scene.say("timeline.hours"), 90, size=11, role="soft")
        if self.wide:
            labels = [lay_out([word], self.column - 6, 11) for word in words]
            for i, label in enumerate(labels):
                x = self.left + self.column * (i + 0.5)
                self.canvas.label(x, 18, label, anchor="middle", size=11)
            return 18 + max(label.lines for label in labels) * LINE + 8
        height = max(lay_out([word], 400, 11).width for word in words) + 20
        for i, word in enumerate(words):
            x = self.left + self.column * (i + 0.5)
            self.canvas.add(f'<g transform="rotate(-90 {number(x)} {number(height)})">')
            self.canvas.text(x, height - 7, word, 400, size=11)
            self.canvas.close()
        return height + 8

    def draw(self) -> float:
        canvas = self.canvas
        bottom = self.y(self.end)
        every = 1 if self.end < 20 * HOUR else 2
        for hour in range(0, int(self.end // HOUR) + 1, every):
            y = self.y(hour * HOUR)
            canvas.line(self.left - 4, y, self.after, y, "grid")
            canvas.text(self.left - 8, y - LINE / 2, str(hour), 30, anchor="end", size=11, role="soft")
        for i in range(len(self.roles) + 1):
            x = self.left + self.column * i
            canvas.line(x, self.top, x, bottom, "thin")
        for bar in self.bars:
            self._bar(bar)
        return max(bottom, self._events()) + 6

    def _bar(self, bar: Bar) -> None:
        x = self.left + self.column * self.roles.index(bar.role) + 3
        y, height = self.y(bar.start), (bar.end - bar.start) * self.scale
        width = self.column - 6
        self.canvas.open(f' data-bar="{"wait" if bar.wait else "work"}" data-role="{bar.role}"')
        if bar.wait:
            self.canvas.rect(x, y + 0.7, width, max(height - 1.4, 1.2), "body")
            if height > 6:
                self.canvas.line(x + width / 2, y + 3, x + width / 2, y + height - 3, "dots")
        else:
            self.canvas.rect(x, y + 0.4, width, max(height - 0.8, 0.8), "work")
        self.canvas.close()

    def _events(self) -> float:
        canvas = self.canvas
        heights = [label.lines * LINE + 5 for label in self.labels]
        wanted = [self.y(event.at) - LINE / 2 for event in self.events]
        below = self.top
        for event, label, y in zip(
            self.events, self.labels, spread(wanted, heights, self.top - 8), strict=True
        ):
            at, middle = self.y(event.at), y + LINE / 2
            canvas.poly([(self.after, at), (self.after + 8, at), (self.words - 20, middle)], "thin")
            canvas.open(f' data-event="{"hold" if event.hold else "part"}"')
            if event.hold:
                c.diamond(canvas, self.words - 11, middle)
            else:
                canvas.line(self.words - 20, middle, self.words - 6, middle, "thin")
            canvas.label(self.words, y, label)
            canvas.close()
            below = y + label.lines * LINE
        return below


def spread(wanted: list[float], heights: list[float], top: float) -> list[float]:
    """Places for labels in order, none over its neighbour, as near as can be to where they belong."""
    # Neighbours that would overlap become one block, which stands at the mean of what its members want.
    blocks: list[tuple[float, list[int]]] = []
    offsets = [0.0]
    for height in heights:
        offsets.append(offsets[-1] + height)

    def mean(members: list[int]) -> float:
        start = offsets[members[0]]
        return max(top, sum(wanted[i] - (offsets[i] - start) for i in members) / len(members))

    for index in range(len(wanted)):
        members = [index]
        while blocks:
            place, before = blocks[-1]
            size = offsets[members[0]] - offsets[before[0]]
            if place + size <= mean(members):
                break
            blocks.pop()
            members = before + members
        blocks.append((mean(members), members))
    return [place + offsets[i] - offsets[members[0]] for place, members in blocks for i in members]
