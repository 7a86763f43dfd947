"""SVG text written piece by piece: every shape by its role, every label by its measured lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Literal

from procgen.figures.quantity import Quantity
from procgen.figures.style import paint
from procgen.figures.text import Label, Paragraph, lay_out, typed

Theme = Literal["screen", "print"]
Anchor = Literal["start", "middle", "end"]

SIZE = 12.0
LINE = 15.0


def number(value: float) -> str:
    """A coordinate: a tenth is finer than a screen shows."""
    text = f"{value:.1f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


@dataclass
class Canvas:
    """One drawing while it is made."""

    width: float
    theme: Theme = "screen"
    parts: list[str] = field(default_factory=list)
    #: strokes of one role that are written as one path
    strokes: dict[str, list[str]] = field(default_factory=dict)
    #: shapes used more than once: name -> markup around the origin
    shapes: dict[str, str] = field(default_factory=dict)
    #: what ids of this drawing start with
    prefix: str = ""
    #: the second form of a drawing leaves the origin of figures and parts to the first
    lean: bool = False

    def add(self, markup: str) -> None:
        """Markup that is finished."""
        self.parts.append(markup)

    def path(self, d: str, role: str = "line", extra: str = "") -> None:
        """A path."""
        self.add(f'<path d="{d}"{paint(role, self.theme)}{extra}/>')

    def line(self, x1: float, y1: float, x2: float, y2: float, role: str = "line") -> None:
        """A straight line."""
        self.path(f"M{number(x1)} {number(y1)}L{number(x2)} {number(y2)}", role)

    def stroke(self, d: str, role: str) -> None:
        """Part of the one path that all strokes of a role make, drawn below everything else."""
        self.strokes.setdefault(role, []).append(d)

    def use(self, name: str, markup: str) -> None:
        """A shape drawn at the origin of the group; it is written once for all forms of the drawing."""
        identifier = f"{self.prefix}-{name}"
        self.shapes.setdefault(identifier, markup)
        self.add(f'<use href="#{identifier}"/>')

    def markup(self) -> str:
        """Everything drawn."""
        below = "".join(
            f'<path d="{"".join(pieces)}"{paint(role, self.theme)}/>' for role, pieces in self.strokes.items()
        )
        return below + "".join(self.parts)

    def poly(self, points: Sequence[tuple[float, float]], role: str = "line", close: bool = False) -> None:
        """A line through points."""
        steps = "L".join(f"{number(x)} {number(y)}" for x, y in points)
        self.path(f"M{steps}" + ("Z" if close else ""), role)

    def rect(self, x: float, y: float, w: float, h: float, role: str, radius: float = 0) -> None:
        """A rectangle."""
        r = f' rx="{number(radius)}"' if radius else ""
        self.add(
            f'<rect x="{number(x)}" y="{number(y)}" width="{number(w)}" height="{number(h)}"{r}'
            f"{paint(role, self.theme)}/>"
        )

    def circle(self, x: float, y: float, r: float, role: str) -> None:
        """A circle."""
        self.add(f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(r)}"{paint(role, self.theme)}/>')

    def open(self, data: str = "", x: float = 0, y: float = 0) -> None:
        """Start a group, moved."""
        move = f' transform="translate({number(x)} {number(y)})"' if x or y else ""
        self.add(f"<g{move}{'' if self.lean else data}>")

    def close(self) -> None:
        """End the group."""
        self.add("</g>")

    def text(
        self,
        x: float,
        y: float,
        paragraphs: Sequence[Paragraph] | str,
        limit: float,
        *,
        anchor: Anchor = "start",
        role: str = "text",
        size: float = SIZE,
        bold_first: bool = False,
        max_lines: int = 0,
        data: str = "",
    ) -> float:
        """Broken text whose first line's top is at ``y``; gives the height it takes."""
        given = [paragraphs] if isinstance(paragraphs, str) else paragraphs
        label = lay_out(given, limit, size, bold_first=bold_first, max_lines=max_lines)
        self.label(x, y, label, anchor=anchor, role=role, size=size, data=data)
        return label.lines * LINE * size / SIZE

    def label(
        self,
        x: float,
        y: float,
        label: Label,
        *,
        anchor: Anchor = "start",
        role: str = "text",
        size: float = SIZE,
        data: str = "",
    ) -> None:
        """A text that is broken already."""
        if not label.atoms:
            return
        step = LINE * size / SIZE
        base = round(y + step * 0.78)
        anchored = "" if anchor == "start" else f' text-anchor="{anchor}"'
        bold = paint("b", self.theme)
        sized = "" if size == SIZE else f' font-size="{number(size)}"'
        painted = "" if role == "text" else paint(role, self.theme)
        if typed(_words(label)):
            painted = (
                painted.replace('class="', 'class="typed ')
                if "class" in painted
                else f'{painted} class="typed"'
            )
        runs = (
            _flat_runs(label, x, step, bold)
            if self.theme == "print"
            else _runs(label, x, step, bold, self.lean)
        )
        self.add(f'<text x="{number(x)}" y="{number(base)}"{sized}{anchored}{painted}{data}>{runs}</text>')


def _words(label: Label) -> str:
    """What a label says without its figures."""
    return " ".join("\ufffc" if atom.quantity else atom.text for atom in label.atoms)


def _flat_runs(label: Label, x: float, step: float, bold: str) -> str:
    """One run for each stretch of a line, none inside another: the print engine drops what follows a run."""
    pieces: list[str] = []
    for index, atom in enumerate(label.atoms):
        before = label.atoms[index - 1] if index else None
        text = (" " if atom.space_before and index else "") + escape(atom.text, quote=False)
        if before is not None and (atom.line, atom.bold) == (before.line, before.bold):
            pieces[-1] += text
            continue
        moved = ""
        if before is not None and atom.line != before.line:
            moved = f' x="{number(x)}" dy="{number(step * (atom.line - before.line))}"'
            text = text.lstrip()
        pieces.append(f"<tspan{moved}{bold if atom.bold else ''}{_origin(label, index)}>{text}")
    return "".join(f"{piece}</tspan>" for piece in pieces)


def _origin(label: Label, start: int) -> str:
    """Marks a run that holds a figure, whose origin the screen's form of the drawing gives."""
    first = label.atoms[start]
    for atom in label.atoms[start:]:
        if (atom.line, atom.bold) != (first.line, first.bold):
            break
        if atom.quantity is not None:
            return ' class="typed"'
    return ""


def _bare(quantity: Quantity | None, lean: bool) -> bool:
    """True where the other form of the drawing prints the same figure with its origin."""
    return lean and quantity is not None and quantity.attributes[0][0] in {"data-value", "data-leaf"}


def _runs(label: Label, x: float, step: float, bold: str, lean: bool) -> str:
    """The atoms in order; one that starts a line is placed, the rest follow by themselves."""
    pieces: list[str] = []
    words: list[str] = []
    open_quantity: Quantity | None = None
    line, line_open = 0, False

    def flush(heavy: bool) -> None:
        text = escape("".join(words), quote=False)
        words.clear()
        pieces.append(f"<tspan{bold}>{text}</tspan>" if heavy and text else text)

    for index, atom in enumerate(label.atoms):
        before = label.atoms[index - 1] if index else atom
        if open_quantity is not None and not (atom.second and atom.quantity is open_quantity):
            pieces.append("</tspan>")
            open_quantity = None
        if atom.space_before and index:
            # The blank stays with the words before it, so that they do not join when copied.
            words.append(" ")
        if atom.line != line or atom.bold != before.bold or atom.quantity is not None:
            flush(before.bold)
        start = ""
        if index and atom.line != line:
            if line_open and not atom.second:
                pieces.append("</tspan>")
                line_open = False
            start = f'<tspan x="{number(x)}" dy="{number(step * (atom.line - line))}">'
            line = atom.line
        if atom.second:
            second = escape(atom.text[1:-1])
            figure = f"({second})" if _bare(atom.quantity, lean) else f'(<tspan class="q2">{second}</tspan>)'
            pieces.append(f"{start}{figure}</tspan>" if start else figure)
            continue
        pieces.append(start)
        line_open = line_open or bool(start)
        if atom.quantity is not None:
            first = escape(atom.text)
            if _bare(atom.quantity, lean):
                pieces.append(f'<tspan class="typed">{first}')
            else:
                pieces.append(
                    f'<tspan class="q"{atom.quantity.attribute_text}><tspan class="q1">{first}</tspan>'
                )
            open_quantity = atom.quantity
        else:
            words.append(atom.text)
    flush(bool(label.atoms) and label.atoms[-1].bold)
    pieces.append("</tspan>" * ((open_quantity is not None) + line_open))
    return "".join(pieces)
