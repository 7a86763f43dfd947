"""Drawings made ready for paper: all that a reader hears of them, and tall ones cut to the height of a sheet.

A cut never goes through words: each word stands in one piece, lines are continued in the next.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree import ElementTree

from htpy import div, p
from markupsafe import Markup

from procgen.figures import Drawing
from procgen.publish.words import Words

#: inside HTML a picture needs none; without it, names stay as they are written
_NAMESPACE = ' xmlns="http://www.w3.org/2000/svg"'
#: how far words reach above and below their line, and shapes about their origin, in a drawing's units
_ABOVE, _BELOW, _SHAPE = 12.0, 5.0, 15.0
_TRANSLATE = re.compile(r"translate\(([-\d.]+)[ ,]([-\d.]+)\)")
_FONT_SIZE = re.compile(r'font-size="([\d.]+)"')

Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Size:
    """How large a drawing stands on paper; heights are in widths of the drawing."""

    #: what a whole sheet holds of it
    tallest: float
    #: share of the width that it takes
    share: float = 1.0
    #: what the sheet on which it begins holds of it, where that is less than a whole one
    first: float | None = None


def proportions(svg: str) -> tuple[float, float, float]:
    """Width and height of a picture in its own units, and the size of its smallest letters."""
    root = ElementTree.fromstring(svg)
    _, _, width, height = (float(number) for number in root.attrib["viewBox"].split())
    return width, height, min(map(float, _FONT_SIZE.findall(svg)), default=math.inf)


def pieces_of(svg: str, drawing: Drawing, size: Size, words: Words) -> list[str]:
    """A picture as one or more that a sheet holds, each with its names."""
    svg = svg.replace(_NAMESPACE, "")
    root = ElementTree.fromstring(svg)
    _, _, width, height = (float(number) for number in root.attrib["viewBox"].split())
    said = f"{drawing.title}. {drawing.description}"
    cuts = [0.0, *_cuts(root, height, width * size.tallest, width * (size.first or size.tallest)), height]
    count = len(cuts) - 1
    pieces = []
    for place, (top, bottom) in enumerate(itertools.pairwise(cuts), 1):
        piece = ElementTree.fromstring(svg)
        piece.set("viewBox", f"0 {top:g} {width:g} {bottom - top:g}")
        piece.set("height", f"{bottom - top:g}")
        piece.set("font-family", "Guide")
        if size.share < 1:
            piece.set("style", f"width: {size.share:.1%}")
        if place > 1:
            _rename(piece, f"-{place}")
        for child in list(piece):
            span = _reach(child)
            if span is not None and not top <= (span[0] + span[1]) / 2 < bottom:
                piece.remove(child)
        title = piece.find("title")
        assert title is not None
        title.text = said if count == 1 else words("print.piece", what=said, n=place, of=count)
        pieces.append(ElementTree.tostring(piece, encoding="unicode"))
    return pieces


def on_sheets(svg: str, drawing: Drawing, size: Size, words: Words) -> str:
    """A picture ready for paper; each sheet of one that takes several says which it is."""
    pieces = pieces_of(svg, drawing, size, words)
    if len(pieces) == 1:
        return pieces[0]
    return "".join(
        str(_piece(piece, drawing, place, len(pieces), words)) for place, piece in enumerate(pieces, 1)
    )


def _piece(piece: str, drawing: Drawing, place: int, count: int, words: Words) -> Markup:
    head = words("print.sheet_of" if place == 1 else "print.goes_on", what=drawing.title, n=place, of=count)
    return Markup(
        div(".drawing__piece")[
            p(".drawing__sheet")[head],
            Markup(piece),
            place < count and p(".drawing__goes-on")[words("print.goes_on_at", n=place + 1, of=count)],
        ]
    )


def _rename(piece: ElementTree.Element, end: str) -> None:
    """Give the shapes that a piece brings names of its own."""
    for element in piece.iter():
        for name in ("id", "href"):
            if name in element.attrib:
                element.set(name, element.attrib[name] + end)


def _cuts(root: ElementTree.Element, height: float, tallest: float, first: float) -> list[float]:
    """Where to cut: the first piece fills its room, the rest is as even as words allow; else nowhere."""
    spans = [span for child in root if (span := _reach(child)) is not None]

    def free(low: float, high: float) -> list[float]:
        return [
            float(y)
            for y in range(int(low) + 1, int(min(high, height)))
            if not any(top < y < end for top, end in spans)
        ]

    cuts: list[float] = []
    if first < tallest and height > first:
        fitting = free(0, first)
        if fitting:
            cuts.append(fitting[-1])
    start = cuts[-1] if cuts else 0.0
    count = -int(-(height - start) // tallest)
    for place in range(1, count):
        last, even = (cuts[-1] if cuts else 0.0), start + (height - start) * place / count
        fitting = [y for y in free(last, last + tallest) if height - y <= tallest * (count - place)]
        if not fitting:
            return []
        cuts.append(min(fitting, key=lambda y: abs(y - even)))
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
