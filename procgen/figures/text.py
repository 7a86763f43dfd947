"""Text by measure: how wide it may become, where it breaks, where it is cut. Widths err to the wide side."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from procgen.figures.quantity import Quantity
from procgen.procedure.typed import typed_quantities

#: Advance widths in em of a wide sans serif (measured in a browser, rounded up); others count as wide.
_WIDTHS = {
    0.20: "\u202f",
    0.28: "'ijl",
    0.30: "IJ",
    0.32: " ,.·‘’\u00a0",
    0.34: "/:;\\|",
    0.36: "f",
    0.38: "-",
    0.40: "()[]t",
    0.42: "!r²³",
    0.46: '"',
    0.50: "*_`°–",
    0.52: "“”",
    0.54: "?sz",
    0.56: "Lcç",
    0.58: "Fk",
    0.60: "vxy•",
    0.62: "PTYaeoéèöäøå",
    0.64: "$0123456789ESbdghnpqu{}µ√üßñÉ€£",
    0.66: "K",
    0.70: "ABCRVXZÄ",
    0.74: "UÜ",
    0.76: "HN",
    0.78: "&DGΩ",
    0.80: "OQÖ",
    0.82: "w",
    0.84: "#+<=>^~×−→←↑↓≥≤±",
    0.88: "M",
    0.96: "%",
    1.00: "@Wm½—…",
}
_WIDTH_OF = {character: width for width, characters in _WIDTHS.items() for character in characters}
_OTHER = 0.86
_BOLD = 1.16
ELLIPSIS = "…"

#: what a paragraph is made of
Piece = str | Quantity
Paragraph = Sequence[Piece] | str


def width(text: str, size: float, bold: bool = False) -> float:
    """Width that a text takes at most, in the drawing's units."""
    total = sum(_WIDTH_OF.get(c, _OTHER if ord(c) < 0x1100 else 1.1) for c in text)
    return total * size * (_BOLD if bold else 1.0)


@dataclass(frozen=True)
class Atom:
    """A word, or one of a quantity's two figures; nothing breaks inside it."""

    text: str
    space_before: bool
    quantity: Quantity | None = None
    second: bool = False
    line: int = 0
    bold: bool = False


@dataclass
class Label:
    """A broken text: its atoms in order, each on its line, and the space it takes."""

    atoms: list[Atom] = field(default_factory=list)
    lines: int = 0
    width: float = 0.0


def _atoms(paragraph: Paragraph) -> Iterator[Atom]:
    pieces = [paragraph] if isinstance(paragraph, str) else list(paragraph)
    glue = True
    for piece in pieces:
        if isinstance(piece, Quantity):
            yield Atom(piece.primary, glue, piece)
            if piece.secondary:
                yield Atom(f"({piece.secondary})", True, piece, second=True)
            glue = False
            continue
        words = piece.split(" ")
        for index, word in enumerate(words):
            if index:
                glue = True
            # A no-break space holds its words together; only typed blanks break.
            for part in _parts(word):
                yield Atom(part, glue)
                glue = True
            if word:
                glue = False


def lay_out(
    paragraphs: Sequence[Paragraph],
    limit: float,
    size: float,
    *,
    bold_first: bool = False,
    max_lines: int = 0,
) -> Label:
    """Break paragraphs to a width; what is beyond ``max_lines`` is cut with an ellipsis."""
    label = Label()
    for index, paragraph in enumerate(paragraphs):
        bold = bold_first and index == 0
        at, line, first = 0.0, label.lines, True
        for atom in _split_long(_atoms(paragraph), limit, size, bold):
            space = width(" ", size, bold) if atom.space_before and not first else 0.0
            w = width(atom.text, size, bold)
            if not first and at + space + w > limit and (atom.space_before or atom.second):
                line, at, space = line + 1, 0.0, 0.0
            label.atoms.append(replace(atom, line=line, bold=bold))
            at += space + w
            label.width = max(label.width, at)
            first = False
        if not first:
            label.lines = line + 1
    return _cut(label, limit, size, bold_first, max_lines) if 0 < max_lines < label.lines else label


def _parts(word: str) -> list[str]:
    return re.findall(r"[^ \t\n\r]+", word)


def _split_long(atoms: Iterator[Atom], limit: float, size: float, bold: bool) -> Iterator[Atom]:
    """A word that is wider than the line is cut into pieces that are not."""
    for atom in atoms:
        if atom.quantity is not None or width(atom.text, size, bold) <= limit:
            yield atom
            continue
        rest, glue = atom.text, atom.space_before
        while rest:
            take = len(rest)
            while take > 1 and width(rest[:take], size, bold) > limit:
                take -= 1
            yield Atom(rest[:take], glue)
            rest, glue = rest[take:], True


def _cut(label: Label, limit: float, size: float, bold: bool, max_lines: int) -> Label:
    kept = [atom for atom in label.atoms if atom.line < max_lines]
    # A quantity is never cut in two: its second figure goes with its first.
    while kept and kept[-1].quantity is not None and len(kept) < len(label.atoms):
        following = label.atoms[len(kept)]
        if following.quantity is not kept[-1].quantity:
            break
        kept.pop()
    last = max_lines - 1
    ellipsis_width = width(ELLIPSIS, size, bold)

    def taken() -> float:
        on_line = [a for a in kept if a.line == last]
        return sum(
            width(a.text, size, bold) + (width(" ", size, bold) if i and a.space_before else 0)
            for i, a in enumerate(on_line)
        )

    while kept and kept[-1].line == last and taken() + ellipsis_width > limit:
        tail = kept[-1]
        if tail.quantity is None and len(tail.text) > 1:
            kept[-1] = replace(tail, text=tail.text[:-1])
        else:
            quantity = tail.quantity
            kept.pop()
            while kept and quantity is not None and kept[-1].quantity is quantity:
                kept.pop()
    kept.append(Atom(ELLIPSIS, False, line=last))
    return Label(kept, max_lines, min(label.width, limit))


def typed(text: str) -> bool:
    """True where a text, which can only come from profile or survey, names a number with its unit."""
    return any(True for _ in typed_quantities(text))


def plain(paragraph: Paragraph) -> str:
    """A paragraph as plain text."""
    if isinstance(paragraph, str):
        return paragraph
    return "".join(piece if isinstance(piece, str) else piece.text for piece in paragraph)
