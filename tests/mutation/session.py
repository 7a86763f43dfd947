"""One pytest session that stops before running, knows which test meets which line, and judges changes."""

from __future__ import annotations

import gc
import os
import resource
import signal
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

from procgen.engineering.kernel import CHECKS

from .operators import Mutant
from .propagate import propagate
from .traces import Line, Traces
from .transplant import forget, transplant
from .where import FLOOR, imported

TIMED_OUT = 99
#: A test may take this many times as long as without the change, and at least this many seconds.
PATIENCE, LEAST = 10.0, 1.0
MEMORY = 6 << 30


class Watch:
    """Runs single tests of a collected session and keeps what they reached."""

    def __init__(self, session: pytest.Session) -> None:
        self.session = session
        self.items = list(session.items)
        self.failed = False
        #: Numbers of the tests that ran a line (module, number), or called the formula that starts there.
        self.reached: dict[Line, set[int]] = defaultdict(set)
        self.modules: dict[str, set[int]] = defaultdict(set)
        self.seconds: list[float] = []
        self.killers: dict[tuple[str, str], Counter[int]] = defaultdict(Counter)

    @pytest.hookimpl
    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.failed = self.failed or report.failed

    def run(self, item: pytest.Item) -> bool:
        """Whether a test passes."""
        self.failed = False
        item.ihook.pytest_runtest_protocol(item=item, nextitem=None)
        return not self.failed

    def trace(self, kept: Traces) -> list[str]:
        """Run every test once as it is, unless that is known; names of those that fail."""
        failing = []
        files = {str(path): path.stem for path in FLOOR.glob("*.py")}
        for number, item in enumerate(self.items):
            known = kept.get(item)
            if known is None:
                forget()
                seen: set[Line] = set()
                began = time.process_time()
                sys.settrace(_tracer(files, seen))
                try:
                    good = self.run(item)
                finally:
                    sys.settrace(None)
                known = time.process_time() - began, sorted(seen)
                if good:
                    kept.put(item, *known)
                else:
                    failing.append(item.nodeid)
            seconds, lines = known
            self.seconds.append(seconds)
            for module, line in lines:
                self.reached[module, line].add(number)
                self.modules[module].add(number)
        kept.save()
        gc.collect()
        gc.freeze()
        return failing

    def choose(self, mutant: Mutant) -> list[int]:
        """Tests that can notice a change, the likeliest and fastest first."""
        first, last = mutant.span
        found = set[int]().union(*(self.reached[mutant.module, n] for n in range(first, last + 1)))
        if mutant.where in {"class", "module"}:
            found |= self.near(mutant.module)
        proven = self.killers[_place(mutant)]
        return sorted(found, key=lambda n: (-proven[n], not self._own(n, mutant), self.seconds[n]))

    def near(self, module: str) -> set[int]:
        """Tests of each file that imports a module or runs a line of it (a table has no lines to run)."""
        home = FLOOR / f"{module}.py"
        files = {self.items[number].path for number in self.modules[module]}
        files |= {item.path for item in self.items if home in imported(Path(item.path))}
        return {number for number, item in enumerate(self.items) if item.path in files}

    def _own(self, number: int, mutant: Mutant) -> bool:
        return mutant.module.split("_")[0] in Path(self.items[number].path).stem

    def judge(self, mutant: Mutant, changed: bytes, tests: list[int]) -> tuple[str, str]:
        """Verdict on one change, reached in a process of its own, and the test that noticed."""
        read, write = os.pipe()
        child = os.fork()
        if child == 0:
            code = 1
            try:
                os.close(read)
                self._child(mutant, changed, tests, lambda text: os.write(write, text.encode()))
                code = 0
            finally:
                os._exit(code)
        os.close(write)
        with os.fdopen(read) as pipe:
            said = pipe.read().split()
        status = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
        current = next((int(word[1:]) for word in reversed(said) if word[0] == "t"), None)
        name = self.items[current].nodeid if current is not None else ""
        if "again" in said:
            return "again", ""
        if status != 0 or "dead" in said:
            if current is not None:
                self.killers[_place(mutant)][current] += 1
            return ("killed" if status == 0 else "timeout" if status == TIMED_OUT else "crashed"), name
        # A figure outside every function may sit where it was not found: only a new import is sure.
        return ("again" if mutant.where == "module" else "survived"), ""

    def _child(self, mutant: Mutant, changed: bytes, tests: list[int], say: Callable[[str], Any]) -> None:
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        signal.signal(signal.SIGPROF, _stop)
        gc.disable()
        try:
            forget()
            whole = propagate(mutant, changed) if mutant.where == "module" else transplant(mutant, changed)
        except Exception:
            say("dead ")
            return
        if not whole:
            say("again ")
            return
        for number in tests:
            say(f"t{number} ")
            signal.setitimer(signal.ITIMER_PROF, max(LEAST, PATIENCE * self.seconds[number]))
            good = self.run(self.items[number])
            signal.setitimer(signal.ITIMER_PROF, 0.0)
            if not good:
                say("dead ")
                return


def _stop(signum: int, frame: FrameType | None) -> None:
    os._exit(TIMED_OUT)


def _tracer(files: dict[str, str], seen: set[Line]) -> Callable[[FrameType, str, Any], Any]:
    def lines(frame: FrameType, event: str, arg: Any) -> Any:
        if event == "line":
            seen.add((files[frame.f_code.co_filename], frame.f_lineno))
        return lines

    # Line by line is slow: only in the floor itself.

    def calls(frame: FrameType, event: str, arg: Any) -> Any:
        code = frame.f_code
        if code.co_filename == CHECKS:
            inner = frame.f_globals["function"].__code__
            if inner.co_filename in files:
                seen.add((files[inner.co_filename], inner.co_firstlineno))
        if code.co_filename in files:
            seen.add((files[code.co_filename], frame.f_lineno))
            return lines
        return None

    return calls


def _place(mutant: Mutant) -> tuple[str, str]:
    """Changes of one place tend to be noticed by the same test."""
    return mutant.module, mutant.function or str(mutant.span)
