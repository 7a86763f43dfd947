"""Every value of every guide: range, provenance, formula; trade facts; the order of findings."""

from __future__ import annotations

import math
import random
from functools import cache

import pytest

from procgen.checks.formulas import check_formulas
from procgen.messages.catalog import load
from procgen.profiles.workspace import GuideInput, read_workspace
from procgen.units.measure import parse
from procgen.values import evaluate
from procgen.values.define import UnavailableError
from procgen.values.evaluate import nominal_evaluation
from procgen.values.functions import functions
from procgen.values.reader import Facts
from procgen.values.worksheet import Series, Value, Worksheet
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


def printed(value: Value) -> tuple[float, float]:
    """The range as a page prints it: rounded outward to its step."""
    assert value.low is not None
    assert value.high is not None
    zero = 273.15 if value.kind == "temperature" else 0.0
    low = math.floor((value.low - zero) / value.step + 1e-6) * value.step + zero
    return low, math.ceil((value.high - zero) / value.step - 1e-6) * value.step + zero


@pytest.mark.parametrize("name", GUIDES)
def test_no_sample_falls_outside_a_printed_range(name: str) -> None:
    nominal = nominal_evaluation(Facts(GUIDES[name]))
    ranged = {n: leaf.measure for n, leaf in nominal.all_leaves.items() if leaf.measure.is_range}
    chance = random.Random(name)
    outside = set()
    for _ in range(25):
        evaluation = nominal.moved_by({n: chance.uniform(m.low, m.high) for n, m in ranged.items()})
        for identifier, value in sheet(name).values.items():
            if (
                not value.ok
                or value.low is None
                or value.high is None
                or nominal.definitions[identifier][0].after
            ):
                continue
            try:
                result = evaluation.get(identifier)
            except UnavailableError:
                assert value.why, f"{identifier} has a gap that nobody tells of"
                continue
            if isinstance(result, Series | str):
                continue
            low, high = printed(value)
            room = 1e-9 * max(abs(low), abs(high))
            if not low - room <= result <= high + room:
                outside.add(f"{identifier}: {result} outside {low}..{high}")
    assert outside == set()


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
