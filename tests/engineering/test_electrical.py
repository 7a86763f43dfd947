"""Currents, voltages and cables against published figures and a nodal solve written here with numpy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from procgen.engineering import electrical as e
from procgen.engineering import electrical_cable as cable
from procgen.engineering.electrical import Load
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.sources_general import UnknownEntryError

from .bounds_general import check_bounds

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
    assert set(phasors) == {name for pair in pairs for name in pair}
    for (a, b), volts in pairs.items():
        assert abs(phasors[a] - phasors[b]) == pytest.approx(volts, abs=0.005)


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
        assert solved.magnitude(name) == pytest.approx(amps, abs=1e-3)
    assert e.neutral_current(17.391, 13.043, 8.696) == pytest.approx(7.531, abs=2e-3)
    assert solved.power == pytest.approx(9000.0)


def test_nine_kilowatt_on_one_and_three_phases() -> None:
    # 9 kW: 12.990 A on 400 V three-phase, 39.130 A on 230 V, by arithmetic.
    three = e.solve("3N", 400.0 / ROOT3, e.star_loads(9000.0, 400.0 / ROOT3))
    assert [three.magnitude(p) for p in PHASES] == pytest.approx([12.990] * 3, abs=1e-3)
    assert three.magnitude("N") == pytest.approx(0.0, abs=1e-9)
    single = e.solve("1N", 230.0, star(9))
    assert single.magnitude("L1") == pytest.approx(39.130, abs=1e-3)
    assert single.magnitude("N") == pytest.approx(39.130, abs=1e-3)
    assert single.magnitude("L2") == 0.0
    delta = e.solve("3", 400.0, e.delta_loads(9000.0, 400.0))
    assert [delta.magnitude(p) for p in PHASES] == pytest.approx([12.990] * 3, abs=1e-3)
    assert e.current_three(9000.0, 400.0) == pytest.approx(12.990, abs=1e-3)
    assert e.current_single(9000.0, 230.0) == pytest.approx(39.130, abs=1e-3)


def test_open_delta_on_208_volts() -> None:
    # 3+3+0 kW: 14.42 / 24.98 / 14.42 A, by arithmetic.
    loads = [Load(3000, 208, ("L1", "L2")), Load(3000, 208, ("L2", "L3"))]
    solved = e.solve("3_delta_208", 208.0, loads)
    assert [solved.magnitude(p) for p in PHASES] == pytest.approx([14.423, 24.982, 14.423], abs=1e-3)
    assert solved.load_powers == pytest.approx((3000.0, 3000.0))


def test_neutrals_of_split_phase_and_two_legs() -> None:
    # 10/10 A line to neutral: nothing in a split-phase neutral, 10 A between two legs, by arithmetic.
    loads = [Load(1200, 120, ("L1", "N")), Load(1200, 120, ("L2", "N"))]
    assert e.solve("split", 120.0, loads).magnitude("N") == pytest.approx(0.0, abs=1e-9)
    assert e.solve("two_legs", 120.0, loads).magnitude("N") == pytest.approx(10.0)
    assert e.neutral_current_split(10.0, 10.0) == 0.0
    assert e.neutral_current_split(5.0, 12.0) == pytest.approx(7.0)
    assert e.neutral_current_two_legs(10.0, 10.0) == pytest.approx(10.0)


def test_neutral_current_published() -> None:
    # Published: 10/15/20 A give 8.66 A.
    assert e.neutral_current(10.0, 15.0, 20.0) == pytest.approx(8.66, abs=1e-3)
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


def test_apparent_power_of_a_motor() -> None:
    # 300 W at cos phi 0.6: 500 VA, 2.174 A lagging by 53.13 degrees.
    solved = e.solve("1N", 230.0, [Load(300.0, 230.0, ("L1", "N"), 0.6)])
    assert solved.apparent_power == pytest.approx(500.0)
    assert solved.magnitude("L1") == pytest.approx(500.0 / 230.0)
    assert math.degrees(np.angle(solved.currents["L1"])) == pytest.approx(-53.13, abs=0.005)
    assert solved.load_voltages[0] == pytest.approx(230.0)


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
    assert e.power_ratio(volts, rated) == pytest.approx(ratio, abs=5e-5)


@pytest.mark.parametrize(("volts", "ratio"), [(207, 0.81), (220, 0.9149), (240, 1.0888), (253, 1.21)])
def test_element_power(volts: float, ratio: float) -> None:
    # P = Pn (U/Un)^2 on 230 V, by arithmetic.
    assert e.element_power(3000.0, volts, 230.0) == pytest.approx(3000.0 * ratio, abs=0.2)


def test_miswire_of_a_star() -> None:
    found = e.miswire("3N", 400.0 / ROOT3, star(4, 3, 2))
    assert [(m.swapped, m.load) for m in found] == [
        (("L1", "N"), 1), (("L1", "N"), 2), (("L2", "N"), 0),
        (("L2", "N"), 2), (("L3", "N"), 0), (("L3", "N"), 1),
    ]  # fmt: skip
    assert [m.power_ratio for m in found] == pytest.approx([3.0246] * 6, abs=5e-5)
    assert [m.voltage for m in found] == pytest.approx([400.0] * 6)


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
    assert [m.power_ratio for m in found] == pytest.approx([3.0044] * 2, abs=5e-5)


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
    assert found.voltages == pytest.approx(voltages, abs=5e-3)
    assert found.power_ratios == pytest.approx([(u / 230.0) ** 2 for u in voltages], abs=1e-4)
    if point is not None:
        assert abs(found.star_point) == pytest.approx(point, abs=5e-3)


def test_lost_neutral_of_split_phase() -> None:
    # 240/120 V with 10 A and 5 A: 80 / 160 V, by arithmetic; an element between the lines sees nothing of it.
    loads = [
        Load(1200, 120, ("L1", "N")), Load(600, 120, ("L2", "N")), Load(3000, 240, ("L1", "L2")),
    ]  # fmt: skip
    found = e.lost_neutral("split", 120.0, loads)
    assert found.voltages == pytest.approx((80.0, 160.0, 240.0))


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


# --- cables


# IEC 60228, ohm/km at 20 degC, published.
RESISTANCES = {
    2: {1.5: 12.1, 2.5: 7.41, 4: 4.61, 6: 3.08, 10: 1.83, 16: 1.15},
    5: {1.5: 13.3, 2.5: 7.98, 4: 4.95, 6: 3.30, 10: 1.91, 16: 1.21},
}


@pytest.mark.parametrize("conductor_class", [2, 5])
def test_conductor_resistance(conductor_class: int) -> None:
    for section, per_km in RESISTANCES[conductor_class].items():
        found = cable.conductor_resistance(section * 1e-6, 1000.0, conductor_class)
        assert found == pytest.approx(per_km, rel=1e-12)
    # 50 K warmer: 1 + 0.00393 x 50.
    warm = cable.conductor_resistance(2.5e-6, 1000.0, 2, 343.15)
    assert warm == pytest.approx(7.41 * 1.1965, rel=1e-6)


def test_conductor_resistance_between_the_sections_is_on_the_safe_side() -> None:
    # NEC chapter 9 table 8, uncoated stranded copper at 75 degC, ohm/km (14, 12, 10, 8 AWG): from memory.
    for section, per_km in {2.08: 10.3, 3.31: 6.50, 5.26: 4.07, 8.37: 2.551}.items():
        found = cable.conductor_resistance(section * 1e-6, 1000.0, 2, 348.15)
        assert per_km < found < 1.07 * per_km
    # Never below resistance times section of any tabulated conductor, and close to the largest.
    for conductor_class, table in RESISTANCES.items():
        largest = max(section * per_km for section, per_km in table.items())
        found = cable.conductor_resistance(3.31e-6, 1000.0, conductor_class) * 3.31
        assert largest <= found * (1 + 1e-9)
        assert found == pytest.approx(largest, rel=1e-3)


def test_nominal_sections_are_met_within_half_a_per_cent() -> None:
    assert cable.conductor_resistance(2.5124e-6, 1000.0) == pytest.approx(7.41)
    assert cable.conductor_resistance(2.5126e-6, 1000.0) == pytest.approx(18.53 / 2.5126, rel=1e-3)
    for section in RESISTANCES[5]:
        close = 1.02 * section
        assert cable.conductor_resistance(close * 1e-6, 1000.0, 5) == pytest.approx(19.95 / close, rel=1e-6)
    assert cable.conductor_resistance(2.4874e-6, 1000.0) != pytest.approx(7.41, rel=1e-4)


def test_voltage_drop() -> None:
    # IEC 60364-5-52 Annex G, by arithmetic: 5.76 V, 2.504 %; 2.811 V, 1.217 % of 400/sqrt 3 V.
    single = cable.voltage_drop(16.0, 20.0, 2.5e-6, 1.0, 1)
    assert single == pytest.approx(5.76, abs=1e-6)
    assert single / 230.0 == pytest.approx(0.02504, abs=1e-5)
    three = cable.voltage_drop(100.0, 50.0, 35e-6, 0.8, 3)
    assert three == pytest.approx(2.811, abs=6e-4)
    assert three / (400.0 / ROOT3) == pytest.approx(0.01217, abs=5e-6)
    # Reactance alone: 0.08 mohm/m.
    assert cable.voltage_drop(100.0, 50.0, 35e-6, 0.0, 3) == pytest.approx(0.4)
    with pytest.raises(UnknownEntryError, match="phases: no entry for 2"):
        cable.voltage_drop(16.0, 20.0, 2.5e-6, 1.0, 2)


@pytest.mark.parametrize(
    ("purpose", "owner", "share"),
    # IEC 60364-5-52 Annex G: 3/5 % public, 6/8 % private, published.
    [
        ("lighting", "public", 0.03),
        ("lighting", "private", 0.06),
        ("other", "public", 0.05),
        ("other", "private", 0.08),
    ],
)
def test_voltage_drop_limit(purpose: str, owner: str, share: float) -> None:
    assert cable.voltage_drop_limit(purpose, owner) == share


@pytest.mark.parametrize(
    ("celsius", "factor"),
    # IEC 60364-5-52 table B.52.14, PVC: from memory; the table is rounded to two decimals.
    [
        (10, 1.22), (15, 1.17), (20, 1.12), (25, 1.06), (30, 1.00), (35, 0.94), (40, 0.87),
        (45, 0.79), (50, 0.71), (55, 0.61), (60, 0.50),
    ],
)  # fmt: skip
def test_ambient_factor(celsius: float, factor: float) -> None:
    assert cable.ambient_factor(celsius + 273.15) == pytest.approx(factor, abs=6e-3)
    assert cable.ambient_factor(celsius + 273.15, "AS/NZS 3000") == cable.ambient_factor(celsius + 273.15)


def test_cold_air_earns_no_more_than_the_table_gives() -> None:
    assert cable.ambient_factor(263.15) == cable.ambient_factor(283.15) == pytest.approx(math.sqrt(1.5))
    assert cable.ambient_factor(284.15) < cable.ambient_factor(283.15)


def test_ambient_factor_at_60_degree_conductors() -> None:
    # NEC 310.15(B), 60 degC column, 36 to 40 degC 0.82: from memory.
    assert cable.ambient_factor(313.15, "NEC") == pytest.approx(0.816, abs=1e-3)
    for code, highest in {"IEC 60364": 338.15, "NEC": 328.15}.items():
        assert cable.ambient_factor(highest, code) > 0
        with pytest.raises(OutOfRangeError) as caught:
            cable.ambient_factor(highest + 0.01, code)
        assert (caught.value.low, caught.value.high) == (263.15, highest)


def test_grouping_factor() -> None:
    # IEC 60364-5-52 table B.52.17: from memory.
    bunched = [1.00, 0.80, 0.70, 0.65, 0.60, 0.57, 0.54, 0.52, 0.50]
    layer = [1.00, 0.85, 0.79, 0.75, 0.73, 0.72, 0.72, 0.71, 0.70]
    assert [cable.grouping_factor(n) for n in range(1, 10)] == bunched
    assert [cable.grouping_factor(n, "single_layer") for n in range(1, 10)] == layer
    assert cable.grouping_factor(30, "single_layer") == 0.70
    with pytest.raises(OutOfRangeError) as caught:
        cable.grouping_factor(10)
    assert (caught.value.low, caught.value.high) == (1, 9)


# Method C, PVC, 30 degC: three loaded 1.5 to 10 mm2 and two loaded 2.5 mm2 from the check list, the rest
# from memory; the gauges 14 to 6 of NEC table 310.16, 60 degC: from memory.
CAPACITIES = {
    ("IEC 60364", 3): {1.5: 17.5, 2.5: 24, 4: 32, 6: 41, 10: 57, 16: 76},
    ("IEC 60364", 2): {1.5: 19.5, 2.5: 27, 4: 36, 6: 46, 10: 63, 16: 85},
    ("NEC", 2): {2.08: 15, 3.31: 20, 5.26: 30, 8.37: 40, 13.3: 55},
}


@pytest.mark.parametrize(("code", "loaded"), list(CAPACITIES))
def test_cable_capacity(code: str, loaded: int) -> None:
    table = CAPACITIES[code, loaded]
    for section, amps in table.items():
        for close in (0.996, 1.0, 1.005):
            assert cable.cable_capacity(close * section * 1e-6, loaded, code) == amps
        # A conductor a little too thin takes the next smaller figure, or none.
        thin = 0.994 * section * 1e-6
        if section == min(table):
            with pytest.raises(OutOfRangeError):
                cable.cable_capacity(thin, loaded, code)
        else:
            assert cable.cable_capacity(thin, loaded, code) < amps
    assert cable.cable_capacity(50e-6, loaded, code) == max(table.values())


def test_derated_capacity_and_minimum_section() -> None:
    # 2.5 mm2, three loaded, 40 degC, two circuits: 24 x 0.866 x 0.80 = 16.63 A.
    assert cable.derated_capacity(2.5e-6, 3, 313.15, 2) == pytest.approx(16.63, abs=5e-3)
    assert cable.minimum_section(16.0, 3, 313.15, 2) == pytest.approx(2.5e-6)
    assert cable.minimum_section(16.7, 3, 313.15, 2) == pytest.approx(4e-6)
    assert cable.minimum_section(30.0, 2, 303.15, 1, "NEC") == pytest.approx(5.26e-6)
    with pytest.raises(OutOfRangeError) as caught:
        cable.minimum_section(77.0, 3, 303.15, 1)
    assert caught.value.high == pytest.approx(76.0)


def test_unknown_electrical_code() -> None:
    for call in (
        lambda: cable.cable_capacity(2.5e-6, 3, "none"),
        lambda: cable.ambient_factor(303.15, "none"),
        lambda: cable.device_minimum(10.0, "none"),
    ):
        with pytest.raises(UnknownEntryError, match="electrical code: no entry for 'none'"):
            call()


IEC_RATINGS = [6, 10, 13, 16, 20, 25, 32, 40, 50, 63, 80, 100, 125]
NEC_RATINGS = [15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125]


@pytest.mark.parametrize(
    ("code", "ratings", "factor"),
    # Standard ratings, NEC 240.6(A); 125 % for continuous loads, NEC 210.20(A): from memory.
    [("IEC 60364", IEC_RATINGS, 1.0), ("AS/NZS 3000", IEC_RATINGS, 1.0), ("NEC", NEC_RATINGS, 1.25)],
)
def test_device_minimum(code: str, ratings: list[float], factor: float) -> None:
    previous = 0.0
    for rating in ratings:
        assert cable.device_minimum(rating / factor, code) == rating
        assert cable.device_minimum((previous + 0.01) / factor, code) == rating
        previous = rating
    with pytest.raises(OutOfRangeError) as caught:
        cable.device_minimum(125.1 / factor, code)
    assert (caught.value.low, caught.value.high) == (0.0, 125.0)


@pytest.mark.parametrize(
    ("currents", "broken"),
    # I_B <= I_n <= I_z and I_2 <= 1.45 I_z, IEC 60364-4-43: from memory.
    [
        ((13.0, 16.0, 24.0), ()),
        ((16.0, 16.0, 16.0), ()),
        ((17.0, 16.0, 24.0), ("device_below_load",)),
        ((13.0, 25.0, 24.0), ("device_above_cable", "trip_above_cable")),
        ((13.0, 16.0, 17.0, 1.6), ("trip_above_cable",)),
        ((13.0, 16.0, 17.6, 1.6), ("trip_above_cable",)),
        ((13.0, 16.0, 17.7, 1.6), ()),
        ((30.0, 25.0, 24.0), ("device_below_load", "device_above_cable", "trip_above_cable")),
    ],
)
def test_coordination(currents: tuple, broken: tuple) -> None:
    assert cable.coordination(*currents) == broken


@pytest.mark.parametrize(
    ("currents", "argument", "low", "high"),
    [
        ((-1.0, 16.0, 24.0), "design_current", 0.0, 1000.0),
        ((1.0, 1001.0, 24.0), "rating", 0.0, 1000.0),
        ((1.0, 16.0, math.nan), "capacity", 0.0, 1000.0),
        ((1.0, 16.0, 24.0, 0.99), "trip_factor", 1.0, 3.0),
        ((1.0, 16.0, 24.0, 3.01), "trip_factor", 1.0, 3.0),
    ],
)
def test_coordination_refuses(currents: tuple, argument: str, low: float, high: float) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        cable.coordination(*currents)
    assert (caught.value.argument, caught.value.low, caught.value.high) == (argument, low, high)


# --- voltages and leakage


def test_loaded_voltage() -> None:
    # 16 A through 0.5 ohm: 8 V less.
    assert e.loaded_voltage(230.0, 16.0, 0.5) == pytest.approx(222.0)
    with pytest.raises(OutOfRangeError) as caught:
        e.loaded_voltage(230.0, 100.0, 2.5)
    assert (caught.value.argument, caught.value.high) == ("drop", 230.0)


def test_voltage_unbalance() -> None:
    # NEMA MG 1, from memory: 460, 467, 450 V have mean 459, deviation 9, unbalance 1.96 %.
    assert e.voltage_unbalance(460.0, 467.0, 450.0) == pytest.approx(0.0196, abs=5e-5)
    assert e.voltage_unbalance(400.0, 400.0, 400.0) == 0.0


@pytest.mark.parametrize(
    ("watts", "milliamps"),
    # 0.75 mA per kW, at least 0.75 mA, at most 5 mA, IEC 60335-1 clause 13: from memory.
    [(0.0, 0.75), (500.0, 0.75), (1000.0, 0.75), (4000.0, 3.0), (6600.0, 4.95), (9000.0, 5.0)],
)
def test_expected_leakage(watts: float, milliamps: float) -> None:
    assert e.expected_leakage(watts) * 1000 == pytest.approx(milliamps)


A, V = (0, 10_000), (1, 1000)
SECTION = (0.5e-6, 50e-6)


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
        (
            cable.conductor_resistance,
            {"section": 2.5e-6, "length": 1.0, "T": 293.15},
            {"section": SECTION, "length": (0, 1000), "T": (233.15, 423.15)},
        ),
        (
            cable.voltage_drop,
            {"current": 16.0, "length": 20.0, "section": 2.5e-6, "power_factor": 1.0, "phases": 1},
            {"current": (0, 1000), "length": (0, 1000), "section": SECTION, "power_factor": (0, 1)},
        ),
        (cable.ambient_factor, {"T": 303.15}, {"T": (263.15, 343.15)}),
        (cable.grouping_factor, {"circuits": 3}, {"circuits": (1, 100)}),
        (cable.cable_capacity, {"section": 2.5e-6, "loaded": 3}, {"section": SECTION}),
        (
            cable.derated_capacity,
            {"section": 2.5e-6, "loaded": 3, "T": 303.15, "circuits": 2},
            {"section": SECTION, "T": (263.15, 343.15), "circuits": (1, 100)},
        ),
        (
            cable.minimum_section,
            {"current": 16.0, "loaded": 3, "T": 303.15, "circuits": 2},
            {"current": (0, 1000), "T": (263.15, 343.15), "circuits": (1, 100)},
        ),
        (cable.device_minimum, {"design_current": 10.0}, {"design_current": (0, 1000)}),
    ],
    ids=lambda found: getattr(getattr(found, "info", None), "name", ""),
)
def test_valid_ranges(kernel, good, bounds) -> None:
    check_bounds(kernel, good, bounds)
