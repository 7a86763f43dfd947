"""A real guide on a phone: its weight, its pages under their own policy, its use without signal."""

from __future__ import annotations

import gzip
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.conftest import DEMO as GUIDE
from tests.phone.kit import Server, find, phone, serving, state

#: figures of our own choosing, no source: seconds on a slow mobile network, room beside other guides
FIRST_PAGE, WHOLE, SCRIPTS = 150_000, 450_000, 40_000


@pytest.fixture(scope="module")
def site(published: Path) -> Path:
    """A published site with one guide."""
    return published / "site"


@pytest.fixture(scope="module")
def server(site: Path) -> Iterator[Server]:
    """A static host of it."""
    with serving(site) as running:
        yield running


def packed(path: Path) -> int:
    """Bytes over the wire."""
    return len(gzip.compress(path.read_bytes(), 9))


def kept(site: Path) -> list[str]:
    """What the worker keeps."""
    text = (site / GUIDE / "sw.js").read_text(encoding="utf-8")
    found, _ = json.JSONDecoder().raw_decode(text, len("const KEPT = "))
    return list(found["files"])


def test_the_whole_guide_is_light_to_keep(site: Path) -> None:
    assert sum(packed(site / GUIDE / name) for name in kept(site)) <= WHOLE


def test_our_scripts_are_light(site: Path) -> None:
    ours = [name for name in [*kept(site), "sw.js"] if name.endswith(".js")]
    ours = [name for name in ours if "vendor/" not in name and "-data." not in name]
    assert {name.partition(".")[0] for name in ours} >= {"sw", "assets/field", "assets/keep", "assets/search"}
    assert sum(packed(site / GUIDE / name) for name in ours) <= SCRIPTS


@pytest.mark.browser
def test_the_first_page_is_light_and_asks_nobody_else(browser: Browser, server: Server, site: Path) -> None:
    with phone(browser, service_workers="block") as context:
        page = context.new_page()
        asked: list[str] = []
        page.on("request", lambda request: asked.append(request.url))
        page.goto(f"{server.url}/{GUIDE}/index.html")
        page.wait_for_load_state("networkidle")
    assert len(asked) > 10
    assert [url for url in asked if not url.startswith(f"{server.url}/{GUIDE}/")] == []
    paths = {url.partition("?")[0].removeprefix(server.url + "/") for url in asked}
    assert sum(packed(site / path) for path in paths) <= FIRST_PAGE


@pytest.mark.browser
def test_no_page_breaks_its_own_policy_or_complains(browser: Browser, server: Server, site: Path) -> None:
    wrong: list[str] = []
    with phone(browser) as context:
        page = context.new_page()
        page.on("console", lambda line: wrong.append(line.text) if line.type == "error" else None)
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.goto(f"{server.url}/{GUIDE}/index.html")
        state(page, "kept")
        server.http.away = True
        for path in sorted((site / GUIDE).glob("*.html")):
            if path.name == "single.html":
                continue
            page.goto(f"{server.url}/{GUIDE}/{path.name}")
            state(page, "kept")
            wrong += page.evaluate("self.violations")
            assert page.evaluate("document.documentElement.scrollWidth") == 360, path.name
        assert any("Air trapped" in title for title in find(page, "trapped ari"))
        server.http.away = False
        for path in ("index.html", "handbook/offline.html"):
            page.goto(f"{server.url}/{path}")
            wrong += page.evaluate("self.violations")
        page.goto((site / GUIDE / "single.html").as_uri())
        state(page, "single")
        assert any("Air trapped" in title for title in find(page, "trapped ari"))
        wrong += page.evaluate("self.violations")
        assert page.evaluate("document.documentElement.scrollWidth") == 360
    # Without network the question for the published edition fails, and the browser writes that down.
    assert [line for line in wrong if "ERR_" not in line] == []
