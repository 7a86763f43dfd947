"""Two prints for all tests: a small guide made by hand, and the demo's worst (four groups, three phases)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import pytest

from procgen.commands import render
from procgen.figures import draw_for
from procgen.messages.catalog import Messages
from procgen.procedure.assemble import Assembled
from procgen.publish.guide_pages import GuideSite, guide_site
from procgen.publish.printing.documents import Press, print_document
from tests.conftest import DEMO as WORST
from tests.conftest import ROOT, Once
from tests.print.read import Pdf
from tests.publish import fakes

ADDRESS = "https://guides.example/site"


@dataclass(frozen=True)
class Print:
    """A print, and the guide's site that it has to say the same as."""

    guide: Assembled
    site: GuideSite
    pdf: Pdf


def press_of(messages: Messages, **more: object) -> Press:
    return Press(
        messages,
        draw_in=lambda guide, theme: draw_for(guide, messages, theme),  # type: ignore[arg-type]
        **more,  # type: ignore[arg-type]
    )


@pytest.fixture(scope="session")
def worst(messages: Messages, once: Once) -> Print:
    """The demo's longest guide, on A4, with a public address."""
    guide = render(ROOT, messages, [WORST]).guides[0]
    site = guide_site(guide, messages, draw_for(guide, messages))

    def make(folder: Path) -> None:
        printed = print_document(guide, press_of(messages, site_url=ADDRESS), site.edition)
        (folder / "worst.pdf").write_bytes(printed.content)

    return Print(guide, site, Pdf(once("print", make) / "worst.pdf"))


@pytest.fixture(scope="session")
def small(once: Once) -> Mapping[str, Pdf]:
    """A small guide on both papers."""
    papers = ("A4", "Letter")
    folder = once("small-print", lambda into: [print_fake(into / f"{one}.pdf", one) for one in papers])
    return {one: Pdf(folder / f"{one}.pdf") for one in papers}


def print_fake(path: Path, paper: str | None = None) -> Path:
    press = Press(fakes.messages(), paper=paper, draw_in=lambda _guide, _theme: fakes.draw)  # type: ignore[arg-type]
    path.write_bytes(print_document(fakes.job(), press).content)
    return path
