"""Drawings made ready for paper: all that a reader hears of them, and tall ones cut to the height of a sheet.

A cut never goes through words: each word stands in one piece, lines are continued in the next.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from dataclasses import replace
from xml.etree import ElementTree

from procgen.figures import Drawing
from procgen.publish.words import Words

#: inside HTML a picture needs none; without it, names stay as they are written
_NAMESPACE = ' xmlns="http://www.w3.org/2000/svg"'
#: how far words reach above and below their line, and shapes about their origin, in a drawing's units
_ABOVE, _BELOW, _SHAPE = 12.0, 5.0, 15.0
_PICTURE = re.compile(r"<svg .*?</svg>", re.DOTALL)
_TRANSLATE = re.compile(r"translate\(([-\d.]+)[ ,]([-\d.]+)\)")

Span = tuple[float, float]


def on_sheets(drawing: Drawing, tallest: float, words: Words) -> Drawing:
    """A drawing in pieces no taller than ``tallest`` times its width, where words leave room for the cuts."""

    def pieces(found: re.Match[str]) -> str:
        return "".join(_pieces(found.group(), drawing, tallest, words))

    return replace(drawing, svg=_PICTURE.sub(pieces, drawing.svg))


def _pieces(svg: str, drawing: Drawing, tallest: float, words: Words) -> Iterator[str]:
    svg = svg.replace(_NAMESPACE, "")
    root = ElementTree.fromstring(svg)
    _, _, width, height = (float(number) for number in root.attrib["viewBox"].split())
    said = f"{drawing.title}. {drawing.description}"
    cuts = [0.0, *_cuts(root, height, width * tallest), height]
    count = len(cuts) - 1
    for place, (top, bottom) in enumerate(itertools.pairwise(cuts), 1):
        piece = ElementTree.fromstring(svg)
        piece.set("viewBox", f"0 {top:g} {width:g} {bottom - top:g}")
        piece.set("height", f"{bottom - top:g}")
        piece.set("font-family", "Guide")
        if place > 1:
            _rename(piece, f"-{place}")
        for child in list(piece):
            span = _reach(child)
            if span is not None and not top <= (span[0] + span[1]) / 2 < bottom:
                piece.remove(child)
        title = piece.find("title")
        assert title is not None
        title.text = said if count == 1 else words("print.piece", what=said, n=place, of=count)
        yield ElementTree.tostring(piece, encoding="unicode")


def _rename(piece: ElementTree.Element, end: str) -> None:
    """Give the shapes that a piece brings names of its own."""
    for element in piece.iter():
        for name in ("id", "href"):
            if name in element.attrib:
                element.set(name, element.attrib[name] + end)


def _cuts(root: ElementTree.Element, height: float, tallest: float) -> list[float]:
    """Where to cut: as even as words allow; nowhere where they allow none."""
    count = -int(-height // tallest)
    spans = [span for child in root if (span := _reach(child)) is not None]
    cuts: list[float] = []
    for place in range(1, count):
        last, even = (cuts[-1] if cuts else 0.0), height * place / count
        free = [
            y
            for y in range(int(last) + 1, int(min(last + tallest, height)))
            if height - y <= tallest * (count - place) and not any(top < y < end for top, end in spans)
        ]
        if not free:
            return []
        cuts.append(float(min(free, key=lambda y: abs(y - even))))
    return cuts


def _reach(child: ElementTree.Element) -> Span | None:
    """From where to where the words and shapes of a group or text stand; None for lines and areas."""
    moved = _TRANSLATE.search(child.get("transform", ""))
    shift = float(moved[2]) if moved else 0.0
    rows = [y + shift for text in child.iter("text") for y in _rows(text)]
    ends = [end for y in rows for end in (y - _ABOVE, y + _BELOW)]
    if child.find("use") is not None:
        ends += [shift - _SHAPE, shift + _SHAPE]
    return (min(ends), max(ends)) if ends else None


def _rows(text: ElementTree.Element) -> Iterator[float]:
    y = float(text.get("y", "0"))
    yield y
    for part in text.iter("tspan"):
        y = float(part.get("y", y)) + float(part.get("dy", "0"))
        yield y
