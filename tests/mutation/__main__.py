"""``python -m tests.mutation [MODULE…]``: change each formula a little and list what no test notices."""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import Phase, settings

from . import again
from .ledger import Ledger, Verdict, equivalents, numbered
from .operators import Mutant, mutants
from .where import TESTS, modules, source

#: Modules whose functions do their work while others are imported.
AT_IMPORT = {"kernel"}

Work = list[tuple[Mutant, str]]


def main() -> int:
    """0 where every survivor is a known equivalent and every known equivalent survives."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument("module", nargs="*", help="modules of procgen/engineering; all, unless named")
    parser.add_argument("--list", action="store_true", help="show kept verdicts, run nothing")
    given = parser.parse_args()
    unknown = sorted(set(given.module) - set(modules()))
    if unknown:
        parser.error(f"no such module: {', '.join(unknown)}; there are {', '.join(modules())}")
    chosen = given.module or modules()
    ledger = Ledger()
    work = {name: list(numbered(mutants(name, source(name)))) for name in chosen}
    todo = {
        name: left for name, all_ in work.items() if (left := [w for w in all_ if ledger.get(*w) is None])
    }
    began = time.monotonic()
    if todo and not given.list and not run(todo, ledger):
        return 2
    return report(work, ledger, time.monotonic() - began)


def run(todo: dict[str, Work], ledger: Ledger) -> bool:
    """Judge what is left to judge; false where the tests fail without any change."""
    settings.register_profile(
        "mutation", derandomize=True, max_examples=20, deadline=None, database=None,
        phases=(Phase.explicit, Phase.generate),
    )  # fmt: skip
    settings.load_profile("mutation")
    heavy()
    conductor = Conductor(todo, ledger)
    pytest.main([str(TESTS), *again.QUIET], plugins=[conductor])
    os.dup2(conductor.terminal.fileno(), 1)
    return conductor.clean


def heavy() -> None:
    """Import once what takes long to import."""
    import CoolProp.CoolProp
    import iapws
    import phreeqpython
    import scipy.integrate
    import scipy.optimize

    assert CoolProp and iapws and phreeqpython and scipy


class Conductor:
    """Takes the place of pytest's own loop over the tests."""

    def __init__(self, todo: dict[str, Work], ledger: Ledger) -> None:
        self.todo, self.ledger = todo, ledger
        self.clean = False
        self.terminal = os.fdopen(os.dup(1), "w")

    def say(self, text: str) -> None:
        print(text, file=self.terminal, flush=True)

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Trace one clean run, then judge every change."""
        from .session import Watch
        from .traces import Traces

        if session.testsfailed:
            self.say("The tests of the floor cannot be read.")
            return True
        sys.stdout.flush()
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        watch = Watch(session)
        session.config.pluginmanager.register(watch)
        self.say(f"{len(watch.items)} tests, {sum(map(len, self.todo.values()))} changes to judge")
        failing = watch.trace(Traces())
        if failing:
            self.say("These fail without any change:\n  " + "\n  ".join(failing))
            return True
        self.clean = True
        for module, work in self.todo.items():
            began, results = time.monotonic(), Counter[str]()
            files = list(dict.fromkeys(Path(watch.items[n].path) for n in sorted(watch.near(module))))
            before = source(module)
            for mutant, name in work:
                changed = mutant.apply(before)
                result, by = "again", ""
                if module not in AT_IMPORT:
                    result, by = watch.judge(mutant, changed, watch.choose(mutant))
                if result == "again":
                    result, by = again.judge(mutant, changed, files)
                self.ledger.put(mutant, name, Verdict(result, by))
                results[result] += 1
            self.say(f"{module:20} {time.monotonic() - began:6.1f} s  {dict(results)}")
        return True


def report(work: dict[str, Work], ledger: Ledger, seconds: float) -> int:
    """Print survivors, stale entries and totals."""
    known = {key: reason for key, reason in equivalents().items() if key[0] in work}
    met = set()
    totals = Counter[str]()
    for module, all_ in work.items():
        for mutant, name in all_:
            verdict = ledger.get(mutant, name)
            result = verdict.result if verdict else "not judged"
            if result == "survived" and mutant.key in known:
                met.add(mutant.key)
                result = "equivalent"
            elif result == "survived":
                print(f"procgen/engineering/{module}.py:{mutant.line_number} {mutant.function}")
                print(f"    {mutant.line}\n  → {mutant.becomes}")
            totals[result] += 1
    stale = [key for key in known if key not in met]
    for key in stale:
        print(f"stale in equivalent.yml, noticed or gone: {' | '.join(key)}")
    print(", ".join(f"{count} {result}" for result, count in sorted(totals.items())), f"({seconds:.0f} s)")
    return 1 if totals["survived"] or totals["not judged"] or stale else 0


if __name__ == "__main__":
    sys.exit(main())
