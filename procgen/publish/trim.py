"""The theme's style sheet cut down to what the pages of a guide use: of all files it was the one that a first
visit waited for longest.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any

import tinycss2

from procgen.publish.assets import named

THEME_SHEET = re.compile(r"^assets/stylesheets/main\.[0-9a-f]+\.min\.css$")
TRIMMED = "assets/theme.css"

_CLASSES = re.compile(r'\sclass="([^"]*)"')
_NAME = re.compile(r"[.]([a-zA-Z_][\w-]*)|\[([\w-]+)")
_VARIABLE = re.compile(r"var\(\s*(--[\w-]+)")
#: attributes that scripts or the browser set while a page is read
_LIVE = frozenset({"hidden", "open", "dir", "type", "href", "title", "data-theme"})


def trimmed(files: Mapping[str, bytes]) -> dict[str, bytes]:
    """A guide's files with the theme's sheet cut down and named anew on every page."""
    found = next((path for path in files if THEME_SHEET.match(path)), None)
    if found is None:
        return dict(files)
    texts = {path: content.decode() for path, content in files.items() if path.endswith(".html")}
    sheets = [content.decode() for path, content in files.items() if path.endswith(".css") and path != found]
    classes = {
        name for text in texts.values() for names in set(_CLASSES.findall(text)) for name in names.split()
    }
    attributes = {name for text in texts.values() for name in set(re.findall(r"\s([\w-]+)=", text))}
    asked = frozenset(name for sheet in sheets for name in _VARIABLE.findall(sheet))
    sheet = files[found].decode()
    known = frozenset(name for pair in _NAME.findall(sheet) for name in pair if name)
    content = trim(sheet, known & (classes | attributes | _LIVE), asked).encode()
    path = named(TRIMMED, content)
    renamed = {
        page: text.replace(f'href="{found}"', f'href="{path}"').encode() for page, text in texts.items()
    }
    return {**{name: data for name, data in files.items() if name != found}, **renamed, path: content}


@lru_cache(maxsize=8)
def trim(sheet: str, used: frozenset[str], asked: frozenset[str]) -> str:
    """The rules whose classes and attributes are all ``used``, less the variables that nobody asks for."""
    rules = _rules(tinycss2.parse_stylesheet(sheet, skip_comments=True, skip_whitespace=True), used)
    text = "".join(rules)
    while True:
        wanted = {*asked, *_VARIABLE.findall(text)}
        fewer = _without_variables(text, wanted)
        if fewer == text:
            return text
        text = fewer


def _rules(nodes: Iterable[Any], used: frozenset[str]) -> list[str]:
    found = []
    for node in nodes:
        if node.type == "qualified-rule":
            selectors = [one for one in _selectors(node.prelude) if _needs(one) <= used]
            if selectors:
                found.append(f"{','.join(selectors)}{{{tinycss2.serialize(node.content)}}}")
        elif node.type == "at-rule" and node.lower_at_keyword in {"media", "supports"}:
            inner = tinycss2.parse_rule_list(node.content, skip_comments=True, skip_whitespace=True)
            if kept := _rules(inner, used):
                found.append(f"@{node.at_keyword}{tinycss2.serialize(node.prelude)}{{{''.join(kept)}}}")
        elif node.type == "at-rule":
            found.append(node.serialize())
    return found


def _selectors(prelude: list[Any]) -> list[str]:
    parts: list[list[Any]] = [[]]
    for token in prelude:
        if token.type == "literal" and token.value == ",":
            parts.append([])
        else:
            parts[-1].append(token)
    return [tinycss2.serialize(part).strip() for part in parts]


def _needs(selector: str) -> set[str]:
    """Classes and attributes that an element must have; ``:not(…)`` and ``:is(…)`` are no such need."""
    while (plain := re.sub(r":[\w-]+\([^()]*\)", "", selector)) != selector:
        selector = plain
    return {name for pair in _NAME.findall(selector) for name in pair if name}


def _without_variables(text: str, wanted: set[str]) -> str:
    def declaration(match: re.Match[str]) -> str:
        return match.group() if match.group(2) in wanted else match.group(1)

    # A value may hold a quoted address with signs of its own.
    text = re.sub(
        r'([{;])(--[\w-]+):(?:"[^"]*"|\'[^\']*\'|\([^()"]*\)|[^;{}"\'])*;?(?=[^;]|$)', declaration, text
    )
    return re.sub(r"[^{}]+\{\}", "", text)
