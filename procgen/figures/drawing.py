"""A finished drawing: SVG for wide and for narrow places, title, description and data table."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from html import escape

from procgen.figures.canvas import SIZE, Canvas, number
from procgen.figures.scene import Scene, Table
from procgen.figures.style import paint
from procgen.figures.text import typed

#: width of the drawing area in wide and narrow places, in the drawing's units (12 to a letter's height)
WIDE = 720.0
NARROW = 336.0


@dataclass(frozen=True)
class Drawing:
    """One figure of one guide."""

    id: str
    svg: str
    title: str
    description: str
    table_html: str
    #: what there is to see, without what was left out
    caption: str = ""
    #: what this guide has no figures for, as sentences
    left_out: tuple[str, ...] = ()


#: draws into a canvas of some width and gives the height
Draw = Callable[[Canvas], float]


@dataclass(frozen=True)
class Content:
    """What a figure gives: how it is drawn at a width, and what it says in words."""

    draw: Draw
    title: str
    description: str
    table: Table
    wide: float = WIDE


def finish(name: str, content: Content, scene: Scene) -> Drawing:
    """Write the SVG of both widths (one for print)."""
    widths = (
        [("wide", content.wide)] if scene.theme == "print" else [("wide", content.wide), ("narrow", NARROW)]
    )
    shapes: dict[str, str] = {}
    drawn = "".join(_svg(name, form, width, content, scene, shapes) for form, width in widths)
    if shapes and scene.theme == "screen":
        drawn = _definitions(shapes) + drawn
    left_out = tuple(scene.left_out)
    return Drawing(
        name,
        f'<div class="fg fg-of-{name}">{drawn}</div>',
        content.title,
        " ".join([content.description, *left_out]),
        f'<div class="fg-table">{content.table.html(content.title)}</div>',
        content.description,
        left_out,
    )


def _named(tag: str, text: str) -> str:
    mark = ' class="typed"' if typed(text) else ""
    return f"<{tag}{mark}>{escape(text, quote=False)}</{tag}>"


def _initials(name: str) -> str:
    """What a figure's ids start with: ``fg-ws`` for ``water-schematic``."""
    return "fg-" + "".join(word[0] for word in name.split("-"))


def _definitions(shapes: dict[str, str]) -> str:
    """Shapes that the forms of a drawing share; of no size, but displayed: else they could not be used."""
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" class="fg-defs" width="0" height="0" aria-hidden="true">'
        f"{_group(shapes)}</svg>"
    )


def _group(shapes: dict[str, str]) -> str:
    body = "".join(f'<g id="{name}">{shape}</g>' for name, shape in shapes.items())
    return f"<defs>{body}</defs>"


def _svg(name: str, form: str, width: float, content: Content, scene: Scene, shapes: dict[str, str]) -> str:
    canvas = Canvas(width, scene.theme, shapes=shapes, prefix=_initials(name), lean=form == "narrow")
    height = content.draw(canvas)
    description = " ".join([content.description, *scene.left_out])
    # Screens colour text by the style sheet, paper by the attribute that all text inherits.
    ground = "" if scene.theme == "screen" else paint("text", scene.theme)
    # On paper each picture stands alone and brings its shapes.
    inside = _group(shapes) if shapes and scene.theme == "print" else ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="fg-{form}" data-figure="{name}" data-form="{form}"'
        f' viewBox="0 0 {number(width)} {number(height)}" width="{number(width)}" height="{number(height)}"'
        f' role="img" font-family="inherit" font-size="{number(SIZE)}"{ground}>'
        f"{_named('title', content.title)}{_named('desc', description)}" + inside + canvas.markup() + "</svg>"
    )
