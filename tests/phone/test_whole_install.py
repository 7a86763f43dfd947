"""One whole installation on the phone, from the first step to the last, as a technician does it.

What must come out is taken from ``procgen values`` and from the Procedure, never from the data that the pages
hold. Everything is done through controls that a thumb can see and reach. ``PROCGEN_KEEP_RECORD=folder`` keeps
the record and its table there.
"""

from __future__ import annotations

import csv
import json
import os
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import CliRunner
from playwright.sync_api import Page, expect

from procgen.cli import main
from procgen.commands import find_guide
from procgen.messages.catalog import Messages
from procgen.procedure.anchors import part_page
from procgen.procedure.assemble import assemble
from procgen.procedure.model import Hold, Part, Procedure, Reading, Step, Timer
from procgen.profiles.workspace import read_workspace
from procgen.records import json_schema, read_record
from tests.conftest import DEMO
from tests.phone.conftest import Phone, ready, saved, until
from tests.phone.conftest import field as room

pytestmark = pytest.mark.browser

#: size of the unit typed, in SI, with its zero: BIPM SI Brochure (9th ed.), tables 4, 7 and 8
UNITS: dict[str, tuple[str, float, float]] = {
    "temperature": ("°C", 1.0, 273.15),
    "size": ("mm", 1e-3, 0.0),
    "fall": ("mm/m", 1e-3, 0.0),
    "hardness": ("mg/L as CaCO3", 1.0, 0.0),
    "conductivity": ("µS/cm", 1e-4, 0.0),
    "concentration": ("mg/L", 1.0, 0.0),
    "pressure_gauge": ("bar", 1e5, 0.0),
    "volume": ("L", 1e-3, 0.0),
    "voltage": ("V", 1.0, 0.0),
    "resistance": ("Ω", 1.0, 0.0),
    "insulation": ("MΩ", 1e6, 0.0),
    "small_current": ("mA", 1e-3, 0.0),
    "current": ("A", 1.0, 0.0),
    "time": ("s", 1.0, 0.0),
    "count": ("", 1.0, 0.0),
    "number": ("", 1.0, 0.0),
}
PEOPLE = {
    "planner": "Petra Lanner",
    "technician": "Tom Echniker",
    "electrician": "Elin Ektra",
    "water_expert": "Wim Asser",
    "owner": "Oona Wner",
}
LICENCE = "E-4711"
MAINS = "water.pressures.static"
OUTSIDE = "hot_water.set.hot_water"
FILL = "fill.fill.fill"
#: the parts after which the network goes, and the second phone takes over
LOST, HANDED = "energise", "heat"
NO_NETWORK = "Failed to load resource: net::ERR_INTERNET_DISCONNECTED"


@dataclass
class Install:
    """What is to be done, by the Procedure; what must be seen, by the values."""

    procedure: Procedure
    values: dict[str, dict[str, Any]]
    #: every reading typed, in order: id, what was typed
    typed: list[tuple[str, str]] = field(default_factory=list)
    started: list[str] = field(default_factory=list)

    def row(self) -> tuple[float, dict[str, Any], dict[str, Any]]:
        """A mains pressure between two rows of the table, the worse row and the better one.

        Worse is the one whose fill takes longer; the first pair of neighbours that both have an answer.
        """
        series = self.values["fill.what_if"]["series"]
        names = [column["name"] for column in series["columns"]]
        rows = [dict(zip(names, row, strict=True)) for row in series["rows"]]
        answered = [row for row in rows if row["fill_time_high"] is not None]
        one, two = answered[0], answered[1]
        worse, better = sorted((one, two), key=lambda row: float(row["fill_time_high"]), reverse=True)
        assert worse["fill_time_high"] > better["fill_time_high"]
        return (one["static_pressure"] + two["static_pressure"]) / 2, worse, better

    def figure(self, reading: Reading) -> float:
        """What is measured: as computed where a value may be so, else well within the limits."""
        if reading.id == MAINS:
            return self.row()[0]
        if reading.id == "fill.fill.runs":
            return float(self.row()[1]["pump_runs_high"])
        value = self.values.get(reading.value_id)
        low, high = reading.low, reading.high
        if value is not None:
            expected = float(value["value"])
            if (low is None or low <= expected) and (high is None or expected <= high):
                return expected
        if low is not None and high is not None:
            return (low + high) / 2
        if low is not None:
            return low * 1.5
        if high is not None:
            return high * 0.8
        assert reading.target is not None
        return reading.target


def text_of(si: float, kind: str) -> str:
    """The figure as a gauge shows it, in the unit typed."""
    _, scale, zero = UNITS[kind]
    return f"{(si - zero) / scale:.4g}"


@pytest.fixture
def install(published: Path, messages: Messages) -> Install:
    """The guide's Procedure and what the command line says of its values."""
    said = CliRunner().invoke(main, ["values", DEMO, "--format", "json", "--workspace", str(published)])
    assert said.exit_code == 0, said.stderr
    values = {value["id"]: value for value in json.loads(said.stdout)["values"]}
    guide = find_guide(read_workspace(published), DEMO)
    made = assemble(guide, published / "docs_src" / "procedure", messages)
    return Install(made.procedure, values)


def seconds(text: str) -> list[float]:
    """``13 min – 15 min 30 s`` as seconds at both ends."""
    size = {"h": 3600.0, "min": 60.0, "s": 1.0}
    ends = text.replace("\u00a0", " ").split(" – ")
    return [sum(float(n) * size[unit] for n, unit in re.findall(r"(\d+) (h|min|s)", end)) for end in ends]


def keep(page: Page, do: Install, reading: Reading, figure: str) -> Any:
    """Type a figure, in the unit of the table above, and keep it."""
    control = room(page, "reading", reading.id)
    unit = UNITS[reading.kind][0]
    select = control.locator("select")
    if select.count():
        select.select_option(label=unit)
    else:
        assert control.locator(".unit--one").inner_text() == unit
    control.locator("input").fill(figure)
    control.get_by_role("button").tap()
    do.typed.append((reading.id, figure))
    return control


def measure(page: Page, do: Install, reading: Reading) -> None:
    """Measure once; outside the limits first where this test wants it, and then again."""
    good = text_of(do.figure(reading), reading.kind)
    if reading.id == OUTSIDE:
        assert reading.low is not None
        control = keep(page, do, reading, text_of(reading.low - 8.0, reading.kind))
        said = control.locator(".again")
        assert said.inner_text().startswith("Outside. Do this, then measure a second time:")
        assert said.inner_text().endswith(reading.outside.text)
        keep(page, do, reading, good)
        said.wait_for(state="detached")
        assert control.locator(".kept-figure").count() == 2
        return
    control = keep(page, do, reading, good)
    if reading.id == "fill.fill.runs":
        # More than the printed count to stop at: judged by the count of the worse row, as the timer says.
        stop = do.row()[1]["stop_and_check_runs"]
        assert reading.high is not None and reading.high < float(good) < stop
        assert f"at most {stop}, updated by the 2.75 bar measured" in control.inner_text()
        assert "Within limits" in control.inner_text()
    if reading.id == MAINS:
        _, worse, better = do.row()
        lines = control.locator(".updated li").all_inner_texts()
        low, high = seconds(lines[0].partition(": ")[2])
        # Rounded outward to what can honestly be shown: never narrower than the row, never the better row.
        assert low <= worse["fill_time_low"] <= worse["fill_time_high"] <= high
        assert abs(high - worse["fill_time_high"]) < abs(high - better["fill_time_high"])
        assert f": {worse['pump_runs_low']}–{worse['pump_runs_high']}" in " ".join(lines)
        assert lines[-1].endswith(f": {worse['stop_and_check_runs']}")
        assert "nothing is interpolated" in control.inner_text()


def run_timer(page: Page, do: Install, timer: Timer) -> None:
    """Start a timer and stop it; the fill by its pump runs, with a reload in the middle."""
    control = room(page, "timer", timer.id)
    do.started.append(timer.id)
    if timer.id != FILL:
        control.get_by_role("button", name="Start the timer").tap()
        control.get_by_role("button", name="Stop the timer").tap()
        control.get_by_role("button", name="Start it once more").wait_for()
        return
    _, worse, _ = do.row()
    control.get_by_role("button", name="Pump run 1 starts").tap()
    control.get_by_role("button", name="Run 1 has ended").wait_for()
    expected = f"Expected are {worse['pump_runs_high']}; stop and look after {worse['stop_and_check_runs']}."
    assert f"Run 1. {expected}" in control.inner_text()
    saved(page)
    expect(control.locator(".clock")).not_to_have_text("0:00")
    before = clock(control)
    page.reload()
    ready(page)
    until(page, "document.querySelector('.timer-bar a') !== null")
    assert clock(control) >= max(before, 1)
    for run in range(1, int(worse["pump_runs_low"]) + 1):
        control.get_by_role("button", name=f"Run {run} has ended").tap()
        if run < worse["pump_runs_low"]:
            control.get_by_role("button", name=f"Pump run {run + 1} starts").tap()
    control.get_by_role("button", name="Level reached").tap()
    control.get_by_role("button", name="Start it once more").wait_for()


def clock(control: Any) -> int:
    """What a timer shows, in seconds."""
    shown = control.locator(".clock").inner_text().split(":")
    return sum(int(part) * 60**place for place, part in enumerate(reversed(shown)))


def confirm(page: Page, hold: Hold) -> None:
    """The person named confirms."""
    control = room(page, "hold", hold.id)
    control.locator(".act").tap()
    dialog = page.locator("dialog.field-dialog")
    boxes = dialog.locator("input[type=text]")
    boxes.first.fill(PEOPLE[hold.by])
    if hold.by == "electrician":
        boxes.nth(1).fill(LICENCE)
    assert boxes.count() == (2 if hold.by == "electrician" else 1)
    dialog.locator("input[type=checkbox]").check()
    dialog.locator("button[type=submit]").tap()
    control.locator(".is-good").wait_for()
    assert PEOPLE[hold.by] in control.inner_text()


def do_part(page: Page, do: Install, part: Part) -> None:
    """Everything of one page, from top to bottom."""
    for item in part.items:
        if isinstance(item, Hold):
            confirm(page, item)
        elif isinstance(item, Step):
            for timer in item.timers:
                run_timer(page, do, timer)
            for reading in item.readings:
                measure(page, do, reading)
            room(page, "step", item.id).locator(".tick").tap()
    done = [item.id for item in part.items if isinstance(item, Step)]
    pressed = page.locator(".tick[aria-pressed=true]")
    assert pressed.count() == len(done)
    saved(page)


def save(page: Page, button: str, into: Path) -> Path:
    """A file of the page "Record"."""
    with page.expect_download() as download:
        page.get_by_role("button", name=button).tap()
    path = into / download.value.suggested_filename
    download.value.save_as(path)
    return path


def follow(page: Page, link: str) -> str:
    """Follow a link; gives the page that it leads to."""
    there = page.locator(link)
    target = str(there.get_attribute("href"))
    there.tap()
    page.wait_for_url(f"**/{target.removeprefix('./')}")
    ready(page)
    return target.partition("#")[0]


def turn(page: Page) -> None:
    """Go to the next page by the link at its foot."""
    follow(page, ".pg-turn__link--next")


def test_a_whole_installation_from_the_first_step_to_the_last(
    make_phone: Callable[..., Phone], demo_address: str, install: Install, tmp_path: Path
) -> None:
    do = install
    parts = [part for part in do.procedure.parts if any(isinstance(i, Step | Hold) for i in part.items)]
    first = make_phone()
    page = first.tab()
    asked: list[str] = []
    page.on("requestfailed", lambda request: asked.append(request.url))
    page.goto(f"{demo_address}/{DEMO}/")
    ready(page)
    page.locator("[data-pg-keep][data-state=kept]").wait_for(timeout=60_000)
    assert follow(page, ".go-on") == part_page(parts[0].number, parts[0].id)
    handed = [part.id for part in parts].index(HANDED) + 1
    for part in parts[:handed]:
        do_part(page, do, part)
        if part.id == LOST:
            first.context.set_offline(True)
        if part.id != HANDED:
            turn(page)
    page.goto(f"{demo_address}/{DEMO}/record.html")
    ready(page)
    record = save(page, "Save as a file (JSON)", tmp_path)
    first.context.set_offline(False)
    # Asking whether there is a later edition finds no network, and the browser says so; nothing else.
    assert {*first.faults, NO_NETWORK} == {NO_NETWORK}
    assert {url.rpartition("/")[2] for url in asked} == {"edition.json?published"}
    first.faults.clear()
    half = read_record(record)
    second = make_phone()
    page = second.tab()
    page.goto(f"{demo_address}/{DEMO}/record.html")
    ready(page)
    page.locator("[data-field='record-send'] input[type=file]").set_input_files(record)
    until(page, "document.querySelector('.report').textContent !== ''")
    taken = page.locator("[data-field='record-send'] .report").inner_text()
    assert taken.startswith(f"{len(half.entries)} entries were taken in; 0 were here already.")
    page.goto(f"{demo_address}/{DEMO}/")
    ready(page)
    assert follow(page, ".go-on") == part_page(parts[handed].number, parts[handed].id)
    for part in parts[handed:]:
        do_part(page, do, part)
        if part is not parts[-1]:
            turn(page)
    page.goto(f"{demo_address}/{DEMO}/record.html")
    ready(page)
    path = save(page, "Save as a file (JSON)", tmp_path)
    table = save(page, "Save as a table (CSV)", tmp_path)
    judge(do, path, table, page.locator("main").inner_text())
    if kept := os.environ.get("PROCGEN_KEEP_RECORD"):
        Path(kept).mkdir(parents=True, exist_ok=True)
        (Path(kept) / "record.json").write_bytes(path.read_bytes())
        (Path(kept) / "record.csv").write_bytes(table.read_bytes())


def judge(do: Install, path: Path, table: Path, page: str) -> None:
    """The record against the Procedure and against what was typed."""
    jsonschema.validate(
        json.loads(path.read_text(encoding="utf-8")), json_schema(), format_checker=jsonschema.FormatChecker()
    )
    record = read_record(path)
    by = {
        kind: [entry for entry in record.entries if entry.kind == kind]
        for kind in {entry.kind for entry in record.entries}
    }
    steps, holds = list(do.procedure.steps()), list(do.procedure.holds())
    readings = [reading for step in steps for reading in step.readings]
    order = [item.id for part in do.procedure.parts for item in part.items if isinstance(item, Step | Hold)]
    acts = [e.step if e.kind == "tick" else e.hold for e in record.entries if e.kind in ("tick", "confirm")]
    assert acts == order
    assert [(e.hold, e.name, e.role) for e in by["confirm"]] == [(h.id, PEOPLE[h.by], h.by) for h in holds]
    electrical = [e for e in by["confirm"] if e.role == "electrician"]
    assert len(electrical) == 3
    assert {e.licence for e in electrical} == {LICENCE}
    assert [(e.reading, e.typed) for e in by["reading"]] == do.typed
    assert len(do.typed) == len(readings) + 1
    assert [e.verdict for e in by["reading"] if e.reading == OUTSIDE] == ["low", "inside"]
    assert [e.reading for e in by["reading"] if e.verdict in ("low", "high")] == [OUTSIDE]
    kinds = {reading.id: reading.kind for reading in readings}
    for entry in by["reading"]:
        unit, scale, zero = UNITS[kinds[str(entry.reading)]]
        assert entry.unit == unit
        assert entry.si == pytest.approx(float(str(entry.typed)) * scale + zero, rel=1e-9)
    timers = [timer.id for step in steps for timer in step.timers]
    assert do.started == timers
    assert [e.timer for e in by["start"]] == timers
    assert [e.timer for e in by["stop"]] == timers
    assert len({e.device for e in record.entries}) == 2
    assert {e.kind for e in record.entries if e.kind in ("untick", "unconfirm", "clock")} == set()
    rows = list(csv.DictReader(table.read_text(encoding="utf-8").splitlines()))
    assert [row["kind"] for row in rows].count("tick") == len(steps)
    assert [row["id"] for row in rows if row["kind"] == "confirm"] == [hold.id for hold in holds]
    assert [(row["id"], row["typed"]) for row in rows if row["kind"] == "reading"] == do.typed
    for words in (
        f"Steps ticked\n{len(steps)} of {len(steps)}",
        f"Hold points confirmed\n{len(holds)} of {len(holds)}",
        f"Readings taken\n{len(readings)} of {len(readings)}",
        "Readings outside their limits\n0",
        "Items to look at again\n0",
    ):
        assert words in page
