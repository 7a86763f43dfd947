"""What all tests share: the demo workspace, a workspace to spoil, the checks made, no silent skips."""

from __future__ import annotations

import fcntl
import os
import shutil
from collections.abc import Callable, Iterator, Mapping
from dataclasses import astuple
from pathlib import Path, PurePosixPath
from typing import Any

import pytest
from hypothesis import settings
from playwright.sync_api import Browser, sync_playwright
from xdist.scheduler import LoadScopeScheduling

from procgen import commands
from procgen.messages.catalog import Messages, load
from tests.engineering import deviations
from tests.engineering.oracle import CHECKS, Check

ROOT = Path(__file__).resolve().parent.parent
#: without windows where that is installed: a new context and its first page for less than half the work
CHROMIUM = shutil.which("chromium-headless-shell") or "/usr/bin/chromium"
PARTS = ("machine_profiles", "docs_src")
#: the guide of the demo with most groups, boilers, phases and figures
DEMO = "orrenholt-hall"
#: What runs first, in this order, and what of it stays on one worker because it shares something dear to
#: make: the tests of a file, of a folder, or nothing but the test itself. All others fill up who is free.
TOGETHER = {
    "figures": "folder",
    "site": "file",
    "phone": "file",
    "print": "file",
    "publish": "file",
    "test_hostile_names.py": "file",
    "engineering": "file",
    "values": "test",
}

#: gives the folder of a name; whoever asks first makes it
Once = Callable[[str, Callable[[Path], object]], Path]

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


@pytest.fixture(scope="session")
def once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Once]:
    """Folders made once for all workers of a run: who asks first makes one, the others wait. Read only."""
    base = tmp_path_factory.getbasetemp()
    shared = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "once"
    shared.mkdir(exist_ok=True)

    def give(name: str, make: Callable[[Path], object]) -> Path:
        folder, state = shared / name, shared / f"{name}.state"
        with (shared / f"{name}.lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            if not state.exists():
                shutil.rmtree(folder, ignore_errors=True)
                folder.mkdir()
                make(folder)
                state.write_text(_state(folder), encoding="utf-8")
        return folder

    yield give
    for state in shared.glob("*.state"):
        assert _state(state.with_suffix("")) == state.read_text(encoding="utf-8"), "a test changed it"


def _state(folder: Path) -> str:
    """Every file of a folder with the time it was written."""
    files = [path for path in sorted(folder.rglob("*")) if path.is_file()]
    return "\n".join(f"{path.relative_to(folder)} {path.stat().st_mtime_ns}" for path in files)


@pytest.fixture(scope="session")
def published(once: Once, messages: Messages) -> Path:
    """A workspace with one real guide, the catalogue and the handbook published. To change it, copy it."""

    def make(folder: Path) -> None:
        commands.build(copy_workspace(folder / "workspace"), messages, (DEMO,), workers=1)

    return once("published", make) / "workspace"


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


def together(nodeid: str) -> str:
    """What a test stays on one worker with."""
    path = nodeid.partition("::")[0]
    folder = PurePosixPath(path).parts[1]
    return {"file": path, "folder": folder}.get(TOGETHER.get(folder, ""), nodeid)


class Scheduling(LoadScopeScheduling):
    """Hands out what stays together, in the order collected."""

    def _split_scope(self, nodeid: str) -> str:
        return together(nodeid)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Scheduling:
    """Workers get what stays together whole, in the order of the tests."""
    config.option.loadscopereorder = False
    return Scheduling(config, log)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """What stays together comes first; for the table only tests that call `agrees` matter."""
    first = [*TOGETHER, *dict.fromkeys(item.path.parts[len(ROOT.parts) + 1] for item in items)]
    items.sort(key=lambda item: first.index(item.path.parts[len(ROOT.parts) + 1]))
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
