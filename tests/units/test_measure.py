"""What people type: every form that is read, and every refusal with its exact fields."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from procgen.units.kinds import KINDS
from procgen.units.measure import Measure, MeasureError, TradeFigure, parse, pattern

BAR, PSI = 1e5, 6894.757293168361

#: text, kind, low, nominal, high, step; all in SI
READ = [
    ("4.2 bar", "pressure_gauge", 4.2 * BAR, 4.2 * BAR, 4.2 * BAR, 0.1 * BAR),
    ("2 bar", "pressure_gauge", 2 * BAR, 2 * BAR, 2 * BAR, BAR),
    ("  2.50   bar ", "pressure_gauge", 2.5 * BAR, 2.5 * BAR, 2.5 * BAR, 0.01 * BAR),
    ("2.5..4 bar", "pressure_gauge", 2.5 * BAR, 3.25 * BAR, 4 * BAR, 0.1 * BAR),
    ("2..3.5..4 bar", "pressure_gauge", 2 * BAR, 3.5 * BAR, 4 * BAR, 0.1 * BAR),
    ("-0.2 .. 4 bar", "pressure_gauge", -0.2 * BAR, 1.9 * BAR, 4 * BAR, 0.1 * BAR),
    ("1 bar(g)", "pressure_gauge", BAR, BAR, BAR, BAR),
    ("1 bar gauge", "pressure_gauge", BAR, BAR, BAR, BAR),
    ("1 bar (a)", "pressure_absolute", BAR, BAR, BAR, BAR),
    ("1 bar abs", "pressure_absolute", BAR, BAR, BAR, BAR),
    ("14.7 psi absolute", "pressure_absolute", 14.7 * PSI, 14.7 * PSI, 14.7 * PSI, 0.1 * PSI),
    # pages show bar and psi: the digits of another unit say little, three stand
    ("300 kPa", "pressure_gauge", 3 * BAR, 3 * BAR, 3 * BAR, 0.01 * BAR),
    ("−5 °C", "temperature", 268.15, 268.15, 268.15, 1.0),
    ("1:40", "fall", 0.025, 0.025, 0.025, 0.00025),
    ("-1:40", "fall", -0.025, -0.025, -0.025, 0.00025),
    ("+1 : 33.3", "fall", 1 / 33.3, 1 / 33.3, 1 / 33.3, 1 / 3330),
    ("2.5 %", "fall", 0.025, 0.025, 0.025, 1e-4),
    ("10 Nm", "torque", 10.0, 10.0, 10.0, 1.0),
    ("10 N m", "torque", 10.0, 10.0, 10.0, 1.0),
    ("12 °dH", "hardness", 12 * 17.84799, 12 * 17.84799, 12 * 17.84799, 1.0),
    ("40 mg/L CaCO3", "hardness", 40.0, 40.0, 40.0, 1.0),
    ("7.5", "number", 7.5, 7.5, 7.5, 0.1),
    (".5 L", "volume", 0.0005, 0.0005, 0.0005, 0.0001),
    ("1\u202f000 mm", "size", 1.0, 1.0, 1.0, 0.001),
    ("7.7 h", "time", 27720.0, 27720.0, 27720.0, 60.0),
    ("90 s", "time", 90.0, 90.0, 90.0, 1.0),
]


@pytest.mark.parametrize(("text", "kind", "low", "value", "high", "step"), READ)
def test_reads(text: str, kind: str, low: float, value: float, high: float, step: float) -> None:
    found = parse(text, kind)
    assert (found.low, found.value, found.high, found.step) == pytest.approx((low, value, high, step))
    assert (found.kind, found.text, found.trade) == (kind, text.strip(), None)
    assert found.is_range == (low != high)


@pytest.mark.parametrize("text", ["AWG 8", "8 AWG", " AWG8 "])
def test_wire_gauge_before_or_after(text: str) -> None:
    assert parse(text, "area").value == pytest.approx(8.366e-6, rel=1e-3)
    assert parse(text, "area").step == pytest.approx(8.366e-8, rel=1e-3)


def test_wire_gauges_above_one() -> None:
    assert parse("AWG 2/0", "area").value == pytest.approx(67.43e-6, rel=1e-3)


def test_trade_figure_stands_beside_the_typed_one() -> None:
    found = parse("93 °C (200 °F to the nearest 5 °F)", "temperature")
    assert found == Measure(
        "temperature",
        366.15,
        366.15,
        366.15,
        "93 °C (200 °F to the nearest 5 °F)",
        pytest.approx(1.0),  # type: ignore[arg-type]
        TradeFigure(200.0, "°F", 0),
    )


#: text, kind, code, details
REFUSED = [
    ("eleven", "volume", "not_a_quantity", {}),
    ("", "volume", "not_a_quantity", {}),
    ("1,5 bar", "pressure_gauge", "unknown_unit", {"unit": ",5 bar", "found_kind": ""}),
    ("1e3 bar", "pressure_gauge", "unknown_unit", {"unit": "e3 bar", "found_kind": ""}),
    ("inf bar", "pressure_gauge", "not_a_quantity", {}),
    ("nan bar", "pressure_gauge", "not_a_quantity", {}),
    ("١ bar", "pressure_gauge", "not_a_quantity", {}),
    ("1..2..3..4 bar", "pressure_gauge", "unknown_unit", {"unit": "..4 bar", "found_kind": ""}),
    ("11", "volume", "missing_unit", {}),
    ("2..3", "pressure_gauge", "missing_unit", {}),
    ("11 furlong", "volume", "unknown_unit", {"unit": "furlong", "found_kind": ""}),
    ("3 barg", "pressure_gauge", "unknown_unit", {"unit": "barg", "found_kind": ""}),
    ("45 psig", "pressure_gauge", "unknown_unit", {"unit": "psig", "found_kind": ""}),
    ("2 gpm", "flow", "unknown_unit", {"unit": "gpm", "found_kind": ""}),
    ("4 BAR", "pressure_gauge", "unknown_unit", {"unit": "BAR", "found_kind": ""}),
    ("10 Nm", "pressure_gauge", "wrong_dimension", {"unit": "Nm", "found_kind": "torque"}),
    ("10 kg", "volume", "wrong_dimension", {"unit": "kg", "found_kind": "mass"}),
    ("20 dH", "hardness", "unknown_unit", {"unit": "dH", "found_kind": ""}),
    ("1 bar(a)", "pressure_gauge", "wrong_reference", {"said": "absolute", "wanted": "gauge"}),
    ("1 bar abs", "pressure_gauge", "wrong_reference", {"said": "absolute", "wanted": "gauge"}),
    ("1 bar(g)", "pressure_absolute", "wrong_reference", {"said": "gauge", "wanted": "absolute"}),
    ("1 bar(g)", "pressure_difference", "wrong_reference", {"said": "gauge", "wanted": "difference"}),
    ("7 pH", "number", "unit_where_none", {"unit": "pH"}),
    ("4..2 bar", "pressure_gauge", "range_upside_down", {}),
    ("1..5..3 bar", "pressure_gauge", "range_upside_down", {}),
    ("-1 L", "volume", "below_floor", {}),
    ("−300 °C", "temperature", "below_floor", {}),
    ("-2 bar", "pressure_gauge", "below_floor", {}),
    ("-0.1 bar", "pressure_absolute", "below_floor", {}),
    ("1:0", "fall", "fall_of_zero_run", {}),
    ("1:0.0", "fall", "fall_of_zero_run", {}),
    ("40:1", "fall", "unknown_unit", {"unit": ":1", "found_kind": ""}),
    ("12..10 AWG", "area", "not_a_quantity", {}),
    ("00 AWG", "area", "not_a_quantity", {}),
    ("AWG 5/0", "area", "not_a_quantity", {}),
    ("93 °C (200 to the nearest 5 °F)", "temperature", "trade_figure_unreadable", {}),
    ("2..3 bar (30..40 psi to the nearest 5 psi)", "pressure_gauge", "trade_figure_unreadable", {}),
    ("9 bar (900 kPa to the nearest 10 kPa)", "pressure_gauge", "trade_figure_unreadable", {}),
    ("7 (7 to the nearest 1)", "number", "trade_figure_unreadable", {}),
    (
        "93 °C (210 °F to the nearest 5 °F)",
        "temperature",
        "trade_figure_disagrees",
        {"figure": "210 °F", "nearest": "5 °F"},
    ),
    ("93 °C (90 psi to the nearest 5 psi)", "temperature", "wrong_dimension", None),
]


@pytest.mark.parametrize(("text", "kind", "code", "details"), REFUSED)
def test_refuses(text: str, kind: str, code: str, details: dict[str, str] | None) -> None:
    with pytest.raises(MeasureError) as caught:
        parse(text, kind)
    assert (caught.value.code, caught.value.found, caught.value.kind) == (code, text, KINDS[kind])
    if details is not None:
        assert caught.value.details == details


def test_trade_figure_may_be_half_its_rounding_off_and_no_more() -> None:
    # 93 °C is 199.4 °F
    parse("93 °C (197 °F to the nearest 5 °F)", "temperature")
    with pytest.raises(MeasureError, match="trade_figure_disagrees"):
        parse("93 °C (196 °F to the nearest 5 °F)", "temperature")


@pytest.mark.parametrize(("text", "kind", "low", "value", "high", "step"), READ)
def test_editors_take_what_is_read(
    text: str, kind: str, low: float, value: float, high: float, step: float
) -> None:
    assert re.search(pattern(kind), text)


@pytest.mark.parametrize("kind", KINDS)
def test_editors_take_the_example_and_a_range(kind: str) -> None:
    example = KINDS[kind].example
    assert re.search(pattern(kind), example)
    assert parse(example, kind).text == example
    if kind != "fall":
        assert re.search(pattern(kind), "0.." + example)


#: refusals that need arithmetic, which a pattern cannot do
_NEED_ARITHMETIC = {"range_upside_down", "below_floor", "fall_of_zero_run"}
_NEED_ARITHMETIC |= {"trade_figure_disagrees", "trade_figure_unreadable"}


@pytest.mark.parametrize(("text", "kind", "code", "details"), REFUSED)
def test_editors_refuse_what_a_pattern_can(text: str, kind: str, code: str, details: object) -> None:
    expected = code in _NEED_ARITHMETIC or "nearest" in text
    assert bool(re.search(pattern(kind), text)) == expected


@given(st.text(max_size=30), st.sampled_from(sorted(KINDS)))
def test_any_text_is_read_or_refused_in_words(text: str, kind: str) -> None:
    try:
        found = parse(text, kind)
    except MeasureError as error:
        assert error.found == text
    else:
        assert found.low <= found.value <= found.high


@given(
    st.lists(st.decimals(0, 9999, places=2), min_size=1, max_size=3).map(sorted),
    st.sampled_from([(kind.name, unit) for kind in KINDS.values() for unit in kind.typed if unit != "AWG"]),
)
def test_ranges_keep_their_order(numbers: list[object], where: tuple[str, str]) -> None:
    kind, unit = where
    found = parse("..".join(map(str, numbers)) + " " + unit, kind)
    assert found.low <= found.value <= found.high
    assert found.step > 0
