"""The print says what the site says: text of every step, hold and notice as Chromium shows it, in order."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from procgen.messages.catalog import Messages
from procgen.procedure.anchors import anchor, part_page
from procgen.publish.adapter import build, load_settings
from procgen.publish.words import Words
from tests.print.conftest import Print

#: every visible piece of text of a step or hold, heading first, without what only a screen has
VISIBLE = """
item => {
  const skip = '.field, .drawing__view, .drawing__data, [data-sign], .headerlink, script';
  const texts = node => {
    const found = [];
    const walker = document.createTreeWalker(node, NodeFilter.SHOW_TEXT);
    for (let text = walker.nextNode(); text; text = walker.nextNode()) {
      const parent = text.parentElement;
      if (!parent.closest(skip) && !parent.closest('svg') && parent.checkVisibility()) found.push(text.data);
    }
    return found;
  };
  const heading = document.getElementById(item.getAttribute('aria-labelledby'));
  return [heading.id, ...texts(heading), ...texts(item)];
}
"""


@pytest.fixture(scope="module")
def shown(worst: Print, browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> list[list[str]]:
    """Anchor and texts of every step and hold on the site, in order."""
    folder = tmp_path_factory.mktemp("site")
    build(worst.site.spec, folder, load_settings(None))
    return list(_items(worst, browser, folder))


def _items(worst: Print, browser: Browser, folder: Path) -> Iterator[list[str]]:
    context = browser.new_context(java_script_enabled=True)
    context.route("**/*.js", lambda route: route.abort())
    page = context.new_page()
    for part in worst.guide.procedure.parts:
        page.goto((folder / part_page(part.number, part.id)).as_uri())
        for item in page.query_selector_all("article[data-step], section[data-hold]"):
            yield item.evaluate(VISIBLE)
    context.close()


def squeezed(text: str) -> str:
    """Text without blanks and case: both sides break lines and write capitals in their own way."""
    return re.sub(r"[\s\u00a0\u202f\u200b]+", "", text).casefold()


def test_every_step_says_the_same_in_the_same_order(
    worst: Print, shown: list[list[str]], messages: Messages
) -> None:
    allowed = _allowed(Words(messages))
    pdf = worst.pdf
    # Words of a drawing stand between those of its step; other tests look at drawings.
    names = [texts[0] for texts in shown]
    assert len(names) == len(set(names)) > 60
    ends = dict(zip(names, [*names[1:], "worked-out"], strict=True))
    pages = {name: set(range(pdf.page_of(name), pdf.page_of(end) + 1)) for name, end in ends.items()}
    drawn = [anchor("step", step.id) for step in worst.guide.procedure.steps() if step.figures]
    drawn_on = set().union(*(pages[name] for name in drawn))
    compared = 0
    for texts in shown:
        printed = squeezed(pdf.text(min(pages[texts[0]]), max(pages[texts[0]])))
        wanted = [piece for piece in map(squeezed, texts[1:]) if piece]
        at = printed.index("".join(wanted[:2]))
        left = []
        for piece in wanted:
            found = printed.find(piece, at)
            assert found >= 0, (texts[0], piece)
            left.append(printed[at:found])
            at = found + len(piece)
        if not pages[texts[0]] & drawn_on:
            extra = re.sub(allowed, "", " ".join(left))
            assert not extra.strip(), (texts[0], extra)
            compared += 1
    assert compared > len(shown) / 2


def _allowed(words: Words) -> str:
    """What only paper has: numbers and dots of lists, labels of boxes to write in, colons, drawings."""
    signs = [words(f"print.sign.{name}") for name in ("name", "licence", "time", "signature")]
    return "|".join([r"\d+\.", "[•:]", *(re.escape(squeezed(sign)) for sign in signs)])
