"""The record leaves the phone whole, comes back on another, and is refused with a reason where it must be."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from playwright.sync_api import Page

from procgen.records import COLUMNS, json_schema, read_record, rows
from tests.phone.conftest import Phone, confirm, entries, field, measure, saved, tick, until

pytestmark = pytest.mark.browser


def work(phone: Phone) -> Page:
    """A bit of everything; ends on the page "Record"."""
    page = phone.open("01-water.html")
    step = field(page, "step", "water.pour")
    step.locator("summary").tap()
    step.locator("textarea").press_sequentially("=slow")
    step.locator("input[type=file]").set_input_files(
        {"name": "a.png", "mimeType": "image/png", "buffer": page.screenshot()}
    )
    step.locator(".photo").wait_for()
    tick(page, "water.pour")
    step.locator(".tick").tap()
    tick(page, "water.pour")
    confirm(page, "water.drain_proved")
    saved(page)
    phone.open("03-fill.html", page=page)
    measure(page, "fill.steam.inlet", "1,2")
    measure(page, "fill.steam.inlet", "2,9")
    timer = field(page, "timer", "fill.steam.fill")
    timer.get_by_role("button", name="Pump run 1 starts").tap()
    timer.get_by_role("button", name="Run 1 has ended").tap()
    timer.get_by_role("button", name="Level reached").tap()
    until(page, "procgen.running(procgen.view()).length === 0 && procgen.view().entries.length > 8")
    saved(page)
    phone.open("record.html", page=page)
    page.locator("[data-field='record-person'] input").first.press_sequentially("T. Ech")
    sign(page)
    saved(page)
    return page


def sign(page: Page) -> None:
    """Draw and name a signature."""
    box = page.locator("[data-field='record-signature']")
    box.locator("input").fill("O. Wner")
    pad = box.locator("canvas")
    pad.scroll_into_view_if_needed()
    at = pad.bounding_box()
    assert at is not None
    page.mouse.move(at["x"] + 20, at["y"] + 20)
    page.mouse.down()
    page.mouse.move(at["x"] + 120, at["y"] + 60, steps=4)
    page.mouse.up()
    box.get_by_role("button", name="Keep the signature").tap()
    box.locator("figure").wait_for()


def exported(page: Page, into: Path) -> Path:
    """The record as a file."""
    with page.expect_download() as download:
        page.get_by_role("button", name="Save as a file (JSON)").tap()
    path = into / download.value.suggested_filename
    download.value.save_as(path)
    return path


def take_in(page: Page, path: Path | dict[str, Any]) -> str:
    """Take a file in; gives what the page says."""
    content: Any = (
        path
        if isinstance(path, Path)
        else {"name": "record.json", "mimeType": "application/json", "buffer": json.dumps(path).encode()}
    )
    report = page.locator("[data-field='record-send'] .report")
    report.evaluate("node => node.replaceChildren()")
    page.locator("[data-field='record-send'] input[type=file]").set_input_files(content)
    until(page, "document.querySelector('.report').textContent !== ''")
    said: str = report.inner_text()
    return said


def test_what_is_exported_is_valid_and_read_back(phone: Phone, tmp_path: Path) -> None:
    path = exported(work(phone), tmp_path)
    data = json.loads(path.read_text(encoding="utf-8"))
    jsonschema.validate(data, json_schema(), format_checker=jsonschema.FormatChecker())
    record = read_record(path)
    entered = {"remark", "photo", "tick", "untick", "confirm", "reading", "person", "signature"}
    assert {entry.kind for entry in record.entries} == entered | {"draft", "start", "run", "stop"}
    assert [entry.typed for entry in record.entries if entry.kind == "reading"] == ["1,2", "2,9"]
    assert path.name.startswith(f"ellunby-bakery-{record.edition}-")
    assert record.first is not None
    # Summer or winter time in Zurich (the phone's zone), written with its offset.
    assert record.first.utcoffset() in [timedelta(hours=1), timedelta(hours=2)]


def test_the_table_has_the_same_rows_from_phone_and_program(phone: Phone, tmp_path: Path) -> None:
    page = work(phone)
    path = exported(page, tmp_path)
    with page.expect_download() as download:
        page.get_by_role("button", name="Save as a table (CSV)").tap()
    table = list(csv.DictReader(io.StringIO(Path(download.value.path()).read_text(encoding="utf-8"))))
    assert tuple(table[0]) == COLUMNS
    names = {row["id"]: (row["number"], row["title"]) for row in table if row["id"]} | {
        "water.pour": ("1.1", "Pour test")
    }
    ours = [dict(zip(COLUMNS, row, strict=True)) for row in rows(read_record(path), names)]
    assert [one["id"] for one in ours] == [one["id"] for one in table]
    for column in ("kind", "typed", "unit", "verdict", "name", "role", "seq", "time", "text"):
        assert [one[column] for one in ours] == [one[column] for one in table], column
    assert [float(one["si"]) for one in ours if one["si"]] == [float(one["si"]) for one in table if one["si"]]
    (remark,) = [one for one in table if one["kind"] == "remark"]
    assert (remark["text"], remark["title"]) == ("'=slow", "Pour test")


def test_another_phone_goes_on(make_phone: Callable[..., Phone], tmp_path: Path) -> None:
    path = exported(work(make_phone()), tmp_path)
    other = make_phone()
    page = other.open("record.html")
    n = len(json.loads(path.read_text(encoding="utf-8"))["entries"])
    assert take_in(page, path).startswith(f"{n} entries were taken in; 0 were here already.")
    assert take_in(page, path).startswith(f"0 entries were taken in; {n} were here already.")
    other.open("01-water.html", page=page)
    assert field(page, "step", "water.pour").locator(".tick").get_attribute("aria-pressed") == "true"
    assert page.locator(".photo img").evaluate("image => image.decode().then(() => image.naturalWidth)") > 0
    assert "=slow" in page.locator(".other-remarks").inner_text()
    # What is done here counts later than what was taken in, whatever the clocks say.
    field(page, "step", "water.pour").locator(".tick").tap()
    until(page, "!procgen.view().items['water.pour'].done && procgen.store.pending() === 0")
    back = exported(other.open("record.html", page=page), tmp_path / "back")
    first = make_phone()
    page = first.open("record.html")
    take_in(page, path)
    take_in(page, back)
    assert page.evaluate("procgen.view().items['water.pour'].done") is False


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"version": 2}, "Not taken in: the record is of version 2, this guide knows up to 1."),
        ({"guide": "pippetree-one", "title": "Another"}, "Not taken in: the record belongs to “Another”"),
        ({"schema": "something"}, "Not taken in: this file is not a record of such a guide."),
        ({"entries": None}, "Not taken in: the file is damaged or cut short"),
    ],
)
def test_what_must_be_refused_is_refused_with_a_reason(
    phone: Phone, change: dict[str, Any], words: str
) -> None:
    page = phone.open("01-water.html")
    tick(page, "water.pour")
    phone.open("record.html", page=page)
    data = {**page.evaluate("procgen.store.export()"), **change}
    said = take_in(page, data)
    assert said.startswith(words)
    assert said.endswith("Nothing was changed.")
    assert [one["kind"] for one in entries(page)] == ["tick"]


def test_a_file_cut_short_is_refused(phone: Phone, tmp_path: Path) -> None:
    page = phone.open("record.html")
    path = tmp_path / "half.json"
    path.write_text('{"schema": "procgen-record", "version": 1, "entr', encoding="utf-8")
    assert take_in(page, path).startswith("Not taken in: the file is damaged or cut short")


def test_a_faulty_entry_is_kept_aside_and_the_rest_taken_in(phone: Phone) -> None:
    page = phone.open("01-water.html")
    tick(page, "water.pour")
    phone.open("record.html", page=page)
    data = page.evaluate("procgen.store.export()")
    good = {**data["entries"][0], "id": "x-1", "kind": "remark", "step": None, "text": "from elsewhere"}
    said = take_in(page, {**data, "entries": [good, {"id": "x-2", "kind": "reading"}]})
    assert said.startswith("One entry was taken in; 0 were here already.")
    assert "One stored entry cannot be read. It is kept aside unchanged" in said
    assert page.evaluate("procgen.store.export()")["aside"][0]["entry"]["id"] == "x-2"


def test_clearing_asks_and_can_be_undone(phone: Phone) -> None:
    page = phone.open("01-water.html")
    tick(page, "water.pour")
    phone.open("record.html", page=page)
    room = page.locator("[data-field='record-clear']")
    assert room.get_by_role("button", name="Undo the clearing").is_hidden()
    room.get_by_role("button", name="Clear the record").tap()
    dialog = page.locator("dialog.field-dialog")
    assert "Clear this record?" in dialog.inner_text()
    dialog.get_by_role("button", name="Cancel").tap()
    assert len(entries(page)) == 1
    room.get_by_role("button", name="Clear the record").tap()
    dialog.locator("button[type=submit]").tap()
    until(page, "procgen.view().entries.length === 0 && procgen.store.canUndo()")
    phone.open("01-water.html", page=page)
    assert field(page, "step", "water.pour").locator(".tick").get_attribute("aria-pressed") == "false"
    phone.open("record.html", page=page)
    room.get_by_role("button", name="Undo the clearing").tap()
    until(page, "procgen.view().items['water.pour'].done")
    phone.open("01-water.html", page=page)
    assert field(page, "step", "water.pour").locator(".tick").get_attribute("aria-pressed") == "true"


def test_the_share_sheet_gets_the_file_where_there_is_one(make_phone: Callable[..., Phone]) -> None:
    phone = make_phone()
    phone.context.add_init_script(
        """navigator.canShare = data => Boolean(data.files && data.files.length);
        navigator.share = async data => {
          window.shared = await data.files[0].text(); window.sharedName = data.files[0].name; };"""
    )
    page = phone.open("01-water.html")
    tick(page, "water.pour")
    phone.open("record.html", page=page)
    page.get_by_role("button", name="Share the record").tap()
    until(page, "Boolean(window.shared)")
    assert json.loads(page.evaluate("shared"))["entries"][0]["kind"] == "tick"
    assert page.evaluate("sharedName").endswith(".json")


def test_a_later_edition_carries_over_only_what_is_unchanged(phone: Phone) -> None:
    page = phone.open("01-water.html")
    tick(page, "water.pour")
    confirm(page, "water.drain_proved")
    phone.open("02-electricity.html", page=page)
    measure(page, "electricity.dead.insulation", "200")
    until(page, "Boolean(procgen.view().readings['electricity.dead.insulation'])")
    tick(page, "electricity.dead")
    confirm(page, "electricity.dead_done", "E. Lectra")
    old = page.evaluate("procgen.store.edition")
    phone.open("01-water.html", guide="later", page=page)
    assert page.evaluate("procgen.store.edition") != old
    warning = page.locator(".field-warning")
    assert f"Your work of edition {old} came along" in warning.inner_text()
    dropped = warning.locator("li a")
    assert dropped.all_inner_texts() == ["1.1 Pour test", "1.2 Drain proved"]
    step = field(page, "step", "water.pour")
    assert step.locator(".tick").get_attribute("aria-pressed") == "false"
    assert f"in edition {old}. Its text has changed since" in step.inner_text()
    assert "A. Tester confirmed this in edition" in field(page, "hold", "water.drain_proved").inner_text()
    phone.open("02-electricity.html", guide="later", page=page)
    step = field(page, "step", "electricity.dead")
    assert step.locator(".tick").get_attribute("aria-pressed") == "true"
    assert "the hold point 1.2 Drain proved before it is not confirmed now" in step.inner_text()
    reading = field(page, "reading", "electricity.dead.insulation")
    assert f"Then allowed: at least 1 MΩ (edition {old})." in reading.inner_text()
    page.reload()
    until(page, "Boolean(window.procgen && procgen.store.state.ready)")
    page.locator(".field-warning").get_by_role("button", name="Understood").tap()
    page.locator(".field-warning").wait_for(state="detached")
    # The old edition's record stays as it was.
    phone.open("01-water.html", page=page)
    assert field(page, "step", "water.pour").locator(".tick").get_attribute("aria-pressed") == "true"


def test_the_record_says_what_was_done(phone: Phone) -> None:
    page = work(phone)
    shown = page.locator("main").inner_text()
    for words in (
        "Steps ticked\n1 of 4",
        "Hold points confirmed\n1 of 3",
        "Inlet pressure while filling: 1,2 bar. Too low.",
        "Confirmed by A. Tester",
        "Pump run began",
        "Timer stopped: Filling",
        "Signed: O. Wner",
    ):
        assert words in shown
