"""Built pages as the checks read them: parsed once, with their visible text in runs."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import lxml.html
from bs4 import BeautifulSoup, NavigableString, Tag
from bs4.element import CData, PreformattedString

from procgen.messages.diagnostic import Diagnostic

_BLOCKS = frozenset(
    {"address", "article", "aside", "blockquote", "body", "br", "button", "caption", "dd", "details", "div"}
    | {"dl", "dt", "fieldset", "figcaption", "figure", "footer", "form", "g", "h1", "h2", "h3", "h4", "h5"}
    | {"h6", "header", "hr", "label", "li", "main", "nav", "ol", "option", "p", "pre", "section", "select"}
    | {"summary", "svg", "table", "tbody", "td", "text", "tfoot", "th", "thead", "title", "tr", "ul"}
)
_PARSER = lxml.html.HTMLParser(encoding="utf-8")
_UNSEEN = frozenset({"script", "style", "template", "noscript", "head", "metadata"})
#: stands for what was left out of a run, so that words on both its sides do not join
GAP = "\ufffc"


@dataclass
class Page:
    """One HTML file of a built folder."""

    path: Path

    @cached_property
    def source(self) -> str:
        """The file's text, read when somebody asks for it."""
        return self.path.read_text(encoding="utf-8")

    @cached_property
    def soup(self) -> BeautifulSoup:
        """The parsed page."""
        return BeautifulSoup(self.source, "lxml")

    @cached_property
    def ids(self) -> list[str]:
        """Every id on the page, repetitions included."""
        # Links ask other pages for their ids: a parse without a tree of our own is ten times faster.
        tree = lxml.html.document_fromstring(self.source.encode(), parser=_PARSER)
        return [str(found) for found in tree.xpath("//@id")]

    @cached_property
    def anchors(self) -> frozenset[str]:
        """What a link's fragment may name."""
        tree = lxml.html.document_fromstring(self.source.encode(), parser=_PARSER)
        return frozenset({*self.ids, *(str(found) for found in tree.xpath("//a/@name"))})

    def forget(self) -> None:
        """Let go of the parsed page; what others ask of it stays."""
        self.__dict__.pop("soup", None)
        self.__dict__.pop("source", None)

    def fault(self, code: str, **params: str) -> Diagnostic:
        """A fault of this page."""
        return Diagnostic(code, self.path, params=params, level="check")

    def runs(self, skip: Callable[[Tag], bool]) -> Iterator[str]:
        """Visible text, one run a block; what is skipped leaves a gap."""
        pieces: list[str] = []
        if self.soup.body is not None:
            for piece in _pieces(self.soup.body, skip):
                if piece is None:
                    yield from _run(pieces)
                    pieces = []
                else:
                    pieces.append(piece)
        yield from _run(pieces)


def _run(pieces: list[str]) -> Iterator[str]:
    text = "".join(pieces).strip()
    if text:
        yield text


def _pieces(tag: Tag, skip: Callable[[Tag], bool]) -> Iterator[str | None]:
    for child in tag.children:
        if isinstance(child, Tag):
            if child.name in _UNSEEN:
                continue
            block = child.name in _BLOCKS
            if block:
                yield None
            if skip(child):
                yield GAP
            else:
                yield from _pieces(child, skip)
            if block:
                yield None
        elif isinstance(child, NavigableString) and not isinstance(child, PreformattedString | CData):
            yield str(child)


def has_class(tag: Tag, *names: str) -> bool:
    """True where the tag carries one of the classes."""
    return any(name in names for name in tag.get_attribute_list("class"))


def pages_of(folder: Path, left_out: frozenset[str] = frozenset()) -> list[Page]:
    """Every HTML page of a built folder in order; ``left_out`` names files, relative to it."""
    return [
        Page(path)
        for path in sorted(folder.rglob("*.html"))
        if path.relative_to(folder).as_posix() not in left_out
    ]
