"""Opened once where there is signal, used for hours where there is none; one edition at a time, whole."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from procgen.procedure.model import Hold, Step
from tests.phone.conftest import at_rest
from tests.phone.kit import Server, edition_of, find, make_guide, phone, says, serving, state
from tests.publish import fakes

pytestmark = pytest.mark.browser

GUIDE = "ellunby-bakery"
PAGES = ("index.html", "01-water.html", "02-electricity.html", "03-fill.html", "figures.html")


def changed_job() -> fakes.FakeJob:
    """The guide with one step rewritten, one gone and one figure changed."""
    job = fakes.job()
    parts = list(job.procedure.parts)
    water, fill = parts[0], parts[2]
    items = tuple(
        replace(item, body=fakes.fragment("<p>Pour two buckets.</p>")) if isinstance(item, Step) else item
        for item in water.items
    )
    parts[0] = replace(water, items=items)
    left = (item for item in fill.items if getattr(item, "id", "") != "fill.bleed[G2]")
    parts[2] = replace(
        fill,
        items=tuple(replace(i, guards=("fill.steam",)) if isinstance(i, Hold) else i for i in left),
    )
    values = {
        **job.worksheet.values,
        "heat.time_ready": fakes.value(
            "heat.time_ready", "time", "Time until the machine is ready", 2400, 2100, 2700, 60
        ),
    }
    return replace(
        job,
        procedure=replace(job.procedure, parts=tuple(parts)),
        worksheet=replace(job.worksheet, values=values),
    )


@pytest.fixture(scope="module")
def editions(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Path, str]]:
    """Two editions of a guide, each in a folder of its own."""
    base = tmp_path_factory.mktemp("editions")
    jobs = {"first": fakes.job(), "second": changed_job()}
    return {name: (base / name, make_guide(base / name, job)) for name, job in jobs.items()}


@pytest.fixture
def server(tmp_path: Path, editions: dict[str, tuple[Path, str]]) -> Iterator[Server]:
    """The first edition published, two folders deep."""
    with serving(tmp_path) as running:
        running.publish(editions["first"][0], f"some/{GUIDE}")
        yield running


@pytest.fixture
def reader(browser: Browser) -> Iterator[BrowserContext]:
    """A phone."""
    with phone(browser) as context:
        yield context


def at(server: Server, page: str = "index.html") -> str:
    return f"{server.url}/some/{GUIDE}/{page}"


def kept(reader: BrowserContext, server: Server, page: str = "index.html") -> Page:
    """A page after the guide was kept."""
    opened = reader.new_page()
    opened.goto(at(server, page))
    state(opened, "kept")
    return opened


@pytest.mark.parametrize("first", ["index.html", "03-fill.html"])
def test_one_visit_to_any_page_keeps_the_whole_guide(
    reader: BrowserContext, server: Server, editions: dict[str, tuple[Path, str]], first: str
) -> None:
    page = kept(reader, server, first)
    edition = editions["first"][1]
    assert says(page).startswith(f"Kept on this phone, edition {edition}.")
    server.http.away = True
    server.http.asked.clear()
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    # The page that was open before anything was kept finds its search too.
    assert any("Fill the steam boiler" in title for title in find(page, "steam boler"))
    for name in PAGES:
        page.goto(at(server, name))
        assert edition_of(page) == edition
        styled = page.evaluate("getComputedStyle(document.querySelector('.pg-header')).position")
        assert styled == "sticky"
        state(page, "kept")
    page.goto(f"{server.url}/some/{GUIDE}/")
    assert page.locator("h1").inner_text()
    assert any("Prove dead" in title for title in find(page, "prove dead"))
    page.goto(at(server, "03-fill.html"))
    assert page.locator("[data-step='fill.steam'] svg").first.is_visible()
    assert page.locator("[data-reading='fill.steam.inlet']").is_visible()
    assert page.evaluate("self.violations") == []
    assert wrong == []
    # All that still goes out are the questions whether there is another edition.
    asked = {path.partition("?")[2].partition("-")[0] for path in server.http.asked}
    assert asked <= {"published", edition}, server.http.asked


def test_nothing_in_the_folder_comes_from_the_network_once_kept(
    reader: BrowserContext, server: Server
) -> None:
    page = kept(reader, server)
    extra = server.http.root / "some" / GUIDE / "later.html"
    extra.write_text("<p>not of this edition</p>", encoding="utf-8")
    answer = page.goto(at(server, "later.html"))
    assert answer is not None
    assert answer.status == 404
    assert "not in the edition" in page.inner_text("body")
    # Downloads are the network's; without it the phone says so instead of a browser's error page.
    page.goto(at(server))
    fetched = """async (name) => {
      const answer = await fetch(name, { cache: "no-store" });
      return [answer.status, (await answer.blob()).size];
    }"""
    there = server.http.root / "some" / GUIDE / f"{GUIDE}.zip"
    assert page.evaluate(fetched, f"{GUIDE}.zip") == [200, there.stat().st_size]
    server.http.away = True
    assert page.evaluate(fetched, f"{GUIDE}.zip")[0] == 404


def test_other_folders_of_the_host_are_left_alone(reader: BrowserContext, server: Server) -> None:
    page = kept(reader, server)
    (server.http.root / "some" / "index.html").write_text("<title>Catalogue</title>", encoding="utf-8")
    page.goto(f"{server.url}/some/index.html")
    assert page.title() == "Catalogue"
    assert page.evaluate("navigator.serviceWorker.controller") is None


def test_two_guides_on_one_host_do_not_touch_each_other(
    reader: BrowserContext, server: Server, editions: dict[str, tuple[Path, str]]
) -> None:
    server.publish(editions["second"][0], "other")
    first = kept(reader, server)
    second = reader.new_page()
    second.goto(f"{server.url}/other/index.html")
    state(second, "kept")
    server.http.away = True
    for page, edition in ((first, "first"), (second, "second")):
        page.reload()
        state(page, "kept")
        assert edition_of(page) == editions[edition][1]


def offered(page: Page) -> None:
    page.wait_for_selector(".keep__new:not([hidden])", timeout=30_000)


def test_another_edition_waits_whole_until_the_reader_agrees(
    reader: BrowserContext, server: Server, editions: dict[str, tuple[Path, str]]
) -> None:
    (_, first), (folder, second) = editions["first"], editions["second"]
    page = kept(reader, server, "03-fill.html")
    server.publish(folder, f"some/{GUIDE}")
    page.goto(at(server, "01-water.html"))
    offered(page)
    notice = page.locator(".keep__new").inner_text()
    assert f"You are reading edition {first}" in notice
    assert f"Edition {second} is on this phone" in notice
    changes = page.locator(".keep__changes").inner_text().replace("\u00a0", " ").split("\n")
    assert [line for line in changes if line] == [
        "1 Water & <drain>",
        "1.1 Pour test: changed",
        "1.2 Drain proved: changed",
        "3 Filling",
        "3.2 Before heat: changed",
        "Run group G2 until solid: no longer in the guide",
        "Figures",
        "Time until the machine is ready: 23 min – 30 min → 35 min – 45 min",
    ]
    # Signal is gone, the browser was closed and opened: still the old edition, page by page.
    server.http.away = True
    page.close()
    page = reader.new_page()
    for name in PAGES:
        page.goto(at(server, name))
        assert edition_of(page) == first
    offered(page)
    page.locator(".keep__stay").click()
    assert page.locator(".keep__new").is_hidden()
    page.goto(at(server, "01-water.html"))
    page.wait_for_selector(".keep__show:not([hidden])")
    assert page.locator(".keep__new").is_hidden()
    page.locator(".keep__show").click()
    page.locator(".keep__change").click()
    page.wait_for_selector(f"[data-pg-keep][data-edition='{second}'][data-state=kept]")
    assert page.url == at(server, "01-water.html")
    assert "Pour two buckets" in page.inner_text("main")
    for name in PAGES:
        page.goto(at(server, name))
        assert edition_of(page) == second
    assert find(page, "two buckets")


def test_all_open_pages_change_together(
    reader: BrowserContext, server: Server, editions: dict[str, tuple[Path, str]]
) -> None:
    (_, first), (folder, second) = editions["first"], editions["second"]
    one, two = kept(reader, server, "01-water.html"), kept(reader, server, "03-fill.html")
    # What somebody is typing in the other page comes along.
    typed = two.locator("[data-field='reading'][data-of='fill.steam.inlet'] input")
    typed.press_sequentially("2.9")
    server.publish(folder, f"some/{GUIDE}")
    one.reload()
    offered(one)
    assert [edition_of(page) for page in (one, two)] == [first, first]
    one.locator(".keep__change").click()
    for page in (one, two):
        page.wait_for_selector(f"[data-pg-keep][data-edition='{second}'][data-state=kept]")
    expect(typed).to_have_value("2.9")


def test_a_half_deployed_edition_stays_the_old_one(
    reader: BrowserContext, server: Server, editions: dict[str, tuple[Path, str]]
) -> None:
    (_, first), (folder, second) = editions["first"], editions["second"]
    page = kept(reader, server)
    there = server.http.root / "some" / GUIDE
    for name in ("sw.js", "edition.json", "index.html"):
        shutil.copy(folder / name, there / name)
    page.reload()
    state(page, "newer")
    assert says(page).startswith(f"Kept on this phone, edition {first}. Edition {second} has been published")
    server.http.away = True
    for name in PAGES:
        page.goto(at(server, name))
        assert edition_of(page) == first
    # The rest arrives: now it is whole.
    server.http.away = False
    server.publish(folder, f"some/{GUIDE}")
    page.goto(at(server))
    offered(page)


def test_a_half_deployed_guide_is_not_kept_and_says_so_before_anything_is_ticked(
    reader: BrowserContext, server: Server, editions: dict[str, tuple[Path, str]]
) -> None:
    (server.http.root / "some" / GUIDE / "figures.html").write_text("torn", encoding="utf-8")
    page = reader.new_page()
    page.goto(at(server))
    state(page, "broken")
    assert says(page).startswith("Not kept: the guide could not be fetched whole.")
    line = page.locator(".keep__line").bounding_box()
    assert line is not None
    assert line["y"] + line["height"] < 740
    server.publish(editions["first"][0], f"some/{GUIDE}")
    page.locator(".keep__again").click()
    state(page, "kept")


def test_an_edition_taken_back_is_noticed_whatever_the_times_of_files_say(
    reader: BrowserContext, server: Server, editions: dict[str, tuple[Path, str]]
) -> None:
    (old, first), (folder, second) = editions["first"], editions["second"]
    server.publish(folder, f"some/{GUIDE}")
    page = kept(reader, server)
    assert edition_of(page) == second
    server.publish(old, f"some/{GUIDE}")
    for path in (server.http.root / "some" / GUIDE).rglob("*"):
        os.utime(path, (1_000_000_000, 1_000_000_000))
    page.reload()
    offered(page)
    page.locator(".keep__change").click()
    page.wait_for_selector(f"[data-pg-keep][data-edition='{first}'][data-state=kept]")


def test_what_waits_and_is_taken_back_is_no_longer_offered(
    reader: BrowserContext, server: Server, editions: dict[str, tuple[Path, str]]
) -> None:
    (old, first), (folder, _) = editions["first"], editions["second"]
    page = kept(reader, server)
    server.publish(folder, f"some/{GUIDE}")
    page.reload()
    offered(page)
    server.publish(old, f"some/{GUIDE}")
    page.reload()
    page.wait_for_function("caches.keys().then((names) => names.length === 2)")
    page.wait_for_selector(".keep__new", state="hidden")
    assert edition_of(page) == first
    page.reload()
    state(page, "kept")
    assert page.locator(".keep__new").is_hidden()


def test_only_what_differs_is_fetched_again(
    reader: BrowserContext, server: Server, editions: dict[str, tuple[Path, str]]
) -> None:
    page = kept(reader, server)
    server.http.asked.clear()
    server.publish(editions["second"][0], f"some/{GUIDE}")
    page.reload()
    offered(page)
    fetched = {path.rpartition("/")[2] for path in server.http.asked}
    assert "03-fill.html" in fetched
    assert [name for name in fetched if name.endswith((".css", ".png", ".svg"))] == []


def test_a_broken_off_keeping_goes_on_where_it_stopped(reader: BrowserContext, server: Server) -> None:
    figures = server.http.root / "some" / GUIDE / "figures.html"
    whole = figures.read_bytes()
    figures.unlink()
    page = reader.new_page()
    page.goto(at(server))
    state(page, "broken")
    figures.write_bytes(whole)
    server.http.asked.clear()
    page.locator(".keep__again").click()
    state(page, "kept")
    assert "/figures.html" in " ".join(server.http.asked)
    assert "main." not in " ".join(server.http.asked)


REFUSED = """
  const refuse = () => Promise.reject(new DOMException("refused", "SecurityError"));
  for (const name of ["open", "has", "keys", "match", "delete"]) CacheStorage.prototype[name] = refuse;
"""
NO_WORKER = "Object.defineProperty(Navigator.prototype, 'serviceWorker', { value: undefined });"
NOT_SECURE = "Object.defineProperty(self, 'isSecureContext', { value: false });"


@pytest.mark.parametrize(
    ("stub", "found", "words"),
    [
        (REFUSED, "refused", "this browser refuses storage"),
        (NO_WORKER, "none", "this browser has no store for pages without signal"),
        (NOT_SECURE, "insecure", "the address does not begin with https"),
    ],
)
def test_where_it_cannot_be_kept_it_says_why_and_what_to_do(
    reader: BrowserContext, server: Server, stub: str, found: str, words: str
) -> None:
    reader.add_init_script(stub)
    page = reader.new_page()
    page.goto(at(server, "01-water.html"))
    state(page, found)
    assert words in says(page)
    page.locator(".keep__how").click()
    page.wait_for_url("**/index.html#keep")
    assert page.locator("a[download]").count() == 2


def test_a_full_phone_says_so_and_leaves_nothing_half(reader: BrowserContext, server: Server) -> None:
    """The worker's own store is stubbed: the script is served with a store that takes three files."""
    worker = server.http.root / "some" / GUIDE / "sw.js"
    stub = """
      const put = Cache.prototype.put;
      let room = 3;
      Cache.prototype.put = function (...what) {
        room -= 1;
        if (room < 0) return Promise.reject(new DOMException("no room", "QuotaExceededError"));
        return put.apply(this, what);
      };
    """
    whole = worker.read_text(encoding="utf-8")
    worker.write_text(whole + stub, encoding="utf-8")
    page = reader.new_page()
    page.goto(at(server))
    state(page, "full")
    assert "there is no room on this phone" in says(page)
    assert page.evaluate("caches.keys()") == []
    worker.write_text(whole, encoding="utf-8")
    # Within the same second the server would say that the file has not changed.
    os.utime(worker, (2_000_000_000, 2_000_000_000))
    page.locator(".keep__again").click()
    state(page, "kept")


def test_a_store_cleared_by_the_phone_is_filled_again(reader: BrowserContext, server: Server) -> None:
    page = kept(reader, server)
    page.evaluate("caches.keys().then((names) => Promise.all(names.map((name) => caches.delete(name))))")
    page.goto(at(server, "02-electricity.html"))
    state(page, "kept")
    server.http.away = True
    page.goto(at(server, "01-water.html"))
    state(page, "kept")


def test_whether_the_phone_may_clear_it_is_said(reader: BrowserContext, server: Server) -> None:
    reader.add_init_script(
        """
        const answer = self.name === "fast";
        StorageManager.prototype.persisted = StorageManager.prototype.persist = () => Promise.resolve(answer);
        """
    )
    page = kept(reader, server)
    loose = page.locator("[data-when=loose]")
    loose.wait_for(state="visible")
    page.evaluate("self.name = 'fast'")
    page.reload()
    state(page, "kept")
    loose.wait_for(state="hidden")


def test_nothing_moves_while_the_guide_is_being_kept(reader: BrowserContext, server: Server) -> None:
    reader.add_init_script(
        """const no = () => Promise.resolve(false);
        StorageManager.prototype.persisted = StorageManager.prototype.persist = no;
        window.jumps = 0; new PerformanceObserver(list => list.getEntries().forEach(e => {
        if (!e.hadRecentInput) jumps += e.value; })).observe({type: 'layout-shift', buffered: true});"""
    )
    page = kept(reader, server, "01-water.html")
    page.locator("[data-when=loose]").wait_for()
    at_rest(page)
    assert page.evaluate("jumps") < 0.002


def test_the_home_screen_gets_name_and_icons(reader: BrowserContext, server: Server) -> None:
    page = kept(reader, server)
    address = page.locator("link[rel=manifest]").get_attribute("href")
    found = json.loads(page.evaluate("(address) => fetch(address).then((a) => a.text())", address))
    assert (found["name"], found["start_url"]) == (page.title(), "index.html")
    for icon in found["icons"]:
        size = page.evaluate(
            """(source) => new Promise((resolve, reject) => {
              const image = new Image();
              image.onload = () => resolve(image.naturalWidth);
              image.onerror = reject;
              image.src = source;
            })""",
            icon["src"],
        )
        assert icon["sizes"] == "any" or icon["sizes"] == f"{size}x{size}"
