"""Where each figure on a page comes from, as data for the script that shows it: the sheet's own entries."""

from __future__ import annotations

import re
from collections.abc import Iterable

from procgen.publish.adapter import Html, Page
from procgen.publish.search_index import classic_script
from procgen.publish.sheet import calculation
from procgen.publish.words import Words
from procgen.values.worksheet import Worksheet

FIGURES_FILE = "figures-data.js"
GLOBAL = "procgenFigures"

_LINKED = re.compile(r'<a [^>]*data-(?:value|source)="([^"]+)"')


def linked_values(pages: Iterable[Page]) -> set[str]:
    """Ids of the values whose figures stand on some pages."""
    return {
        found for page in pages for block in page.blocks if isinstance(block, Html) for found in _ids(block)
    }


def _ids(block: Html) -> list[str]:
    return _LINKED.findall(block.html)


def sources_script(pages: Iterable[Page], worksheet: Worksheet, words: Words) -> bytes:
    """The sheet's entry of each value that stands on a page, as a classic script that works from a folder."""
    linked = linked_values(pages)
    data = {
        "words": {"close": words("figure.close"), "sheet": words("figure.sheet")},
        "values": {
            name: str(calculation(value, worksheet, words, sheet=False))
            for name, value in worksheet.values.items()
            if name in linked
        },
    }
    return classic_script(GLOBAL, data)
