"""Quantities as pages show them: both units say the same, on the safe side, and can be read again."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from procgen.units.kinds import KINDS, Kind, Preference, awg_to_area, gauge_number
from procgen.units.measure import parse
from procgen.units.registry import registry
from procgen.units.show import (
    DASH,
    MINUS,
    NBSP,
    Rounding,
    duration_text,
    gauge_text,
    measure_pair,
    number_text,
    pair,
    pair_range,
    read_back,
    step_for,
    step_of,
)

PREFERENCES: tuple[Preference, ...] = ("metric", "us")


def plain(text: str) -> str:
    return text.replace(NBSP, " ")


TYPED = [
    # typed, kind, for a metric reader, for a US reader
    ("2 bar", "pressure_gauge", "2 bar (29 psi)", "29 psi (2 bar)"),
    ("1.3 bar", "pressure_gauge", "1.3 bar (19 psi)", "19 psi (1.3 bar)"),
    ("125 psi", "pressure_gauge", "8.62 bar (125 psi)", "125 psi (8.62 bar)"),
    ("230 psi", "pressure_gauge", "15.9 bar (230 psi)", "230 psi (15.9 bar)"),
    ("1.013 bar(a)", "pressure_absolute", "1.013 bar abs (14.7 psi abs)", "14.7 psi abs (1.013 bar abs)"),
    ("93 °C", "temperature", "93 °C (199 °F)", "199 °F (93 °C)"),
    ("93.5 °C", "temperature", "93.5 °C (200.3 °F)", "200.3 °F (93.5 °C)"),
    ("-18 °C", "temperature", f"{MINUS}18 °C (0 °F)", f"0 °F ({MINUS}18 °C)"),
    ("0 °F", "temperature", f"{MINUS}17.8 °C (0 °F)", f"0 °F ({MINUS}17.8 °C)"),
    ("1.8 °F", "temperature_difference", "1.00 K (1.8 °F)", "1.8 °F (1.00 K)"),
    ("11 L", "volume", "11 L (2.91 gal)", "2.91 gal (11 L)"),
    ("2461.5 L", "volume", "2461.5 L (650 gal)", "650 gal (2461.5 L)"),
    ("40 mL", "small_volume", "40 mL (1.35 fl oz)", "1.35 fl oz (40 mL)"),
    ("2.5 L/min", "flow", "2.5 L/min (0.66 gal/min)", "0.66 gal/min (2.5 L/min)"),
    ("62 kg", "mass", "62 kg (137 lb)", "137 lb (62 kg)"),
    ("2600 m", "altitude", "2600 m (8530 ft)", "8530 ft (2600 m)"),
    ("1100 mm", "size", "1100 mm (43.3 in)", "43.3 in (1100 mm)"),
    ("0.9 m", "level", "900 mm (35.4 in)", "35.4 in (900 mm)"),
    ("120 m", "length", "120 m (394 ft)", "394 ft (120 m)"),
    ("82 N·m", "torque", "82 N·m (726 lbf·in)", "726 lbf·in (82 N·m)"),
    ("10 Nm", "torque", "10 N·m (88.5 lbf·in)", "88.5 lbf·in (10 N·m)"),
    ("48900 N", "force", "48\u202f900 N (10\u202f993 lbf)", "10\u202f993 lbf (48\u202f900 N)"),
    ("2.5 kW", "heat_flow", "2.5 kW (8530 BTU/h)", "8530 BTU/h (2.5 kW)"),
    ("3.5 kW", "power", "3.5 kW", "3.5 kW"),
    ("1:40", "fall", "25.0 mm/m (0.300 in/ft)", "0.300 in/ft (25.0 mm/m)"),
    ("2.5 mm²", "area", "2.5 mm² (AWG 13)", "AWG 13 (2.5 mm²)"),
    ("95 mm²", "area", "95 mm² (AWG 3/0)", "AWG 3/0 (95 mm²)"),
    ("12 °dH", "hardness", "214 mg/L as CaCO3 (12.5 gpg)", "12.5 gpg (214 mg/L as CaCO3)"),
    ("30 %", "ratio", "30 %", "30 %"),
    ("7.50", "number", "7.50", "7.50"),
    ("120 s", "time", "2 min", "2 min"),
    ("7.7 h", "time", "7 h 42 min", "7 h 42 min"),
    ("93 °C (200 °F to the nearest 5 °F)", "temperature", "93 °C (200 °F)", "200 °F (93 °C)"),
    ("200 °F (93 °C to the nearest 1 °C)", "temperature", "93 °C (200 °F)", "200 °F (93 °C)"),
    (
        "1 bar(a) (14.5 psi abs to the nearest 0.5 psi abs)",
        "pressure_absolute",
        "1 bar abs (14.5 psi abs)",
        "14.5 psi abs (1 bar abs)",
    ),
]


@pytest.mark.parametrize(("typed", "kind", "metric", "us"), TYPED)
def test_typed_quantities(typed: str, kind: str, metric: str, us: str) -> None:
    measure = parse(typed, kind)
    assert plain(measure_pair(measure, "metric").text) == metric
    assert plain(measure_pair(measure, "us").text) == us


RANGES = [
    # low, high, kind, SI step, outward, inward
    (2.51e5, 3.94e5, "pressure_gauge", 1e4, "2.5–4.0 bar (36–58 psi)", "2.6–3.9 bar (37–57 psi)"),
    (-0.3e5, 0.42e5, "pressure_gauge", 1e4, "−0.3 – 0.5 bar (−5 – 7 psi)", "−0.3 – 0.4 bar (−4 – 6 psi)"),
    (255.2, 298.4, "temperature", 1.0, "−18 – 26 °C (−1 – 78 °F)", "−17 – 25 °C (0–77 °F)"),
    (366.15, 366.15, "temperature", 1.0, "93 °C (199 °F)", "93 °C (199 °F)"),
    (201.0, 263.5, "time", 5.0, "3 min 20 s – 4 min 25 s", "3 min 25 s – 4 min 20 s"),
    (5.2e-6, 9.1e-6, "area", 1e-7, "5.2–9.1 mm² (AWG 11–7)", "5.2–9.1 mm² (AWG 10–8)"),
    (2.4615, 2.5, "volume", 1e-4, "2461.5–2500.0 L (650–661 gal)", "2461.5–2500.0 L (651–660 gal)"),
]


@pytest.mark.parametrize(("low", "high", "kind", "step", "outward", "inward"), RANGES)
def test_ranges(low: float, high: float, kind: str, step: float, outward: str, inward: str) -> None:
    assert plain(pair_range(kind, low, high, step, "metric", "outward").text) == outward
    assert plain(pair_range(kind, low, high, step, "metric", "inward").text) == inward


def test_small_powers_are_told_in_watts() -> None:
    """0.0450 kW is no figure that anybody reads; from one kilowatt on it is the trade's unit."""
    assert plain(pair("power", 45.0, 1.0).text) == "45 W"
    assert plain(pair("power", 45.0, 0.1).text) == "45.0 W"
    assert plain(pair("power", 999.4, 1.0).text) == "999 W"
    assert plain(pair("power", 3500.0, 100.0).text) == "3.5 kW"
    assert plain(pair("heat_flow", 300.0, 10.0).text) == "300 W (1020 BTU/h)"
    assert plain(pair("heat_flow", 300.0, 10.0, "us").text) == "1020 BTU/h (300 W)"
    assert plain(pair_range("power", 950.0, 1040.0, 10.0).text) == "0.95\N{EN DASH}1.04 kW"
    assert plain(pair_range("power", 260.0, 310.0, 10.0).text) == "260\N{EN DASH}310 W"
    assert read_back("power", pair("power", 45.0, 1.0).text) == [(pytest.approx(45.0), pytest.approx(0.5))]


DURATIONS = [
    # seconds, step, nearest, down, up
    (0.0, 1.0, "0 s", "0 s", "0 s"),
    (0.37, 0.1, "0.4 s", "0.3 s", "0.4 s"),
    (45.2, 1.0, "45 s", "45 s", "46 s"),
    (264.0, 1.0, "4 min 24 s", "4 min 24 s", "4 min 24 s"),
    (264.0, 60.0, "4 min", "4 min", "5 min"),
    (1560.0, 60.0, "26 min", "26 min", "26 min"),
    (3599.7, 1.0, "1 h", "59 min 59 s", "1 h"),
    # a text of hours has no seconds: 1 h 1 min may not stand for an upper end of 3661 s
    (3661.0, 1.0, "1 h 1 min", "1 h 1 min", "1 h 2 min"),
    (5520.0, 60.0, "1 h 32 min", "1 h 32 min", "1 h 32 min"),
    (7300.0, 3600.0, "2 h", "2 h", "3 h"),
    (43200.0, 60.0, "12 h", "12 h", "12 h"),
    (27720.0, 100.0, "7 h 42 min", "7 h 42 min", "7 h 42 min"),
    (86400.0, 86400.0, "1 day", "1 day", "1 day"),
    (17.04 * 86400, 60.0, "17 days", "17 days", "18 days"),
    (17.96 * 86400, 3600.0, "18 days", "17 days", "18 days"),
    (-90.0, 1.0, "−1 min 30 s", "−1 min 30 s", "−1 min 30 s"),
    (-45.2, 1.0, "−45 s", "−46 s", "−45 s"),
]


@pytest.mark.parametrize(("seconds", "step", "nearest", "down", "up"), DURATIONS)
def test_durations(seconds: float, step: float, nearest: str, down: str, up: str) -> None:
    shown = [plain(duration_text(seconds, step, direction)) for direction in (0, -1, 1)]
    assert shown == [nearest, down, up]


@given(st.floats(0.0, 5e7), st.sampled_from([0.1, 1.0, 5.0, 7.0, 30.0, 60.0, 90.0, 600.0, 3600.0, 86400.0]))
def test_durations_err_to_the_side_asked_for(seconds: float, step: float) -> None:
    low = read_back("time", duration_text(seconds, step, -1))[0][0]
    high = read_back("time", duration_text(seconds, step, 1))[0][0]
    nearest = read_back("time", duration_text(seconds, step, 0))[0][0]
    noise = 1e-8 * max(seconds, step)
    assert low - noise <= seconds <= high + noise
    assert low <= nearest <= high
    assert high - low <= max(step, 86400.0 if seconds > 2.9 * 86400 else 60.0 if seconds > 3500 else 1.0) + 1


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [
        (0.0, 0, "0"),
        (-0.04, 1, "0.0"),
        (-0.06, 1, "−0.1"),
        (9999.0, 0, "9999"),
        (10000.0, 0, "10\u202f000"),
        (1234567.89, 1, "1\u202f234\u202f567.9"),
        (-54321.0, -1, "−54\u202f321"),
        (2.5, 2, "2.50"),
    ],
)
def test_numbers(value: float, decimals: int, text: str) -> None:
    assert number_text(value, decimals) == text


@pytest.mark.parametrize(("gauge", "text"), [(12, "12"), (1, "1"), (0, "1/0"), (-1, "2/0"), (-3, "4/0")])
def test_gauges(gauge: int, text: str) -> None:
    assert gauge_text(gauge) == text
    assert gauge_number(text) == gauge


@pytest.mark.parametrize(
    ("kind", "si", "digits", "step"),
    [
        ("pressure_gauge", 3.14e5, 2, 1e4),
        ("volume", 0.0114, 3, 1e-4),
        ("volume", 0.0, 2, 1e-4),
        ("time", 264.0, 2, 10.0),
        ("time", 3.0, 2, 1.0),
        ("time", 20000.0, 2, 600.0),
        ("power", 3456.0, 3, 10.0),
    ],
)
def test_steps_of_worked_figures(kind: str, si: float, digits: int, step: float) -> None:
    assert step_for(si, kind, digits) == pytest.approx(step)


@pytest.mark.parametrize(
    ("kind", "text"),
    [("pressure_gauge", "3.1"), ("pressure_gauge", "3 m"), ("time", "soon"), ("time", ""), ("volume", "x L")],
)
def test_what_is_no_figure_is_not_read_back(kind: str, text: str) -> None:
    with pytest.raises(ValueError):
        read_back(kind, text)


# --- properties, over every kind ---------------------------------------------------------------------

SHOWN_KINDS = [kind for kind in KINDS.values() if kind.name != "time"]
#: largest figure of a kind in its metric unit that a page could carry
LARGEST = 2e4


def _pint_si(kind: Kind, text: str) -> list[tuple[float, float]]:
    """A shown text to SI and half its last digit, by pint alone: none of our tables, none of our parsing."""
    body = text.replace(NBSP, " ").removesuffix(kind.suffix)
    if body.startswith("AWG"):
        numbers = [gauge_number(part) for part in body.removeprefix("AWG ").split(DASH)]
        return [(awg_to_area(n), abs(awg_to_area(n - 0.5) - awg_to_area(n))) for n in numbers]
    match = re.fullmatch(rf"([{MINUS}\d.\u202f]+)(?: ?{DASH} ?([{MINUS}\d.\u202f]+))? ?(\D.*|)", body)
    assert match, text
    unit = kind.typed[match.group(3)] if match.group(3) else "dimensionless"
    found = []
    for number in filter(None, match.groups()[:2]):
        figure = float(number.replace("\u202f", "").replace(MINUS, "-"))
        half = 0.5 * 10.0 ** -len(number.partition(".")[2])
        found.append((_convert(kind, unit, figure), _convert(kind, unit, half) - _convert(kind, unit, 0.0)))
    return found


def _convert(kind: Kind, unit: str, figure: float) -> float:
    return float(registry().Quantity(figure, unit).to(kind.si or "dimensionless").magnitude)


def _rounding(kind: Kind, text: str, half: float, step: float) -> float:
    """Half of what a text may be rounded by: its last digit, or noughts where the step is that coarse."""
    return half if "." in text or text.startswith("AWG") else max(half, step / 2)


@st.composite
def figures(draw: st.DrawFn) -> tuple[Kind, float, float]:
    """A kind, a figure in SI and a step: a decade of one of its units, as typed or worked out."""
    kind = draw(st.sampled_from(SHOWN_KINDS))
    unit = draw(st.sampled_from(sorted({kind.metric, kind.us} - {"AWG"})))
    step = step_of(kind, unit, 10.0 ** draw(st.integers(-4, 2)))
    lowest = 0.0 if kind.floor is not None else -LARGEST
    figure = draw(st.floats(lowest, LARGEST).filter(lambda number: number == 0 or abs(number) > 1e-3))
    si = _convert(kind, kind.typed[kind.metric] if kind.metric else "dimensionless", figure)
    if kind.metric == "mm²":
        si = max(si, 2e-8)  # wires have a section
    return kind, si, step


@given(figures(), st.sampled_from(PREFERENCES))
def test_pairs_agree_and_round_to_the_nearest(figure: tuple[Kind, float, float], prefer: Preference) -> None:
    kind, si, step = figure
    shown = pair(kind.name, si, step, prefer)
    texts = [text for text in (shown.primary, shown.secondary) if text]
    assert len(texts) == len({kind.metric, kind.us})
    for text in texts:
        ((by_pint, half),) = _pint_si(kind, text)
        ((ours, our_half),) = read_back(kind.name, text)
        assert ours == pytest.approx(by_pint, rel=1e-9, abs=1e-12)
        assert our_half == pytest.approx(half, rel=1e-4)
        allowed = _rounding(kind, text, half, step)
        assert abs(by_pint - si) <= allowed * (1 + 1e-6) + 1e-9 * abs(si), (text, si)
    other = pair(kind.name, si, step, "us" if prefer == "metric" else "metric")
    assert {other.primary, other.secondary} == {shown.primary, shown.secondary}


@given(figures(), st.booleans(), st.sampled_from(PREFERENCES))
def test_single_ends_err_to_the_safe_side(
    figure: tuple[Kind, float, float], upward: bool, prefer: Preference
) -> None:
    """A predicted upper end is never below its figure, a permitted one never above; lower ends likewise."""
    kind, si, step = figure
    for rounding, sign in (("outward", 1), ("inward", -1)):
        shown = pair(kind.name, si, step, prefer, rounding, upward)  # type: ignore[arg-type]
        for text in filter(None, (shown.primary, shown.secondary)):
            ((by_pint, half),) = _pint_si(kind, text)
            over = (by_pint - si) * sign * (1 if upward else -1)
            noise = 3e-9 * max(abs(si), half)
            assert over >= -noise, (text, si)
            if text.startswith("AWG"):
                continue  # gauges are no even steps
            assert over <= 2 * _rounding(kind, text, half, step) * (1 + 1e-6) + noise, (text, si)


@given(figures(), st.floats(0.0, 1e3), st.sampled_from(PREFERENCES))
def test_ranges_err_to_the_safe_side(
    figure: tuple[Kind, float, float], widths: float, prefer: Preference
) -> None:
    kind, low, step = figure
    high = low + widths * step
    for rounding, sign in (("outward", 1), ("inward", -1)):
        shown = pair_range(kind.name, low, high, step, prefer, rounding)  # type: ignore[arg-type]
        for text in filter(None, (shown.primary, shown.secondary)):
            ends = _pint_si(kind, text)
            assert [end for end, _ in ends] == pytest.approx(
                [end for end, _ in read_back(kind.name, text)], rel=1e-9, abs=1e-12
            )
            noise = 3e-9 * max(abs(low), abs(high))
            if high - low < step * 1e-6:
                noise += _rounding(kind, text, ends[0][1], step)
            assert (low - ends[0][0]) * sign >= -noise, (text, low, high)
            assert (ends[-1][0] - high) * sign >= -noise, (text, low, high)


@given(figures(), st.floats(1.0, 1e3))
def test_limits_as_wide_as_their_step_never_cross(figure: tuple[Kind, float, float], widths: float) -> None:
    kind, low, step = figure
    if kind.us == "AWG":
        return  # gauges are coarser than any step of a section
    shown = pair_range(kind.name, low, low + 2 * widths * step, step, "metric", "inward")
    for text in filter(None, (shown.primary, shown.secondary)):
        ends = [end for end, _ in _pint_si(kind, text)]
        assert ends[0] <= ends[-1], text


@pytest.mark.parametrize("scaled", [3.0000001, 1_000_000.4, 123_456_789.3, 2_000_001.01])
@pytest.mark.parametrize("rounding", ["outward", "inward"])
def test_large_figures_are_still_rounded_to_the_side_asked_for(scaled: float, rounding: Rounding) -> None:
    """Noise is a billionth of a figure, not a step of it."""
    upper = read_back("force", pair("force", scaled, 1.0, rounding=rounding).primary)[0][0]
    assert upper == (math.ceil(scaled) if rounding == "outward" else math.floor(scaled))


@pytest.mark.parametrize("typed", ["4.1 bar", "0.3 bar", "93.7 °C", "19.99 L", "33.3 °F", "12.34 in"])
def test_a_typed_figure_is_its_own_limit(typed: str) -> None:
    """What was typed is a step to within float noise and is shown as typed, whichever way it is rounded."""
    kinds = {"bar": "pressure_gauge", "°C": "temperature", "L": "volume", "°F": "temperature", "in": "size"}
    measure = parse(typed, kinds[typed.split()[1]])
    prefer: Preference = "us" if typed.split()[1] in {"°F", "in"} else "metric"
    for rounding in ("nearest", "outward", "inward"):
        for upward in (True, False):
            shown = pair(measure.kind, measure.value, measure.step, prefer, rounding, upward)  # type: ignore[arg-type]
            assert plain(shown.primary) == typed


def test_no_text_has_more_than_three_digits_that_nobody_typed() -> None:
    for typed, kind, _, _ in TYPED:
        shown = measure_pair(parse(typed, kind))
        _, dot, decimals = re.sub(r"[^\d.]", "", shown.secondary.partition(" ")[0]).partition(".")
        if dot and kind != "temperature" and not typed.endswith(("psi", "°F")):
            digits = re.sub(r"\D", "", shown.secondary.split(NBSP)[0]).lstrip("0")
            assert len(digits) <= 3, (typed, shown.secondary, decimals)
