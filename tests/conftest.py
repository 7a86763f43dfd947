"""What all tests share: the demo workspace, a workspace to spoil, the checks made, no silent skips."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator, Mapping
from dataclasses import astuple
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings
from playwright.sync_api import Browser, sync_playwright

from procgen.messages.catalog import Messages, load
from tests.engineering import deviations
from tests.engineering.oracle import CHECKS, Check

ROOT = Path(__file__).resolve().parent.parent
CHROMIUM = "/usr/bin/chromium"
PARTS = ("machine_profiles", "docs_src")

# ``HYPOTHESIS_PROFILE=thorough`` looks ten times as long. Deadlines measure the machine, not the product.
settings.register_profile("fast", max_examples=100, deadline=None)
settings.register_profile("thorough", max_examples=1000, deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "fast"))


@pytest.fixture(scope="session")
def root() -> Path:
    """The checkout, which is the demo workspace."""
    return ROOT


@pytest.fixture(scope="session")
def messages() -> Messages:
    """The packaged words."""
    return load(ROOT)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's Chromium; one for all tests of a process."""
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield chromium
        chromium.close()


def copy_workspace(into: Path) -> Path:
    """A copy of everything a workspace is made of."""
    for part in PARTS:
        shutil.copytree(ROOT / part, into / part)
    shutil.copy(ROOT / "mkdocs.yml", into / "mkdocs.yml")
    return into


@pytest.fixture
def workspace(tmp_path: Path) -> Callable[[Mapping[str, str | bytes]], Path]:
    """Make a copy of the demo workspace with some files changed or added."""

    def make(files: Mapping[str, str | bytes]) -> Path:
        copy = copy_workspace(tmp_path / "workspace")
        for name, content in files.items():
            path = copy / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return copy

    return make


def pytest_addoption(parser: pytest.Parser) -> None:
    """`--deviations` runs only the checks from outside and writes their table into a checkout."""
    parser.addoption("--deviations", metavar="CHECKOUT", help="write the table of checks into CHECKOUT")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """For the table only tests that call `agrees` matter."""
    if config.getoption("--deviations"):
        wanted = [item for item in items if deviations.is_check(item)]
        config.hook.pytest_deselected(items=[item for item in items if item not in wanted])
        items[:] = wanted


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any, error: object) -> None:
    """What a worker process has checked joins the rest."""
    CHECKS.extend(Check(*row) for row in getattr(node, "workeroutput", {}).get("checks", ()))


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Hand the checks on, or write them; a skipped test is a failed promise where all can be installed."""
    worker = getattr(session.config, "workeroutput", None)
    if worker is not None:
        worker["checks"] = [astuple(check) for check in CHECKS]
        return
    checkout = session.config.getoption("--deviations")
    if checkout and exitstatus == 0:
        deviations.write(Path(checkout), CHECKS)
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if os.environ.get("CI") and reporter is not None and reporter.stats.get("skipped") and exitstatus == 0:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
        reporter.write_line("skipped tests count as failed here", red=True)
