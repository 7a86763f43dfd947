"""The demo from end to end: profiles and surveys in, a checked and published site out."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from bs4 import BeautifulSoup
from click.testing import CliRunner
from playwright.sync_api import Browser, Page

from procgen import commands
from procgen.cli import main
from procgen.messages.catalog import Messages
from procgen.values.export import json_schema

#: four groups on three phases; US units on split phase; a drain that rises; a machine without hot water
GUIDES = ("orrenholt-hall", "wexlode-corner", "quathery-cellar", "fennavar-museum")


def run(*arguments: str, workspace: Path) -> tuple[int, str, str]:
    """Exit code, standard output, standard error."""
    result = CliRunner().invoke(main, [*arguments, "--workspace", str(workspace)])
    return result.exit_code, result.stdout, result.stderr


def tree(folder: Path) -> dict[str, str]:
    """Every file of a folder by content."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory, published: Path, messages: Messages) -> Path:
    """A workspace with four guides published: one carried over, three built."""
    workspace = tmp_path_factory.mktemp("demo") / "workspace"
    shutil.copytree(published, workspace)
    commands.build(workspace, messages, GUIDES[1:], workers=1)
    return workspace


def text(path: Path) -> str:
    """Visible text of a page's main part."""
    main_part = BeautifulSoup(path.read_text(encoding="utf-8"), "lxml").select_one("main")
    assert main_part is not None
    return " ".join(main_part.get_text(" ").replace("\u00a0", " ").split())


def test_a_site_with_a_stop_says_so_on_its_first_page(built: Path) -> None:
    first = text(built / "site" / "quathery-cellar" / "index.html")
    assert "Not ready" in first
    assert "rises" in first
    assert "Not ready" not in text(built / "site" / "orrenholt-hall" / "index.html")


def test_a_machine_without_hot_water_has_no_hot_water_part(built: Path) -> None:
    assert not list((built / "site" / "fennavar-museum").glob("*hot_water*"))
    assert list((built / "site" / "orrenholt-hall").glob("*hot_water*"))


def test_us_readers_read_their_units_first(built: Path) -> None:
    heat = BeautifulSoup((built / "site" / "wexlode-corner" / "09-heat.html").read_text(), "lxml")
    first = [q.get_text() for q in heat.select(".q[data-kind=temperature] .q1")]
    assert first
    assert all("°F" in figure for figure in first)


def test_the_same_inputs_give_the_same_bytes_built_or_carried_over(built: Path, messages: Messages) -> None:
    before = tree(built / "site")
    commands.build(built, messages, GUIDES, workers=2)
    assert tree(built / "site") == before


def test_a_build_says_which_guides_an_edit_changes(built: Path, tmp_path: Path) -> None:
    """A sentence that only a machine with a hot-water outlet gets, and a figure of one survey.

    The guides that are not built are carried over byte for byte.
    """
    built = Path(shutil.copytree(built, tmp_path / "edited"))
    both = ("quathery-cellar", "fennavar-museum")
    template = built / "docs_src" / "procedure" / "11-hot_water.md"
    survey = built / "machine_profiles" / "sites" / "fennavar-museum.yml"
    good, surveyed = template.read_text(encoding="utf-8"), survey.read_text(encoding="utf-8")
    assert [(built / "site" / name / "11-hot_water.html").exists() for name in both] == [True, False]
    altitude = re.search(r"^altitude: .*$", surveyed, re.MULTILINE)
    assert altitude is not None
    before = {guide: tree(built / "site" / guide) for guide in GUIDES}
    template.write_text(good.replace("{% expect %}", "{% expect %}Look twice. ", 1), encoding="utf-8")
    survey.write_text(surveyed.replace(altitude.group(), "altitude: 905 m"), encoding="utf-8")
    code, said, _ = run("build", *both, workspace=built)
    lines = said.splitlines()
    assert (code, lines[0]) == (0, "Compared with what was published:")
    assert [line.rpartition(": ")[2] for line in lines if line.startswith("  step hot_water.")] == [both[0]]
    pressure = next(line for line in lines if line.startswith("  figure site.atmospheric_pressure "))
    assert " before, " in pressure
    assert pressure.endswith(f" now: {both[1]}")
    for guide in GUIDES:
        carried = guide not in both
        assert (tree(built / "site" / guide) == before[guide]) is carried, guide


def test_a_fault_leaves_what_was_published(built: Path) -> None:
    before = tree(built / "site")
    path = built / "docs_src" / "procedure" / "03-drain.md"
    good = path.read_text(encoding="utf-8")
    path.write_text(good + "\n{{ machine.nmae }}\n", encoding="utf-8")
    try:
        code, _, err = run("build", *GUIDES, workspace=built)
    finally:
        path.write_text(good, encoding="utf-8")
    assert code == 2
    assert "docs_src/procedure/03-drain.md:" in err
    assert "nmae" in err
    assert "name" in err
    assert "Traceback" not in err
    assert tree(built / "site") == before


def test_values_as_data(built: Path) -> None:
    code, out, _ = run("values", "orrenholt-hall", "--format", "json", workspace=built)
    data = json.loads(out)
    assert code == 0
    jsonschema.validate(data, json_schema())
    assert data["edition"]
    runs = next(value for value in data["values"] if value["id"] == "fill.pump_runs")
    assert (runs["status"], runs["unit"], runs["low"] <= runs["value"] <= runs["high"]) == ("ok", "", True)


def test_list_as_data(built: Path) -> None:
    _, out, _ = run("list", "--format", "json", workspace=built)
    guides = {entry["guide"]: entry for entry in json.loads(out)}
    assert set(guides["orrenholt-hall"]) == {"guide", "model", "site", "readiness", "revision", "edition"}
    assert guides["orrenholt-hall"]["edition"]
    assert guides["umberlode-two"]["site"] is None
    assert guides["umberlode-two"]["edition"] is None


def test_an_unknown_guide_is_told_with_the_nearest(built: Path) -> None:
    code, _, err = run("build", "orenholt-hall", workspace=built)
    assert (code, err) == (2, "procgen: no guide 'orenholt-hall'; did you mean orrenholt-hall?\n")


def test_readiness_is_a_matter_of_exit_1_only_when_asked(built: Path) -> None:
    report = commands.readiness(built, commands_messages(built))
    assert "quathery-cellar" in report.not_ready
    assert "orrenholt-hall" not in report.not_ready


def commands_messages(workspace: Path) -> Messages:
    """The workspace's words."""
    from procgen.messages.catalog import load

    return load(workspace)


@pytest.fixture(scope="module")
def phone(browser: Browser) -> Iterator[Page]:
    """A phone that fails the test on any request outside the folder and on any script error."""
    page = browser.new_page(viewport={"width": 360, "height": 740})
    wrong: list[str] = []
    page.on("request", lambda r: None if r.url.startswith("file:") else wrong.append(r.url))
    page.on("pageerror", lambda error: wrong.append(str(error)))
    yield page
    assert wrong == []
    page.close()


@pytest.mark.browser
@pytest.mark.parametrize("guide", GUIDES[1:])  # the first one in `test_weight`
def test_no_page_of_a_guide_is_wider_than_a_phone(phone: Page, built: Path, guide: str) -> None:
    wide = []
    for path in sorted((built / "site" / guide).glob("*.html")):
        phone.goto(path.as_uri())
        if phone.evaluate("document.documentElement.scrollWidth") > 360:
            wide.append(path.name)
    assert wide == []


@pytest.mark.browser
def test_a_tap_on_a_figure_leads_to_its_calculation(phone: Page, built: Path) -> None:
    phone.goto((built / "site" / "orrenholt-hall" / "07-fill.html").as_uri())
    phone.locator("a.q[data-value='fill.time']").first.click()
    phone.locator("dialog[open] .pg-figure__foot a").click()
    phone.wait_for_url("**/figures.html#v-fill-time")
    calculation = phone.locator("#v-fill-time")
    calculation.wait_for()
    assert "V / Q" in calculation.inner_text()


@pytest.mark.browser
def test_search_finds_within_this_guide_with_small_errors(phone: Page, built: Path) -> None:
    phone.goto((built / "site" / "orrenholt-hall" / "01-survey.html").as_uri())
    phone.keyboard.press("/")
    phone.locator("#pg-q").press_sequentially("trapped ari")
    phone.locator(".pg-search__list li").first.wait_for()
    titles = phone.locator(".pg-search__title").all_inner_texts()
    assert any("Air trapped" in title for title in titles)


@pytest.mark.browser
@pytest.mark.parametrize(("scheme", "dark"), [("light", False), ("dark", True)])
def test_the_first_page_by_day_and_by_night(built: Path, browser: Browser, scheme: Any, dark: bool) -> None:
    page = browser.new_context(color_scheme=scheme).new_page()
    page.goto((built / "site" / "orrenholt-hall" / "index.html").as_uri())
    shade = page.evaluate("getComputedStyle(document.body).backgroundColor")
    page.close()
    assert (int(shade.partition("(")[2].split(",")[0]) < 128) is dark
