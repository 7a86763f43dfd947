"""What is kept when things go wrong: a kill while typing, storage refused or full, a spoiled row."""

from __future__ import annotations

import os
import signal
import subprocess
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext

from tests.conftest import CHROMIUM
from tests.phone.conftest import PHONE, Phone, entries, field, measure, ready, saved, tick, until

pytestmark = pytest.mark.browser


def test_the_phone_says_before_the_first_tick_where_entries_are_kept(phone: Phone) -> None:
    page = phone.open("index.html")
    said = page.locator("[data-field='start']").inner_text()
    assert "Ticks and readings are kept on this phone." in said
    assert "Send the record" in said


REFUSED = """Object.defineProperty(window, 'indexedDB', {value: {open() {
throw new DOMException('no', 'SecurityError'); }}});"""
NO_SMALL = """Object.defineProperty(window, 'localStorage', {get() {
throw new DOMException('no', 'SecurityError'); }});"""


def test_without_a_database_a_small_store_keeps_the_work(make_phone: Callable[..., Phone]) -> None:
    phone = make_phone()
    phone.context.add_init_script(REFUSED)
    page = phone.open("01-water.html")
    assert "This browser refuses its database." in page.locator(".field-warning").inner_text()
    tick(page, "water.pour")
    page.reload()
    ready(page)
    assert field(page, "step", "water.pour").locator(".tick").get_attribute("aria-pressed") == "true"
    phone.open("record.html", page=page)
    page.get_by_role("button", name="Clear the record").tap()
    page.locator("dialog button[type=submit]").tap()
    until(page, "procgen.view().entries.length === 0 && procgen.store.canUndo()")
    page.get_by_role("button", name="Undo the clearing").tap()
    until(page, "procgen.view().items['water.pour'].done")


def test_without_any_storage_it_warns_before_the_first_tick(make_phone: Callable[..., Phone]) -> None:
    phone = make_phone()
    phone.context.add_init_script(REFUSED + NO_SMALL)
    page = phone.open("01-water.html")
    warning = page.locator(".field-warning")
    assert "This browser keeps nothing." in warning.inner_text()
    assert (
        warning.get_by_role("link", name="Send the record").get_attribute("href") == "record.html#record-send"
    )
    tick(page, "water.pour")
    assert [one["kind"] for one in entries(page)] == ["tick"]


def test_a_full_phone_is_said_and_made_good_when_there_is_room(phone: Phone) -> None:
    page = phone.open("01-water.html")
    page.evaluate(
        """() => { window.realPut = IDBObjectStore.prototype.put; IDBObjectStore.prototype.put = function () {
        throw new DOMException('full', 'QuotaExceededError'); }; }"""
    )
    field(page, "step", "water.pour").locator(".tick").tap()
    warning = page.locator(".field-warning")
    warning.wait_for()
    assert "One entry could not be stored: the phone is full or refuses." in warning.inner_text()
    assert field(page, "step", "water.pour").locator(".tick").get_attribute("aria-pressed") == "true"
    page.evaluate("() => { IDBObjectStore.prototype.put = window.realPut; }")
    field(page, "step", "water.pour").locator("summary").tap()
    field(page, "step", "water.pour").locator("textarea").press_sequentially("x")
    warning.wait_for(state="detached")
    page.reload()
    ready(page)
    assert [one["kind"] for one in entries(page)] == ["tick", "remark"]


def test_a_spoiled_row_is_put_aside_and_said(phone: Phone) -> None:
    page = phone.open("01-water.html")
    tick(page, "water.pour")
    page.evaluate(
        """() => new Promise(done => {
        const open = indexedDB.open('procgen:ellunby-bakery'); open.onsuccess = () => {
        const t = open.result.transaction('rows', 'readwrite');
        t.objectStore('rows').put({edition: procgen.store.edition, id: 'bad', entry: {id: 'bad', kind: 7}});
        t.oncomplete = () => { open.result.close(); done(); }; }; })"""
    )
    page.reload()
    ready(page)
    assert "One stored entry cannot be read." in page.locator(".field-warning").inner_text()
    assert field(page, "step", "water.pour").locator(".tick").get_attribute("aria-pressed") == "true"
    data = page.evaluate("procgen.store.export()")
    assert [one["kind"] for one in data["entries"]] == ["tick"]
    assert data["aside"][0]["entry"] == {"id": "bad", "kind": 7}
    page.reload()
    ready(page)
    assert len(page.evaluate("procgen.store.export()")["aside"]) == 1


def test_two_tabs_stay_in_step(phone: Phone) -> None:
    one, two = phone.open("01-water.html"), phone.open("01-water.html")
    tick(one, "water.pour")
    until(two, "procgen.view().items['water.pour'].done")
    assert field(two, "step", "water.pour").locator(".tick").get_attribute("aria-pressed") == "true"
    field(two, "step", "water.pour").locator(".tick").tap()
    until(one, "!procgen.view().items['water.pour'].done")
    assert len(entries(one)) == len(entries(two)) == 2


def test_two_guides_on_one_phone_never_see_each_other(phone: Phone) -> None:
    page = phone.open("01-water.html")
    tick(page, "water.pour")
    phone.open("03-fill.html", page=page)
    measure(page, "fill.steam.inlet", "3")
    saved(page)
    phone.open("01-water.html", guide="other", page=page)
    assert entries(page) == []
    assert field(page, "step", "water.pour").locator(".tick").get_attribute("aria-pressed") == "false"
    assert page.evaluate("procgen.store.records()") == []


def test_it_works_from_a_folder(make_phone: Callable[..., Phone], site_folder: Path) -> None:
    phone = make_phone()
    page = phone.tab()
    page.goto((site_folder / "first" / "01-water.html").as_uri())
    ready(page)
    tick(page, "water.pour")
    page.goto((site_folder / "first" / "index.html").as_uri())
    ready(page)
    assert "1.2 Drain proved" in page.locator(".go-on").inner_text()
    page.goto((site_folder / "other" / "index.html").as_uri())
    ready(page)
    assert "1.1 Pour test" in page.locator(".go-on").inner_text()


def test_a_kill_while_typing_loses_at_most_the_last_character(
    tmp_path: Path, address: str, browser: Browser
) -> None:
    """The browser's processes are killed at once, as by a battery that falls out."""
    profile = str(tmp_path / "profile")
    typed = "drips at the second joint"
    context = _launch(browser, profile)
    page = context.new_page()
    page.goto(f"{address}/first/01-water.html")
    ready(page)
    step = field(page, "step", "water.pour")
    step.locator("summary").tap()
    step.locator("textarea").press_sequentially(typed, delay=15)
    for process in _processes(profile):
        os.kill(process, signal.SIGKILL)
    _until_gone(profile)
    context = _launch(browser, profile)
    page = context.new_page()
    page.goto(f"{address}/first/01-water.html")
    ready(page)
    kept = field(page, "step", "water.pour").locator("textarea").input_value()
    context.close()
    assert kept in (typed, typed[:-1])


def _launch(browser: Browser, profile: str) -> BrowserContext:
    return browser.browser_type.launch_persistent_context(
        profile, executable_path=CHROMIUM, args=["--no-sandbox"], **PHONE
    )


def _processes(profile: str) -> list[int]:
    """The processes of the browser that this test started, by the profile in their command line."""
    found = subprocess.run(
        ["pgrep", "-f", "--", f"--user-data-dir={profile}"], check=False, capture_output=True, text=True
    )
    return [int(line) for line in found.stdout.split()]


def _until_gone(profile: str) -> None:
    end = time.monotonic() + 5
    while _processes(profile) and time.monotonic() < end:
        time.sleep(0.05)
    for name in ("SingletonLock", "SingletonCookie", "SingletonSocket"):
        (Path(profile) / name).unlink(missing_ok=True)
