"""Every value of every guide: range, provenance, formula; trade facts; the order of findings."""

from __future__ import annotations

import gc
import math
from functools import cache

import pytest

from procgen.checks.formulas import check_formulas
from procgen.messages.catalog import load
from procgen.profiles.workspace import GuideInput, read_workspace
from procgen.units.measure import parse
from procgen.values import evaluate
from procgen.values.functions import functions
from procgen.values.worksheet import Worksheet
from tests.conftest import ROOT

GUIDES = {guide.guide: guide for guide in read_workspace(ROOT).guides()}


@cache
def sheet(name: str) -> Worksheet:
    return evaluate(GUIDES[name], load(ROOT))


def figure(name: str, value: str) -> tuple[float, float, float]:
    v = sheet(name).value(value)
    assert v.ok
    assert v.low is not None
    assert v.value is not None
    assert v.high is not None
    return v.low, v.value, v.high


@pytest.mark.parametrize("name", GUIDES)
def test_every_formula_gives_its_figure(name: str) -> None:
    words = load(ROOT)
    faults = check_formulas(sheet(name).values, functions(GUIDES[name]))
    assert [words.diagnostic(fault) for fault in faults] == []


@pytest.mark.parametrize("name", GUIDES)
def test_every_figure_is_finite_and_traceable(name: str) -> None:
    for value in sheet(name).values.values():
        assert value.ok or value.why, value.id
        for number in (value.value, value.low, value.high):
            assert number is None or math.isfinite(number), value.id
        if value.ok and value.series is None:
            assert value.formula or value.residual, value.id
            assert value.inputs or value.formula == "0", value.id
        for item in value.inputs:
            if item.origin in {"profile", "survey", "design"}:
                path, _, line = item.place.rpartition(":")
                typed = (ROOT / path).read_text(encoding="utf-8").splitlines()[int(line) - 1]
                assert item.text.split(" ")[0] in typed, (value.id, item)


def reference() -> GuideInput:
    """Two groups, about 11 L of steam boiler, a time-out around 120 s, ordinary mains."""
    guide = GUIDES["ellunby-bakery"]
    steam = guide.machine.data.steam_boiler
    assert 110 <= steam.fill_timeout.value <= 130
    assert 9e-3 <= steam.volume_total.value <= 12e-3
    return guide


def test_an_ordinary_machine_needs_three_to_six_runs() -> None:
    """Common practice, no source."""
    low, _, high = figure(reference().guide, "fill.pump_runs")
    assert low >= 3
    assert high <= 6


def test_an_ordinary_machine_is_hot_in_about_twenty_to_thirty_minutes() -> None:
    """Common practice, no source: "about" is taken as a quarter either way."""
    for name in ("ellunby-bakery", "umberlode-two"):
        _, nominal, _ = figure(name, "heat.time_ready")
        assert 0.75 * 20 <= nominal / 60 <= 1.25 * 30


def test_brewing_and_steam_as_the_trade_sets_them() -> None:
    """Common practice, no source: 9 bar, not beyond 10; 93 °C (about 200 °F); 125 °C (257 °F)."""
    name = reference().guide
    assert figure(name, "pump.brew_setting")[1] == pytest.approx(9e5)
    assert figure(name, "pump.brew_maximum")[2] <= 10e5
    assert figure(name, "brew.set_temperature")[1] == pytest.approx(366.15)
    assert figure(name, "steam.set_temperature")[1] == pytest.approx(398.15)
    assert abs(parse("200 °F", "temperature").value - 366.15) < 0.5
    assert parse("257 °F", "temperature").value == pytest.approx(398.15)


def test_one_model_lies_outside_the_usual_runs_and_says_why() -> None:
    _, runs, high = figure("pippetree-one", "fill.pump_runs")
    assert (runs, high) == (1, 1)
    found = next(f for f in sheet("pippetree-one").findings if f.id == "fill_runs_unusual")
    assert "fewer than the usual" in found.reason


@pytest.mark.parametrize(
    ("name", "stop"),
    [
        ("aldrune-laboratory", "probe_blind"),
        ("nimmersby-quay", "mains_high"),
        ("sundrell-mill", "mains_low"),
        ("calvessa-pass", "altitude_rating"),
        ("quathery-cellar", "drain_rise"),
        ("vantrey-kiosk", "supply_variant"),
        ("hobbin-row", "counter_load"),
        ("lorrimund-gallery", "lift_people"),
    ],
)
def test_what_stops_a_site(name: str, stop: str) -> None:
    found = sheet(name)
    assert stop in [finding.id for finding in found.of("stop")]
    assert found.readiness == "not_ready"
    verdicts = [finding.verdict for finding in found.findings]
    assert verdicts == sorted(verdicts, key=["stop", "attention", "pass"].index)
    assert all(finding.remedy for finding in found.findings if finding.verdict != "pass")


@pytest.mark.parametrize(
    "name", ["ellunby-bakery", "fennavar-museum", "jindleford-roastery", "orrenholt-hall"]
)
def test_what_is_ready(name: str) -> None:
    assert sheet(name).of("stop") == ()


@pytest.mark.parametrize("name", [n for n, guide in GUIDES.items() if guide.variant.arrangement == "1N"])
def test_on_a_single_phase_the_neutral_carries_what_the_line_carries(name: str) -> None:
    """Kirchhoff: what goes in through the one line comes back through the neutral, limited or not."""
    assert figure(name, "electrical.current_N") == pytest.approx(figure(name, "electrical.current_L1"))


@pytest.mark.parametrize("name", ["ellunby-bakery", "wexlode-corner", "oskerel-three"])
def test_an_evaluation_leaves_no_cycles_of_objects(name: str) -> None:
    """What is dropped is gone at once: a reason kept with its traceback holds every frame it came through."""
    sheet(name)
    gc.disable()
    gc.freeze()
    try:
        evaluate(GUIDES[name], load(ROOT))
        assert gc.collect() == 0
    finally:
        gc.unfreeze()
        gc.enable()
