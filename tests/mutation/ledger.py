"""Verdicts that outlive a run, and the changes that no test could tell from the original."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from .operators import Mutant
from .where import EQUIVALENT, FLOOR, KEPT, fingerprint, modules, test_files

Key = tuple[str, str, str, str]


@dataclass(frozen=True)
class Verdict:
    """What became of one change: "killed", "timeout", "crashed" or "survived"; the test that noticed."""

    result: str
    by: str


def numbered(found: list[Mutant]) -> Iterator[tuple[Mutant, str]]:
    """Each change with a name that is unique and stays when lines move."""
    seen: dict[Key, int] = {}
    for mutant in found:
        count = seen[mutant.key] = seen.get(mutant.key, 0) + 1
        yield mutant, json.dumps([*mutant.key, count], ensure_ascii=False)


class Ledger:
    """Verdicts by name; each holds as long as what it was reached with is unchanged."""

    def __init__(self, path: Path = KEPT) -> None:
        self.path = path
        # Read now, with the tests that will judge: a file saved later has judged nothing.
        self.all_tests = {name: fingerprint(FLOOR / f"{name}.py", *test_files()) for name in modules()}
        for test in test_files():
            for name in modules():
                fingerprint(FLOOR / f"{name}.py", test)
        self.verdicts: dict[str, tuple[str, Verdict]] = {}
        if path.is_file():
            for line in path.read_text(encoding="utf-8").splitlines():
                try:
                    kept = json.loads(line)
                    self.verdicts[kept["name"]] = (kept["basis"], Verdict(kept["result"], kept["by"]))
                except (ValueError, KeyError):  # a line cut short when a run was stopped
                    continue

    def get(self, mutant: Mutant, name: str) -> Verdict | None:
        """The verdict, if it still holds."""
        basis, verdict = self.verdicts.get(name, ("", None))
        return verdict if verdict and basis == self._basis(mutant, verdict) else None

    def put(self, mutant: Mutant, name: str, verdict: Verdict) -> None:
        """Keep a verdict at once: a run may be stopped at any time."""
        basis = self._basis(mutant, verdict)
        self.verdicts[name] = (basis, verdict)
        self.path.parent.mkdir(parents=True, exist_ok=True)
        record = {"name": name, "basis": basis, "result": verdict.result, "by": verdict.by}
        with self.path.open("a", encoding="utf-8") as file:
            file.write(json.dumps(record, ensure_ascii=False) + "\n")

    def _basis(self, mutant: Mutant, verdict: Verdict) -> str:
        """A change that was noticed stays so while its test does; a survivor only while all tests do."""
        path = FLOOR.parents[1] / verdict.by.split("::")[0]
        if verdict.result != "survived" and path.suffix == ".py" and path.is_file():
            return fingerprint(FLOOR / f"{mutant.module}.py", path)
        return self.all_tests[mutant.module]


def equivalents(path: Path = EQUIVALENT) -> dict[Key, str]:
    """Changes that no test could tell, with the reason."""
    entries: list[dict[str, Any]] = yaml.load(path.read_text(encoding="utf-8"), Loader=yaml.BaseLoader) or []
    return {
        (entry["module"], entry.get("function", ""), entry["line"], becomes): entry["reason"]
        for entry in entries
        for becomes in entry["becomes"]
    }
