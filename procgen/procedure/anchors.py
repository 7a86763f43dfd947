"""Names that pages and links share: anchors of items and values, and the file of a part's page."""

from __future__ import annotations

import re
from typing import Literal

#: the page with the calculation sheet
FIGURES_PAGE = "figures.html"

AnchorKind = Literal["step", "hold", "symptom", "section", "value"]
_PREFIX: dict[AnchorKind, str] = {"step": "s-", "hold": "h-", "symptom": "f-", "section": "c-", "value": "v-"}


def slug(item_id: str) -> str:
    """An id as an anchor may be written: ``heat.time_brew[K2]`` is ``heat-time_brew-k2-``.

    Small letters, digits and underscores stay; dots, brackets, blanks and hyphens are hyphens; any other
    sign of a mark is its code point, so that the marks Δ1 and Ω1 stay two.
    """
    return re.sub(r"[^a-z0-9_]", _sign, item_id.lower())


def _sign(match: re.Match[str]) -> str:
    sign = match.group()
    return "-" if sign in ".[] -" else f"x{ord(sign):x}"


def anchor(kind: AnchorKind, item_id: str) -> str:
    """The anchor of an item: ``anchor("step", "fill.bleed[G2]")`` is ``s-fill-bleed-g2-``."""
    return _PREFIX[kind] + slug(item_id)


def value_href(value_id: str) -> str:
    """Where the calculation of a worksheet value stands."""
    return f"{FIGURES_PAGE}#{anchor('value', value_id)}"


def part_page(number: int, part_id: str) -> str:
    """File name of a part's page: ``04-water.html``."""
    return f"{number:02d}-{part_id}.html"
