"""Every link inside a built folder leads somewhere, and nothing on its pages asks another host."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path, PurePosixPath
from urllib.parse import unquote, urlsplit

from bs4 import Tag

from procgen.checks.html import Page, pages_of
from procgen.messages.diagnostic import Diagnostic

_URL_ATTRIBUTES = ("href", "src", "xlink:href", "action", "formaction", "poster", "data", "background")
_CSS_URL = re.compile(r"url\(\s*['\"]?([^'\")]+)['\"]?\s*\)|@import\s+['\"]([^'\"]+)['\"]", re.IGNORECASE)
_SCRIPT_REQUEST = re.compile(
    r"(?:\bfetch|\bimport|\bimportScripts|\bWorker|\bEventSource|\bWebSocket|\bsendBeacon|\.open|\bRequest)"
    r"\s*\(\s*(?:['\"](?:GET|POST|HEAD)['\"]\s*,\s*)?['\"`]((?:https?:|wss?:)?//[^'\"`\s]+)"
    r"|\bfrom\s*['\"]((?:https?:)?//[^'\"]+)['\"]|\bimport\s*['\"]((?:https?:)?//[^'\"]+)['\"]"
)
_HARMLESS = frozenset({"mailto", "tel", "data", "blob", "about"})


def check_links(
    folder: Path, allowed: frozenset[str] = frozenset(), left_out: frozenset[str] = frozenset()
) -> list[Diagnostic]:
    """Faults of all links and requests; ``allowed`` are starts of outside addresses that are meant."""
    checker = LinkChecker(folder, allowed)
    faults: list[Diagnostic] = []
    for page in checker.pages.values():
        if page.path.relative_to(folder).as_posix() not in left_out:
            faults.extend(checker.page(page))
    return faults + checker.assets(folder)


class LinkChecker:
    """Links of the pages and files of one folder; targets may lie anywhere in ``folder``."""

    def __init__(self, folder: Path, allowed: frozenset[str] = frozenset()) -> None:
        self.folder = folder.resolve()
        self.pages = {page.path.resolve(): page for page in pages_of(folder)}
        self.allowed = tuple(sorted(allowed))
        self._targets: dict[tuple[Path, str], Path] = {}

    def assets(self, folder: Path) -> list[Diagnostic]:
        """Faults of the style sheets, scripts and drawings of a folder."""
        paths = sorted([*folder.rglob("*.css"), *folder.rglob("*.js"), *folder.rglob("*.svg")])
        return [fault for path in paths for fault in self.asset(path)]

    def page(self, page: Page) -> Iterator[Diagnostic]:
        """Faults of one page."""
        for tag in page.soup.find_all(True):
            for url in _urls(tag):
                yield from self._url(page.path, url)
            if tag.name == "style":
                yield from self._css(page.path, tag.get_text())
            if tag.name == "script" and not tag.get("src"):
                yield from self._script(page.path, tag.get_text())

    def asset(self, path: Path) -> Iterator[Diagnostic]:
        """Faults of a style sheet, a script or a drawing."""
        text = path.read_text(encoding="utf-8", errors="replace")
        if path.suffix == ".css":
            yield from self._css(path, text)
        elif path.suffix == ".js":
            yield from self._script(path, text)
        else:
            for match in re.finditer(r"(?:href|src)\s*=\s*[\"']([^\"']+)[\"']", text):
                yield from self._url(path, match.group(1))

    def _css(self, path: Path, text: str) -> Iterator[Diagnostic]:
        for match in _CSS_URL.finditer(text):
            yield from self._url(path, match.group(1) or match.group(2))

    def _script(self, path: Path, text: str) -> Iterator[Diagnostic]:
        for match in _SCRIPT_REQUEST.finditer(text):
            yield from self._outside(path, next(filter(None, match.groups())))

    def _outside(self, path: Path, url: str) -> Iterator[Diagnostic]:
        if not url.startswith(self.allowed) if self.allowed else True:
            yield _fault("check_outside_request", path, found=url)

    def _url(self, path: Path, url: str) -> Iterator[Diagnostic]:
        url = url.strip()
        parts = urlsplit(url)
        if parts.scheme in _HARMLESS:
            return
        if parts.scheme in {"http", "https", "ws", "wss", "ftp"} or url.startswith("//"):
            yield from self._outside(path, url)
        elif parts.scheme:
            yield _fault("check_link_scheme", path, found=url[:80])
        elif url.startswith("/"):
            yield _fault("check_link_absolute", path, found=url)
        else:
            yield from self._inside(path, url, unquote(parts.path), unquote(parts.fragment))

    def _target(self, path: Path, file: str) -> Path:
        """The file a link names, asked of the file system once."""
        key = (path, file)
        if key not in self._targets:
            here = path.resolve()
            self._targets[key] = (here.parent / PurePosixPath(file)).resolve() if file else here
        return self._targets[key]

    def _inside(self, path: Path, url: str, file: str, fragment: str) -> Iterator[Diagnostic]:
        target = self._target(path, file)
        if not target.is_relative_to(self.folder):
            yield _fault("check_link_leaves", path, found=url)
        elif target.is_dir():
            yield _fault("check_link_folder", path, found=url)
        elif not target.is_file():
            yield _fault("check_link_broken", path, found=url)
        elif fragment and target in self.pages and fragment not in self.pages[target].anchors:
            yield _fault("check_link_anchor", path, found=url)


def _urls(tag: Tag) -> Iterator[str]:
    for name in _URL_ATTRIBUTES:
        value = tag.get(name)
        if value is not None and not (name == "data" and tag.name != "object"):
            yield str(value)
    for name in ("srcset", "imagesrcset"):
        for candidate in str(tag.get(name) or "").split(","):
            if candidate.strip():
                yield candidate.split()[0]
    for match in _CSS_URL.finditer(str(tag.get("style") or "")):
        yield match.group(1) or match.group(2)
    if tag.name == "meta" and str(tag.get("http-equiv", "")).lower() == "refresh":
        _, found, url = str(tag.get("content", "")).partition("url=")
        if found:
            yield url


def _fault(code: str, path: Path, **params: str) -> Diagnostic:
    return Diagnostic(code, path, params=params, level="check")
