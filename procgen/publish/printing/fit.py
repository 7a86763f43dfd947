"""What follows from where things come to stand: sizes of large drawings, and of rooms to work in.

A drawing that just misses the room left on a sheet is drawn a little smaller; one that takes several sheets
anyway begins where there is room. Letters stay as large as ``SMALLEST``. Documents are laid out part by part
to see it. Rooms to work in share what is left of their sheet.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from procgen.figures import Drawing
from procgen.publish.printing.engine import Place
from procgen.publish.printing.frame import MARGINS, PAPERS, Paper
from procgen.publish.printing.tall import Size, on_sheets, proportions
from procgen.publish.words import Words

#: smallest letters of a drawing, in points
SMALLEST = 7.0
#: what a drawing on several sheets needs besides, in millimetres: caption, a line above and below each piece
_LINES = 30.0
#: less of a drawing than this is no beginning, in millimetres
_BEGINNING = 60.0
#: what rounding and the margin above a drawing take, in millimetres
_SLACK = 4.0
_MM_PER_PT = 25.4 / 72

_PARTS = re.compile(r'(?=<section class="part[ "])')
_FIGURE = re.compile(r'<figure class="drawing" id="drawing-(?P<name>[\w-]+)".*?</figure>', re.DOTALL)
_PICTURE = re.compile(r"<svg .*?</svg>", re.DOTALL)

#: where every element with an id of some content comes to stand
Lay = Callable[[str], Mapping[str, Place]]


@dataclass(frozen=True, slots=True)
class Sheet:
    """The room on a sheet of some paper, in millimetres."""

    bottom: float
    height: float
    width: float


def sheet_on(paper: Paper) -> Sheet:
    """A sheet inside its margins."""
    (width, height), (top, right, bottom, left) = PAPERS[paper], MARGINS
    return Sheet(height - bottom, height - top - bottom, width - left - right)


def with_drawings(content: str, drawings: Mapping[str, Drawing], paper: Paper, lay: Lay, words: Words) -> str:
    """A document's content with its drawings cut and sized for the sheets on which they come to stand."""
    sheet = sheet_on(paper)
    whole = Size((sheet.height - _LINES) / sheet.width)

    def ready(part: str, sizes: Mapping[str, Size]) -> str:
        def figure(found: re.Match[str]) -> str:
            drawing, size = drawings[found["name"]], sizes.get(found["name"], whole)
            return _PICTURE.sub(lambda picture: on_sheets(picture[0], drawing, size, words), found[0])

        return _FIGURE.sub(figure, part)

    def sized(part: str) -> str:
        sizes: dict[str, Size] = {}
        for found in _FIGURE.finditer(part):
            picture = _PICTURE.search(found[0])
            if picture and _is_tall(picture[0], sheet):
                size = _size(found["name"], picture[0], lay(_marked(ready(part, sizes))), whole, sheet)
                if size is not None:
                    sizes[found["name"]] = size
        return ready(part, sizes)

    return "".join(sized(part) for part in _PARTS.split(content))


def _is_tall(svg: str, sheet: Sheet) -> bool:
    """Whether a drawing could leave more than half of a sheet empty; each costs a layout of its part."""
    width, height, _ = proportions(svg)
    return height / width * sheet.width > 0.55 * sheet.height


def _marked(part: str) -> str:
    """With a mark before every drawing, and its caption named, to see where they come to stand."""

    def mark(found: re.Match[str]) -> str:
        name = found["name"]
        named = found[0].replace("<figcaption ", f'<figcaption id="caption-{name}" ', 1)
        return f'<div id="before-{name}"></div>{named}'

    return _FIGURE.sub(mark, part)


def _size(name: str, svg: str, places: Mapping[str, Place], whole: Size, sheet: Sheet) -> Size | None:
    """Another size for a drawing that was put off to the next sheet, where one fits the room before it."""
    before, figure, caption = (places[f"{what}-{name}"] for what in ("before", "drawing", "caption"))
    if before.page == caption.page:
        return None
    room = sheet.bottom - before.top - _SLACK - (caption.bottom - figure.top)
    width, height, letters = proportions(svg)
    wide = figure.right - figure.left
    tall = wide * height / width
    if tall <= whole.tallest * wide:
        rest = max(0.0, figure.bottom - caption.bottom - tall) if figure.page == caption.page else 0.0
        share = (room - rest) / tall
        smallest = SMALLEST * _MM_PER_PT / letters / (wide / width)
        return replace(whole, share=int(share * 1000) / 1000) if smallest <= share < 1 else None
    first = room - _LINES / 2
    return replace(whole, first=first / wide) if first >= _BEGINNING else None


#: rooms to work in grow by no more than this, in millimetres
_GROWS = 90.0
_ROOM = re.compile(r'<div class="task__room" id="(?P<name>room-\d+)"')


def with_rooms(content: str, paper: Paper, lay: Lay) -> str:
    """A document's content whose rooms to work in reach down to the end of each sheet."""
    places, bottom = lay(content), sheet_on(paper).bottom
    rooms = {name: place for name, place in places.items() if name.startswith("room-")}
    heights: dict[str, float] = {}
    for page in {room.page for room in rooms.values()}:
        here = {name: room for name, room in rooms.items() if room.page == page}
        lowest = max(place.bottom for place in places.values() if place.page == page)
        more = min((bottom - lowest - 1.0) / len(here), _GROWS)
        heights |= {name: room.bottom - room.top + max(more, 0.0) for name, room in here.items()}
    return _ROOM.sub(lambda room: f'{room[0]} style="height: {heights[room["name"]]:.1f}mm"', content)
