"""``procgen list`` against ``procgen --version``, by ratio: the list kept and the list made anew.

``python -m tests.benchmarks.bench_commands [--repeats N]`` prints JSON. Times are processor time of child
processes. Nothing is asserted.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import statistics
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

ROOT = Path(__file__).resolve().parents[2]


def measure(repeats: int) -> dict[str, Any]:
    """Everything that is printed."""
    with TemporaryDirectory() as folder:
        root = Path(folder)
        for part in ("machine_profiles", "docs_src"):
            shutil.copytree(ROOT / part, root / part)
        kept = root / ".procgen"
        survey = next(iter(sorted((root / "machine_profiles" / "sites").glob("*.yml"))))
        version = _median(repeats, ["--version"])
        anew = _median(1, ["list", "-C", folder], lambda: shutil.rmtree(kept, ignore_errors=True))
        again = _median(repeats, ["list", "-C", folder])
        changed = _median(1, ["list", "-C", folder], lambda: _touch(survey))
        usage = _median(repeats, ["--help"])
    return {
        "version_ms": version,
        "help_ms": usage,
        "list_kept_ms": again,
        "list_one_survey_changed_ms": changed,
        "list_anew_ms": anew,
        "ratio_list_to_version": round(again / version, 2),
        "ratio_help_to_version": round(usage / version, 2),
    }


def _touch(path: Path) -> None:
    path.write_text(path.read_text(encoding="utf-8") + "# looked at again\n", encoding="utf-8")


def _median(repeats: int, words: list[str], before: Callable[[], None] = lambda: None) -> float:
    times = []
    for _ in range(repeats):
        before()
        begin = os.times()
        subprocess.run([sys.executable, "-m", "procgen", *words], check=True, cwd=ROOT, capture_output=True)
        end = os.times()
        times.append(end.children_user - begin.children_user + end.children_system - begin.children_system)
    return round(statistics.median(times) * 1e3, 1)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--repeats", type=int, default=9, help="runs of each command")
    print(json.dumps(measure(parser.parse_args().repeats), indent=2))


if __name__ == "__main__":
    main()
