"""Positioning: counter, machine, feet, clearances, cut-out to scale, each length by a letter; weights."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from procgen.figures import chart as c
from procgen.figures.canvas import LINE, Canvas
from procgen.figures.drawing import Content
from procgen.figures.scene import Scene, Table
from procgen.figures.text import Paragraph, Piece

RIGHT = 66.0
LEFT = 12.0
SMALLEST = 24.0
#: the machine is drawn at least this high; a counter too long for that is cut
LEAST = 28.0
#: without those that look like a line or a ring
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"


@dataclass
class Letters:
    """Letters in the order in which lengths are drawn, with what each stands for."""

    scene: Scene
    lines: list[tuple[str, list[Piece]]] = field(default_factory=list)
    given: dict[str, str] = field(default_factory=dict)

    def of(self, key: str, section: object, name: str) -> str:
        """The letter of a length; the same length keeps its letter."""
        if key not in self.given:
            letter = LETTERS[len(self.given)]
            self.given[key] = letter
            figure = self.scene.need(section, name)  # type: ignore[arg-type]
            self.lines.append((letter, self.scene.pieces(f"positioning.{key}", size=figure)))
        return self.given[key]


def positioning(scene: Scene) -> Content:
    """The place of the machine, from the front and from above."""
    letters = _letters(scene)
    notes = _notes(scene)
    entries: list[tuple[c.Sample | None, list[Paragraph]]] = [
        (_letter_sample(letter), [pieces]) for letter, pieces in letters.lines
    ]
    entries += [(None, [note]) for note in notes]

    def draw(canvas: Canvas) -> float:
        wide = canvas.width >= 600
        each = canvas.width / 2 - 12 if wide else canvas.width
        scale = _scale(scene, each)
        front = _View(canvas, scene, letters, 0.0, each, scale)
        bottom = front.front(0.0)
        above = _View(canvas, scene, letters, each + 24 if wide else 0.0, each, scale)
        low = above.plan(0.0 if wide else bottom + 14)
        return c.legend(canvas, max(bottom, low), entries)

    rows = tuple((pieces, letter) for letter, pieces in letters.lines) + tuple((_flat(n), "") for n in notes)
    columns = (scene.say("positioning.column_what"), scene.say("positioning.column_letter"))
    title = scene.say("positioning.title", name=scene.machine.name)
    return Content(draw, title, scene.say("positioning.description"), Table(columns, rows))


def _flat(line: Paragraph) -> Sequence[Piece]:
    return [line] if isinstance(line, str) else line


def _letter_sample(letter: str) -> c.Sample:
    def draw(canvas: Canvas, x: float, y: float) -> None:
        canvas.text(x + 13, y - LINE / 2, [letter], 20, anchor="middle", bold_first=True)

    return draw


def _letters(scene: Scene) -> Letters:
    letters, body = Letters(scene), scene.machine.body
    counter = scene.site.counter if scene.site else None
    for name in ("width", "height", "depth", "clearance_side", "clearance_top", "clearance_back"):
        letters.of(name, body, name)
    letters.of("cutout_needed", body, "cutout_diameter")
    if counter is None:
        scene.left_out.append(scene.say("positioning.no_counter"))
        return letters
    letters.of("counter_width", counter, "width")
    letters.of("counter_depth", counter, "depth")
    letters.of("clear_height", counter, "clear_height")
    letters.of("counter_height", counter, "height")
    if counter.cutout_diameter is not None:
        letters.of("cutout_found", counter, "cutout_diameter")
    else:
        scene.left_out.append(scene.say("positioning.no_cutout"))
    return letters


def _notes(scene: Scene) -> list[Paragraph]:
    body = scene.machine.body
    notes: list[Paragraph] = [
        scene.pieces(
            "positioning.feet",
            count=str(body.feet),
            size=scene.need(body, "foot_diameter"),
            travel=scene.need(body, "foot_adjustment"),
        )
    ]
    for identifier, key in (
        ("handling.mass", "mass"),
        ("handling.operating_mass", "operating_mass"),
        ("handling.foot_load", "foot_load"),
        ("handling.counter_load", "counter_load"),
    ):
        figure = scene.q(identifier)
        if figure is not None:
            notes.append(scene.pieces(f"positioning.{key}", figure=figure))
    permitted = scene.m(scene.site.counter if scene.site else None, "permitted_load", "at_most")
    if permitted is not None:
        notes.append(scene.pieces("positioning.permitted", figure=permitted))
    notes.append(scene.say("positioning.not_known"))
    return notes


def _scale(scene: Scene, each: float) -> float:
    body = scene.machine.body
    counter = scene.site.counter if scene.site else None
    widths = [body.width.value + 2 * body.clearance_side.value]
    if counter is not None:
        widths.append(counter.width.value)
    fits = (each - LEFT - RIGHT) / max(widths)
    smallest = min(body.height.value, body.depth.value)
    return max(fits, min(LEAST / smallest, (each - LEFT - RIGHT) / widths[0]))


class _View:
    """One view with its dimension lines."""

    def __init__(
        self, canvas: Canvas, scene: Scene, letters: Letters, left: float, width: float, scale: float
    ) -> None:
        self.canvas = canvas
        self.body = scene.machine.body
        self.counter = scene.site.counter if scene.site else None
        self.letters = letters.given
        self.scene = scene
        self.scale = scale
        self.left = left + LEFT
        self.right = left + width - RIGHT
        self.middle = (self.left + self.right) / 2
        self.half = self.body.width.value * scale / 2

    def _title(self, key: str, y: float) -> float:
        self.canvas.text(
            self.left, y, [self.scene.say(key)], self.right - self.left + 40, bold_first=True, max_lines=1
        )
        return y + LINE + 6

    def across(self, x1: float, x2: float, y: float, letter: str, outside: bool = False) -> None:
        """A horizontal length; its letter in the line's gap, or before its start."""
        canvas = self.canvas
        canvas.path(f"M{x1:.1f} {y - 4:.1f}V{y + 4:.1f}M{x2:.1f} {y - 4:.1f}V{y + 4:.1f}", "thin")
        if outside or x2 - x1 < SMALLEST:
            canvas.line(x1, y, x2, y, "thin")
            canvas.text(x1 - 4, y - LINE / 2, letter, 20, anchor="end")
            return
        mid = (x1 + x2) / 2
        canvas.line(x1, y, mid - 10, y, "thin")
        canvas.line(mid + 10, y, x2, y, "thin")
        canvas.text(mid, y - LINE / 2, letter, 20, anchor="middle")

    def up(self, y1: float, y2: float, x: float, letter: str, outside: bool = False) -> None:
        """A vertical length from its upper to its lower end; its letter in the gap, or above."""
        canvas = self.canvas
        canvas.path(f"M{x - 4:.1f} {y1:.1f}H{x + 4:.1f}M{x - 4:.1f} {y2:.1f}H{x + 4:.1f}", "thin")
        if outside or y2 - y1 < SMALLEST:
            canvas.line(x, y1, x, y2, "thin")
            canvas.text(x, y1 - LINE - 1, letter, 20, anchor="middle")
            return
        mid = (y1 + y2) / 2
        canvas.line(x, y1, x, mid - 9, "thin")
        canvas.line(x, mid + 9, x, y2, "thin")
        canvas.text(x, mid - LINE / 2, letter, 20, anchor="middle")

    def front(self, y: float) -> float:
        """From the front: heights and widths."""
        canvas, body, k = self.canvas, self.body, self.scale
        y = self._title("positioning.front", y)
        row = y + 8
        height, above = body.height.value * k, body.clearance_top.value * k
        clear = self.counter.clear_height.value * k if self.counter else 0.0
        needed = max(height + above, clear)
        table = row + 26 + needed
        side = body.clearance_side.value * k
        x1, x2 = self.middle - self.half, self.middle + self.half
        top = table - height
        for x in (x1, x2, x1 - side):
            canvas.line(x, row + 6, x, top if x != x1 - side else top - above, "dots")
        self.across(x1, x2, row, self.letters["width"])
        self.across(x1 - side, x1, row, self.letters["clearance_side"], outside=True)
        canvas.rect(x1 - side, top - above, 2 * (self.half + side), height + above, "dash")
        foot = max(body.foot_adjustment.value * k, 3.0)
        canvas.rect(x1, top, 2 * self.half, height - foot, "body", 3)
        self._front_feet(x1, x2, table - foot, foot)
        bottom = self._counter_front(table)
        # Dimension lines keep clear of each other: heights inside, the clear height outside.
        inner, outer = self.right + 18, self.right + 46
        self.up(top, table, inner, self.letters["height"])
        self.up(top - above, top, inner, self.letters["clearance_top"], outside=True)
        for level in (top, top - above):
            canvas.line(x2 if level == top else x2 + side, level, inner - 6, level, "dots")
        if self.counter:
            self.up(table - clear, table, outer, self.letters["clear_height"])
            canvas.line(self.left, table - clear, inner - 10, table - clear, "line")
        return bottom

    def _front_feet(self, x1: float, x2: float, y: float, height: float) -> None:
        count = max(2, (self.body.feet + 1) // 2)
        width = self.body.foot_diameter.value * self.scale
        for i in range(count):
            x = x1 + 4 + (x2 - x1 - 8 - width) * i / (count - 1)
            self.canvas.rect(x, y, width, height, "ink")

    def _counter_front(self, table: float) -> float:
        canvas = self.canvas
        if self.counter is None:
            canvas.line(self.left, table, self.right, table, "line")
            return table + 10
        half = self._counter_half()
        canvas.rect(self.middle - half, table, 2 * half, 7, "body")
        self._cuts(half, table + 3.5, 7)
        down = self.counter.height.value * self.scale
        floor = table + down
        canvas.line(self.left - 8, floor, self.right + 8, floor, "thin")
        for x in (self.middle - half + 8, self.middle + half - 8):
            canvas.line(x, table + 7, x, floor, "thin")
        self.across(self.middle - half, self.middle + half, floor + 12, self.letters["counter_width"])
        self.up(table, floor, self.right + 46, self.letters["counter_height"])
        return floor + 24

    def _counter_half(self) -> float:
        assert self.counter is not None
        return min(self.counter.width.value * self.scale, self.right - self.left) / 2

    def _cuts(self, half: float, y: float, reach: float) -> None:
        """Double strokes where a counter goes on beyond the drawing."""
        assert self.counter is not None
        if 2 * half >= self.counter.width.value * self.scale - 0.01:
            return
        for x in (self.middle - half + 6, self.middle + half - 10):
            top, bottom = y - reach, y + reach
            self.canvas.path(
                f"M{x:.1f} {bottom:.1f}L{x + 4:.1f} {top:.1f}m4 0L{x + 4:.1f} {bottom:.1f}", "line"
            )

    def plan(self, y: float) -> float:
        """From above: depths, feet, cut-out."""
        canvas, body, k = self.canvas, self.body, self.scale
        y = self._title("positioning.above", y) + 22
        back, deep = body.clearance_back.value * k, body.depth.value * k
        depth = self.counter.depth.value * k if self.counter else back + deep
        half = self._counter_half() if self.counter else self.half + body.clearance_side.value * k
        canvas.line(self.left - 6, y, self.right + 6, y, "c5")
        canvas.rect(self.middle - half, y, 2 * half, depth, "dash" if self.counter is None else "thin")
        if self.counter:
            self._cuts(half, y + depth / 2, 10)
        x1 = self.middle - self.half
        canvas.rect(x1, y + back, 2 * self.half, deep, "line", 3)
        self._plan_feet(x1, y + back, deep)
        bottom = max(y + depth, y + back + deep)
        cut = self._cutouts(y + back + deep / 2, bottom)
        inner, outer = self.right + 18, self.right + 46
        self.up(y + back, y + back + deep, inner, self.letters["depth"])
        self.up(y, y + back, inner, self.letters["clearance_back"], outside=True)
        for level in (y + back, y + back + deep):
            canvas.line(self.middle + self.half, level, inner - 6, level, "dots")
        if self.counter:
            self.up(y, y + depth, outer, self.letters["counter_depth"])
        return cut

    def _plan_feet(self, x1: float, y: float, deep: float) -> None:
        count = self.body.feet
        r = self.body.foot_diameter.value * self.scale / 2
        front = count // 2
        for row, number in ((y + deep - r - 4, front), (y + r + 4, count - front)):
            for i in range(number):
                share = i / (number - 1) if number > 1 else 0.5
                x = x1 + r + 4 + (2 * self.half - 2 * r - 8) * share
                self.canvas.circle(x, row, r, "body")

    def _cutouts(self, centre: float, bottom: float) -> float:
        canvas, k = self.canvas, self.scale
        found = self.counter.cutout_diameter if self.counter else None
        places = [("cutout_needed", self.body.cutout_diameter, "dash", -1)]
        if found is not None:
            places.append(("cutout_found", found, "line", 1))
        for key, diameter, role, side in places:
            r = diameter.value * k / 2
            x = self.middle + side * 26
            canvas.circle(x, centre, r, role)
            canvas.line(x, centre + r, x, bottom + 10, "dots")
            canvas.text(x, bottom + 12, self.letters[key], 20, anchor="middle")
        return bottom + 30
