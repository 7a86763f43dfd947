"""A fill by hand on a network so plain that each pressure can be written down.

The main: 4 bar without flow, 3 bar at 0.1 L/s, so 4e5 - 1e5 (Q/1e-4)^2 (the hydrant-flow-test relation).
"""

from __future__ import annotations

import math

import pytest

from procgen.engineering import fill_network
from procgen.engineering import filling as f
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.unavailable import UnavailableError

T = 288.15
PLAIN = f.FillNetwork(f.Mains(4e5, 1e-4, 3e5), T)
LPM = 1e-3 / 60.0


def with_pump(**figures: float) -> f.FillNetwork:
    """The plain main with a pump behind it."""
    return PLAIN._replace(pump=f.Pump(**figures))


def test_what_is_not_told_is_nothing() -> None:
    """Unstated losses are none. Drawn tubing: 0.0015 mm (Moody's table, as Crane TP-410 has it)."""
    reducer = f.Reducer(3e5)
    assert (reducer.nominal_flow, reducer.droop_fraction, reducer.open_loss) == (0.0, 0.0, 0.0)
    hose = f.Hose(0.008, 1.0)
    assert (hose.roughness, hose.K) == (0.0015e-3, 0.0)
    pump = f.Pump(5e5, 1e-4)
    assert (pump.slip, pump.bypass_slope, pump.flow_at_setting, pump.minimum_inlet_gauge) == (0.0,) * 4
    assert (PLAIN.check_valve_cracking, PLAIN.elevation) == (0.0, 0.0)


def test_pressure_without_flow() -> None:
    """4 bar; 3 bar behind a reducer, plus 5 bar of the pump, less 0.2 bar of the check valve: 7.8 bar."""
    assert f.equilibrium_gauge(PLAIN) == 4e5
    way = PLAIN._replace(reducer=f.Reducer(3e5), pump=f.Pump(5e5, 1e-4), check_valve_cracking=0.2e5
    )  # fmt: skip
    assert f.equilibrium_gauge(way) == pytest.approx(7.8e5, abs=1e-6)
    # 50 m up nothing arrives: 50 m of water are 4.9 bar.
    assert f.equilibrium_gauge(PLAIN._replace(elevation=50.0)) == 0.0


def test_a_main_that_cannot_give_the_flow() -> None:
    """At 0.3 L/s the relation says 4 - 9 = -5 bar: what a reducer behind it can do no more than pass on."""
    assert f.fill_residual(PLAIN, 3e-4) == pytest.approx(-5e5, abs=1e-3)
    reduced = PLAIN._replace(reducer=f.Reducer(3e5))
    assert f.fill_residual(reduced, 3e-4) == pytest.approx(-5e5, abs=1e-3)
    # -0.5 bar is no vacuum yet; -1 bar is the end, and above it nothing is added.
    assert f.fill_residual(reduced, 1e-4 * math.sqrt(4.5)) == pytest.approx(-0.5e5, abs=1e-3)
    assert f.fill_residual(reduced, 0.0) == pytest.approx(3e5, abs=1e-3)
    assert f.fill_residual(reduced, 1e-4 * math.sqrt(5.01)) == pytest.approx(-1.01e5, abs=1e-3)


def test_ends_of_the_flow_that_may_be_asked_for() -> None:
    for flow in (math.nextafter(0.0, -1.0), math.nextafter(1.0, 2.0)):
        with pytest.raises(OutOfRangeError) as caught:
            f.fill_residual(PLAIN, flow)
        assert (caught.value.argument, caught.value.low, caught.value.high) == ("flow", 0.0, 1.0)
    assert f.fill_residual(PLAIN, 1.0) < 0.0


@pytest.mark.parametrize(
    ("part", "field", "low", "high"),
    [
        ("mains", "static_gauge", 0.0, 2e7),
        ("mains", "flow_measured", 1e-9, 1.0),
        ("mains", "flowing_gauge", 0.0, 4e5),
        ("", "check_valve_cracking", 0.0, 1e6),
        ("pump", "rise", 0.0, 5e6),
        ("pump", "displacement_flow", 1e-9, 1e-2),
        ("pump", "slip", 0.0, 1e-6),
        ("pump", "bypass_slope", 0.0, 1e12),
        ("pump", "flow_at_setting", 0.0, 1e-2),
        ("pump", "minimum_inlet_gauge", -1e5, 5e6),
    ],
)
def test_ends_of_a_network(part: str, field: str, low: float, high: float) -> None:
    """200 bar of pressure, 1 m3/s, 50 bar and 10 L/s of a pump: the ranges stated for the kernels."""
    whole = with_pump(rise=5e5, displacement_flow=1e-4)

    def network(found: float) -> f.FillNetwork:
        if not part:
            return whole._replace(**{field: found})
        return whole._replace(**{part: getattr(whole, part)._replace(**{field: found})})

    for inside in (low, high):
        try:
            f.equilibrium_gauge(network(inside))
        except OutOfRangeError as other:  # a static pressure below the flowing one
            assert other.argument != field
    for outside in (math.nextafter(low, -math.inf), math.nextafter(high, math.inf)):
        with pytest.raises(OutOfRangeError) as caught:
            f.equilibrium_gauge(network(outside))
        assert (caught.value.argument, caught.value.low, caught.value.high) == (field, low, high)


def test_flow_that_just_begins() -> None:
    """As much pressure behind as before: none. A hundredth of a pascal less: 1e-4 sqrt(0.01/1e5) m3/s."""
    still = f.solve_fill_flow(PLAIN, 4e5)
    assert (still.flow, still.limited_by) == (0.0, "none")
    moving = f.solve_fill_flow(PLAIN, 4e5 - 0.01)
    assert moving.limited_by == "mains"
    assert moving.flow == pytest.approx(1e-4 * math.sqrt(1e-7), rel=1e-4)


@pytest.mark.parametrize("left", [0.01, 0.0, -0.01])
def test_a_flow_that_is_met_at_once(left: float) -> None:
    """The first flow that is tried is the answer, or a hair beside it: 1e-4 sqrt(4e5/(4e5 - left))."""
    network = f.FillNetwork(f.Mains(4e5, 1e-4, max(left, 0.0)), T)
    found = f.solve_fill_flow(network, max(-left, 0.0))
    assert found.flow == pytest.approx(1e-4 * (1.0 + left / 8e5), rel=1e-11)
    assert found.limited_by == "mains"


def test_no_more_flows_than_main_and_orifices_let_through() -> None:
    """4 bar at rest: 4e5 = 1e5 (Q/1e-4)^2 lets 0.2 L/s through; an orifice of 3e13 Pa/(m3/s)^2 beside it 0.1;
    behind a reducer the orifice alone counts; where nothing of both is there, the search begins anywhere."""
    way = fill_network._Way(PLAIN)
    assert way.more_than(4e5) == pytest.approx(2e-4, rel=1e-12)
    way.orifices = 3e13
    assert way.more_than(4e5) == pytest.approx(1e-4, rel=1e-12)
    behind = fill_network._Way(PLAIN._replace(reducer=f.Reducer(3e5)))
    behind.orifices = 3e13
    assert behind.more_than(3e5) == pytest.approx(1e-4, rel=1e-12)
    behind.orifices = 0.0
    assert 0.0 < behind.more_than(3e5) < 1e-3


def test_nothing_limits() -> None:
    """A main that keeps its pressure, and nothing behind it: sought up to 1 m3/s."""
    with pytest.raises(UnavailableError) as caught:
        f.solve_fill_flow(f.FillNetwork(f.Mains(4e5, 1e-4, 4e5), T))
    assert (caught.value.id, caught.value.details) == ("fill.nothing_limits", {"flow": 1.0})


def test_beyond_the_cartridge() -> None:
    """A cartridge measured to 0.02 L/s may be read to 0.03 L/s; 4 bar would drive more through 0.1 bar."""
    network = PLAIN._replace(mains=f.Mains(4e5, 1e-2, 3e5), treatment=((1e-5, 4e3), (2e-5, 1e4)))
    with pytest.raises(OutOfRangeError) as caught:
        f.solve_fill_flow(network)
    assert (caught.value.argument, caught.value.low) == ("flow", 0.0)
    assert caught.value.high == pytest.approx(3e-5, rel=1e-12)


@pytest.mark.parametrize(
    ("minimum", "flow", "limit"),
    [
        (1e5, 1e-4 * math.sqrt(3.0), "starved"),
        (-1e5, 1e-4 * math.sqrt(5.0), "starved"),
        (4e5 - 0.01, 1e-4 * math.sqrt(1e-7), "starved"),
        (4e5, 0.0, "starved"),
        (4e5 + 0.01, 0.0, "starved"),
    ],
)
def test_a_pump_starves(minimum: float, flow: float, limit: str) -> None:
    """4 bar - 1 bar (Q/1e-4)^2 is the least inlet pressure at Q = 1e-4 sqrt(4 - p_min)."""
    network = with_pump(rise=5e5, displacement_flow=1e-2, minimum_inlet_gauge=minimum)
    found = f.solve_fill_flow(network)
    assert found.limited_by == limit
    assert found.flow == pytest.approx(flow, rel=1e-4 if flow < 1e-6 else 1e-9, abs=1e-15)
    assert found.pump_inlet_gauge == pytest.approx(4e5 if flow == 0.0 else minimum, abs=1e-3)
    # A starved pump adds what the rest of the way takes: here nothing, down to the vented boiler.
    assert found.nodes[-1][1] == pytest.approx(0.0, abs=1e-3)


@pytest.mark.parametrize(("minimum", "limit"), [(3e5 + 0.01, "starved"), (3e5, "pump"), (3e5 - 0.01, "pump")])
def test_displacement_or_starving(minimum: float, limit: str) -> None:
    """A pump that passes 0.1 L/s at most leaves 3 bar before it."""
    network = with_pump(rise=5e5, displacement_flow=1e-4, minimum_inlet_gauge=minimum)
    found = f.solve_fill_flow(network)
    assert (found.limited_by, found.flow) == (limit, pytest.approx(1e-4, rel=1e-6))


def test_displacement_with_hardly_anything_left() -> None:
    """Half the flow leaves 4 - 0.25 = 3.75 bar; a hundredth of a pascal more than the boiler's."""
    found = f.solve_fill_flow(with_pump(rise=0.0, displacement_flow=5e-5), 3.75e5 - 0.01)
    assert (found.limited_by, found.flow) == ("pump", 5e-5)
    assert found.residual == pytest.approx(0.01, abs=1e-6)


SLOPED = {"rise": 5e5, "displacement_flow": 2e-4, "slip": 1e-10, "bypass_slope": 1e9}


@pytest.mark.parametrize(("flow", "at_setting", "rise"), [(1e-4, 5e-5, 4.5e5), (5e-5, 1e-4, 5.5e5)])
def test_a_bypass_that_gives_way(flow: float, at_setting: float, rise: float) -> None:
    """5 bar at the setting's flow, 0.01 bar more or less a mL/s beside it; slip would allow 10 bar."""
    network = with_pump(**SLOPED, flow_at_setting=at_setting)
    inlet = 4e5 - 1e5 * (flow / 1e-4) ** 2
    found = f.solve_fill_flow(network, inlet + rise)
    assert found.flow == pytest.approx(flow, rel=1e-9)
    assert found.limited_by == "mains"
    assert dict(found.nodes)["pump"] == pytest.approx(inlet + rise, abs=1e-3)
    assert found.nodes[-1][1] == pytest.approx(inlet + rise, abs=1e-3)


def test_a_bypass_wide_open() -> None:
    """1 bar less 2 bar of a steep bypass is no suction: the pump adds nothing, and does not limit."""
    network = with_pump(rise=1e5, displacement_flow=1e-2, slip=1e-10, bypass_slope=1e10)
    assert f.fill_residual(network, 2e-5) == pytest.approx(3.96e5, abs=1e-3)
    found = f.solve_fill_flow(network, 3.96e5)
    assert (found.limited_by, found.flow) == ("mains", pytest.approx(2e-5, rel=1e-9))


def test_a_pump_that_falls_one_per_cent_short() -> None:
    """Slip leaves (2e-4 - 1e-4)/s of rise; with s so that this is 99 % of the bypass, the pump limits."""
    slip = 1e-4 / (0.99 * 5e5)
    network = with_pump(rise=5e5, displacement_flow=2e-4, slip=slip)
    found = f.solve_fill_flow(network, 3e5 + 0.99 * 5e5)
    assert found.flow == pytest.approx(1e-4, rel=1e-9)
    assert found.limited_by == "pump"


def test_runs_without_a_pause() -> None:
    """11 L at 2.5 L/min and a time-out of 120 s: 5 L, 10 L, then 24 s for the last."""
    V, Q = 0.011, 2.5 * LPM
    corners = [(0.0, 0.0), (120.0, 0.005), (240.0, 0.010), (264.0, 0.011)]
    curve = f.level_curve(V, Q, 120.0)
    assert len(curve) == len(corners)
    for found, hand in zip(curve, corners, strict=True):
        assert found == pytest.approx(hand, rel=1e-12)
    # The shortest pause is a pause.
    assert [t for t, _ in f.level_curve(V, Q, 120.0, reset_pause=0.01)] == pytest.approx(
        [0.0, 120.0, 120.01, 240.01, 240.02, 264.02], rel=1e-12
    )


@pytest.mark.parametrize(("low", "high"), [(0.0, 10.0)])
def test_ends_of_the_sweep(low: float, high: float) -> None:
    """From no volume to ten (own convention); none leaves no water to waste."""
    given = (1e-3, 1e-5, 1e-5, 3e5, 1e5)
    none = f.brew_fill_time(*given, sweep=low)
    assert (none.water_to_waste, none.time) == (0.0, none.time_solid)
    for outside in (math.nextafter(low, -1.0), math.nextafter(high, 11.0)):
        with pytest.raises(OutOfRangeError) as caught:
            f.brew_fill_time(*given, sweep=outside)
        assert (caught.value.low, caught.value.high) == (low, high)


def test_ends_of_the_pause() -> None:
    for outside in (math.nextafter(0.0, -1.0), math.nextafter(1e5, math.inf)):
        with pytest.raises(OutOfRangeError) as caught:
            f.level_curve(0.011, 2.5 * LPM, 120.0, reset_pause=outside)
        assert (caught.value.argument, caught.value.low, caught.value.high) == ("reset_pause", 0.0, 1e5)
