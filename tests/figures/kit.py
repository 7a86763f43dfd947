"""Guides assembled once for all tests of the drawings, and what tests read out of a drawing."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache, lru_cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from procgen.figures import FIGURES, Drawing, draw_for
from procgen.messages.catalog import Messages, load
from procgen.procedure.assemble import Assembled, assemble
from procgen.profiles.workspace import GuideInput, read_workspace

ROOT = Path(__file__).parents[2]
SVG = "{http://www.w3.org/2000/svg}"


@lru_cache(maxsize=1)
def messages() -> Messages:
    """The packaged words."""
    return load(ROOT)


@lru_cache(maxsize=1)
def inputs() -> dict[str, GuideInput]:
    """What every guide of the workspace is made from, by its id."""
    return {guide.guide: guide for guide in read_workspace(ROOT).guides()}


@cache
def assembled(name: str) -> Assembled:
    """One guide."""
    return assemble(inputs()[name], ROOT / "docs_src" / "procedure", messages())


@lru_cache(maxsize=1)
def guides() -> dict[str, Assembled]:
    """Every guide of the workspace by its id."""
    return {name: assembled(name) for name in inputs()}


def names() -> list[str]:
    """Ids of all guides."""
    return list(inputs())


def preferring(guide: Assembled, prefer: Any) -> Assembled:
    """The same guide in the other unit preference."""
    return replace(guide, worksheet=replace(guide.worksheet, prefer=prefer))


def drawings(guide: Assembled, theme: Any = "screen") -> dict[str, Drawing]:
    """All drawings that a guide has."""
    draw = draw_for(guide, messages(), theme)
    return {name: drawing for name in FIGURES if (drawing := draw(name)) is not None}


def parsed(drawing: Drawing) -> ElementTree.Element:
    """A drawing's markup as a tree; fails where it is not well formed."""
    return ElementTree.fromstring(drawing.svg)


def form(drawing: Drawing, wanted: str = "wide") -> ElementTree.Element:
    """One of a drawing's pictures."""
    return next(svg for svg in parsed(drawing).iter(f"{SVG}svg") if svg.get("data-form") == wanted)


def with_attribute(root: ElementTree.Element, name: str) -> Iterator[ElementTree.Element]:
    """Elements that carry an attribute."""
    return (element for element in root.iter() if element.get(name) is not None)


def text_of(element: ElementTree.Element) -> str:
    """Text of an element and everything inside it."""
    return " ".join("".join(element.itertext()).split())


def place_of(element: ElementTree.Element) -> tuple[float, float]:
    """Where a moved group stands."""
    match = re.fullmatch(r"translate\(([-\d.]+) ([-\d.]+)\)", element.get("transform") or "")
    assert match, element.attrib
    return float(match.group(1)), float(match.group(2))


def replaced(guide: Assembled, **changes: Any) -> Assembled:
    """The guide with fields of its machine changed."""
    machine = replace(guide.machine, data=guide.machine.data.model_copy(update=changes))
    return replace(guide, machine=machine)
