"""Markdown to finished HTML, once for the same words: figures and data are tokens while Markdown works."""

from __future__ import annotations

import html
import re
from dataclasses import dataclass
from functools import lru_cache
from html.parser import HTMLParser

import markdown
from markupsafe import Markup

from procgen.procedure.model import Fragment
from procgen.procedure.views import entities

OPEN, CLOSE = "\ue000", "\ue001"
_TOKEN = re.compile(f"{OPEN}(\\d+){CLOSE}")
_TAG_OR_TOKEN = re.compile(f"<[^>]*>|{OPEN}\\d+{CLOSE}")
_BLOCK_TAGS = frozenset({"p", "div", "li", "ul", "ol", "dl", "dt", "dd", "br", "hr", "pre", "blockquote"})
_BLOCK_TAGS |= {"table", "tr", "td", "th", "thead", "tbody", "section", "h1", "h2", "h3", "h4", "h5", "h6"}


@dataclass(frozen=True)
class Token:
    """Finished markup that waits for its place while Markdown reads the words around it."""

    html: str
    text: str
    value_id: str = ""


class Tokens:
    """The tokens of one guide."""

    def __init__(self) -> None:
        self._tokens: list[Token] = []

    def add(self, token: Token) -> Markup:
        """Keep a token; the returned marker stands for it in template output."""
        self._tokens.append(token)
        return Markup(f"{OPEN}{len(self._tokens) - 1}{CLOSE}")

    def plain(self, text: str) -> str:
        """Template output as plain text on one line, tokens replaced by what they say."""
        unescaped = html.unescape(text) if isinstance(text, Markup) else text
        filled = _TOKEN.sub(lambda match: self._tokens[int(match.group(1))].text, unescaped)
        return " ".join(filled.split(" ")).replace("\n", " ").strip()

    def fragment(self, source: str, template: str, line: int) -> Fragment:
        """Markdown with tokens to a fragment; the same words are converted once in a process."""
        used: list[Token] = []

        def renumber(match: re.Match[str]) -> str:
            used.append(self._tokens[int(match.group(1))])
            return f"{OPEN}{len(used) - 1}{CLOSE}"

        numbered = _TOKEN.sub(renumber, dedent(source))
        body, text = convert(numbered)
        values = tuple(dict.fromkeys(token.value_id for token in used if token.value_id))
        return Fragment(_fill_html(body, used), _fill_text(text, used), values, template, line)


def dedent(source: str) -> str:
    """Text without the indent that its lines share; a first line that follows a tag has none to share."""
    lines = source.expandtabs(4).split("\n")
    indents = [len(line) - len(line.lstrip(" ")) for line in lines[1:] if line.strip()]
    if lines[0].strip():
        first = len(lines[0]) - len(lines[0].lstrip(" "))
        margin = min(indents, default=0)
        lines[0] = lines[0][min(first, margin) :] if first >= margin else lines[0].lstrip(" ")
    else:
        margin = min(indents, default=0)
    return "\n".join([lines[0].rstrip(), *(line[margin:].rstrip() for line in lines[1:])]).strip("\n")


@lru_cache(maxsize=8192)
def convert(source: str) -> tuple[str, str]:
    """HTML and plain text of Markdown, tokens still in place."""
    if not source.strip():
        return "", ""
    converter = _converter()
    converter.reset()
    body = converter.convert(source)
    return body, plain_text(body)


@lru_cache(maxsize=1)
def _converter() -> markdown.Markdown:
    converter = markdown.Markdown(
        extensions=["tables", "def_list", "attr_list", "sane_lists"], output_format="html"
    )
    # Template lines are indented by their tags, not to make code of them.
    converter.parser.blockprocessors.deregister("code")
    return converter


class _TextReader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.parts: list[str] = []

    def handle_data(self, data: str) -> None:
        self.parts.append(data)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in _BLOCK_TAGS:
            self.parts.append(" ")

    def handle_endtag(self, tag: str) -> None:
        if tag in _BLOCK_TAGS:
            self.parts.append(" ")


def plain_text(body: str) -> str:
    """What HTML says, on one line; no-break spaces are kept."""
    reader = _TextReader()
    reader.feed(body)
    reader.close()
    return re.sub(r"[ \t\n\r]+", " ", "".join(reader.parts)).strip()


def _fill_html(body: str, used: list[Token]) -> str:
    def inside_tag(match: re.Match[str]) -> str:
        return str(entities(used[int(match.group(1))].text))

    def fill(match: re.Match[str]) -> str:
        found = match.group()
        if found.startswith("<"):
            return _TOKEN.sub(inside_tag, found)
        return used[int(found[1:-1])].html

    return _TAG_OR_TOKEN.sub(fill, body)


def _fill_text(text: str, used: list[Token]) -> str:
    return _TOKEN.sub(lambda match: used[int(match.group(1))].text, text)
