"""A phone, a web server that can go away or serve another edition, and small guides to serve."""

from __future__ import annotations

import functools
import gzip
import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Page

from procgen.publish import adapter
from procgen.publish.bundle import bundle
from procgen.publish.guide_pages import guide_site
from procgen.publish.words import Words
from tests.publish import fakes

#: what the browser itself refuses under a page's policy is written down before the page's own scripts run
VIOLATIONS = """
  self.violations = [];
  document.addEventListener("securitypolicyviolation",
    (event) => self.violations.push(event.violatedDirective + " " + event.blockedURI));
"""


def make_guide(folder: Path, job: fakes.FakeJob | None = None) -> str:
    """Build one guide ready for a server; gives its edition."""
    job = job or fakes.job()
    site = guide_site(job, fakes.messages(), fakes.draw)
    adapter.build(site.spec, folder, adapter.load_settings(None))
    bundle(folder, job.guide, site.edition, Words(fakes.messages()))
    return site.edition


class _Handler(SimpleHTTPRequestHandler):
    server: _Http

    def do_GET(self) -> None:
        """Answer, or break off where the server is told to be away."""
        self.server.asked.append(self.path)
        if self.server.away:
            self.close_connection = True
            self.connection.close()
            return
        self.directory = str(self.server.root)
        path = Path(self.translate_path(self.path))
        if self.server.compress and path.is_file():
            content = gzip.compress(path.read_bytes(), 6)
            self.send_response(200)
            self.send_header("Content-Type", self.guess_type(path))
            self.send_header("Content-Encoding", "gzip")
            self.send_header("Content-Length", str(len(content)))
            self.end_headers()
            self.wfile.write(content)
        else:
            super().do_GET()

    def log_message(self, format: str, *args: Any) -> None:
        """Nothing on the test's output."""


class _Http(ThreadingHTTPServer):
    daemon_threads = True

    def __init__(self, root: Path) -> None:
        super().__init__(("127.0.0.1", 0), functools.partial(_Handler))
        self.root = root
        self.away = False
        self.compress = False
        self.asked: list[str] = []

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A connection broken off on purpose is no news."""


@dataclass
class Server:
    """A static host. ``root`` may be changed while it runs."""

    http: _Http
    thread: threading.Thread = field(init=False)

    def __post_init__(self) -> None:
        self.thread = threading.Thread(target=self.http.serve_forever, daemon=True)
        self.thread.start()

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.http.server_address[1]}"

    def publish(self, folder: Path, place: str) -> None:
        """Put a guide in the place of the published one."""
        there = self.http.root / place
        if there.exists():
            shutil.rmtree(there)
        shutil.copytree(folder, there)

    def close(self) -> None:
        self.http.shutdown()
        self.http.server_close()
        self.thread.join()


@contextmanager
def serving(root: Path) -> Iterator[Server]:
    """A running server of a folder."""
    server = Server(_Http(root))
    try:
        yield server
    finally:
        server.close()


@contextmanager
def phone(browser: Browser, **more: Any) -> Iterator[BrowserContext]:
    """A phone with nothing stored on it."""
    context = browser.new_context(
        viewport={"width": 360, "height": 740},
        device_scale_factor=2,
        is_mobile=True,
        has_touch=True,
        **more,
    )
    context.add_init_script(VIOLATIONS)
    try:
        yield context
    finally:
        context.close()


def says(page: Page) -> str:
    """What the line at the top says."""
    return " ".join(page.locator(".keep__says").inner_text().split())


def state(page: Page, wanted: str) -> None:
    """Wait until the line says it."""
    page.wait_for_selector(f"[data-pg-keep][data-state={wanted}]", timeout=30_000)


def edition_of(page: Page) -> str:
    """The edition that a page is of."""
    return str(page.locator("[data-pg-keep]").get_attribute("data-edition"))


def find(page: Page, words: str) -> list[str]:
    """Titles that the search gives."""
    page.locator("#pg-q").click()
    page.locator("#pg-q").press_sequentially(words)
    # Once the search is loaded every key is answered at once; until then only the last one is.
    page.wait_for_selector(".pg-search__status:not(:empty)", timeout=30_000)
    return page.locator(".pg-search__title").all_inner_texts()
