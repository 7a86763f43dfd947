"""Time to the first readable step on a slow phone: processor four times slower, slow mobile network.

Run ``python -m tests.benchmarks.first_step SITE GUIDE PAGE`` on a built site; it prints, asserts nothing. The
network is a browser's slow preset (from memory): 400 ms of delay, 400 kbit/s each way. The host compresses.
"""

from __future__ import annotations

import statistics
import sys
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

from tests.conftest import CHROMIUM
from tests.phone.kit import phone, serving, state

SLOW = {"offline": False, "latency": 400, "downloadThroughput": 50_000, "uploadThroughput": 50_000}
ROUNDS = 3
#: when the first step, or else the first heading, had been painted
READABLE = """
() => {
  const step = document.querySelector("[data-step], main h1");
  const paint = performance.getEntriesByName("first-contentful-paint")[0];
  return step && paint ? paint.startTime : null;
}
"""


def once(browser: Browser, address: str, again: bool) -> tuple[float, float]:
    """Milliseconds to the first paint with a step in it, and to the end of loading."""
    with phone(browser) as context:
        page = context.new_page()
        if again:
            page.goto(address)
            state(page, "kept")
        tools = context.new_cdp_session(page)
        tools.send("Network.enable")
        tools.send("Network.emulateNetworkConditions", SLOW)
        tools.send("Emulation.setCPUThrottlingRate", {"rate": 4})
        page.goto(address, wait_until="load", timeout=120_000)
        page.wait_for_function(READABLE, timeout=120_000)
        loaded = page.evaluate("performance.getEntriesByType('navigation')[0].loadEventEnd")
        return float(page.evaluate(READABLE)), float(loaded)


def main(site: Path, guide: str, name: str) -> None:
    """Print medians for the first visit and for a visit once kept."""
    with serving(site) as server, sync_playwright() as playwright:
        server.http.compress = True
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        address = f"{server.url}/{guide}/{name}"
        for title, again in (("first visit", False), ("once kept", True)):
            found = [once(browser, address, again) for _ in range(ROUNDS)]
            paint, loaded = (statistics.median(column) / 1000 for column in zip(*found, strict=True))
            print(f"{title}: first step readable after {paint:.1f} s, loaded after {loaded:.1f} s")
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2], sys.argv[3])
