"""A code to scan: the address of the current edition as a drawing (ISO/IEC 18004), and in text."""

from __future__ import annotations

import segno
from htpy import Element, a, div, p
from markupsafe import Markup, escape

#: light border of four modules that a reader needs (ISO/IEC 18004)
_QUIET = 4


def scan_code(address: str, title: str, lead: str) -> Element:
    """The code, its title for a screen reader, and the address in text."""
    return div(".code")[
        Markup(_drawing(address, title)), div(".code__text")[p[lead], p[a(href=address)[address]]]
    ]


def _drawing(address: str, title: str) -> str:
    matrix = segno.make(address, error="m", micro=False).matrix
    size = len(matrix) + 2 * _QUIET
    path = "".join(
        f"M{column + _QUIET} {row + _QUIET}h1v1h-1z"
        for row, line in enumerate(matrix)
        for column, dark in enumerate(line)
        if dark
    )
    return (
        f'<svg class="code__drawing" viewBox="0 0 {size} {size}" role="img" shape-rendering="crispEdges">'
        f'<title>{escape(title)}</title><path fill="#fff" d="M0 0h{size}v{size}H0z"/>'
        f'<path fill="#000" d="{path}"/></svg>'
    )
