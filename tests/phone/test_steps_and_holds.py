"""Ticks and hold points under a thumb."""

from __future__ import annotations

import pytest

from tests.phone.conftest import Phone, confirm, entries, field, measure, ready, saved, tick, until

pytestmark = pytest.mark.browser


def test_a_step_is_ticked_kept_and_taken_back(phone: Phone) -> None:
    page = phone.open("01-water.html")
    button = field(page, "step", "water.pour").locator(".tick")
    assert button.inner_text() == "Tick when done: 1.1 Pour test"
    box = button.bounding_box()
    assert box["height"] >= 44
    assert box["width"] >= 44
    tick(page, "water.pour")
    page.reload()
    ready(page)
    assert button.get_attribute("aria-pressed") == "true"
    assert button.inner_text() == "Done: 1.1 Pour test"
    assert "Ticked" in field(page, "step", "water.pour").locator(".tick-state").inner_text()
    button.tap()
    until(page, "procgen.view().history['water.pour'].length === 2")
    assert button.get_attribute("aria-pressed") == "false"
    assert [(one["kind"], one["step"]) for one in entries(page)] == [
        ("tick", "water.pour"),
        ("untick", "water.pour"),
    ]


def test_progress_and_where_to_go_on(phone: Phone) -> None:
    page = phone.open("index.html")
    go = page.locator(".go-on")
    assert go.inner_text().split("\n") == ["Begin here", "1.1 Pour test"]
    phone.open("01-water.html", page=page)
    tick(page, "water.pour")
    assert page.locator(".field--part p").inner_text() == "1 of 2 done"
    assert page.locator("[data-progress='1'] .vh").text_content() == "1 of 2 done"
    phone.open("index.html", page=page)
    assert go.inner_text().split("\n") == ["Continue where you stopped", "1.2 Drain proved"]
    assert go.get_attribute("href") == "01-water.html#h-water-drain_proved"
    assert page.locator(".field--progress[data-of='water'] .vh").inner_text() == "1 of 2 done"
    go.tap()
    page.wait_for_url("**/01-water.html#h-water-drain_proved")


def test_steps_after_an_open_hold_are_read_and_not_ticked(phone: Phone) -> None:
    page = phone.open("02-electricity.html")
    control = field(page, "step", "electricity.dead")
    assert control.locator(".tick-state").inner_text() == (
        "Read on, but do not tick or do this yet: the hold point 1.2 Drain proved is not confirmed by the "
        "Technician."
    )
    control.locator(".tick").tap(force=True)
    saved(page)
    assert entries(page) == []


def test_a_hold_is_confirmed_by_a_named_person_after_its_steps(phone: Phone) -> None:
    page = phone.open("01-water.html")
    hold = field(page, "hold", "water.drain_proved")
    hold.locator(".act").tap()
    dialog = page.locator("dialog.field-dialog")
    assert "One step that this covers is not ticked." in dialog.inner_text()
    assert dialog.locator("li a").get_attribute("href") == "01-water.html#s-water-pour"
    dialog.get_by_role("button", name="Understood").tap()
    tick(page, "water.pour")
    hold.locator(".act").tap()
    dialog.locator("button[type=submit]").tap()
    assert dialog.locator(".wrong").inner_text() == "Type the name of the person who confirms."
    dialog.locator("input[type=text]").fill("A. Tester")
    dialog.locator("button[type=submit]").tap()
    assert dialog.locator(".wrong").inner_text() == "Say that you are the Technician and have checked it."
    dialog.locator("input[type=checkbox]").check()
    dialog.locator("button[type=submit]").tap()
    hold.locator(".is-good").wait_for()
    assert "Confirmed by A. Tester, Technician" in hold.inner_text()
    (_, kept) = entries(page)
    assert (kept["kind"], kept["name"], kept["role"]) == ("confirm", "A. Tester", "technician")


def test_the_electrician_confirms_with_a_licence_and_knows_what_is_missing(phone: Phone) -> None:
    page = phone.open("01-water.html")
    tick(page, "water.pour")
    confirm(page, "water.drain_proved")
    phone.open("02-electricity.html", page=page)
    field(page, "step", "electricity.dead").locator(".tick").tap()
    dialog = page.locator("dialog.field-dialog")
    assert "Insulation resistance: not measured yet" in dialog.inner_text()
    dialog.get_by_role("button", name="Tick all the same").tap()
    until(page, "procgen.view().items['electricity.dead'].done")
    field(page, "hold", "electricity.dead_done").locator(".act").tap()
    assert "One reading of these steps is missing" in dialog.inner_text()
    dialog.locator("input[type=text]").nth(0).fill("E. Lectra")
    dialog.locator("input[type=text]").nth(1).fill("L-77")
    dialog.locator("input[type=checkbox]").check()
    dialog.locator("button[type=submit]").tap()
    field(page, "hold", "electricity.dead_done").locator(".is-good").wait_for()
    assert "E. Lectra, Electrician" in field(page, "hold", "electricity.dead_done").inner_text()
    kept = entries(page)[-1]
    assert (kept["licence"], kept["open"]) == ("L-77", ["electricity.dead.insulation"])


def test_taking_a_confirmation_back_asks_and_flags_what_came_after(phone: Phone) -> None:
    page = phone.open("01-water.html")
    tick(page, "water.pour")
    confirm(page, "water.drain_proved")
    phone.open("02-electricity.html", page=page)
    measure(page, "electricity.dead.insulation", "200")
    until(page, "procgen.view().readings['electricity.dead.insulation']")
    tick(page, "electricity.dead")
    phone.open("01-water.html", page=page)
    hold = field(page, "hold", "water.drain_proved")
    hold.get_by_role("button", name="Take the confirmation back").tap()
    dialog = page.locator("dialog.field-dialog")
    assert "One later item is done already." in dialog.inner_text()
    dialog.get_by_role("button", name="Cancel").tap()
    assert "Confirmed by" in hold.inner_text()
    hold.get_by_role("button", name="Take the confirmation back").tap()
    dialog.locator("button[type=submit]").tap()
    until(page, "!procgen.view().items['water.drain_proved'].done && !procgen.store.pending()")
    phone.open("02-electricity.html", page=page)
    step = field(page, "step", "electricity.dead")
    assert step.locator(".tick").get_attribute("aria-pressed") == "true"
    assert "the hold point 1.2 Drain proved before it is not confirmed now" in step.inner_text()


def test_a_remark_belongs_to_its_step(phone: Phone) -> None:
    page = phone.open("01-water.html")
    step = field(page, "step", "water.pour")
    step.locator("summary").tap()
    step.locator("textarea").press_sequentially("slow; <b>look</b>")
    saved(page)
    page.reload()
    ready(page)
    assert step.locator("textarea").input_value() == "slow; <b>look</b>"
    phone.open("record.html", page=page)
    assert "Remark: slow; <b>look</b>" in page.locator("[data-field='record-entries']").inner_text()
    assert page.locator("[data-field='record-entries'] b").count() == 0


def test_a_photo_is_kept_made_smaller_and_can_be_taken_out(phone: Phone) -> None:
    page = phone.open("01-water.html")
    step = field(page, "step", "water.pour")
    picture = page.screenshot()
    step.locator("summary").tap()
    step.locator("input[type=file]").set_input_files(
        {"name": "joint.png", "mimeType": "image/png", "buffer": picture}
    )
    step.locator(".photo img").wait_for()
    saved(page)
    page.reload()
    ready(page)
    assert page.evaluate("document.querySelector('.photo img').decode().then(() => true)")
    (kept,) = entries(page)
    assert (kept["kind"], kept["step"], kept["type"]) == ("photo", "water.pour", "image/jpeg")
    assert kept["data"].startswith("data:image/jpeg;base64,")
    step.locator("summary").tap()
    step.get_by_role("button", name="Take this photo out").tap()
    page.locator("dialog button[type=submit]").tap()
    step.locator(".photo").wait_for(state="detached")
