"""The benchmarks run and give their fields; times are nobody's test."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

from procgen.values import catalogue
from tests.benchmarks import sites
from tests.conftest import ROOT


def _run(module: str, *words: str) -> Any:
    start = [sys.executable, "-m", f"tests.benchmarks.{module}", *words]
    told = subprocess.run(start, cwd=ROOT, capture_output=True, text=True, check=True)
    return json.loads(told.stdout)


def test_worksheets_against_the_generator() -> None:
    found = _run("bench_values", "--sites", "7", "--turns", "1")
    assert found["sites"] == 7
    assert set(found["worksheet_ms"]) == {"mean", "median", "p95", "max"}
    assert len(found["by_model"]) > 1
    for one in found["by_model"].values():
        # Both sides of a ratio were measured.
        assert (
            abs(one["ratio"] * one["stock_build_ms"] - one["worksheet_ms"]) <= 0.0001 * one["stock_build_ms"]
        )
        assert one["pages"] > 15
    least, most = (end(one["ratio"] for one in found["by_model"].values()) for end in (min, max))
    assert 0.0 < least <= found["ratio"] <= most
    centres = found["cost_centres"]
    assert set(centres["values"]) <= {definition.id for definition in catalogue.definitions()}
    assert 0 < len(centres["values"]) <= 10
    assert 0 < len(centres["kernels"]) <= 10


def test_commands() -> None:
    found = _run("bench_commands", "--repeats", "1")
    assert {"version_ms", "list_kept_ms", "list_anew_ms", "ratio_list_to_version"} <= set(found)


def test_synthetic_sites_are_valid_varied_and_always_the_same(tmp_path: Path) -> None:
    first = list(sites.guides(ROOT, 40, tmp_path / "a"))
    again = list(sites.guides(ROOT, 40, tmp_path / "b"))
    assert [one.site.data for one in first if one.site] == [one.site.data for one in again if one.site]
    assert len({one.guide for one in first}) == 40
    assert {one.machine.id for one in first} == {
        path.stem for path in (ROOT / "machine_profiles" / "models").glob("*.yml")
    }
    pressures = {one.site.data.mains.static_pressure for one in first if one.site}
    assert len(pressures) > 30
