"""What-if tables: each row against a survey changed on disk, the worse neighbour against points between."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from procgen.values import Series, Worksheet
from tests.values import mutate
from tests.values.kit import GUIDES, SITES, sheet

FILL_SITES = ["hobbin-row", "quathery-cellar", "wexlode-corner", "orrenholt-hall", "zedrun-arcade"]
#: no current limit: the figures fall the whole way with the voltage
SMOOTH_SITES = ["quathery-cellar", "sundrell-mill", "aldrune-laboratory"]
STAGED_SITES = ["hobbin-row", "wexlode-corner", "lorrimund-gallery"]
FIGURES = {
    "fill_time": "fill.time",
    "pump_runs": "fill.pump_runs",
    "resets": "fill.resets",
    "time_setpoint": "heat.time_setpoint",
    "time_ready": "heat.time_ready",
}


def table(worksheet: Worksheet, name: str) -> list[dict[str, object]]:
    """Rows by the names of their columns."""
    series = worksheet.value(name).series
    assert isinstance(series, Series)
    return [dict(zip([c for c, _ in series.columns], row, strict=True)) for row in series.rows]


def with_static(site: str, at: float) -> Worksheet:
    """The survey with another standing pressure; the drop to the flowing reading stays."""
    data = GUIDES[site].site
    assert data is not None
    mains = data.data.mains
    assert mains.static_pressure is not None
    design = GUIDES[site].machine.data.design
    shift = at - mains.static_pressure.value
    flowing = mains.flowing.pressure if mains.flowing else design.mains_flowing
    flow = mains.flowing.flow if mains.flowing else design.mains_flowing_flow
    ends = [min(end + shift, at) for end in (flowing.low, flowing.value, flowing.high)]
    typed = "..".join(f"{end:.6f}" for end in dict.fromkeys(ends))
    return mutate.worksheet(
        site,
        {
            "mains.static_pressure": f"{at:.6f} Pa",
            "mains.flowing.pressure": f"{typed} Pa",
            "mains.flowing.flow": flow.text,
        },
    )


def with_voltage(site: str, at: float) -> Worksheet:
    """The survey with the loaded voltage as supply and nothing lost on the way."""
    data = GUIDES[site].site
    assert data is not None
    section = data.data.electricity
    to_neutral = GUIDES[site].variant.line_to_neutral is not None
    changes: dict[str, object] = {"electricity.cable": None} if section.cable else {}
    for name, wanted in (("line_to_neutral", to_neutral), ("line_to_line", not to_neutral)):
        if wanted:
            changes[f"electricity.{name}"] = f"{at:.6f} V"
        elif getattr(section, name) is not None:
            changes[f"electricity.{name}"] = None
    return mutate.worksheet(site, changes)


@pytest.mark.parametrize("site", FILL_SITES)
def test_fill_rows_are_those_of_a_changed_survey(site: str) -> None:
    checked = 0
    for row in table(sheet(site), "fill.what_if"):
        if row["why"] is not None:
            continue
        at = row["static_pressure"]
        assert isinstance(at, float)
        again = with_static(site, at)
        for column in ("fill_time", "pump_runs", "resets"):
            value = again.value(FIGURES[column])
            assert row[f"{column}_low"] == pytest.approx(value.low, rel=1e-7), (at, column)
            assert row[f"{column}_high"] == pytest.approx(value.high, rel=1e-7), (at, column)
        assert row["stop_and_check_runs"] == again.value("fill.stop_and_check_runs").value
        checked += 1
    assert checked >= 3


@pytest.mark.parametrize("site", SMOOTH_SITES)
def test_heat_rows_are_those_of_a_changed_survey(site: str) -> None:
    for row in table(sheet(site), "heat.what_if"):
        at = row["voltage_loaded"]
        assert isinstance(at, float)
        again = with_voltage(site, at)
        for column in ("time_setpoint", "time_ready"):
            value = again.value(FIGURES[column])
            assert row[f"{column}_low"] == pytest.approx(value.low, rel=1e-6)
            assert row[f"{column}_high"] == pytest.approx(value.high, rel=1e-6)


@pytest.mark.parametrize("site", STAGED_SITES)
def test_staged_heat_rows_contain_a_changed_survey(site: str) -> None:
    """Under a current limit a row also covers the jumps on the way to its neighbours."""
    rows = table(sheet(site), "heat.what_if")
    for row in rows[::2]:
        at = row["voltage_loaded"]
        assert isinstance(at, float)
        value = with_voltage(site, at).value("heat.time_ready")
        assert value.low is not None
        assert value.high is not None
        assert row["time_ready_low"] <= value.low * (1 + 1e-6)  # type: ignore[operator]
        assert row["time_ready_high"] >= value.high * (1 - 1e-6)  # type: ignore[operator]


@settings(max_examples=12, deadline=None)
@given(site=st.sampled_from(FILL_SITES), share=st.floats(0.02, 0.98), data=st.data())
def test_worse_neighbour_bounds_the_filling_between_rows(
    site: str, share: float, data: st.DataObject
) -> None:
    rows = [row for row in table(sheet(site), "fill.what_if") if row["why"] is None]
    below, above = data.draw(st.sampled_from(list(pairwise(rows))))
    first, second = float(below["static_pressure"]), float(above["static_pressure"])  # type: ignore[arg-type]
    again = with_static(site, first + share * (second - first))
    assert _worse(below, above, "fill_time") >= _high(again, "fill.time")
    assert _worse(below, above, "pump_runs") >= _high(again, "fill.pump_runs")
    worse_stop = max(below["stop_and_check_runs"], above["stop_and_check_runs"])  # type: ignore[type-var]
    assert worse_stop >= again.value("fill.stop_and_check_runs").value  # type: ignore[operator]


@settings(max_examples=25, deadline=None)
@given(site=st.sampled_from(SMOOTH_SITES + STAGED_SITES), share=st.floats(0.01, 0.99), data=st.data())
def test_worse_neighbour_bounds_the_heating_between_rows(
    site: str, share: float, data: st.DataObject
) -> None:
    below, above = data.draw(st.sampled_from(list(pairwise(table(sheet(site), "heat.what_if")))))
    first, second = float(below["voltage_loaded"]), float(above["voltage_loaded"])  # type: ignore[arg-type]
    again = with_voltage(site, first + share * (second - first))
    for column in ("time_setpoint", "time_ready"):
        assert _worse(below, above, column) >= _high(again, FIGURES[column]) * (1 - 1e-6)


def _worse(below: dict[str, object], above: dict[str, object], column: str) -> float:
    return max(float(row[f"{column}_high"]) for row in (below, above))  # type: ignore[arg-type]


def _high(worksheet: Worksheet, name: str) -> float:
    high = worksheet.value(name).high
    assert high is not None
    return high


@pytest.mark.parametrize("site", SITES)
def test_tables_fit_a_phone_and_cover_the_survey(site: str) -> None:
    for name, column in (("fill.what_if", "static_pressure"), ("heat.what_if", "voltage_loaded")):
        readings = [row[column] for row in table(sheet(site), name)]
        assert 3 <= len(readings) <= 9
        assert readings == sorted(set(readings))  # type: ignore[type-var]
    loaded = sheet(site).value("electrical.voltage_loaded")
    if loaded.ok:
        assert loaded.low is not None
        assert loaded.high is not None
        assert readings[0] <= loaded.low  # type: ignore[operator]
        assert loaded.high <= readings[-1]  # type: ignore[operator]


@pytest.mark.parametrize("site", SITES)
def test_rows_outside_the_maker_s_window_say_so(site: str) -> None:
    worksheet = sheet(site)
    least, most = worksheet.value("supply.window_low").value, worksheet.value("supply.window_high").value
    survey = GUIDES[site].site
    assert survey is not None
    assert least is not None
    assert most is not None
    rows = table(worksheet, "fill.what_if")
    assert rows[0]["why"] == "Below the least pressure the maker allows at the inlet: do not fill."
    for row in rows:
        at = float(row["static_pressure"])  # type: ignore[arg-type]
        outside = at < least * (1 - 1e-9) or (at > most * (1 + 1e-9) and not survey.data.mains.reducer)
        if outside:
            assert row["why"]
            assert row["pump_runs_high"] is None
        else:
            assert row["why"] or row["pump_runs_high"]


def test_a_line_that_loses_more_than_there_is_has_no_row() -> None:
    """The drop of the survey's reading is the pipe's own: under it the test flow cannot be driven."""
    again = mutate.worksheet(
        "quathery-cellar", {"mains.static_pressure": "5.5 bar", "mains.flowing.pressure": "2.5 bar"}
    )
    why = {row["static_pressure"]: row["why"] for row in table(again, "fill.what_if")}
    weak = [at for at, reason in why.items() if reason and "loses more than this" in str(reason)]
    assert weak
    assert all(180_000 * (1 - 1e-9) <= at < 300_000 for at in weak)  # type: ignore[operator]


def test_elements_too_weak_for_the_set_point_have_no_row() -> None:
    """Losses raised until the lowest voltage no longer reaches the set point."""
    again = mutate.worksheet("aldrune-laboratory", {"machine:steam_boiler.loss": "13 W/K"})
    rows = table(again, "heat.what_if")
    assert any("cannot reach the set point" in str(row["why"]) for row in rows)
    assert all(row["time_ready_high"] is None for row in rows if row["why"])
