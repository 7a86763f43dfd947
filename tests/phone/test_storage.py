"""What is kept when things go wrong: a kill while typing, storage refused or full, a spoiled row."""

from __future__ import annotations

import os
import signal
import subprocess
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from tests.conftest import CHROMIUM
from tests.phone.conftest import (
    PHONE,
    Phone,
    confirm,
    entries,
    field,
    measure,
    ready,
    saved,
    tick,
    until,
)

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


def test_a_database_that_never_answers_is_not_waited_for_and_nothing_is_typed_meanwhile(phone: Phone) -> None:
    page = phone.tab()
    page.clock.install()
    page.add_init_script("Object.defineProperty(window, 'indexedDB', {value: {open() { return {}; }}});")
    page.goto(f"{phone.address}/first/record.html")
    text = page.locator("[data-field='record-remark'] textarea")
    text.focus()
    page.keyboard.type("lost")
    assert not page.evaluate("procgen.store.state.ready")
    assert text.input_value() == ""
    page.clock.run_for(10_000)
    ready(page)
    text.focus()
    page.keyboard.type("kept")
    assert "This browser refuses its database." in page.locator(".field-warning").inner_text()
    saved(page)
    page.reload()
    page.clock.run_for(10_000)
    ready(page)
    assert [one["text"] for one in entries(page)] == ["kept"]


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


#: what a thumb does in the last moment before the page is gone: one script task, no time for any database
LAST_MOMENT: dict[str, tuple[str, str, dict[str, str]]] = {
    "tick": (
        "01-water.html",
        "document.querySelector('[data-field=step][data-of=\"water.pour\"] .tick').click()",
        {"kind": "tick", "step": "water.pour"},
    ),
    "reading": (
        "03-fill.html",
        """const room = document.querySelector('[data-field=reading][data-of="fill.steam.inlet"]');
        room.querySelector('input').value = '3.2'; room.querySelector('button').click()""",
        {"kind": "reading", "reading": "fill.steam.inlet", "typed": "3.2"},
    ),
    "remark": (
        "01-water.html",
        """const text = document.querySelector('[data-field=step][data-of="water.pour"] textarea');
        text.value = 'drips'; text.dispatchEvent(new Event('input'))""",
        {"kind": "remark", "step": "water.pour", "text": "drips"},
    ),
    "draft": (
        "03-fill.html",
        """const typed = document.querySelector('[data-field=reading][data-of="fill.steam.inlet"] input');
        typed.value = '3.'; typed.dispatchEvent(new Event('input'))""",
        {"kind": "draft", "of": "fill.steam.inlet", "typed": "3."},
    ),
}

#: the database takes the write and never comes to an end with it; or refuses it
HANGS = """IDBDatabase.prototype.transaction = function () { return { objectStore() {
  return { put() {}, add() {}, delete() {}, get() { return {}; }, getAll() { return {}; } }; } }; };"""
FAILS = """IDBObjectStore.prototype.put = function () {
  throw new DOMException('full', 'QuotaExceededError'); };"""


def same(found: list[dict[str, Any]], wanted: dict[str, str]) -> bool:
    """One of the entries is the wanted one."""
    return any({key: one.get(key) for key in wanted} == wanted for one in found)


def copies(page: Page) -> int:
    """Copies that stand beside the database."""
    found: int = page.evaluate(
        "Object.keys(localStorage).filter(name => name.includes(':pending:')).length",
    )
    return found


def leave(page: Page, act: str) -> None:
    """Do something and leave for the record in the same breath."""
    page.evaluate(f"() => {{ {act}; location.href = 'record.html'; }}")
    page.wait_for_url("**/record.html")
    ready(page)


@pytest.mark.parametrize("what", LAST_MOMENT)
@pytest.mark.parametrize("database", ["", HANGS, FAILS], ids=["works", "hangs", "fails"])
def test_what_is_entered_as_the_page_is_left_is_kept(phone: Phone, what: str, database: str) -> None:
    path, act, wanted = LAST_MOMENT[what]
    page = phone.open(path)
    page.evaluate(f"() => {{ {database} }}")
    leave(page, act)
    assert same(entries(page), wanted)
    assert copies(page) == 0
    page.reload()
    ready(page)
    assert same(entries(page), wanted)
    assert page.evaluate("procgen.store.state.tier") == "database"


def test_a_confirmation_taken_back_as_the_page_is_left_stays_taken_back(phone: Phone) -> None:
    page = phone.open("01-water.html")
    tick(page, "water.pour")
    confirm(page, "water.drain_proved")
    field(page, "hold", "water.drain_proved").get_by_role("button", name="Take the confirmation back").tap()
    leave(page, "document.querySelector('dialog.field-dialog button[type=submit]').click()")
    assert [one["kind"] for one in entries(page)] == ["tick", "confirm", "unconfirm"]
    assert not page.evaluate("procgen.view().items['water.drain_proved'].done")


def test_a_first_pump_run_comes_with_its_timer(phone: Phone) -> None:
    page = phone.open("03-fill.html")
    page.evaluate(f"() => {{ {HANGS} }}")
    leave(page, "document.querySelector('[data-field=timer] .acts button').click()")
    assert [one["kind"] for one in entries(page)] == ["start", "run"]


def plant(page: Page, entry: dict[str, Any], edition: str | None = None) -> None:
    """A copy of an entry, as a page that was killed leaves it."""
    page.evaluate(
        """([entry, edition]) => {
          edition = edition || procgen.store.edition;
          const copy = { edition, id: entry.id, entry };
          localStorage.setItem(['procgen:ellunby-bakery:pending', edition, entry.id, entry.seq].join(':'),
            JSON.stringify(copy)); }""",
        [entry, edition],
    )


def again(page: Page) -> list[dict[str, Any]]:
    """Load the page again; gives the entries then."""
    page.reload()
    ready(page)
    return entries(page)


def remark(page: Page, text: str) -> dict[str, Any]:
    """Write a remark at the pour test; gives its entry."""
    text_field = field(page, "step", "water.pour").locator("textarea")
    if not text_field.is_visible():
        field(page, "step", "water.pour").locator("summary").tap()
    text_field.fill(text)
    saved(page)
    return next(one for one in entries(page) if one.get("text") == text)


def test_an_older_copy_never_takes_the_place_of_a_later_state(phone: Phone) -> None:
    page = phone.open("01-water.html")
    old = remark(page, "drips")
    new = remark(page, "drips no more")
    assert new["id"] == old["id"]
    plant(page, old)
    assert again(page) == [new]
    later = {**new, "seq": new["seq"] + 1, "text": "dry"}
    plant(page, later)
    plant(page, {**new, "text": "another text of the same count"})
    assert again(page) == [later]
    assert again(page) == [later]
    assert copies(page) == 0


def test_a_copy_does_not_bring_back_what_was_cleared(phone: Phone) -> None:
    page = phone.open("record.html")
    phone.open("01-water.html", page=page)
    tick(page, "water.pour")
    old = remark(page, "drips")
    before = entries(page)
    phone.open("record.html", page=page)
    page.evaluate(f"() => {{ window.real = IDBObjectStore.prototype.put; {FAILS} }}")
    page.locator("[data-field='record-remark'] textarea").fill("not stored")
    page.locator(".field-warning").wait_for()
    assert copies(page) == 1
    page.evaluate("() => { IDBObjectStore.prototype.put = window.real; }")
    page.get_by_role("button", name="Clear the record").tap()
    page.locator("dialog button[type=submit]").tap()
    until(page, "procgen.view().entries.length === 0 && procgen.store.canUndo()")
    assert copies(page) == 0
    for entry in before:
        plant(page, entry)  # as where the browser was killed before it had noted that the copy is gone
    assert again(page) == []
    assert copies(page) == 0
    # The count goes on: a remark of now is no older than the one that was cleared.
    phone.open("01-water.html", page=page)
    new = remark(page, "dry")
    assert new["seq"] > old["seq"]
    later = {**new, "seq": new["seq"] + 1, "text": "dry indeed"}
    plant(page, later)
    assert again(page) == [later]


def test_a_copy_goes_to_the_edition_it_was_made_in_and_from_there_to_the_next(phone: Phone) -> None:
    page = phone.open("03-fill.html")
    first: str = page.evaluate("procgen.store.edition")
    measure(page, "fill.steam.inlet", "3")
    saved(page)
    phone.open("03-fill.html", guide="later", page=page)
    assert same(entries(page), {"kind": "reading", "typed": "3"})
    phone.open("03-fill.html", page=page)
    page.evaluate(f"() => {{ {HANGS} }}")
    _, act, wanted = LAST_MOMENT["reading"]
    page.evaluate(f"() => {{ {act} }}")
    until(page, "procgen.store.pending() > 0")
    copy = next(one for one in entries(page) if one.get("typed") == wanted["typed"])
    phone.open("03-fill.html", guide="later", page=page)
    assert [one for one in entries(page) if one["id"] == copy["id"]] == [copy]
    assert copies(page) == 0
    # A copy whose count the next edition has already seen comes along all the same.
    plant(page, {**copy, "id": "slow", "seq": 1}, first)
    assert same(again(page), {"id": "slow", "edition": first})
    phone.open("03-fill.html", page=page)
    assert [one["id"] for one in entries(page) if one["id"] in ("slow", copy["id"])] == ["slow", copy["id"]]
    heads = page.evaluate("procgen.store.records()")
    assert {one["guide"] for one in heads} == {"ellunby-bakery"}
    assert max(one["seq"] for one in entries(page)) <= page.evaluate("procgen.store.head().top")


def test_a_copy_of_an_edition_that_was_never_stored_comes_along(phone: Phone) -> None:
    page = phone.open("01-water.html")
    page.evaluate(f"() => {{ {HANGS} }}")
    page.evaluate(f"() => {{ {LAST_MOMENT['remark'][1]} }}")
    until(page, "procgen.store.pending() > 0")
    phone.open("01-water.html", guide="later", page=page)
    assert same(entries(page), LAST_MOMENT["remark"][2])
    phone.open("01-water.html", guide="other", page=page)
    assert entries(page) == []


def test_a_second_tab_and_one_that_has_not_finished_leave_each_other_alone(phone: Phone) -> None:
    one = phone.open("01-water.html")
    one.evaluate(f"() => {{ window.real = IDBDatabase.prototype.transaction; {HANGS} }}")
    field(one, "step", "water.pour").locator("summary").tap()
    field(one, "step", "water.pour").locator("textarea").press_sequentially("drip")
    until(one, "procgen.view().remarks['water.pour'][0].text === 'drip'")
    assert copies(one) == 1
    two = phone.open("01-water.html")
    assert same(entries(two), {"kind": "remark", "text": "drip"})
    tick(two, "water.pour")
    one.evaluate("() => { IDBDatabase.prototype.transaction = window.real; }")
    field(one, "step", "water.pour").locator("textarea").press_sequentially("s")
    saved(one)
    until(two, "procgen.view().remarks['water.pour'][0].text === 'drips'")
    assert copies(two) == 0
    assert [entry["kind"] for entry in again(two)] == ["tick", "remark"]
    field(two, "step", "water.pour").locator(".tick").tap()
    until(one, "(procgen.view().history['water.pour'] || []).length === 2")


def test_a_copy_that_cannot_be_read_is_put_aside(phone: Phone) -> None:
    page = phone.open("01-water.html")
    tick(page, "water.pour")
    (kept,) = entries(page)
    page.evaluate("localStorage.setItem('procgen:ellunby-bakery:pending:a:b:1', '{\"edition\": ')")
    plant(page, {**kept, "kind": 7})
    assert again(page) == [kept]
    assert "2 stored entries cannot be read." in page.locator(".field-warning").inner_text()
    assert copies(page) == 0
    assert len(page.evaluate("procgen.store.export()")["aside"]) == 2


NO_ROOM = (
    """Storage.prototype.setItem = function () { throw new DOMException('full', 'QuotaExceededError'); }"""
)


@pytest.mark.parametrize("refused", [NO_SMALL, NO_ROOM], ids=["refused", "full"])
def test_without_room_for_copies_the_database_keeps_the_work(
    make_phone: Callable[..., Phone], refused: str
) -> None:
    phone = make_phone()
    phone.context.add_init_script(refused)
    page = phone.open("01-water.html")
    tick(page, "water.pour")
    assert [one["kind"] for one in again(page)] == ["tick"]


def test_work_from_before_the_database_answered_again_comes_back(phone: Phone) -> None:
    page = phone.open("01-water.html")
    tick(page, "water.pour")
    first = remark(page, "drips")
    refusing = phone.tab()
    refusing.add_init_script(REFUSED)
    plant(page, {**first, "id": "slow", "seq": first["seq"] + 1, "text": "on its way"})
    phone.open("01-water.html", page=refusing)
    assert same(entries(refusing), {"id": "slow"})
    second = remark(refusing, "dry")
    refusing.close()
    assert second["id"] == first["id"]
    assert [one["kind"] for one in again(page)] == ["tick", "remark", "remark"]
    assert same(entries(page), {"id": "slow", "text": "on its way"})
    assert same(entries(page), {"id": first["id"], "text": "dry"})
    field(page, "step", "water.pour").locator(".tick").tap()
    saved(page)
    assert [one["kind"] for one in again(page)][-1] == "untick"
    assert page.evaluate("JSON.parse(localStorage.getItem('procgen:ellunby-bakery:small')).rows") == []


def test_what_was_cleared_while_the_database_did_not_answer_stays_cleared(phone: Phone) -> None:
    refusing = phone.tab()
    refusing.add_init_script(REFUSED)
    phone.open("01-water.html", page=refusing)
    tick(refusing, "water.pour")
    refusing.evaluate("procgen.store.clear()")
    remark(refusing, "after")
    refusing.close()
    page = phone.open("01-water.html")
    assert [one["kind"] for one in entries(page)] == ["remark"]
    assert [one["kind"] for one in again(page)] == ["remark"]
    assert [one["edition"] for one in page.evaluate("procgen.store.records()")] == [
        page.evaluate("procgen.store.edition")
    ]


def test_a_picture_without_room_keeps_no_tick_out(phone: Phone) -> None:
    page = phone.open("01-water.html")
    page.evaluate(
        """() => { const put = IDBObjectStore.prototype.put; IDBObjectStore.prototype.put = function (row) {
        if (row.entry && row.entry.data) throw new DOMException('full', 'QuotaExceededError');
        return put.call(this, row); }; }"""
    )
    step = field(page, "step", "water.pour")
    step.locator("summary").tap()
    step.locator("input[type=file]").set_input_files(
        {"name": "joint.png", "mimeType": "image/png", "buffer": page.screenshot()}
    )
    page.locator(".field-warning").wait_for()
    assert copies(page) == 0
    step.locator(".tick").tap()
    until(page, "procgen.view().items['water.pour'].done && procgen.store.pending() === 1")
    assert "One entry could not be stored" in page.locator(".field-warning").inner_text()
    assert [one["kind"] for one in again(page)] == ["tick"]


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
