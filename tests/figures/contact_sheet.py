"""Every figure of every guide on PNG pages: ``python -m tests.figures.contact_sheet OUT [GUIDE...]``."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

from playwright.sync_api import sync_playwright

from procgen.figures import FIGURES, Drawing, draw_for, stylesheet
from procgen.messages.catalog import load
from procgen.procedure.assemble import Assembled, assemble
from procgen.profiles.workspace import read_workspace
from tests.conftest import CHROMIUM

ROOT = Path(__file__).parents[2]


def assembled_guides(only: tuple[str, ...] = ()) -> Iterator[Assembled]:
    """Every guide of the workspace, or those named."""
    messages, workspace = load(ROOT), read_workspace(ROOT)
    for guide in workspace.guides():
        if not only or guide.guide in only:
            yield assemble(guide, workspace.templates, messages)


def page(figures: list[tuple[str, Drawing]], width: int, scheme: str) -> str:
    """A page with drawings in boxes of one width."""
    boxes = "".join(
        f'<section style="width:{width}px"><h2>{guide}: {drawing.title}</h2>{drawing.svg}'
        f"<p>{' '.join(drawing.left_out)}</p></section>"
        for guide, drawing in figures
    )
    colours = (
        "--ink:#18211f;--sheet:#fff" if scheme == "light" else "--ink:#eef1ec;--ink-2:#b9c3be;--sheet:#1a2221"
    )
    return (
        f'<!doctype html><html data-theme="{scheme}"><meta charset="utf-8"><style>:root{{{colours}}}'
        f"body{{margin:12px;display:flex;flex-wrap:wrap;gap:16px;align-items:start;background:var(--sheet);"
        f"color:var(--ink);font-family:system-ui,'DejaVu Sans',sans-serif}}"
        f"section{{border:1px solid #999;padding:8px;box-sizing:border-box}}"
        f"h2{{font-size:13px;margin:0 0 6px}}p{{font-size:11px}}{stylesheet()}</style>{boxes}</html>"
    )


def main(out: Path, only: tuple[str, ...]) -> None:
    """Write ``<figure>-<width>-<theme>.png`` for every figure."""
    out.mkdir(parents=True, exist_ok=True)
    messages = load(ROOT)
    drawn: dict[str, list[tuple[str, Drawing]]] = {name: [] for name in FIGURES}
    for guide in assembled_guides(only):
        draw = draw_for(guide, messages)
        for name in FIGURES:
            drawing = draw(name)
            if drawing is not None:
                drawn[name].append((guide.guide, drawing))
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        for name, figures in drawn.items():
            for width, scheme in ((780, "light"), (352, "light"), (780, "dark")):
                if not figures:
                    continue
                tab = browser.new_page(viewport={"width": 1640, "height": 900})
                tab.set_content(page(figures, width, scheme))
                tab.screenshot(path=out / f"{name}-{width}-{scheme}.png", full_page=True)
                tab.close()
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]), tuple(sys.argv[2:]))
