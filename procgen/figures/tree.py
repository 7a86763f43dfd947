"""Piping as a tree: parts on vertical pipes, words to their right, branches beside or below each other.

A pipe has its own column and every label the rest of its row, so that no label meets a line: in wide places
branches stand side by side under a common pipe, in narrow ones below each other, set in by one pipe.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape

from procgen.figures import symbols
from procgen.figures.canvas import LINE, Canvas, number
from procgen.figures.text import Label, Paragraph, lay_out

#: from a pipe to its words, from pipe to set-in pipe, between rows
WORDS = 22.0
INDENT = 24.0
GAP = 15.0
EDGE = 18.0
SIZE = 12.0


@dataclass
class Row:
    """One part on the pipe: its symbol and its words; the first line names it."""

    symbol: str
    lines: list[Paragraph]
    kind: str
    mark: str = ""
    #: the pipe above it is drawn as: cold, hot, waste, or none where nothing flows in
    pipe: str = "cold"
    arrow: bool = True


@dataclass
class Block:
    """Rows on one pipe and the branches that leave its end."""

    rows: list[Row]
    children: list[Block] = field(default_factory=list)
    #: branches may stand side by side where there is room
    spread: bool = False
    #: the branches are inside a housing of this name
    zone: str = ""


@dataclass
class _Placed:
    x: float
    y: float
    right: float


class Tree:
    """Lays a tree out on a canvas."""

    def __init__(self, canvas: Canvas, wide: bool) -> None:
        self.canvas = canvas
        self.wide = wide
        self.zones: list[tuple[str, float, float, float, float]] = []

    def place(self, block: Block, x: float, y: float, right: float) -> float:
        """Draw a block with its pipe at ``x`` from ``y`` down; gives the lowest point."""
        below = self._rows(block, x, y, right)
        return self._branches(block, x, below, right)

    def _label(self, row: Row, x: float, right: float) -> Label:
        return lay_out(row.lines, right - x - WORDS, SIZE, bold_first=True, max_lines=9)

    def rows_height(self, block: Block, x: float, right: float) -> float:
        """Height that the rows of a block take."""
        total = 0.0
        for row in block.rows:
            label = self._label(row, x, right)
            total += GAP + max(2 * symbols.half(row.symbol), label.lines * LINE)
        return total

    def _rows(self, block: Block, x: float, y: float, right: float) -> float:
        end = y
        for index, row in enumerate(block.rows):
            label = self._label(row, x, right)
            half = symbols.half(row.symbol)
            top = y + GAP
            centre = round(top + max(half, LINE * min(label.lines, 2) / 2))
            self._pipe(x, end if index else y, centre - half, row)
            first = centre - 8 * min(label.lines, 2) + (1 if label.lines > 1 else 0)
            mark = f' data-mark="{escape(row.mark)}"' if row.mark else ""
            self.canvas.open(mark, x, centre)
            symbols.draw(self.canvas, row.symbol)
            self.canvas.label(WORDS, first - centre, label)
            self.canvas.close()
            end = centre + half
            y = max(end, first + label.lines * LINE)
        if block.rows and block.children and y > end:
            first_child = block.children[0].rows
            pipe = first_child[0].pipe if first_child else "cold"
            self._line(x, end, x, y, "cold" if pipe == "none" else pipe)
        return y

    def _pipe(self, x: float, y1: float, y2: float, row: Row) -> None:
        if row.pipe == "none" or y2 - y1 < 0.5:
            return
        self._line(x, y1, x, y2, row.pipe)
        if row.arrow and y2 - y1 >= 9:
            role = {"cold": "cold-fill", "hot": "hot-fill"}.get(row.pipe, "ink")
            tip = y2 - 1
            self.canvas.stroke(f"M{number(x)} {number(tip)}l-4-8h8z", role)

    def _line(self, x1: float, y1: float, x2: float, y2: float, role: str) -> None:
        across = f"V{number(y2)}" if x1 == x2 else f"H{number(x2)}"
        self.canvas.stroke(f"M{number(x1)} {number(y1)}{across}", role)

    def _branches(self, block: Block, x: float, y: float, right: float) -> float:
        if not block.children:
            return y
        if block.spread and (self.wide or len(block.children) == 1):
            return self._beside(block, x, y, right)
        return self._below(block, x, y, right)

    def _beside(self, block: Block, x: float, y: float, right: float) -> float:
        left = x - EDGE
        count = sum(leaves(child) for child in block.children)
        unit = (right - left) / count
        places: list[_Placed] = []
        at = left
        bus = y + 8 if len(block.children) > 1 or block.zone else y
        for child in block.children:
            share = unit * leaves(child)
            places.append(_Placed(at + EDGE, bus, at + share - 10))
            at += share
        if bus > y:
            self._line(x, y, x, bus, "cold")
        if len(places) > 1:
            self._line(x, bus, places[-1].x, bus, "cold")
        zoned = bool(block.zone)
        start = bus
        if zoned:
            head = self._zone_head(block.zone, places[0].x, bus, places[0].right)
            start = bus + head
            for place in places:
                self._line(place.x, bus, place.x, start, "cold")
        tops = [
            start + self.rows_height(c, p.x, p.right) for c, p in zip(block.children, places, strict=True)
        ]
        level = max(tops)
        inner = [c.zone for c in block.children if c.zone]
        bottoms = []
        heads = []
        for child, place in zip(block.children, places, strict=True):
            end = self._rows(child, place.x, start, place.right)
            if inner and child.children:
                self._line(place.x, end, place.x, level, "cold")
                heads.append((child, place))
                continue
            bottoms.append(self._branches(child, place.x, end, place.right))
        if heads:
            head = self._zone_head(inner[0], heads[0][1].x, level + 8, heads[0][1].right)
            for child, place in heads:
                self._line(place.x, level, place.x, level + 8 + head, "cold")
                plain = Block([], child.children, child.spread)
                bottoms.append(self._branches(plain, place.x, level + 8 + head, place.right))
            self._zone(heads[0][1].x, level + 8, heads[-1][1].right, max(bottoms))
        bottom = max(bottoms)
        if zoned:
            self._zone(places[0].x, bus, places[-1].right, bottom)
            bottom += 12
        return bottom + (12 if heads else 0)

    def _below(self, block: Block, x: float, y: float, right: float) -> float:
        top = y
        if block.zone:
            top = y + self._zone_head(block.zone, x, y + 4, right - 6) + 4
            self._line(x, y, x, top, "cold")
        rail = top
        bottom = top
        inner_right = right - 6 if block.zone else right
        for child in block.children:
            pipe = child.rows[0].pipe if child.rows else "cold"
            turn = bottom + 8
            if pipe != "none":
                self._line(x, rail, x, turn, pipe)
                self._line(x, turn, x + INDENT, turn, pipe)
                rail = turn
            bottom = self.place(child, x + INDENT, turn, inner_right)
        if block.zone:
            self._zone(x, y + 4, right - 2, bottom)
            bottom += 14
        return bottom

    def _zone_head(self, name: str, x: float, y: float, right: float) -> float:
        height = self.canvas.text(
            x + 10, y + 5, [name], right - x - 14, role="soft", bold_first=True, max_lines=2
        )
        return height + 6

    def _zone(self, x: float, y: float, right: float, bottom: float) -> None:
        left = x - EDGE + 2
        self.canvas.rect(left, y, right - left, bottom + 8 - y, "zone", 6)


def leaves(block: Block) -> int:
    """Columns that a block takes where branches stand side by side."""
    if not block.children or not block.spread:
        return 1
    return sum(leaves(child) for child in block.children)


def marks(blocks: Sequence[Block]) -> list[tuple[str, str]]:
    """Kinds and marks of all rows in drawing order."""
    found: list[tuple[str, str]] = []
    for block in blocks:
        found += [(row.kind, row.mark) for row in block.rows if row.mark]
        found += marks(block.children)
    return found


def rows_of(blocks: Sequence[Block]) -> list[Row]:
    """All rows in drawing order."""
    found: list[Row] = []
    for block in blocks:
        found += block.rows
        found += rows_of(block.children)
    return found
