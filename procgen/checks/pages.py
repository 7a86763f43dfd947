"""Each page has a title, a language, one main heading, unique ids, and nothing left over from a template."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from bs4 import Tag

from procgen.checks.html import Page, pages_of
from procgen.messages.diagnostic import Diagnostic

_LEFT_OVER = re.compile(
    r"\{\{|\}\}|\{%|%\}|\bNone\b(?! of\b)|\b[Nn]a[Nn]\b|\bundefined\b|[\ue000-\uf8ff]|<\w+ object at"
)


def check_pages(folder: Path, left_out: frozenset[str] = frozenset()) -> list[Diagnostic]:
    """Faults of every page of a built folder."""
    return [fault for page in pages_of(folder, left_out) for fault in page_faults(page)]


def page_faults(page: Page) -> Iterator[Diagnostic]:
    """Faults of one page."""
    soup = page.soup
    if soup.title is None or not soup.title.get_text(strip=True):
        yield page.fault("check_page_title")
    root = soup.html
    if root is None or not str(root.get("lang") or "").strip():
        yield page.fault("check_page_language")
    headings = len(soup.find_all("h1"))
    if headings != 1:
        yield page.fault("check_page_heading", found=str(headings))
    for found, times in Counter(page.ids).items():
        if times > 1:
            yield page.fault("check_page_id", found=found, times=str(times))
    for run in page.runs(_is_code):
        match = _LEFT_OVER.search(run)
        if match:
            yield page.fault("check_page_left_over", found=match.group(), text=_around(run, match))


def _is_code(tag: Tag) -> bool:
    return tag.name in {"code", "pre", "kbd", "samp"}


def _around(run: str, match: re.Match[str]) -> str:
    return " ".join(run[max(0, match.start() - 20) : match.end() + 20].split())
