"""Boxes of labels and points of lines as a real browser places them, and which of them meet."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from playwright.sync_api import Page, sync_playwright

CHROMIUM = "/usr/bin/chromium"

#: Every line of every label as a box, every visible stroke as points, both in the drawing's own units.
MEASURE = """
(svg) => {
  const back = svg.getScreenCTM().inverse();
  const place = (x, y) => { const p = new DOMPoint(x, y).matrixTransform(back); return [p.x, p.y]; };
  const shown = svg.viewBox.baseVal;
  const texts = [];
  for (const text of svg.querySelectorAll('text')) {
    const lines = [];
    const walker = document.createTreeWalker(text, NodeFilter.SHOW_TEXT);
    while (walker.nextNode()) {
      const node = walker.currentNode;
      if (!node.data.trim()) continue;
      const range = document.createRange();
      const start = node.data.length - node.data.trimStart().length;
      range.setStart(node, start);
      range.setEnd(node, node.data.trimEnd().length);
      for (const box of range.getClientRects()) {
        const corners = [place(box.left, box.top), place(box.right, box.bottom)];
        const x1 = Math.min(corners[0][0], corners[1][0]), x2 = Math.max(corners[0][0], corners[1][0]);
        const y1 = Math.min(corners[0][1], corners[1][1]), y2 = Math.max(corners[0][1], corners[1][1]);
        if (x2 - x1 > 0.5) lines.push([x1, y1, x2, y2]);
      }
    }
    if (lines.length) texts.push({ words: text.textContent.slice(0, 60), lines });
  }
  const strokes = [];
  for (const shape of svg.querySelectorAll('path, rect, circle, line, ellipse, polyline, polygon')) {
    if (getComputedStyle(shape).stroke === 'none') continue;
    const matrix = back.multiply(shape.getScreenCTM());
    const total = shape.getTotalLength(), points = [];
    const count = Math.max(2, Math.ceil(total / 1.5));
    for (let i = 0; i <= count; i++) {
      const at = shape.getPointAtLength(total * i / count);
      const p = new DOMPoint(at.x, at.y).matrixTransform(matrix);
      points.push([p.x, p.y]);
    }
    strokes.push({ shape: shape.outerHTML.slice(0, 90), points });
  }
  return { width: shown.width, height: shown.height, texts, strokes };
}
"""
#: a letter's box is taller than its ink by this much at top and bottom
LOOSE_Y = 2.6
LOOSE_X = 0.8


@dataclass(frozen=True)
class Meeting:
    """Two things of a drawing that share a place."""

    first: str
    second: str


@contextmanager
def open_page(width: int = 1200) -> Iterator[Page]:
    """A page of a browser."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        try:
            yield browser.new_page(viewport={"width": width, "height": 900})
        finally:
            browser.close()


def _boxes(text: dict[str, Any]) -> list[tuple[float, float, float, float]]:
    return [
        (x1 + LOOSE_X, y1 + LOOSE_Y, x2 - LOOSE_X, y2 - LOOSE_Y)
        for x1, y1, x2, y2 in text["lines"]
        if x2 - x1 > 2 * LOOSE_X
    ]


def meetings(measured: dict[str, Any]) -> list[Meeting]:
    """Labels that meet a label, a line, or the edge of the drawing."""
    texts = [(text["words"], _boxes(text)) for text in measured["texts"]]
    found = []
    for index, (words, boxes) in enumerate(texts):
        for other, others in texts[index + 1 :]:
            if any(_cross(a, b) for a in boxes for b in others):
                found.append(Meeting(words, other))
        for stroke in measured["strokes"]:
            if any(_inside(point, box) for box in boxes for point in stroke["points"]):
                found.append(Meeting(words, stroke["shape"]))
        width, height = measured["width"], measured["height"]
        if any(b[0] < -1 or b[1] < -1 or b[2] > width + 1 or b[3] > height + 1 for b in boxes):
            found.append(Meeting(words, "edge"))
    return found


def _cross(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _inside(point: list[float], box: tuple[float, ...]) -> bool:
    return box[0] < point[0] < box[2] and box[1] < point[1] < box[3]
