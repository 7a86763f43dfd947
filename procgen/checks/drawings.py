"""Both forms of a drawing print the same figures: the wide one is held against the worksheet, so both are."""

from __future__ import annotations

from collections.abc import Iterator

from bs4 import Tag

from procgen.checks.html import Page
from procgen.messages.diagnostic import Diagnostic


def page_faults(page: Page) -> Iterator[Diagnostic]:
    """Faults of the drawings of one page."""
    for drawing in page.soup.find_all("figure", class_="drawing"):
        wide, narrow = (drawing.select_one(f"svg[data-form={form}]") for form in ("wide", "narrow"))
        if wide is None or narrow is None:
            continue
        # A figure without an origin of its own, such as a scale, is marked up in both forms and may differ.
        own = wide.select("tspan.q[data-value], tspan.q[data-leaf]")
        told = {_flat(tag) for tag in own}
        short = {_flat(tag) for tag in narrow.select("tspan.typed")}
        name = str(drawing.get("data-figure"))
        for text in sorted(short - told):
            yield page.fault("check_drawing_narrow", found=text, figure=name)
        for text in sorted(told - short):
            yield page.fault("check_drawing_wide", found=text, figure=name)


def _flat(tag: Tag) -> str:
    return " ".join(tag.get_text().split())
