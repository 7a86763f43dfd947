"""The frame of every printed document: title, metadata, running lines, and links that stay inside it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from htpy import Node, body, fragment, h1, h2, h3, h4, head, html, meta, span, title
from markupsafe import Markup

from procgen.publish.adapter import Heading, Html, Page
from procgen.publish.printing.engine import ASSETS

Paper = Literal["A4", "Letter"]
#: width and height in millimetres (ISO 216; ANSI/ASME Y14.1 size A)
PAPERS: Mapping[Paper, tuple[float, float]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
#: millimetres between the sheet's edge and what is written on it: top, right, bottom, left
MARGINS = (19.0, 17.0, 17.0, 18.0)

_HEADS = {1: h1, 2: h2, 3: h3, 4: h4}


@dataclass(frozen=True, slots=True)
class Sheets:
    """A document before it is laid out."""

    title: str
    #: what the document is about, for its metadata
    subject: str
    language: str
    #: day of the revision, ISO 8601
    date: str
    #: the lines that every sheet carries: what this is (top), which edition (foot), and the page's number
    running: str
    imprint: str
    #: words around page number and page count: ``("Page ", " of ", "")``
    count: tuple[str, str, str]
    content: Node
    #: style sheets of this kind of document, beside the one that all share
    styles: tuple[str, ...] = ()


def stylesheet(paper: Paper, sheets: Sheets) -> str:
    """Styles of the sheets; paper size and running lines differ from document to document."""
    before, between, after = (_css_text(text) for text in sheets.count)
    files = ("document.css", *sheets.styles)
    own = "\n".join((ASSETS / name).read_text(encoding="utf-8") for name in files)
    width, height = PAPERS[paper]
    margins = " ".join(f"{margin:g}mm" for margin in MARGINS)
    return (
        f"@page {{ size: {width:g}mm {height:g}mm; margin: {margins};"
        f" @top-left {{ content: {_css_text(sheets.running)}; }}"
        f" @bottom-left {{ content: {_css_text(sheets.imprint)}; }}"
        f" @bottom-right {{ content: {before} counter(page) {between} counter(pages) {after}; }} }}\n{own}"
    )


def _css_text(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", " ")
    return f'"{escaped}"'


def document(sheets: Sheets) -> str:
    """The document's HTML."""
    return str(
        html(lang=sheets.language)[
            head[
                meta(charset="utf-8"),
                title[sheets.title],
                meta(name="description", content=sheets.subject),
                meta(name="generator", content="procgen"),
                meta(name="dcterms.created", content=sheets.date),
                meta(name="dcterms.modified", content=sheets.date),
            ],
            body[sheets.content],
        ]
    )


def page_content(page: Page, levels: int = 0) -> Node:
    """A page of the site: its headings with their anchors, its fragments as they are.

    Args:
        page: the page.
        levels: how much deeper its headings stand in this document.
    """
    return fragment[(_block(block, levels) for block in page.blocks)]


def _block(block: Heading | Html, levels: int) -> Node:
    if isinstance(block, Html):
        return Markup(block.html)
    make = _HEADS[min(block.level + levels, 4)]
    return make(id=block.anchor, class_=block.css)[
        block.number and span(".n")[block.number], " ", span(".t")[block.text]
    ]


def first_anchors(pages: Iterable[Page]) -> dict[str, str]:
    """The anchor of each page's own heading, by file name on the site."""
    return {
        page.path.removesuffix(".md") + ".html": next(
            block.anchor for block in page.blocks if isinstance(block, Heading)
        )
        for page in pages
    }
