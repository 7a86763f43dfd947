"""Guides built once, served with the policy of published pages, on a phone that fails on any fault.

They are previews: the worker that keeps a guide on the phone has its own tests.
"""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Error, Locator, Page, expect

from procgen.procedure.model import Part, Procedure, Step
from procgen.publish.adapter import build, load_settings
from procgen.publish.guide_pages import guide_site
from procgen.publish.policy import SITE_POLICY
from procgen.values.worksheet import Series
from tests.conftest import Once
from tests.publish import fakes

PHONE: dict[str, Any] = {
    "viewport": {"width": 360, "height": 740},
    "has_touch": True,
    "is_mobile": True,
    "timezone_id": "Europe/Zurich",
    "locale": "en-GB",
}

#: seconds that only bound a wait: a busy machine takes its time
MOST = 30.0
expect.set_options(timeout=MOST * 1000)

_tap = Locator.tap


def _tapped(locator: Locator, **options: Any) -> None:
    """Tap, and wait until the page has had it: the click comes a moment after the finger has left."""
    page = locator.page
    page.evaluate(
        """() => { window.tapped = false;
        addEventListener('click', () => { window.tapped = true; }, {capture: true, once: true}); }"""
    )
    _tap(locator, **options)
    end = time.monotonic() + MOST
    while True:
        try:
            # Where a link has led to another page, nothing is known of it there.
            if page.evaluate("window.tapped") is not False:
                return
        except Error as error:
            if "navigation" not in str(error):
                raise
        assert time.monotonic() < end, locator
        page.wait_for_timeout(10)


Locator.tap = _tapped  # type: ignore[method-assign]

#: standing pressure, then what it does to the fill; the lowest row has no answer
WHAT_IF = Series(
    (
        ("static_pressure", "pressure_gauge"),
        ("fill_time_low", "time"),
        ("fill_time_high", "time"),
        ("pump_runs_low", "count"),
        ("pump_runs_high", "count"),
        ("stop_and_check_runs", "count"),
        ("why", "text"),
    ),
    (
        (1.5e5, None, None, None, None, None, "Too little pressure."),
        (2e5, 400.0, 450.0, 4.0, 4.0, 6.0, None),
        (3e5, 250.0, 300.0, 3.0, 3.0, 5.0, None),
        (4e5, 200.0, 230.0, 2.0, 2.0, 4.0, None),
    ),
)


def change_steps(procedure: Procedure, change: Callable[[Step], Step]) -> Procedure:
    """The same procedure with its steps changed."""
    parts: list[Part] = [
        replace(part, items=tuple(change(item) if isinstance(item, Step) else item for item in part.items))
        for part in procedure.parts
    ]
    return replace(procedure, parts=tuple(parts))


def job(guide: str = "ellunby-bakery", prefer: str = "metric") -> fakes.FakeJob:
    """The hand-made guide, its inlet pressure naming a what-if table."""
    made = fakes.job(guide, prefer)
    table = fakes.value("fill.what_if", "series", "Filling by pressure", 0, 0, 0, 1, series=WHAT_IF)
    table = table._replace(value=None, low=None, high=None)
    worksheet = replace(made.worksheet, values={**made.worksheet.values, "fill.what_if": table})

    def change(step: Step) -> Step:
        if step.id != "fill.steam":
            return step
        marked = step.body.html.replace('<a class="q" ', '<a class="q" data-value="fill.time" ', 1)
        readings = tuple(replace(one, what_if="fill.what_if") for one in step.readings)
        return replace(step, readings=readings, body=replace(step.body, html=marked))

    return replace(made, worksheet=worksheet, procedure=change_steps(made.procedure, change))


def later_job() -> fakes.FakeJob:
    """A later edition: the pour test says something else, so its hold covers something else too."""
    made = job()

    def change(step: Step) -> Step:
        if step.id != "water.pour":
            return step
        return replace(step, body=fakes.fragment("<p>Pour two buckets of water into the tundish.</p>"))

    return replace(made, procedure=change_steps(made.procedure, change))


class _Handler(SimpleHTTPRequestHandler):
    def end_headers(self) -> None:
        self.send_header("Content-Security-Policy", SITE_POLICY)
        self.send_header("Cache-Control", "no-store")
        super().end_headers()

    def log_message(self, *_: object) -> None:
        pass


@pytest.fixture(scope="session")
def site_folder(once: Once) -> Path:
    """The folder with all guides of these tests."""

    def make(folder: Path) -> None:
        jobs = {
            "first": job(),
            "later": later_job(),
            "other": job("pippetree-one"),
            "us": job("hobbin-row", "us"),
        }
        for name, one in jobs.items():
            site = guide_site(one, fakes.messages(), fakes.draw, preview=True)
            build(site.spec, folder / name, load_settings(None))

    return once("phone", make)


@contextmanager
def _served(folder: Path) -> Iterator[str]:
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(_Handler, directory=str(folder)))
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_address[1]}"
    server.shutdown()
    server.server_close()
    thread.join()


@pytest.fixture(scope="session")
def address(site_folder: Path) -> Iterator[str]:
    """Where the guides are served."""
    with _served(site_folder) as place:
        yield place


@pytest.fixture(scope="session")
def demo_address(published: Path) -> Iterator[str]:
    """Where the real guide is served."""
    with _served(published / "site") as place:
        yield place


@dataclass
class Phone:
    """One phone: its storage, its tabs, what went wrong on it."""

    context: BrowserContext
    address: str
    faults: list[str]

    def open(self, path: str, guide: str = "first", page: Page | None = None) -> Page:
        """A page of a guide, its record ready."""
        page = page or self.tab()
        page.goto(f"{self.address}/{guide}/{path}")
        ready(page)
        return page

    def tab(self) -> Page:
        """A new tab."""
        page = self.context.new_page()
        page.set_default_timeout(MOST * 1000)
        if slow := os.environ.get("PROCGEN_SLOW"):
            session = self.context.new_cdp_session(page)
            session.send("Emulation.setCPUThrottlingRate", {"rate": float(slow)})
        page.on("pageerror", lambda error: self.faults.append(str(error)))
        page.on("console", lambda m: self.faults.append(m.text) if m.type == "error" else None)
        return page


def until(page: Page, condition: str, argument: Any = None, seconds: float = MOST) -> None:
    """Wait for a condition; the pages' policy forbids the browser's own way, which evaluates text."""
    end = time.monotonic() + seconds
    while not page.evaluate(condition, argument):
        assert time.monotonic() < end, condition
        page.wait_for_timeout(25)


def ready(page: Page) -> None:
    """Wait until the record is open."""
    until(page, "Boolean(window.procgen && procgen.store.state.ready)")


def at_rest(page: Page) -> None:
    """Wait until all movement is over and the last frame has been drawn and reported."""
    page.evaluate(
        """async () => {
          await Promise.all(document.getAnimations().map(one => one.finished.catch(() => null)));
          for (let n = 0; n < 3; n += 1) await new Promise(requestAnimationFrame);
          await new Promise(done => setTimeout(done, 100)); }"""
    )


def saved(page: Page) -> None:
    """Wait until everything typed has reached the storage."""
    until(page, "procgen.store.pending() === 0")


def field(page: Page, kind: str, item: str) -> Any:
    """The control of an item."""
    return page.locator(f"[data-field='{kind}'][data-of='{item}']")


def tick(page: Page, step: str) -> None:
    """Tick a step and wait until it shows."""
    button = field(page, "step", step).locator(".tick")
    button.tap()
    until(page, "id => procgen.view().items[id].done && !procgen.store.pending()", step)


def confirm(page: Page, hold: str, name: str = "A. Tester") -> None:
    """Confirm a hold point by name."""
    field(page, "hold", hold).locator(".act").first.tap()
    dialog = page.locator("dialog.field-dialog")
    dialog.locator("input[type=text]").first.fill(name)
    dialog.locator("input[type=checkbox]").check()
    dialog.locator("button[type=submit]").tap()
    until(page, "id => procgen.view().items[id].done && !procgen.store.pending()", hold)


def entries(page: Page) -> list[dict[str, Any]]:
    """All entries of the record, as they would be exported."""
    exported: dict[str, Any] = page.evaluate("procgen.store.export()")
    found: list[dict[str, Any]] = exported["entries"]
    return found


def measure(page: Page, reading: str, typed: str, unit: str | None = None) -> Any:
    """Type a figure and keep it; gives the control."""
    control = field(page, "reading", reading)
    if unit:
        control.locator("select").select_option(label=unit)
    control.locator("input").fill(typed)
    control.get_by_role("button").tap()
    return control


@pytest.fixture
def make_phone(browser: Browser, address: str) -> Iterator[Callable[..., Phone]]:
    """Makes phones; each must be without fault in the end."""
    made: list[Phone] = []

    def make(**options: Any) -> Phone:
        context = browser.new_context(**{**PHONE, **options})
        made.append(Phone(context, address, []))
        return made[-1]

    yield make
    for one in made:
        one.context.close()
    assert [one.faults for one in made if one.faults] == []


@pytest.fixture
def phone(make_phone: Callable[..., Phone]) -> Phone:
    """A phone that has never seen the guides."""
    return make_phone()
