"""Timers go by the clock: over reloads, other pages, closed tabs, and a clock that is changed."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page

from tests.phone.conftest import Phone, entries, field, ready, saved, until

pytestmark = pytest.mark.browser

FILL = "fill.steam.fill"  # 3 runs expected, stop after 5, time-out 120 s


def start(phone: Phone) -> Page:
    """A page with the fill timer begun at ten; the clock of all tabs moves only where a test moves it.

    Tests look half a second off the full one: a stopped clock that is set anew is true to some milliseconds.
    """
    page = phone.tab()
    page.clock.install(time="2025-03-04T09:00:00Z")
    phone.open("03-fill.html", page=page)
    page.clock.pause_at("2025-03-04T10:00:00Z")
    field(page, "timer", FILL).get_by_role("button", name="Pump run 1 starts").tap()
    until(page, "procgen.running(procgen.view()).length === 1 && procgen.store.pending() === 0")
    return page


def face(page: Page) -> str:
    """What the timer's clock shows."""
    shown: str = field(page, "timer", FILL).locator(".clock").inner_text()
    return shown


def test_it_counts_from_the_clock_and_says_stay(phone: Phone) -> None:
    page = start(phone)
    page.clock.run_for(65_500)
    assert face(page) == "1:05"
    timer = page.locator("[data-timer='fill.steam.fill']").first
    assert "Stay with the machine." in timer.inner_text()
    assert "Run 1: 1:05" in timer.inner_text()
    assert "of 2:00" in timer.inner_text()


def test_it_survives_a_reload_and_shows_on_every_page(phone: Phone) -> None:
    page = start(phone)
    page.clock.run_for(30_500)
    page.reload()
    ready(page)
    page.clock.run_for(10_000)
    assert face(page) == "0:40"
    phone.open("01-water.html", page=page)
    page.clock.run_for(5_000)
    bar = page.locator(".timer-bar a")
    assert bar.get_attribute("href") == "03-fill.html#s-fill-steam"
    assert "/ 2:00" in bar.inner_text()
    assert bar.bounding_box()["height"] >= 44


def test_it_goes_on_while_the_tab_is_closed(phone: Phone) -> None:
    page = start(phone)
    page.close()
    later = phone.tab()
    later.clock.pause_at("2025-03-04T10:20:00.500Z")
    phone.open("03-fill.html", page=later)
    assert face(later) == "20:00"


def test_runs_are_counted_and_the_last_says_stop_and_look(phone: Phone) -> None:
    page = start(phone)
    timer = field(page, "timer", FILL)
    for run in range(1, 6):
        page.clock.run_for(121_000)
        assert f"Run {run} has reached the safety time-out of 2\u00a0min." in timer.inner_text()
        timer.get_by_role("button", name=f"Run {run} has ended").tap()
        if run < 5:
            timer.get_by_role("button", name=f"Pump run {run + 1} starts").tap()
            timer.get_by_role("button", name=f"Run {run + 1} has ended").wait_for()
        if run == 3:
            assert "Run 4: more than the 3 expected. Stop and look after 5." in timer.inner_text()
    until(page, "document.querySelector('.timer.is-grave') !== null")
    assert "Stop and look. 5 runs are used up and the level is not reached." in timer.inner_text()
    assert page.locator(".timer-bar a.is-grave").count() == 1
    timer.get_by_role("button", name="Pump run 6 starts").tap()
    dialog = page.locator("dialog.field-dialog")
    assert "Stop and find out why" in dialog.inner_text()
    dialog.get_by_role("button", name="Cancel").tap()
    saved(page)
    assert sum(one["kind"] == "run" and one["state"] == "begin" for one in entries(page)) == 5


def test_it_is_stopped_with_what_it_took(phone: Phone) -> None:
    page = start(phone)
    page.clock.run_for(90_500)
    field(page, "timer", FILL).get_by_role("button", name="Level reached").tap()
    until(page, "procgen.running(procgen.view()).length === 0")
    assert page.locator(".timer-bar").count() == 0
    (stop,) = [one for one in entries(page) if one["kind"] == "stop"]
    assert stop["elapsed"] == pytest.approx(90.5, abs=0.11)
    assert stop["runs"] == 1


@pytest.mark.parametrize(
    ("moved", "words"),
    [
        ("2025-03-04T11:00:30Z", "The phone's clock was put forward by"),
        ("2025-03-04T09:00:30Z", "The phone's clock was put back by"),
    ],
)
def test_a_changed_clock_is_said_and_not_counted(phone: Phone, moved: str, words: str) -> None:
    page = start(phone)
    page.clock.run_for(30_500)
    page.clock.set_system_time(moved)
    page.clock.run_for(10_000)
    timer = field(page, "timer", FILL)
    assert words in timer.locator(".clock-note").inner_text()
    assert face(page) == "0:40"
    saved(page)
    (change,) = [one for one in entries(page) if one["kind"] == "clock"]
    assert (change["how"], abs(change["delta"]) > 3_000_000) == ("changed", True)
    page.reload()
    ready(page)
    page.clock.run_for(1_000)
    assert face(page) == "0:41"


def test_a_jump_ahead_while_the_page_was_hidden_is_taken_for_sleep(phone: Phone) -> None:
    page = start(phone)
    page.evaluate(
        """() => { Object.defineProperty(document, 'hidden', {configurable: true, value: true});
        document.dispatchEvent(new Event('visibilitychange')); }"""
    )
    page.clock.set_system_time("2025-03-04T10:10:00Z")
    page.evaluate(
        """() => { Object.defineProperty(document, 'hidden', {configurable: true, value: false});
        document.dispatchEvent(new Event('visibilitychange')); }"""
    )
    page.clock.run_for(1_500)
    timer = field(page, "timer", FILL)
    assert "this phone had slept, or its clock had been put forward" in timer.inner_text()
    assert face(page) == "10:01"


def test_two_open_tabs_count_a_changed_clock_once(phone: Phone) -> None:
    page = start(phone)
    other = phone.open("03-fill.html")
    page.clock.set_system_time("2025-03-04T11:00:00Z")  # the clock of the phone: of both tabs
    page.clock.run_for(2_500)
    for tab in (page, other):
        until(tab, "procgen.running(procgen.view())[0].clocks.length > 0")
    for tab in (page, other):
        saved(tab)
    for tab in (page, other):
        tab.reload()
        ready(tab)
        # Each may have written it down before it heard of the other.
        assert len([one for one in entries(tab) if one["kind"] == "clock"]) in (1, 2)
        assert tab.evaluate("procgen.running(procgen.view())[0].clocks.length") == 1
        assert face(tab) == "0:02"


def test_vibration_sound_and_wake_lock_where_they_are(make_phone: Callable[..., Phone]) -> None:
    phone = make_phone()
    phone.context.add_init_script(
        """window.felt = []; navigator.vibrate = p => { felt.push(p); return true; };
        window.heard = 0; window.locks = 0;
        const wanted = AudioContext.prototype.createOscillator;
        AudioContext.prototype.createOscillator = function () { heard += 1; return wanted.call(this); };
        if (navigator.wakeLock) navigator.wakeLock.request = async () => {
          locks += 1; return {addEventListener() {}, release: async () => { locks -= 1; }}; };"""
    )
    page = start(phone)
    assert page.evaluate("locks") == 1
    page.clock.run_for(121_000)
    until(page, "felt.length === 1 && heard >= 2")
    page.clock.run_for(60_000)
    assert page.evaluate("felt.length") == 1
    assert "has reached the safety time-out" in page.locator(".field-live").inner_text()
    field(page, "timer", FILL).get_by_role("button", name="Level reached").tap()
    until(page, "locks === 0")


def test_the_face_says_what_a_timer_is(phone: Phone) -> None:
    page = phone.open("03-fill.html")
    assert (
        "A timer helps; it is no safeguard. A locked phone may stay silent."
        in field(page, "timer", FILL).inner_text()
    )
