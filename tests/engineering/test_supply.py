"""The water inlet against published pressures and textbook surge figures."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from procgen.engineering import supply as s
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.sources_general import UnknownEntryError

from . import outside
from .bounds_general import check_bounds
from .oracle import agrees

BAR = 1e5


def test_peak_flow() -> None:
    agrees(s.peak_flow, s.peak_flow([1e-5, 2.5e-5]), 3.5e-5, outside.HAND, rel=1e-6)
    agrees(s.peak_flow, s.peak_flow([]), 0.0, outside.HAND)
    for wrong in (-1e-9, 1.001, math.nan):
        with pytest.raises(OutOfRangeError) as caught:
            s.peak_flow([wrong])
        assert (caught.value.low, caught.value.high) == (0.0, 1.0)
    agrees(s.peak_flow, s.peak_flow([1.0]), 1.0, outside.HAND)


def test_hydrostatic_head() -> None:
    # Published: 0.09789 bar/m, 0.433 psi/ft.
    agrees(s.hydrostatic_head, s.hydrostatic_head(1.0) / BAR, 0.09789, outside.HEAD, abs=5e-6, unit="bar")
    agrees(
        s.hydrostatic_head, s.hydrostatic_head(0.3048) / 6894.757, 0.433, outside.HEAD, abs=5e-4, unit="psi"
    )
    agrees(s.hydrostatic_head, s.hydrostatic_head(-3.0, 1000.0), -29_419.95, outside.HAND, rel=1e-6)


@pytest.mark.parametrize(
    ("flowing", "static", "ids"),
    [
        (2.0, 5.0, ()), (2.5, 2.5, ()), (1.99, 5.0, ("flowing_low",)), (3.0, 5.01, ("static_high",)),
        (1.0, 6.0, ("flowing_low", "static_high")), (4.0, 3.0, ("readings_exchanged",)),
    ],
)  # fmt: skip
def test_inlet_verdict(flowing: float, static: float, ids: tuple[str, ...]) -> None:
    agrees(
        s.inlet_verdict, s.inlet_verdict(flowing * BAR, static * BAR, 2.0 * BAR, 5.0 * BAR), ids, outside.HAND
    )


@pytest.mark.parametrize(
    ("arguments", "argument", "high"),
    [
        ((-1.0, 5e5, 2e5, 5e5), "flowing", 5e6), ((2e5, 5.005e6, 2e5, 5e5), "static", 5e6),
        ((2e5, 5e5, 2e5, math.nan), "maximum", 5e6), ((2e5, 5e5, 5.1e5, 5e5), "minimum", 5e5),
    ],
)  # fmt: skip
def test_inlet_verdict_refuses(arguments: tuple, argument: str, high: float) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        s.inlet_verdict(*arguments)
    assert (caught.value.argument, caught.value.low, caught.value.high) == (argument, 0.0, high)


@pytest.mark.parametrize(
    ("code", "kilopascals"),
    # UPC 608.2, 80 psi / 552 kPa, published; IPC 604.8, AS/NZS 3500.1 and EN 806-2 from memory.
    [("UPC", 552), ("IPC", 552), ("AS/NZS 3500", 500), ("EN 806", 500)],
)
def test_reducer_threshold(code: str, kilopascals: float) -> None:
    agrees(
        s.reducer_threshold,
        s.reducer_threshold(code),
        kilopascals * 1000,
        outside.by_code(outside.REDUCERS, code),
    )
    if kilopascals == 552:
        agrees(
            s.reducer_threshold,
            s.reducer_threshold(code),
            80 * 6894.757,
            outside.by_code(outside.REDUCERS, code),
            rel=2e-3,
        )
    above, below = 1.001 * kilopascals * 1e3, 0.999 * kilopascals * 1e3
    assert s.reducer_needed(above, code, 1e6)
    assert not s.reducer_needed(below, code, 1e6)
    # The machine's own maximum may be lower than the code's.
    assert s.reducer_needed(below, code, 4e5)


def test_reducer_threshold_of_a_code_without_one() -> None:
    with pytest.raises(UnknownEntryError):
        s.reducer_threshold("uk")
    for arguments in ((-1.0, "EN 806", 4e5), (4e5, "EN 806", 5.1e6)):
        with pytest.raises(OutOfRangeError):
            s.reducer_needed(*arguments)


def test_reducer_setting() -> None:
    # 2 bar needed, 0.6 + 0.4 lost, 5 bar borne: between 3 and 5, so 4 bar.
    agrees(s.reducer_setting, s.reducer_setting(2e5, 5e5, 0.6e5, 0.4e5), 4e5, outside.HAND, rel=1e-6)
    agrees(s.reducer_setting, s.reducer_setting(2e5, 3e5, 0.6e5, 0.4e5), 3e5, outside.HAND, rel=1e-6)
    with pytest.raises(OutOfRangeError) as caught:
        s.reducer_setting(2e5, 2.9e5, 0.6e5, 0.4e5)
    assert caught.value.low == pytest.approx(3e5)


@pytest.mark.parametrize(
    ("code", "bar"),
    [
        # Published interpretation: 1.5 x 5 bar = 7.5 bar; EN 806-4 6.1: 1.1 x 1.5 x 5 = 8.25 bar.
        ("uk", 7.5), ("EN 806", 8.25),
        # Working pressure (IPC 312.5, UPC 609), 1500 kPa (AS/NZS 3500.1): from memory.
        ("IPC", 5.0), ("UPC", 5.0), ("AS/NZS 3500", 15.0),
    ],
)  # fmt: skip
def test_pressure_test(code: str, bar: float) -> None:
    agrees(
        s.pressure_test,
        s.pressure_test(5 * BAR, code),
        bar * BAR,
        outside.by_code(outside.PRESSURE_TESTS, code),
        rel=1e-6,
    )
    agrees(
        s.pressure_test,
        s.pressure_test(10 * BAR, code),
        bar * BAR if bar == 15.0 else 2 * bar * BAR,
        outside.by_code(outside.PRESSURE_TESTS, code),
        rel=1e-6,
    )


def test_pressure_test_above_the_least() -> None:
    assert s.pressure_test(20 * BAR, "AS/NZS 3500") == pytest.approx(20 * BAR)
    assert s.pressure_test(0.0, "uk") == s.pressure_test(0.0, "en") == 0.0
    assert s.pressure_test(0.0, "ipc") == s.pressure_test(0.0, "upc") == 0.0


def test_flush() -> None:
    # 10 mm, 3 m: 0.2356 L in the line; three changes 0.7069 L (common practice); at 3 L/min 14.14 s.
    agrees(s.pipe_volume, s.pipe_volume(0.010, 3.0), 0.23562e-3, outside.HAND, abs=1e-8)
    volume = s.flush_volume(0.010, 3.0)
    agrees(s.flush_volume, volume, 0.70686e-3, outside.HAND, abs=1e-8)
    agrees(s.flush_volume, s.flush_volume(0.010, 3.0, 5.0), 1.1781e-3, outside.HAND, abs=1e-7)
    agrees(s.flush_time, s.flush_time(volume, 3.0 / 60_000), 14.137, outside.HAND, abs=1e-3)


def test_flow_velocity() -> None:
    # 10 L/min in 10 mm: 2.122 m/s, computed with an independent library.
    agrees(s.flow_velocity, s.flow_velocity(10 / 60_000, 0.010), 2.122, outside.HAND, abs=5e-4)


def test_wave_speed() -> None:
    # Rigid pipe: the speed of sound in water, 1481 m/s at 20 degC, within the bulk modulus given.
    agrees(s.wave_speed, s.wave_speed(0.001, 0.05, 1e12), 1481.2, outside.HAND, abs=0.5)
    # Copper 15 x 1 mm, E 120 GPa: sqrt(2.19e9/998.2/(1 + 2.19e9 x 0.013/(1.2e11 x 0.001))).
    agrees(s.wave_speed, s.wave_speed(0.013, 0.001, 1.2e11), 1331.5, outside.HAND, abs=0.5)
    # Soft pipe: half the square of the speed where water and wall give way alike.
    agrees(s.wave_speed, s.wave_speed(0.01, 0.001, 2.19e10), 1481.2 / math.sqrt(2), outside.HAND, abs=0.5)


def test_hammer() -> None:
    # Joukowsky, 1 m/s at 1200 m/s in water of 1000 kg/m3: 12 bar.
    agrees(s.hammer, s.hammer(1.0, 1200.0, 6.0, 0.0, 1000.0), 12e5, outside.HAND, rel=1e-6)
    agrees(s.hammer, s.hammer(1.0, 1200.0, 6.0, 0.01, 1000.0), 12e5, outside.HAND, rel=1e-6)
    # A hundredth slower than the wave's return is already less.
    agrees(s.hammer, s.hammer(1.0, 1200.0, 6.0, 0.0101, 1000.0), 12e5 / 1.01, outside.HAND, rel=1e-6)
    # Ten times slower than the wave's return: a tenth.
    agrees(s.hammer, s.hammer(1.0, 1200.0, 6.0, 0.1, 1000.0), 1.2e5, outside.HAND, rel=1e-6)
    agrees(s.hammer, s.hammer(2.0, 1200.0, 6.0, 0.0), 2 * 1200 * 998.2, outside.HAND, rel=1e-6)


@given(st.floats(0, 5), st.floats(200, 1500), st.floats(0.1, 50), st.floats(0, 5), st.floats(0, 1))
def test_slower_closing_never_surges_more(v: float, a: float, length: float, t: float, more: float) -> None:
    assert s.hammer(v, a, length, t + more) <= s.hammer(v, a, length, t) * (1 + 1e-12)
    assert s.hammer(v, a, length, t) <= s.hammer(v, a, length, 0.0) * (1 + 1e-12)


def test_expansion_valve_margin() -> None:
    # 12 bar less 10 %, 3 bar at night and 6 bar from the pump: 1.8 bar left.
    agrees(
        s.expansion_valve_margin,
        s.expansion_valve_margin(12e5, 0.10, 3e5, 6e5),
        1.8e5,
        outside.HAND,
        rel=1e-6,
    )
    agrees(
        s.expansion_valve_margin,
        s.expansion_valve_margin(12e5, 0.10, 6e5, 6e5),
        -1.2e5,
        outside.HAND,
        rel=1e-6,
    )


def test_backflow_device() -> None:
    # EN 1717 categories: from memory.
    devices = ["single_check", "double_check", "reduced_pressure_zone", "air_gap"]
    assert [s.backflow_device(k, "EN 806") for k in (2, 3, 4, 5)] == devices
    assert [s.backflow_device(k, "uk") for k in (2, 3, 4, 5)] == devices
    for code in ("IPC", "UPC", "AS/NZS 3500"):
        with pytest.raises(UnknownEntryError, match="backflow_device"):
            s.backflow_device(2, code)
    with pytest.raises(UnknownEntryError, match="fluid category: no entry for 1"):
        s.backflow_device(1, "EN 806")


GAUGE = (0, 5e6)
LINE = {"bore": (0.001, 0.2), "length": (0, 1000)}


@pytest.mark.parametrize(
    ("kernel", "good", "bounds"),
    [
        (
            s.hydrostatic_head,
            {"height": 1.0, "density": 998.0},
            {"height": (-500, 500), "density": (900, 1100)},
        ),
        (
            s.reducer_setting,
            {"minimum": 2e5, "maximum": 5e5, "losses": 1e4, "fall_off": 1e4},
            {"minimum": GAUGE, "maximum": GAUGE, "losses": (0, 2e6), "fall_off": (0, 1e6)},
        ),
        (s.pressure_test, {"working": 5e5, "code": "en"}, {"working": GAUGE}),
        (s.pipe_volume, {"bore": 0.01, "length": 3.0}, LINE),
        (s.flush_volume, {"bore": 0.01, "length": 3.0, "changes": 3.0}, {**LINE, "changes": (1, 20)}),
        (s.flush_time, {"volume": 1e-3, "flow": 1e-4}, {"volume": (0, 100), "flow": (1e-7, 1)}),
        (s.flow_velocity, {"flow": 1e-4, "bore": 0.01}, {"flow": (0, 1), "bore": (0.001, 0.2)}),
        (
            s.wave_speed,
            {"bore": 0.01, "wall": 0.001, "modulus": 1e11, "density": 998.0, "bulk_modulus": 2.2e9},
            {
                "bore": (0.001, 0.2), "wall": (1e-4, 0.05), "modulus": (1e6, 1e12),
                "density": (900, 1100), "bulk_modulus": (1e9, 3e9),
            },
        ),
        (
            s.hammer,
            {"velocity": 1.0, "speed": 1200.0, "length": 6.0, "closing_time": 0.1, "density": 998.0},
            {
                "velocity": (0, 20), "speed": (10, 1500), "length": (0, 1000), "closing_time": (0, 60),
                "density": (900, 1100),
            },
        ),
        (
            s.expansion_valve_margin,
            {"opening": 12e5, "tolerance": 0.1, "night": 3e5, "pump_rise": 6e5},
            {"opening": GAUGE, "tolerance": (0, 0.5), "night": GAUGE, "pump_rise": (0, 3e6)},
        ),
    ],
    ids=lambda found: getattr(getattr(found, "info", None), "name", ""),
)  # fmt: skip
def test_valid_ranges(kernel, good, bounds) -> None:
    check_bounds(kernel, good, bounds)
