"""The one place that knows the print engine: a finished HTML document becomes a tagged PDF.

Every font comes from this package, nothing is fetched, and the same document gives the same bytes.
"""

from __future__ import annotations

import io
import logging
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stdout
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

ASSETS = Path(__file__).parents[1] / "assets" / "print"
_SCHEME = "procgen:"
_VARIANT = "pdf/ua-1"
#: the CSS pixel is 1/96 inch
_PX_PER_MM = 96 / 25.4
_TYPES = {".woff2": "font/woff2", ".svg": "image/svg+xml"}


class PrintEngineMissingError(Exception):
    """The engine's system libraries (Pango, HarfBuzz, fontconfig) cannot be loaded."""


class PrintFaultError(Exception):
    """The engine warned: something on a sheet would not be what was meant."""

    def __init__(self, warnings: list[str], guide: str = "") -> None:
        self.warnings = warnings
        self.guide = guide
        super().__init__(warnings, guide)

    def __str__(self) -> str:
        return "; ".join(self.warnings)


@dataclass(frozen=True, slots=True)
class Printed:
    """A document as printed."""

    content: bytes
    pages: int


@dataclass(frozen=True, slots=True)
class Place:
    """Where an element stands: page from 1, its edges in millimetres from the sheet's upper left corner."""

    page: int
    left: float
    top: float
    right: float
    bottom: float


def _engine() -> Any:
    """The engine.

    Raises:
        PrintEngineMissingError: Pango, HarfBuzz or fontconfig cannot be loaded.
    """
    try:
        # Where a library is missing, the engine says so on standard output as well.
        with redirect_stdout(io.StringIO()):
            import weasyprint
    except OSError as error:
        raise PrintEngineMissingError(str(error).splitlines()[0]) from error
    return weasyprint


def require_engine() -> None:
    """Load the engine, so that processes started later have it.

    Raises:
        PrintEngineMissingError: Pango, HarfBuzz or fontconfig cannot be loaded.
    """
    _engine()


def print_pdf(html: str, styles: str) -> Printed:
    """Lay a document out and write it as PDF/UA.

    Args:
        html: the whole document, its drawings inline and its links inside the document or absolute.
        styles: the style sheet; fonts are named as ``url(procgen:fonts/…)``.

    Raises:
        PrintEngineMissingError: the engine's system libraries are missing.
        PrintFaultError: the engine warned about the document, or failed at it.
    """
    engine = _engine()
    with _warnings() as heard:
        try:
            printed = _laid_out(engine, html, styles)
        except Exception as error:
            # Whatever a layout trips over concerns this document alone.
            raise PrintFaultError([*heard, f"{type(error).__name__}: {error}"]) from error
    if heard:
        raise PrintFaultError(heard)
    return printed


def _laid_out(engine: Any, html: str, styles: str) -> Printed:
    document = _document(engine, html, styles)
    return Printed(document.write_pdf(pdf_variant=_VARIANT), len(document.pages))


def _document(engine: Any, html: str, styles: str) -> Any:
    fonts = _fonts()
    sheet = engine.CSS(string=styles, font_config=fonts, url_fetcher=_fetcher(engine))
    return engine.HTML(string=html, base_url=_SCHEME, url_fetcher=_fetcher(engine)).render(
        stylesheets=[sheet], font_config=fonts, pdf_variant=_VARIANT
    )


def places(html: str, styles: str) -> dict[str, Place]:
    """Where each element that has an id comes to stand, without writing a file.

    Raises:
        PrintEngineMissingError: the engine's system libraries are missing.
        PrintFaultError: the engine failed at the document; what it warns of, ``print_pdf`` tells.
    """
    engine = _engine()
    with _warnings():
        try:
            pages = _document(engine, html, styles).pages
        except Exception as error:
            raise PrintFaultError([f"{type(error).__name__}: {error}"]) from error
    return {
        name: Place(number, *(edge / _PX_PER_MM for edge in edges))
        for number, page in enumerate(pages, 1)
        for name, edges in page.anchors.items()
    }


def _fonts() -> Any:
    from weasyprint.text.fonts import FontConfiguration

    return FontConfiguration()


@lru_cache(maxsize=1)
def _fetcher_class(engine_fetcher: type) -> type:
    class OwnFiles(engine_fetcher):
        """Serves this package's own files and nothing else."""

        def fetch(self, url: str, headers: Any = None) -> Any:
            from weasyprint.urls import URLFetcherResponse

            if not url.startswith(_SCHEME):
                raise ValueError(f"not one of our own files: {url}")
            path = (ASSETS / url.removeprefix(_SCHEME).lstrip("/")).resolve()
            if not path.is_relative_to(ASSETS):
                raise ValueError(f"not one of our own files: {url}")
            return URLFetcherResponse(url, path.read_bytes(), {"Content-Type": _TYPES[path.suffix]})

    return OwnFiles


def _fetcher(engine: Any) -> Any:
    from weasyprint.urls import URLFetcher

    return _fetcher_class(URLFetcher)()


@contextmanager
def _warnings() -> Iterator[list[str]]:
    heard: list[str] = []

    class Ear(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            heard.append(record.getMessage())

    ear, log = Ear(logging.WARNING), logging.getLogger("weasyprint")
    before = list(log.handlers), log.propagate
    log.handlers, log.propagate = [ear], False
    try:
        yield heard
    finally:
        log.handlers, log.propagate = before
