"""The waste side against published slopes, Manning's published examples and an independent library."""

from __future__ import annotations

import math

import fluids
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from procgen.engineering import drain as d
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.sources_general import UnknownEntryError

from . import outside
from .bounds_general import check_bounds
from .oracle import agrees, standard

INCH = 0.0254
FOOT = 0.3048


@pytest.mark.parametrize(
    ("code", "bore", "fall"),
    [
        # IPC 704.1, published: up to 2 1/2 in, 1/4 in per ft.
        ("IPC", 1.25 * INCH, 0.25 * INCH / FOOT),
        ("ipc", 2.5 * INCH, 0.25 * INCH / FOOT),
        # IPC 704.1, 3 to 6 in, 1/8 in per ft: from memory.
        ("ipc", 2.501 * INCH, 0.125 * INCH / FOOT),
        ("ipc", 6.0 * INCH, 0.125 * INCH / FOOT),
        # UPC 708.1, 1/4 in per ft: from memory.
        ("UPC", 1.5 * INCH, 0.25 * INCH / FOOT),
        ("upc", 6.0 * INCH, 0.25 * INCH / FOOT),
        # AS/NZS 3500.2, DN65 published; DN80 to DN150 from memory.
        ("AS/NZS 3500.2", 0.065, 1 / 40),
        ("as_nzs_3500", 0.0651, 0.0165),
        ("as_nzs_3500", 0.100, 0.0165),
        ("as_nzs_3500", 0.1001, 0.0125),
        ("as_nzs_3500", 0.125, 0.0125),
        ("as_nzs_3500", 0.1251, 0.010),
        ("as_nzs_3500", 0.150, 0.010),
        # EN 12056-2 system I, 1 %: from memory.
        ("EN 12056", 0.040, 0.010),
        ("en", 0.150, 0.010),
        # Approved Document H, 18 mm/m: from memory.
        ("uk", 0.040, 0.018),
        ("uk", 0.150, 0.018),
    ],
)
def test_required_fall(code: str, bore: float, fall: float) -> None:
    agrees(
        d.required_fall, d.required_fall(bore, code), fall, standard(d.fall_rule(bore, code).source), rel=1e-9
    )


@pytest.mark.parametrize(
    ("code", "end"), [("ipc", 0.1524), ("upc", 0.1524), ("as_nzs_3500", 0.15), ("en", 0.15), ("uk", 0.15)]
)
def test_required_fall_beyond_the_table(code: str, end: float) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        d.required_fall(end * 1.001, code)
    assert (caught.value.argument, caught.value.low, caught.value.high) == ("bore", 0.0, end)


def test_every_rule_names_its_source() -> None:
    assert d.fall_rule(0.04, "ipc").source.clause == "704.1"
    assert not d.fall_rule(0.04, "ipc").source.from_memory
    assert d.fall_rule(0.10, "ipc").source.from_memory
    assert not d.fall_rule(0.05, "as_nzs_3500").source.from_memory
    for code in ("upc", "en", "uk"):
        assert d.fall_rule(0.04, code).source.from_memory


def test_unknown_code_lists_the_known() -> None:
    with pytest.raises(UnknownEntryError) as caught:
        d.required_fall(0.04, "none")
    known = "'ipc', 'upc', 'as_nzs_3500', 'en', 'uk'"
    assert str(caught.value) == f"required_fall: no entry for 'none'; known: {known}"
    assert caught.value.found == "none"


def test_drop_and_segment_fall() -> None:
    # Published: 1:40 over 1.5 m = 37.5 mm.
    agrees(d.drop, d.drop(1 / 40, 1.5), 0.0375, outside.HAND, rel=1e-6)
    agrees(d.segment_fall, d.segment_fall(0.300, 0.2625, 1.5), 1 / 40, outside.HAND, rel=1e-6)
    agrees(d.segment_fall, d.segment_fall(0.250, 0.300, 2.0), -0.025, outside.HAND, rel=1e-6)


def test_rises() -> None:
    assert d.rises([0.02, -0.001, 0.0, -0.5]) == (1, 3)
    assert d.rises([]) == ()
    # A fall that is no number must not pass for one that falls.
    with pytest.raises(OutOfRangeError, match="rises: falls"):
        d.rises([0.02, math.nan])


def test_manning_published_example() -> None:
    # fluids' documentation: V_Manning(.2859, .005236, .03) = 1.046 778 m/s.
    agrees(
        d.manning_velocity,
        d.manning_velocity(0.2859, 0.005236, 0.03),
        1.046778,
        outside.FLUIDS_MANNING,
        abs=1e-6,
    )
    agrees(
        d.manning_velocity,
        d.manning_velocity(0.02, 0.025, 0.011),
        fluids.V_Manning(0.02, 0.025, 0.011),
        outside.FLUIDS,
        rel=1e-6,
    )


def test_capacity_of_a_published_sewer() -> None:
    # Published: 24 in, n .012, 0.3 % carries 13.4 cubic feet a second full.
    agrees(
        d.capacity_full,
        d.capacity_full(24 * INCH, 0.003, 0.012) / FOOT**3,
        13.4,
        outside.SEWER,
        abs=0.05,
        unit="ft**3/s",
    )


@pytest.mark.parametrize(("bore", "litres"), [(0.032, 0.462), (0.040, 0.838), (0.050, 1.520)])
def test_capacity_full_of_waste_pipes(bore: float, litres: float) -> None:
    # n .011, 1:40, by arithmetic.
    agrees(
        d.capacity_full,
        d.capacity_full(bore, 1 / 40, 0.011) * 1000,
        litres,
        outside.HAND,
        abs=6e-4,
        unit="L/s",
    )


def test_part_full() -> None:
    # By arithmetic from the circle's geometry: .912 at three quarters; largest 1.076 near .938; half at half.
    agrees(d.part_full_ratio, d.part_full_ratio(0.75), 0.912, outside.HAND, abs=5e-4)
    agrees(d.part_full_ratio, d.part_full_ratio(0.938), 1.076, outside.HAND, abs=5e-4)
    agrees(d.part_full_ratio, d.part_full_ratio(0.5), 0.5, outside.HAND, rel=1e-9)
    agrees(d.part_full_ratio, d.part_full_ratio(1.0), 1.0, outside.HAND, rel=1e-9)
    largest = max(range(900, 1000), key=lambda k: d.part_full_ratio(k / 1000))
    assert pytest.approx(largest / 1000, abs=1e-3) == d.DEPTH_OF_LARGEST_FLOW
    agrees(
        d.capacity_part_full,
        d.capacity_part_full(0.04, 1 / 40, 0.011, 0.75) * 1000,
        0.838 * 0.912,
        outside.HAND,
        abs=1e-3,
        unit="L/s",
    )


@given(st.floats(0.01, 0.99))
def test_part_full_flow_is_area_times_velocity(depth: float) -> None:
    # Chord integral for the wetted area; library for the velocity.
    theta = 2 * math.acos(1 - 2 * depth)
    area = 0.05**2 / 8 * (theta - math.sin(theta))
    radius = area / (0.05 / 2 * theta)
    speed = float(fluids.V_Manning(radius, 0.02, 0.011))
    assert d.velocity(0.05, 0.02, 0.011, depth) == pytest.approx(speed, rel=1e-9)
    assert d.capacity_part_full(0.05, 0.02, 0.011, depth) == pytest.approx(area * speed, rel=1e-9)


def test_velocity_full() -> None:
    area = math.pi / 4 * 0.04**2
    agrees(
        d.velocity,
        d.velocity(0.04, 0.025, 0.011) * area * 1000,
        0.838,
        outside.HAND,
        rel=6e-4,
    )


@given(st.floats(0.01, 0.93))
def test_depth_for_a_flow_goes_both_ways(depth: float) -> None:
    flow = d.capacity_part_full(0.04, 0.02, 0.011, depth)
    assert d.depth_ratio_for_flow(flow, 0.04, 0.02, 0.011) == pytest.approx(depth, abs=1e-6)


@pytest.mark.parametrize("litres", [0.1, 0.4, 0.8])
def test_depth_for_a_flow_by_another_solve(litres: float) -> None:
    def surplus(depth: float) -> float:
        theta = 2 * math.acos(1 - 2 * depth)
        area = 0.04**2 / 8 * (theta - math.sin(theta))
        speed = float(fluids.V_Manning(area / (0.04 / 2 * theta), 1 / 40, 0.011))
        return area * speed - litres / 1000

    found = d.depth_ratio_for_flow(litres / 1000, 0.04, 1 / 40, 0.011)
    agrees(d.depth_ratio_for_flow, found, brentq(surplus, 0.01, 0.93), outside.MANNING_ROOT, rel=1e-6)


def test_depth_for_the_flow_at_three_quarters() -> None:
    # Full 0.838 L/s, 0.912 of it at three quarters of the bore, by arithmetic.
    found = d.depth_ratio_for_flow(0.912 * 0.838e-3, 0.04, 1 / 40, 0.011)
    agrees(d.depth_ratio_for_flow, found, 0.75, outside.HAND, abs=1e-3)


def test_depth_for_a_flow_at_its_ends() -> None:
    assert d.depth_ratio_for_flow(0.0, 0.04, 0.02, 0.011) == pytest.approx(0.001, abs=1e-9)
    largest = 1.0757 * d.capacity_full(0.04, 0.02, 0.011)
    with pytest.raises(OutOfRangeError) as caught:
        d.depth_ratio_for_flow(1.001 * largest, 0.04, 0.02, 0.011)
    assert caught.value.high == pytest.approx(largest, rel=1e-4)


@given(st.floats(0.01, 0.2), st.floats(0.001, 0.2), st.floats(0.008, 0.02))
def test_capacity_grows_with_bore_and_fall(bore: float, fall: float, n: float) -> None:
    base = d.capacity_full(bore, fall, n)
    # Powers of the formula: 8/3 in the bore, 1/2 in the fall, -1 in the roughness.
    assert d.capacity_full(2 * bore, fall, n) == pytest.approx(base * 2 ** (8 / 3), rel=1e-9)
    assert d.capacity_full(bore, 4 * fall, n) == pytest.approx(2 * base, rel=1e-9)
    assert d.capacity_full(bore, fall, 2 * n) == pytest.approx(base / 2, rel=1e-9)


@pytest.mark.parametrize(
    ("bore", "code", "gap"),
    [
        # EN 1717, twice the bore and 20 mm at least: from memory.
        (0.008, "EN 1717", 0.020), (0.010, "en", 0.020), (0.016, "en", 0.032), (0.008, "uk", 0.020),
        # 25 mm or 1 in at least in the US: from memory.
        (0.008, "IPC", 0.0254), (0.008, "UPC", 0.0254), (0.020, "ipc", 0.040),
        # AS/NZS 3500.1, 25 mm at least: from memory.
        (0.008, "AS/NZS 3500", 0.025), (0.020, "as_nzs_3500", 0.040),
    ],
)  # fmt: skip
def test_air_gap(bore: float, code: str, gap: float) -> None:
    agrees(d.air_gap, d.air_gap(bore, code), gap, outside.by_code(outside.AIR_GAPS, code), rel=1e-6)


def test_waste_temperature() -> None:
    # One part of 95 degC and three of 15 degC: 35 degC, by arithmetic.
    agrees(
        d.waste_temperature, d.waste_temperature([1.0, 3.0], [368.15, 288.15]), 308.15, outside.HAND, rel=1e-6
    )
    agrees(
        d.waste_temperature, d.waste_temperature((0.0, 2.0), (368.15, 300.0)), 300.0, outside.HAND, rel=1e-6
    )


@pytest.mark.parametrize(
    ("flows", "temperatures", "argument", "low", "high"),
    [
        ([0.0], [300.0], "flows", 1e-12, None),
        ([], [], "flows", 1e-12, None),
        ([-1.0], [300.0], "flows", 0.0, 1e6),
        ([1.001e6], [300.0], "flows", 0.0, 1e6),
        ([1.0], [273.1], "temperatures", 273.15, 373.15),
        ([1.0], [373.2], "temperatures", 273.15, 373.15),
        ([1.0], [math.nan], "temperatures", 273.15, 373.15),
    ],
)
def test_waste_temperature_refuses(flows, temperatures, argument, low, high) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        d.waste_temperature(flows, temperatures)
    assert (caught.value.argument, caught.value.low, caught.value.high) == (argument, low, high)


def test_waste_temperature_of_lists_that_do_not_match() -> None:
    with pytest.raises(ValueError, match="waste_temperature: flows has 2 entries, temperatures has 1"):
        d.waste_temperature([1.0, 2.0], [300.0])


def test_waste_temperature_limits() -> None:
    # At most 60 degC / 140 degF under IPC and UPC: from memory.
    for code in ("IPC", "UPC"):
        agrees(
            d.waste_temperature_limit,
            d.waste_temperature_limit(code),
            (140 - 32) / 1.8 + 273.15,
            standard(d.waste_temperature_limit),
            abs=1e-9,
        )
    with pytest.raises(UnknownEntryError):
        d.waste_temperature_limit("EN 12056")


@pytest.mark.parametrize(
    ("material", "celsius"),
    # Common practice, from memory.
    [
        ("pvc_u", 60),
        ("abs", 70),
        ("pe_hd", 80),
        ("pp", 95),
        ("copper", 95),
        ("cast_iron", 95),
        ("plastic", 60),
        ("flexible_hose", 60),
    ],
)
def test_pipe_temperature_limit(material: str, celsius: float) -> None:
    agrees(
        d.pipe_temperature_limit,
        d.pipe_temperature_limit(material),
        celsius + 273.15,
        outside.PRACTICE,
        abs=1e-6,
    )


@pytest.mark.parametrize(
    ("material", "n"),
    # Common practice, from memory.
    [("plastic", 0.011), ("copper", 0.011), ("cast_iron", 0.013), ("flexible_hose", 0.020)],
)
def test_roughness(material: str, n: float) -> None:
    agrees(d.roughness, d.roughness(material), n, outside.PRACTICE)


def test_peak_flow() -> None:
    agrees(d.peak_flow, d.peak_flow([1e-5, 2e-5], [3e-5, 9e-5, 4e-5], 2), 16e-5, outside.HAND, rel=1e-6)
    agrees(d.peak_flow, d.peak_flow([], [3e-5], 0), 0.0, outside.HAND)
    agrees(d.peak_flow, d.peak_flow([], [3e-5], 5), 3e-5, outside.HAND, rel=1e-6)
    with pytest.raises(OutOfRangeError):
        d.peak_flow([-1e-5], [], 0)
    with pytest.raises(OutOfRangeError):
        d.peak_flow([], [], -1)
    with pytest.raises(OutOfRangeError):
        d.peak_flow([1000.5], [], 0)
    agrees(d.peak_flow, d.peak_flow([1000.0], [], 0), 1000.0, outside.HAND)


PIPE = {"bore": (0.005, 1), "fall": (1e-6, 1), "n": (0.005, 0.1)}
GOOD = {"bore": 0.04, "fall": 0.025, "n": 0.011}
DEPTH = {"depth_ratio": (0.001, 1)}


@pytest.mark.parametrize(
    ("kernel", "good", "bounds"),
    [
        (
            d.segment_fall,
            {"start_height": 0.3, "end_height": 0.2, "length": 1.0},
            {"start_height": (-50, 500), "end_height": (-50, 500), "length": (0.01, 1000)},
        ),
        (d.drop, {"fall": 0.02, "length": 1.0}, {"fall": (-1, 1), "length": (0, 1000)}),
        (d.required_fall, {"bore": 0.04, "code": "en"}, {"bore": (0.005, 1)}),
        (
            d.manning_velocity,
            {"hydraulic_radius": 0.01, "fall": 0.02, "n": 0.011},
            {"hydraulic_radius": (1e-4, 10), "fall": (1e-6, 1), "n": (0.005, 0.1)},
        ),
        (d.capacity_full, GOOD, PIPE),
        (d.part_full_ratio, {"depth_ratio": 0.5}, DEPTH),
        (d.capacity_part_full, {**GOOD, "depth_ratio": 0.5}, {**PIPE, **DEPTH}),
        (d.velocity, {**GOOD, "depth_ratio": 0.5}, {**PIPE, **DEPTH}),
        (d.depth_ratio_for_flow, {**GOOD, "flow": 1e-4}, {**PIPE, "flow": (0, 10)}),
        (d.air_gap, {"bore": 0.01, "code": "en"}, {"bore": (0.001, 0.2)}),
    ],
    ids=lambda found: getattr(getattr(found, "info", None), "name", ""),
)
def test_valid_ranges(kernel, good, bounds) -> None:
    check_bounds(kernel, good, bounds)
