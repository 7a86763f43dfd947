"""The committed table of deviations is complete and true, and the helper that fills it can refuse."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections import Counter
from functools import cache
from pathlib import Path

import pytest

from procgen.engineering import drain, treatment, water
from tests.conftest import ROOT

from . import deviations, outside
from .formulas import formulas, libraries_of
from .oracle import CHECKS, Outside, agrees, standard

#: Independent figures that each area is compared with at least.
LEAST = 3


@cache
def committed() -> list[deviations.Row]:
    """The table as it is in the checkout."""
    return json.loads((ROOT / deviations.DATA).read_text(encoding="utf-8"))


def by_key(table: list[deviations.Row]) -> dict[tuple[str, str, str | None], deviations.Row]:
    return {(row["formula"], row["source"], row["unit"]): row for row in table}


@pytest.fixture(scope="module")
def now(tmp_path_factory: pytest.TempPathFactory) -> list[deviations.Row]:
    """What the checks see on this machine: the same run that writes the table, into an empty folder."""
    checkout = tmp_path_factory.mktemp("checkout")
    command = [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", "--deviations", str(checkout)]
    # A worker of a parallel run must not pass for the one that started it.
    environment = {name: value for name, value in os.environ.items() if not name.startswith("PYTEST_")}
    run = subprocess.run(
        [*command, *deviations.PLACES], cwd=ROOT, env=environment, capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stdout
    return json.loads((checkout / deviations.DATA).read_text(encoding="utf-8"))


def test_the_committed_table_is_what_the_checks_see(now: list[deviations.Row]) -> None:
    printed, seen = by_key(committed()), by_key(now)
    assert printed.keys() == seen.keys(), "run `make deviations`"
    seen_only = {"deviation": 0, "share": 0}
    for key, row in seen.items():
        shown = printed[key]
        assert {**shown, **seen_only} == {**row, **seen_only}, "run `make deviations`"
        # Another processor or release of a library: a tenth of the deviation, a fiftieth of the tolerance.
        room = 0.1 * max(row["deviation"], shown["deviation"]) + 0.02 * row["tolerance"]
        apart = abs(row["deviation"] - shown["deviation"])
        assert apart <= room, f"{key}: {row['deviation']} now; run `make deviations`"


def test_the_page_is_the_table() -> None:
    assert (ROOT / deviations.PAGE).read_text(encoding="utf-8") == deviations.page(committed())


def test_every_formula_is_compared_with_something_from_outside() -> None:
    assert {row["formula"] for row in committed()} == set(formulas())


def test_every_area_is_compared_with_several_figures() -> None:
    points: Counter[str] = Counter()
    for row in committed():
        points[row["formula"].partition(".")[0]] += row["points"]
    assert all(row["points"] > 0 for row in committed())
    assert {area for area, count in points.items() if count < LEAST} == set()


def test_no_deviation_is_beyond_its_tolerance() -> None:
    for row in committed():
        assert 0 <= row["deviation"] <= max(row["tolerance"] * 1.05, 1e-9), row


def test_libraries_are_found_through_other_functions() -> None:
    assert libraries_of(water.saturation_pressure) == {"chemicals"}
    assert libraries_of(formulas()["hydraulics.pipe_loss"]) == {"chemicals", "fluids"}
    assert libraries_of(formulas()["fill_network.solve_fill_flow"]) == {"chemicals", "fluids"}
    assert libraries_of(formulas()["mixing_chamber.chamber_state"]) == {"chemicals"}
    assert libraries_of(drain.manning_velocity) == set()


@pytest.fixture
def untouched() -> None:
    """Trials of the helper are no checks."""
    before = len(CHECKS)
    yield
    del CHECKS[before:]


@pytest.mark.usefixtures("untouched")
class TestAgrees:
    """The helper refuses what it must, and keeps what it saw."""

    def test_what_is_kept(self) -> None:
        agrees(water.density, 1001.0, 1000.0, outside.HAND, rel=2e-3)
        kept = CHECKS[-1]
        assert (kept.formula, kept.source, kept.points) == ("water.density", outside.HAND.title, 1)
        assert (kept.deviation, kept.tolerance, kept.unit) == (pytest.approx(1e-3), 2e-3, None)
        assert kept.share == kept.deviation
        agrees(water.saturation_temperature, [300.0, 400.3], [300.1, 400.0], outside.HAND, abs=0.5)
        kept = CHECKS[-1]
        assert (kept.points, kept.deviation, kept.unit) == (2, pytest.approx(0.3), "K")
        assert kept.share == pytest.approx(0.3 / 400)

    @pytest.mark.parametrize(
        ("got", "want", "tolerance"),
        [
            (1.01, 1.0, {"rel": 9e-3}),
            (1.01, 1.0, {"abs": 9e-3}),
            (1.0 + 1e-15, 1.0, {}),
            (float("nan"), 1.0, {"rel": 1e9}),
            ([1.0, 2.1], [1.0, 2.0], {"rel": 0.01}),
            ({"a": 1.0}, {"a": 1.1}, {"rel": 0.01}),
            (1e-6, 0.0, {"rel": 1.0}),
            ("soft", "hard", {}),
            (("low",), (), {}),
            (None, 1.0, {"rel": 1.0}),
        ],
    )
    def test_what_differs_is_refused(self, got: object, want: object, tolerance: dict[str, float]) -> None:
        before = len(CHECKS)
        with pytest.raises(AssertionError, match=r"water\.density: .* \(arithmetic by hand"):
            agrees(water.density, got, want, outside.HAND, **tolerance)
        assert len(CHECKS) == before

    def test_a_library_does_not_check_itself(self) -> None:
        own = Outside("tables computed by chemicals", ("chemicals",))
        with pytest.raises(AssertionError, match=r"water\.density calls chemicals itself"):
            agrees(water.density, 1000.0, 1000.0, own, rel=1.0)

    def test_a_tolerance_needs_a_unit(self) -> None:
        with pytest.raises(AssertionError, match=r"fill_network\.solve_fill_flow: say the unit"):
            agrees(formulas()["fill_network.solve_fill_flow"], 1.0, 1.0, outside.HAND, abs=1.0)

    def test_the_standard_of_a_formula(self) -> None:
        assert standard(treatment.hardness_from_ions).title.endswith(", 2340 B")
        assert standard(drain.air_gap).from_memory


def test_deviations_are_shown_with_honest_digits() -> None:
    shown = {
        (2e-4, None): "0.02 %", (0.0123, None): "1.2 %", (3e-7, None): "under 0.0001 %", (0.0, None): "exact",
        (0.31, "K"): "0.31 K", (2e-7, "m/s"): "2×10⁻⁷ m/s", (0.22, ""): "0.22", (6e-4, "L/s"): "0.0006 L/s",
    }  # fmt: skip
    printed = {key: deviations.apart(*key).replace("\u00a0", " ") for key in shown}
    assert printed == shown


def test_nothing_in_a_cell_is_markup(tmp_path: Path) -> None:
    assert deviations.cell("a|b <i> *c* p_atm") == r"a\|b \<i\> \*c\* p\_atm"
    assert deviations.cell("up to 3 m") == '<span class="typed">up to 3 m</span>'
    deviations.write(tmp_path, [])
    assert (tmp_path / deviations.DATA).read_text(encoding="utf-8") == "[\n\n]\n"
