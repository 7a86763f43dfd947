"""Boxes of labels and points of lines as a real browser places them, and which of them meet."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from playwright.sync_api import ElementHandle, Page, sync_playwright

from procgen.figures import stylesheet
from tests.conftest import CHROMIUM

#: Every line of every label as a box and every visible stroke as points, in the drawing's own units; gives
#: the labels that share a place with a label, a stroke or the edge. A letter's box is taller than its ink.
MEETINGS = """
(svg) => {
  const LOOSE_X = 0.8, LOOSE_Y = 2.6, EVERY = 1.5;
  const back = svg.getScreenCTM().inverse();
  const place = (x, y) => new DOMPoint(x, y).matrixTransform(back);
  const texts = [];
  for (const text of svg.querySelectorAll('text')) {
    const boxes = [];
    const walker = document.createTreeWalker(text, NodeFilter.SHOW_TEXT);
    while (walker.nextNode()) {
      const data = walker.currentNode.data;
      if (!data.trim()) continue;
      const range = document.createRange();
      range.setStart(walker.currentNode, data.length - data.trimStart().length);
      range.setEnd(walker.currentNode, data.trimEnd().length);
      for (const box of range.getClientRects()) {
        const a = place(box.left, box.top), b = place(box.right, box.bottom);
        const one = [Math.min(a.x, b.x) + LOOSE_X, Math.min(a.y, b.y) + LOOSE_Y,
                     Math.max(a.x, b.x) - LOOSE_X, Math.max(a.y, b.y) - LOOSE_Y];
        if (one[2] > one[0]) boxes.push(one);
      }
    }
    texts.push({ words: text.textContent.slice(0, 60), boxes });
  }
  const found = [];
  const crosses = (a, b) => a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];
  const size = svg.viewBox.baseVal;
  texts.forEach((text, index) => {
    for (const other of texts.slice(index + 1))
      if (text.boxes.some(a => other.boxes.some(b => crosses(a, b)))) found.push([text.words, other.words]);
    if (text.boxes.some(b => b[0] < -1 || b[1] < -1 || b[2] > size.width + 1 || b[3] > size.height + 1))
      found.push([text.words, 'the edge']);
  });
  const all = texts.flatMap(text => text.boxes.map(box => ({ words: text.words, box })));
  const shapes = [...svg.querySelectorAll('path, rect, circle')].filter(s => !s.closest('defs'))
    .map(s => [s, back.multiply(s.getScreenCTM())]);
  for (const use of svg.querySelectorAll('use')) {
    const matrix = back.multiply(use.getScreenCTM());
    const target = document.querySelector(use.getAttribute('href'));
    for (const s of target.querySelectorAll('path, rect, circle')) shapes.push([s, matrix]);
  }
  const sampled = new Map();
  const points = shape => {
    if (!sampled.has(shape)) {
      const total = shape.getTotalLength(), count = Math.max(2, Math.ceil(total / EVERY));
      const at = (_, i) => shape.getPointAtLength(total * i / count);
      sampled.set(shape, Array.from({ length: count + 1 }, at));
    }
    return sampled.get(shape);
  };
  for (const [shape, matrix] of shapes) {
    if (getComputedStyle(shape).stroke === 'none') continue;
    let near = all;
    // A line stays within its shape's box. What is drawn only where it is used has no box here.
    if (!shape.closest('defs, symbol')) {
      const b = shape.getBBox(), ends = [[b.x, b.y], [b.x + b.width, b.y], [b.x, b.y + b.height],
        [b.x + b.width, b.y + b.height]].map(([x, y]) => new DOMPoint(x, y).matrixTransform(matrix));
      const xs = ends.map(p => p.x), ys = ends.map(p => p.y);
      const left = Math.min(...xs) - EVERY, right = Math.max(...xs) + EVERY;
      const top = Math.min(...ys) - EVERY, bottom = Math.max(...ys) + EVERY;
      near = all.filter(({ box }) => box[0] < right && left < box[2] && box[1] < bottom && top < box[3]);
    }
    if (!near.length) continue;
    const { a, b, c, d, e, f } = matrix, met = new Set();
    for (const p of points(shape)) {
      const x = a * p.x + c * p.y + e, y = b * p.x + d * p.y + f;
      for (const { words, box } of near)
        if (x > box[0] && x < box[2] && y > box[1] && y < box[3]) met.add(words);
    }
    for (const words of met) found.push([words, shape.outerHTML.slice(0, 90)]);
  }
  return { labels: texts.length, strokes: shapes.length, found };
}
"""
#: both forms at their own size, whatever the width of the window
BOTH = ".fg svg.fg-wide, .fg svg.fg-narrow { display: block !important; max-width: none; width: auto; }"


@dataclass(frozen=True)
class Measured:
    """What a browser found in one picture."""

    form: str
    labels: int
    strokes: int
    meetings: tuple[tuple[str, str], ...]


@contextmanager
def open_page(width: int = 1200) -> Iterator[Page]:
    """A page of a browser."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        try:
            yield browser.new_page(viewport={"width": width, "height": 900})
        finally:
            browser.close()


def measure(page: Page, svg: str) -> list[Measured]:
    """Both forms of a drawing, set in the widest face that a guide's readers may have."""
    page.set_content(f"<style>{stylesheet()} body {{ font-family: 'DejaVu Sans' }} {BOTH}</style>{svg}")
    return [_measured(picture) for picture in page.query_selector_all("svg[data-form]")]


def _measured(picture: ElementHandle) -> Measured:
    result = picture.evaluate(MEETINGS)
    found = tuple((first, second) for first, second in result["found"])
    return Measured(picture.get_attribute("data-form") or "", result["labels"], result["strokes"], found)
