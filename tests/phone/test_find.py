"""The search of a real guide, opened from a folder, typed key by key with a thumb that slips."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from tests.conftest import DEMO
from tests.phone.conftest import PHONE

pytestmark = pytest.mark.browser

#: what is typed, and what must stand among the first three found
WANTED = {
    # a step, with the slips of a phone keyboard: a letter left out, doubled, a neighbour, two changed round
    "transit plug": "2.3 Remove every transit plug",
    "tranist plug": "2.3 Remove every transit plug",
    "level prbe": "7.4 Prove the level",
    "residual curremt": "5.11 Trip the residual-current device",
    "thermosat": "7.1 Check that no safety thermostat has tripped",
    # a symptom
    "expantion valve drips": "Expansion valve drips",
    "pump noisy": "Pump noisy, or no pressure",
    # a hold point
    "live tests passed": "5.12 Live tests at the isolator passed",
    # marks of the machine's ports, fittings and groups, in any spelling of the hyphen
    "V-A low": "4.9 Connect hoses to the inlets by their marks",
    "v-a LOW": "4.9 Connect hoses to the inlets by their marks",
    "F-2": "4.9 Connect hoses to the inlets by their marks",
    "A-III": "8.3 Run group A-III until solid",
    # text that bears a unit: as printed, with a comma, without the space
    "4.8 bar": "Mains pressure, standing",
    "4,8 bar": "Mains pressure, standing",
    "4.8bar": "Mains pressure, standing",
    "400/230 V": "5.8 Measure the voltages",
    # the id of a value, as a calculation shows it
    "fill.pump_runs": "Pump runs to fill the steam boiler",
}


def test_everything_is_found_within_this_guide(published: Path, browser: Browser) -> None:
    folder = published / "site" / DEMO
    context = browser.new_context(**PHONE)
    page = context.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto((folder / "07-fill.html").as_uri())
    box = page.locator("#pg-q")
    missed, outside = {}, set()
    for typed, wanted in WANTED.items():
        box.tap()
        box.fill("")
        page.locator(".pg-search__panel").wait_for(state="hidden")
        box.press_sequentially(typed)
        page.locator(".pg-search__list li").first.wait_for()
        titles = page.locator(".pg-search__title").all_inner_texts()[:3]
        if not any(title.startswith(wanted) for title in titles):
            missed[typed] = titles
        for link in page.locator(".pg-search__list a").evaluate_all("links => links.map(link => link.href)"):
            place = Path(link.partition("#")[0].removeprefix("file://"))
            if place.parent != folder or not place.is_file():
                outside.add(link)
    box.fill("")
    box.press_sequentially("F-29")
    expect(page.locator(".pg-search__status")).to_have_text("Nothing found")
    context.close()
    assert missed == {}
    assert outside == set()
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []
