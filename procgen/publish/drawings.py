"""A drawing on a page: picture, caption, what is left out, and its figures as a table."""

from __future__ import annotations

from htpy import Element, details, div, figcaption, figure, p, span, strong, summary
from markupsafe import Markup

from procgen.figures import Drawing
from procgen.figures.scene import as_typed
from procgen.publish.words import Words


def drawing_block(drawing: Drawing, words: Words, *, alone: bool = True) -> Element:
    """A drawing with its caption; not ``alone`` where the page itself tells all that the table would.

    A script adds the larger view where ``data-enlarge`` asks for it; without it the picture fits its column.
    """
    name = f"drawing-{drawing.id}"
    return figure(".drawing", id=name, aria_labelledby=f"{name}-title", data_figure=drawing.id)[
        figcaption(".drawing__caption")[
            p(".drawing__title", id=f"{name}-title")[strong[typed_text(drawing.title)]],
            p(".drawing__says")[typed_text(drawing.caption)],
        ],
        div(
            ".drawing__view",
            data_enlarge=words("drawing.enlarge") if alone else None,
            data_close=words("drawing.close") if alone else None,
            data_pan=words("drawing.pan", title=drawing.title) if alone else None,
        )[Markup(drawing.svg)],
        p(".drawing__left-out")[typed_text(" ".join(drawing.left_out))] if drawing.left_out else None,
        _data(drawing, words) if alone else None,
    ]


def missing_block(name: str, words: Words) -> Element:
    """Says that a drawing is not here, and why."""
    return p(".drawing__missing", data_missing=name)[words(f"drawing.missing.{name}")]


def typed_text(text: str) -> Markup:
    """Words of a drawing; a number that profile or survey name with its unit is marked as typed."""
    return Markup(as_typed(text))


def _data(drawing: Drawing, words: Words) -> Element:
    # The same figures as in the picture: folded on screen, open on paper.
    return details(".drawing__data")[
        summary[words("drawing.data"), span(".drawing__of")[typed_text(f": {drawing.title}")]],
        div(".scroll", tabindex="0", role="region", aria_label=words("drawing.table", title=drawing.title))[
            Markup(drawing.table_html)
        ],
    ]
