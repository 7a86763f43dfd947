"""Every leaf at the ends of what its schema believes: a figure, or a reason and a finding; never a crash."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from procgen.values import Value, Worksheet
from procgen.values.reasons import OF_FIGURES
from tests.values import push
from tests.values.kit import GUIDES
from tests.values.profiles import heavy, thorough

#: Sites that differ in supply, hot water and what the steam boiler holds.
SITES = ["ellunby-bakery", "tibbenrow-plaza", "morrask-station"]
#: Kinds that are never below nought.
NEVER_NEGATIVE = {
    "volume", "small_volume", "flow", "drain_flow", "time", "mass", "mass_flow", "power", "heat_flow",
    "voltage", "current", "small_current", "resistance", "insulation", "conductivity", "hardness",
    "concentration", "capacity", "torque", "force", "ratio", "conductance", "count", "pressure_absolute",
    "size", "area", "stress", "temperature", "pressure_on_counter",
}  # fmt: skip


def faults(sheet: Worksheet) -> list[str]:
    """What is wrong with a worksheet, whatever was put in."""
    found = []
    for value in sheet.values.values():
        numbers = [n for n in (value.value, value.low, value.high) if n is not None]
        cells = [c for row in (value.series.rows if value.series else ()) for c in row]
        numbers += [cell for cell in cells if isinstance(cell, int | float)]
        if not all(math.isfinite(number) for number in numbers):
            found.append(f"{value.id} is no number")
        if value.value is not None and value.low is not None and value.high is not None:
            if not value.low <= value.value <= value.high:
                found.append(f"{value.id} lies outside its own range")
            if value.kind in NEVER_NEGATIVE and value.low < 0:
                found.append(f"{value.id} is negative")
        if value.why or not value.ok:
            found += _unworded(value)
    told = {i for finding in sheet.findings if finding.id == "figures_missing" for i in finding.values}
    found += [f"{v.id}: no finding tells" for v in sheet.values.values() if v.reason in OF_FIGURES - {""}
              and v.id not in told]  # fmt: skip
    return found


def _unworded(value: Value) -> list[str]:
    spoken = re.fullmatch(r"[A-Z].{15,}\.", value.why, re.DOTALL)
    if spoken and not re.search(r"[_{}]|\*\*|\b(nan|inf)\b", value.why):
        return []
    return [f"{value.id} has no reason in words: {value.why!r}"]


@pytest.mark.parametrize("name", SITES)
def test_each_leaf_alone(name: str) -> None:
    guide = GUIDES[name]
    leaves = push.leaves(guide)
    wrong, evaluated = [], 0
    for index, (place, quantity) in enumerate(leaves.items(), SITES.index(name)):
        ends = push.extremes(quantity)
        # Sites share most fields: where time matters each takes another end of them.
        for text in ends if thorough() else [ends[index % len(ends)]]:
            try:
                sheet = push.worksheet(guide, {place: text})
            except push.RefusedError:
                continue
            evaluated += 1
            wrong += [f"{place} {text}: {fault}" for fault in faults(sheet)]
    assert wrong == []
    # Refusals are the exception, or this test would see nothing.
    assert evaluated > len(leaves) / 2


@pytest.mark.parametrize("name", SITES)
def test_several_leaves_together(name: str) -> None:
    guide = GUIDES[name]
    leaves = push.leaves(guide)
    changes = st.dictionaries(
        st.sampled_from(sorted(leaves, key=str)), st.integers(0, 2), min_size=2, max_size=4
    )

    @heavy(20)
    @given(changes)
    def check(picked: dict[push.Place, int]) -> None:
        texts = {place: push.extremes(leaves[place])[end % 2] for place, end in picked.items()}
        try:
            sheet = push.worksheet(guide, texts)
        except push.RefusedError:
            return
        assert faults(sheet) == []

    check()


def test_what_lies_outside_is_told_with_its_range() -> None:
    sheet = push.worksheet(GUIDES["ellunby-bakery"], {push.at("site", "electricity.cable.ambient"): "75 °C"})
    value = sheet.value("electrical.cable_derating")
    # 70 °C: where PVC carries nothing any more (IEC 60364-5-52, from memory).
    assert (value.status, value.reason) == ("unavailable", "out_of_range")
    assert "75.0\u00a0°C (167.0\u00a0°F)" in value.why
    assert "70.0\u00a0°C (158.0\u00a0°F)" in value.why
    told = next(finding for finding in sheet.findings if finding.id == "figures_missing")
    assert told.verdict == "attention"
    assert value.why in told.reason


def test_a_cable_that_takes_all_leaves_no_figure_behind_it() -> None:
    cable = {
        push.at("site", "electricity.cable.length"): "500 m",
        push.at("site", "electricity.cable.section"): "0.5 mm²",
    }
    sheet = push.worksheet(GUIDES["hobbin-row"], cable)
    assert sheet.value("electrical.voltage_drop").reason == "cable_takes_all"
    # Not as if there were no cable at all.
    assert not sheet.value("heat.time_ready").ok


@pytest.mark.parametrize(
    ("leaf", "text"),
    [
        ("treatment.loss.0.loss", "0 bar"),
        ("treatment.loss.2.loss", "0..25 bar"),
        ("treatment.loss.1.flow", "0.5..4 L/min"),
    ],
)
def test_a_loss_curve_that_may_fall_is_refused(leaf: str, text: str) -> None:
    with pytest.raises(push.RefusedError, match="loss_curve_falls"):
        push.pushed(GUIDES["ellunby-bakery"], {push.at("site", leaf): text})
