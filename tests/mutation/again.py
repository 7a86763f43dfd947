"""A change outside every function: the floor and its tests are imported again with the changed source."""

from __future__ import annotations

import importlib.machinery
import importlib.util
import os
import signal
import sys
from collections.abc import Sequence
from importlib.machinery import ModuleSpec
from pathlib import Path
from types import CodeType, ModuleType

import pytest

from .operators import Mutant
from .where import FLOOR

TIMED_OUT = 99
#: Seconds of computing that one file of tests may take.
LIMIT = 60.0
#: Options of a quiet run that leaves nothing behind.
QUIET = [
    "-q",
    "-s",
    "-p",
    "no:cacheprovider",
    "-p",
    "no:xdist",
    "-o",
    "addopts=",
    "--assert=plain",
    "--tb=native",
]


class _Loader(importlib.machinery.SourceFileLoader):
    def __init__(self, name: str, path: str, changed: bytes) -> None:
        super().__init__(name, path)
        self.changed = changed

    def get_code(self, fullname: str) -> CodeType:
        return compile(self.changed, self.path, "exec")


class _Finder:
    """Serves one module from changed source."""

    def __init__(self, module: str, changed: bytes) -> None:
        self.name = f"procgen.engineering.{module}"
        self.path = str(FLOOR / f"{module}.py")
        self.changed = changed

    def find_spec(
        self, fullname: str, path: Sequence[str] | None = None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        if fullname != self.name:
            return None
        return importlib.util.spec_from_file_location(
            fullname, self.path, loader=_Loader(fullname, self.path, self.changed)
        )


class _First:
    """The first test that fails, or the file that cannot even be read."""

    name = ""

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed and not self.name:
            self.name = report.nodeid

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        if report.failed and not self.name:
            self.name = report.nodeid


def _stop(*_: object) -> None:
    os._exit(TIMED_OUT)


def judge(mutant: Mutant, changed: bytes, files: list[Path]) -> tuple[str, str]:
    """Verdict on one change, and the test that noticed."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        code = 1
        try:
            os.close(read)
            os.write(write, _run(mutant, changed, files).encode())
            code = 0
        finally:
            os._exit(code)
    os.close(write)
    with os.fdopen(read) as pipe:
        name = pipe.read()
    status = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    if status == TIMED_OUT:
        return "timeout", ""
    if status != 0:
        return "crashed", ""
    return ("killed" if name else "survived"), name


def _run(mutant: Mutant, changed: bytes, files: list[Path]) -> str:
    for name in list(sys.modules):
        if name.startswith(("procgen.engineering", "tests.engineering")):
            del sys.modules[name]
    sys.meta_path.insert(0, _Finder(mutant.module, changed))
    signal.signal(signal.SIGPROF, _stop)
    own = [path for path in files if mutant.module in path.stem]
    for some in (own, [path for path in files if path not in own]):
        if some:
            signal.setitimer(signal.ITIMER_PROF, LIMIT * len(some))
            first = _First()
            code = pytest.main([*map(str, some), "-x", *QUIET], plugins=[first])
            if code != pytest.ExitCode.OK:
                return first.name or "(not importable)"
    return ""
