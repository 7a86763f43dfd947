"""Currents and voltages against published figures and a nodal solve written here with numpy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from procgen.engineering import electrical as e
from procgen.engineering.electrical import Load
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.sources_general import UnknownEntryError

from . import outside
from .bounds_general import check_bounds
from .oracle import agrees

ROOT3 = math.sqrt(3.0)
PHASES = ("L1", "L2", "L3")


def nodal(phasors: dict[str, complex], loads: list[Load], source: float = 1e9, lost: str = "") -> dict:
    """Node voltages by a full admittance matrix: each conductor fed through a large conductance."""
    names = list(phasors)
    matrix = np.zeros((len(names), len(names)), dtype=complex)
    right = np.zeros(len(names), dtype=complex)
    for k, name in enumerate(names):
        if name != lost:
            matrix[k, k] += source
            right[k] += source * phasors[name]
    for load in loads:
        apparent = load.power / load.power_factor
        sine = math.sqrt(1 - load.power_factor**2)
        admittance = apparent / load.rated_voltage**2 * complex(load.power_factor, -sine)
        a, b = (names.index(t) for t in load.terminals)
        matrix[a, a] += admittance
        matrix[b, b] += admittance
        matrix[a, b] -= admittance
        matrix[b, a] -= admittance
    node = np.linalg.solve(matrix, right)
    into = {name: source * (phasors[name] - node[k]) for k, name in enumerate(names) if name != lost}
    return {"node": dict(zip(names, node, strict=True)), "into": into}


def star(*kilowatts: float, voltage: float = 230.0) -> list[Load]:
    return [Load(1000 * p, voltage, (t, "N")) for p, t in zip(kilowatts, PHASES, strict=False)]


# --- supply


@pytest.mark.parametrize(
    ("arrangement", "voltage", "pairs"),
    [
        ("1N", 230.0, {("L1", "N"): 230.0}),
        ("3N", 230.0, {("L1", "N"): 230.0, ("L1", "L2"): 398.37, ("L2", "L3"): 398.37, ("L3", "L1"): 398.37}),
        ("3", 230.0, {("L1", "L2"): 230.0, ("L2", "L3"): 230.0, ("L3", "L1"): 230.0}),
        ("split", 120.0, {("L1", "N"): 120.0, ("L2", "N"): 120.0, ("L1", "L2"): 240.0}),
        ("two_legs", 120.0, {("L1", "N"): 120.0, ("L2", "N"): 120.0, ("L1", "L2"): 207.85}),
        ("3_delta_208", 208.0, {("L1", "L2"): 208.0, ("L2", "L3"): 208.0, ("L3", "L1"): 208.0}),
    ],
)
def test_supply_voltages(arrangement: str, voltage: float, pairs: dict) -> None:
    phasors = e.supply_phasors(arrangement, voltage)
    agrees(e.supply_phasors, set(phasors), {name for pair in pairs for name in pair}, outside.HAND)
    for (a, b), volts in pairs.items():
        agrees(e.supply_phasors, abs(phasors[a] - phasors[b]), volts, outside.HAND, abs=0.005, unit="V")


def test_phase_sequence_is_positive() -> None:
    for arrangement in ("3N", "3", "3_delta_208"):
        phasors = e.supply_phasors(arrangement, 230.0)
        turn = np.exp(2j * np.pi / 3)
        assert phasors["L2"] * turn == pytest.approx(phasors["L1"])
        assert phasors["L3"] * turn == pytest.approx(phasors["L2"])


def test_arrangements() -> None:
    assert e.ARRANGEMENTS == ("1N", "3N", "3", "split", "two_legs", "3_delta_208")
    with pytest.raises(UnknownEntryError, match="arrangement: no entry for '2N'"):
        e.supply_phasors("2N", 230.0)


@pytest.mark.parametrize("wrong", [0.999, 1000.5, math.nan])
def test_supply_voltage_range(wrong: float) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        e.supply_phasors("1N", wrong)
    assert (caught.value.low, caught.value.high) == (1.0, 1000.0)


# --- solver


def test_star_on_230_volts() -> None:
    # 4/3/2 kW at 230 V: 17.39 / 13.04 / 8.70 A, neutral 7.531 A, by arithmetic.
    solved = e.solve("3N", 230.0, star(4, 3, 2))
    expected = {"L1": 17.391, "L2": 13.043, "L3": 8.696, "N": 7.531}
    for name, amps in expected.items():
        agrees(e.solve, solved.magnitude(name), amps, outside.HAND, abs=1e-3, unit="A")
    agrees(e.neutral_current, e.neutral_current(17.391, 13.043, 8.696), 7.531, outside.HAND, abs=2e-3)
    agrees(e.solve, solved.power, 9000.0, outside.HAND, rel=1e-6)


def test_nine_kilowatt_on_one_and_three_phases() -> None:
    # 9 kW: 12.990 A on 400 V three-phase, 39.130 A on 230 V, by arithmetic.
    three = e.solve("3N", 400.0 / ROOT3, e.star_loads(9000.0, 400.0 / ROOT3))
    agrees(e.solve, [three.magnitude(p) for p in PHASES], [12.990] * 3, outside.HAND, abs=1e-3, unit="A")
    agrees(e.solve, three.magnitude("N"), 0.0, outside.HAND, abs=1e-9, unit="A")
    single = e.solve("1N", 230.0, star(9))
    agrees(e.solve, single.magnitude("L1"), 39.130, outside.HAND, abs=1e-3, unit="A")
    agrees(e.solve, single.magnitude("N"), 39.130, outside.HAND, abs=1e-3, unit="A")
    agrees(e.solve, single.magnitude("L2"), 0.0, outside.HAND)
    delta = e.solve("3", 400.0, e.delta_loads(9000.0, 400.0))
    agrees(e.solve, [delta.magnitude(p) for p in PHASES], [12.990] * 3, outside.HAND, abs=1e-3, unit="A")
    agrees(e.current_three, e.current_three(9000.0, 400.0), 12.990, outside.HAND, abs=1e-3)
    agrees(e.current_single, e.current_single(9000.0, 230.0), 39.130, outside.HAND, abs=1e-3)


def test_open_delta_on_208_volts() -> None:
    # 3+3+0 kW: 14.42 / 24.98 / 14.42 A, by arithmetic.
    loads = [Load(3000, 208, ("L1", "L2")), Load(3000, 208, ("L2", "L3"))]
    solved = e.solve("3_delta_208", 208.0, loads)
    agrees(
        e.solve,
        [solved.magnitude(p) for p in PHASES],
        [14.423, 24.982, 14.423],
        outside.HAND,
        abs=1e-3,
        unit="A",
    )
    agrees(e.solve, solved.load_powers, (3000.0, 3000.0), outside.HAND, rel=1e-6)


def test_neutrals_of_split_phase_and_two_legs() -> None:
    # 10/10 A line to neutral: nothing in a split-phase neutral, 10 A between two legs, by arithmetic.
    loads = [Load(1200, 120, ("L1", "N")), Load(1200, 120, ("L2", "N"))]
    agrees(e.solve, e.solve("split", 120.0, loads).magnitude("N"), 0.0, outside.HAND, abs=1e-9, unit="A")
    agrees(e.solve, e.solve("two_legs", 120.0, loads).magnitude("N"), 10.0, outside.HAND, rel=1e-6)
    agrees(e.neutral_current_split, e.neutral_current_split(10.0, 10.0), 0.0, outside.HAND)
    agrees(e.neutral_current_split, e.neutral_current_split(5.0, 12.0), 7.0, outside.HAND, rel=1e-6)
    agrees(e.neutral_current_two_legs, e.neutral_current_two_legs(10.0, 10.0), 10.0, outside.HAND, rel=1e-6)


def test_neutral_current_published() -> None:
    # Published: 10/15/20 A give 8.66 A.
    agrees(e.neutral_current, e.neutral_current(10.0, 15.0, 20.0), 8.66, outside.NEUTRAL_EXAMPLE, abs=1e-3)
    # Two lines of three alone carry what two legs carry.
    assert e.neutral_current(7.0, 4.0, 0.0) == pytest.approx(e.neutral_current_two_legs(7.0, 4.0))


AMPS = st.floats(0, 200)


@given(AMPS, AMPS, AMPS, st.floats(0.2, 1.0))
def test_neutral_current_beside_the_solver(i1: float, i2: float, i3: float, power_factor: float) -> None:
    loads = [
        Load(i * 230.0 * power_factor, 230.0, (p, "N"), power_factor)
        for i, p in zip((i1, i2, i3), PHASES, strict=True)
    ]
    solved = e.solve("3N", 230.0, loads)
    assert solved.magnitude("N") == pytest.approx(e.neutral_current(i1, i2, i3), abs=1e-6)
    assert solved.magnitude("L2") == pytest.approx(i2, abs=1e-9)


@given(AMPS)
def test_balanced_loads_leave_no_neutral_current(amps: float) -> None:
    assert e.neutral_current(amps, amps, amps) == 0.0


@given(
    st.sampled_from(e.ARRANGEMENTS),
    st.lists(st.tuples(st.floats(100, 9000), st.floats(0.3, 1.0), st.integers(0, 5)), min_size=1, max_size=6),
)
def test_solver_beside_a_nodal_solve(arrangement: str, drawn: list[tuple[float, float, int]]) -> None:
    phasors = e.supply_phasors(arrangement, 230.0)
    names = list(phasors)
    pairs = [(a, b) for k, a in enumerate(names) for b in names[k + 1 :]]
    loads = [Load(p, 230.0, pairs[k % len(pairs)], factor) for p, factor, k in drawn]
    solved = e.solve(arrangement, 230.0, loads)
    reference = nodal(phasors, loads)["into"]
    for name in names:
        assert solved.currents[name] == pytest.approx(reference[name], abs=1e-2)
    assert abs(sum(solved.currents.values())) < 1e-9
    delivered = sum((phasors[n] * solved.currents[n].conjugate()).real for n in names)
    assert solved.power == pytest.approx(delivered, rel=1e-9)
    assert solved.apparent_power >= delivered * (1 - 1e-9)


@pytest.mark.parametrize("arrangement", e.ARRANGEMENTS)
def test_currents_of_unlike_loads_by_a_nodal_solve(arrangement: str) -> None:
    phasors = e.supply_phasors(arrangement, 230.0)
    names = list(phasors)
    pairs = [(a, b) for k, a in enumerate(names) for b in names[k + 1 :]]
    loads = [Load(900.0 * (k + 1), 230.0, pair, 1.0 - 0.1 * k) for k, pair in enumerate(pairs)]
    reference = nodal(phasors, loads)["into"]
    found = e.solve(arrangement, 230.0, loads)
    agrees(e.solve, found.currents, reference, outside.NODAL, abs=1e-3, unit="A")


def test_lost_neutral_by_a_nodal_solve() -> None:
    loads = [Load(3000.0, 230.0, ("L1", "N"), 0.8), Load(1000.0, 230.0, ("N", "L2")), *star(2.0)]
    node = nodal(e.supply_phasors("3N", 230.0), loads, lost="N")["node"]
    found = e.lost_neutral("3N", 230.0, loads)
    agrees(e.lost_neutral, found.star_point, node["N"], outside.NODAL, abs=1e-3, unit="V")
    across = [abs(node["L1"] - node["N"]), abs(node["L2"] - node["N"]), abs(node["L1"] - node["N"])]
    agrees(e.lost_neutral, found.voltages, across, outside.NODAL, abs=1e-3, unit="V")


def test_apparent_power_of_a_motor() -> None:
    # 300 W at cos phi 0.6: 500 VA, 2.174 A lagging by 53.13 degrees.
    solved = e.solve("1N", 230.0, [Load(300.0, 230.0, ("L1", "N"), 0.6)])
    agrees(e.solve, solved.apparent_power, 500.0, outside.HAND, rel=1e-6)
    agrees(e.solve, solved.magnitude("L1"), 500.0 / 230.0, outside.HAND, rel=1e-6)
    agrees(
        e.solve, math.degrees(np.angle(solved.currents["L1"])), -53.13, outside.HAND, abs=0.005, unit="degree"
    )
    agrees(e.solve, solved.load_voltages[0], 230.0, outside.HAND, rel=1e-6)


@pytest.mark.parametrize(
    ("load", "argument", "low", "high"),
    [
        (Load(-1.0, 230.0, ("L1", "N")), "power", 0.0, 1e6),
        (Load(1.001e6, 230.0, ("L1", "N")), "power", 0.0, 1e6),
        (Load(1.0, 0.99, ("L1", "N")), "rated_voltage", 1.0, 1000.0),
        (Load(1.0, 1001.0, ("L1", "N")), "rated_voltage", 1.0, 1000.0),
        (Load(1.0, 230.0, ("L1", "N"), 0.0499), "power_factor", 0.05, 1.0),
        (Load(1.0, 230.0, ("L1", "N"), 1.001), "power_factor", 0.05, 1.0),
    ],
)
def test_solver_refuses(load: Load, argument: str, low: float, high: float) -> None:
    for function in (e.solve, e.lost_neutral, e.miswire):
        with pytest.raises(OutOfRangeError) as caught:
            function("1N", 230.0, [load])
        assert (caught.value.argument, caught.value.low, caught.value.high) == (argument, low, high)


def test_solver_refuses_a_terminal_that_is_not_there() -> None:
    with pytest.raises(UnknownEntryError, match="terminals: no entry for 'N'; known: 'L1', 'L2', 'L3'"):
        e.solve("3", 230.0, star(1))


# --- wiring faults


@pytest.mark.parametrize(
    ("volts", "rated", "ratio"),
    # 400 V on 230 V, 208 on 120, 240 on 120, a 240 V element on 208 V; by arithmetic.
    [(400, 230, 3.0246), (208, 120, 3.0044), (240, 120, 4.0), (208, 240, 0.7511)],
)
def test_power_ratio(volts: float, rated: float, ratio: float) -> None:
    agrees(e.power_ratio, e.power_ratio(volts, rated), ratio, outside.HAND, abs=5e-5)


@pytest.mark.parametrize(("volts", "ratio"), [(207, 0.81), (220, 0.9149), (240, 1.0888), (253, 1.21)])
def test_element_power(volts: float, ratio: float) -> None:
    # P = Pn (U/Un)^2 on 230 V, by arithmetic.
    agrees(e.element_power, e.element_power(3000.0, volts, 230.0), 3000.0 * ratio, outside.HAND, abs=0.2)


def test_miswire_of_a_star() -> None:
    found = e.miswire("3N", 400.0 / ROOT3, star(4, 3, 2))
    assert [(m.swapped, m.load) for m in found] == [
        (("L1", "N"), 1), (("L1", "N"), 2), (("L2", "N"), 0),
        (("L2", "N"), 2), (("L3", "N"), 0), (("L3", "N"), 1),
    ]  # fmt: skip
    agrees(e.miswire, [m.power_ratio for m in found], [3.0246] * 6, outside.HAND, abs=5e-5, unit="")
    agrees(e.miswire, [m.voltage for m in found], [400.0] * 6, outside.HAND, rel=1e-6)


def test_miswire_of_split_phase_and_two_legs() -> None:
    loads = [
        Load(1200, 120, ("N", "L1")), Load(1200, 120, ("L2", "N")), Load(3000, 240, ("L1", "L2")),
    ]  # fmt: skip
    found = e.miswire("split", 120.0, loads)
    assert [(m.swapped[0], m.load, round(m.power_ratio, 9)) for m in found] == [
        ("L1", 1, 4.0),
        ("L2", 0, 4.0),
    ]
    found = e.miswire("two_legs", 208.0 / ROOT3, loads[:2])
    agrees(e.miswire, [m.power_ratio for m in found], [3.0044] * 2, outside.HAND, abs=5e-5, unit="")


def test_miswire_that_harms_nothing() -> None:
    # One line and its neutral exchanged: the same voltage; without a neutral nothing to exchange.
    assert e.miswire("1N", 230.0, star(3)) == ()
    assert e.miswire("3", 230.0, [Load(3000, 230, ("L1", "L2"))]) == ()


@pytest.mark.parametrize(
    ("kilowatts", "point", "voltages"),
    # Star on 230 V by Millman, by arithmetic.
    [
        ((4, 3, 2), 44.26, (192.94, 234.22, 269.24)),
        ((3, 3, 3), 0.0, (230.0, 230.0, 230.0)),
        ((3, 3, 0.3), None, (199.86, 199.86, 328.57)),
    ],
)
def test_lost_neutral_of_a_star(kilowatts: tuple, point: float | None, voltages: tuple) -> None:
    found = e.lost_neutral("3N", 230.0, star(*kilowatts))
    agrees(e.lost_neutral, found.voltages, voltages, outside.MILLMAN, abs=5e-3, unit="V")
    assert found.power_ratios == pytest.approx([(u / 230.0) ** 2 for u in voltages], abs=1e-4)
    if point is not None:
        agrees(e.lost_neutral, abs(found.star_point), point, outside.MILLMAN, abs=5e-3, unit="V")


def test_lost_neutral_of_split_phase() -> None:
    # 240/120 V with 10 A and 5 A: 80 / 160 V, by arithmetic; an element between the lines sees nothing of it.
    loads = [
        Load(1200, 120, ("L1", "N")), Load(600, 120, ("L2", "N")), Load(3000, 240, ("L1", "L2")),
    ]  # fmt: skip
    found = e.lost_neutral("split", 120.0, loads)
    agrees(e.lost_neutral, found.voltages, (80.0, 160.0, 240.0), outside.HAND, rel=1e-6)


def test_lost_neutral_of_one_line() -> None:
    # The machine's neutral floats at line voltage; the element sees none.
    found = e.lost_neutral("1N", 230.0, star(3))
    assert abs(found.star_point) == pytest.approx(230.0)
    assert found.voltages == pytest.approx((0.0,), abs=1e-9)


@given(st.sampled_from(("3N", "two_legs", "split")), st.lists(st.floats(100, 5000), min_size=2, max_size=2))
def test_lost_neutral_beside_a_nodal_solve(arrangement: str, powers: list[float]) -> None:
    loads = [Load(powers[0], 230.0, ("L1", "N"), 0.8), Load(powers[1], 230.0, ("N", "L2"))]
    node = nodal(e.supply_phasors(arrangement, 230.0), loads, lost="N")["node"]
    found = e.lost_neutral(arrangement, 230.0, loads)
    assert found.star_point == pytest.approx(node["N"], abs=1e-3)
    assert found.voltages[0] == pytest.approx(abs(node["L1"] - node["N"]), abs=1e-3)


def test_lost_neutral_refuses() -> None:
    with pytest.raises(UnknownEntryError, match="neutral: no entry for 'N'"):
        e.lost_neutral("3", 230.0, [Load(3000, 230, ("L1", "L2"))])
    with pytest.raises(OutOfRangeError) as caught:
        e.lost_neutral("split", 120.0, [Load(3000, 240, ("L1", "L2"))])
    assert (caught.value.low, caught.value.unit) == (1e-12, "S")
    # A siemens of 1e-12: the least that counts as a load on the neutral.
    assert e.lost_neutral("1N", 1.0, [Load(1.005e-12, 1.0, ("L1", "N"))]).star_point == pytest.approx(1.0)
    with pytest.raises(OutOfRangeError):
        e.lost_neutral("1N", 1.0, [Load(0.995e-12, 1.0, ("L1", "N"))])


# --- voltages and leakage


def test_loaded_voltage() -> None:
    # 16 A through 0.5 ohm: 8 V less.
    agrees(e.loaded_voltage, e.loaded_voltage(230.0, 16.0, 0.5), 222.0, outside.HAND, rel=1e-6)
    with pytest.raises(OutOfRangeError) as caught:
        e.loaded_voltage(230.0, 100.0, 2.5)
    assert (caught.value.argument, caught.value.high) == ("drop", 230.0)


def test_voltage_unbalance() -> None:
    # NEMA MG 1, from memory: 460, 467, 450 V have mean 459, deviation 9, unbalance 1.96 %.
    agrees(
        e.voltage_unbalance,
        e.voltage_unbalance(460.0, 467.0, 450.0),
        0.0196,
        outside.recalled("NEMA MG 1, worked example"),
        abs=5e-5,
    )
    agrees(
        e.voltage_unbalance,
        e.voltage_unbalance(400.0, 400.0, 400.0),
        0.0,
        outside.recalled("NEMA MG 1, worked example"),
    )


@pytest.mark.parametrize(
    ("watts", "milliamps"),
    # 0.75 mA per kW, at least 0.75 mA, at most 5 mA, IEC 60335-1 clause 13: from memory.
    [(0.0, 0.75), (500.0, 0.75), (1000.0, 0.75), (4000.0, 3.0), (6600.0, 4.95), (9000.0, 5.0)],
)
def test_expected_leakage(watts: float, milliamps: float) -> None:
    agrees(
        e.expected_leakage,
        e.expected_leakage(watts) * 1000,
        milliamps,
        outside.recalled("IEC 60335-1, clause 13"),
        rel=1e-6,
    )


A, V = (0, 10_000), (1, 1000)


@pytest.mark.parametrize(
    ("kernel", "good", "bounds"),
    [
        (e.neutral_current, {"i1": 1.0, "i2": 2.0, "i3": 3.0}, {"i1": A, "i2": A, "i3": A}),
        (e.neutral_current_split, {"i1": 1.0, "i2": 2.0}, {"i1": A, "i2": A}),
        (e.neutral_current_two_legs, {"i1": 1.0, "i2": 2.0}, {"i1": A, "i2": A}),
        (
            e.current_single,
            {"power": 1e3, "voltage": 230.0, "power_factor": 1.0},
            {"power": (0, 1e6), "voltage": V, "power_factor": (0.05, 1)},
        ),
        (
            e.current_three,
            {"power": 1e3, "line_voltage": 400.0, "power_factor": 1.0},
            {"power": (0, 1e6), "line_voltage": V, "power_factor": (0.05, 1)},
        ),
        (
            e.power_ratio,
            {"voltage": 230.0, "rated_voltage": 230.0},
            {"voltage": (0, 1000), "rated_voltage": V},
        ),
        (
            e.element_power,
            {"rated_power": 1e3, "voltage": 230.0, "rated_voltage": 230.0},
            {"rated_power": (0, 1e6), "voltage": (0, 1000), "rated_voltage": V},
        ),
        (
            e.loaded_voltage,
            {"open_voltage": 230.0, "current": 1.0, "resistance": 0.01},
            {"open_voltage": V, "current": A, "resistance": (0, 100)},
        ),
        (e.voltage_unbalance, {"u12": 400.0, "u23": 400.0, "u31": 400.0}, {"u12": V, "u23": V, "u31": V}),
        (e.expected_leakage, {"power": 3e3}, {"power": (0, 1e6)}),
    ],
    ids=lambda found: getattr(getattr(found, "info", None), "name", ""),
)
def test_valid_ranges(kernel, good, bounds) -> None:
    check_bounds(kernel, good, bounds)
