"""Built folders made of a few pages, and the faults of a check as they are printed."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from procgen.messages.catalog import load
from procgen.messages.diagnostic import Diagnostic

PAGE = (
    '<!doctype html><html lang="en"><head><title>T</title>{head}</head><body><h1>H</h1>{body}</body></html>'
)


def site(folder: Path, **pages: str) -> Path:
    """A folder with one page for each name (``two__three`` is two/three.html); texts are bodies."""
    for name, body in pages.items():
        path = folder / (name.replace("__", "/") + ".html")
        path.parent.mkdir(parents=True, exist_ok=True)
        whole = body if body.startswith("<!doctype") else PAGE.format(head="", body=body)
        path.write_text(whole, encoding="utf-8")
    return folder


def said(faults: Iterable[Diagnostic], folder: Path) -> list[str]:
    """The faults in words, sorted as they are printed; all of them are faults of a result."""
    found = sorted(faults, key=lambda fault: fault.sort_key)
    assert all(fault.level == "check" for fault in found)
    return [load().diagnostic(fault, folder) for fault in found]
