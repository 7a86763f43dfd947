"""A PDF read back by two readers that did not write it: poppler's tools and pypdf."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import zxingcpp
from pypdf import PdfReader

MM = 72 / 25.4
#: running lines stand outside these, in millimetres from the sheet's edges: top, bottom
BODY = (17.0, 16.0)


@dataclass(frozen=True, slots=True)
class Word:
    text: str
    x0: float
    y0: float
    x1: float
    y1: float


@dataclass(frozen=True, slots=True)
class Sheet:
    width: float
    height: float
    words: tuple[Word, ...]

    def body(self) -> list[Word]:
        top, bottom = BODY[0] * MM, self.height - BODY[1] * MM
        return [word for word in self.words if top < word.y0 and word.y1 < bottom]


class Pdf:
    """What readers see of a file."""

    def __init__(self, path: Path) -> None:
        self.path = path

    @cached_property
    def reader(self) -> PdfReader:
        return PdfReader(self.path)

    @cached_property
    def root(self) -> Any:
        return self.reader.trailer["/Root"]

    @cached_property
    def sheets(self) -> list[Sheet]:
        """Words with their boxes, as poppler places them."""
        xml = run("pdftotext", "-bbox", str(self.path), "-")
        pages = ElementTree.fromstring(re.sub(r' xmlns="[^"]*"', "", xml)).iter("page")
        return [
            Sheet(
                float(page.attrib["width"]),
                float(page.attrib["height"]),
                tuple(
                    Word(
                        word.text or "",
                        *(float(word.attrib[side]) for side in ("xMin", "yMin", "xMax", "yMax")),
                    )
                    for word in page.iter("word")
                ),
            )
            for page in pages
        ]

    @cached_property
    def _texts(self) -> list[str]:
        """Text of each sheet with the sign that ends it."""
        sheet = self.sheets[0]
        top, height = int(BODY[0] * MM), int(sheet.height - (BODY[0] + BODY[1]) * MM)
        text = run(
            *("pdftotext", "-raw", "-x", "0", "-y", str(top), "-W", str(int(sheet.width)), "-H", str(height)),
            *(str(self.path), "-"),
        )
        found = [f"{one}\f" for one in text.split("\f")[:-1]]
        assert len(found) == len(self.sheets)
        return found

    def text(self, first: int = 1, last: int = 0) -> str:
        """Text between head and foot of some sheets, in the order in which it was written."""
        return "".join(self._texts[first - 1 : last or None])

    def structure(self) -> Iterator[tuple[str, Any]]:
        """Every element of the tag tree in reading order, with its parent's tag."""

        def walk(node: Any, parent: str) -> Iterator[tuple[str, Any]]:
            node = node.get_object() if hasattr(node, "get_object") else node
            if isinstance(node, list):
                for kid in node:
                    yield from walk(kid, parent)
            elif isinstance(node, dict) and "/S" in node:
                yield parent, node
                yield from walk(node.get("/K", []), str(node["/S"]))

        return walk(self.root["/StructTreeRoot"]["/K"], "")

    def outline(self) -> list[tuple[int, str, int]]:
        """Depth, title and page of every bookmark."""

        def walk(items: Any, depth: int) -> Iterator[tuple[int, str, int]]:
            for item in items:
                if isinstance(item, list):
                    yield from walk(item, depth + 1)
                else:
                    yield depth, str(item.title), (self.reader.get_destination_page_number(item) or 0) + 1

        return list(walk(self.reader.outline, 1))

    def page_of(self, name: str) -> int:
        """Page of a named destination."""
        return (self.reader.get_destination_page_number(self.reader.named_destinations[name]) or 0) + 1


def run(*command: str) -> str:
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def scanned(path: Path, page: int = 1, dots: int = 150) -> list[str]:
    """What the codes on a sheet say (zxing-cpp), from its picture at so many dots an inch."""
    command = ["pdftoppm", "-gray", "-r", str(dots), "-f", str(page), "-l", str(page), str(path)]
    picture = subprocess.run(command, check=True, capture_output=True).stdout
    # portable graymap: magic, width, height, maximum, then a byte a dot
    _, width, height, _, read = picture.split(maxsplit=4)
    grey = np.frombuffer(read[-int(width) * int(height) :], np.uint8).reshape(int(height), int(width))
    return [code.text for code in zxingcpp.read_barcodes(grey)]
