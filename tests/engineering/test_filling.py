"""Filling against a network and an air cushion solved from scratch, and figures by hand."""

import doctest
import math

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from procgen.engineering import filling as f
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.unavailable import UnavailableError

from . import outside
from .oracle import agrees

T15 = 288.15
LPM = 1 / 60e3
CURVE = ((2 * LPM, 1e4), (5 * LPM, 5e4), (10 * LPM, 1.8e5))
NETWORK = f.FillNetwork(
    f.Mains(4e5, 20 * LPM, 2.5e5),
    T15,
    reducer=f.Reducer(3.5e5, 15 * LPM, 0.2, 0.3e5),
    treatment=CURVE,
    hoses=(f.Hose(0.008, 1.5, K=3.0), f.Hose(0.010, 3.0)),
    pump=f.Pump(5e5, 5 * LPM, 2e-12),
    check_valve_cracking=5e3,
    orifices=(f.Orifice(1.5e-3, 0.7),),
    elevation=0.9,
)
PLAIN = NETWORK._replace(pump=None)


def oracle_pressure(Q, network, back):
    """Pressure left over, with properties and friction from elsewhere."""
    rho, mu = (PropsSI(key, "T", network.T, "P", 101325, "Water") for key in "DV")
    m = network.mains
    p = m.static_gauge - (m.static_gauge - m.flowing_gauge) * (Q / m.flow_measured) ** 2
    if network.reducer:
        r = network.reducer
        x = Q / r.nominal_flow
        p = min(r.setting_gauge * (1 - r.droop_fraction * x), p - r.open_loss * x * x)
    pts = network.treatment
    if pts and Q > 0:
        k = 1 if len(pts) == 2 or pts[1][0] >= Q else 2
        (q1, d1), (q2, d2) = pts[k - 1], pts[k]
        p -= math.exp(math.log(d1) + math.log(d2 / d1) * math.log(Q / q1) / math.log(q2 / q1))
    for hose in network.hoses:
        v = Q / (math.pi * hose.bore**2 / 4)
        Re = rho * v * hose.bore / mu

        def rough(Re, eD=hose.roughness / hose.bore):
            return brentq(
                lambda x: 1 / math.sqrt(x) + 2 * math.log10(eD / 3.7 + 2.51 / (Re * math.sqrt(x))), 1e-3, 1
            )

        if Re <= 2000:
            friction = 64 / max(Re, 1e-9)
        elif Re >= 4000:
            friction = rough(Re)
        else:
            friction = 0.032 + (Re - 2000) / 2000 * (rough(4000) - 0.032)
        p -= (friction * hose.length / hose.bore + hose.K) * rho * v * v / 2
    p -= rho * 9.80665 * network.elevation
    if network.pump:
        b = network.pump
        p += min(b.rise, (b.displacement_flow - Q) / b.slip)
    for o in network.orifices:
        p -= (Q / (o.Cd * math.pi * o.d**2 / 4)) ** 2 * rho / 2
    return p - network.check_valve_cracking - back


def test_worked_example():
    result = doctest.testmod(f)
    assert (result.failed, result.attempted) == (0, 1)


@pytest.mark.parametrize("back", [0.0, 1e5])
@pytest.mark.parametrize(
    "network",
    [
        NETWORK,
        PLAIN,
        PLAIN._replace(reducer=None),
        PLAIN._replace(orifices=(f.Orifice(0.8e-3, 0.62),)),
        NETWORK._replace(orifices=(f.Orifice(3e-3, 0.8),), mains=f.Mains(6e5, 20 * LPM, 5e5)),
    ],
)
def test_flow_against_a_network_from_scratch(network, back):
    expected = brentq(oracle_pressure, 1e-9, 12 * LPM, args=(network, back), xtol=1e-15)
    found = f.solve_fill_flow(network, back)
    agrees(f.solve_fill_flow, found.flow, expected, outside.NETWORK, rel=2e-4)
    assert abs(found.residual) < 1.0
    assert abs(f.fill_residual(network, found.flow, back)) < 1.0
    assert found.nodes[-1][1] == pytest.approx(back, abs=1.0)


def test_bare_orifice_on_a_stiff_main():
    # Arithmetic: 7 bar through 0.8 mm, Cd 0.62, 15 °C: 11.666 mL/s.
    network = f.FillNetwork(f.Mains(7e5, LPM, 7e5), T15, orifices=(f.Orifice(0.8e-3, 0.62),))
    found = f.solve_fill_flow(network)
    agrees(f.solve_fill_flow, found.flow * 1e6, 11.666, outside.HAND, abs=6e-4, unit="mL/s")
    assert found.limited_by == "orifice"
    assert [name for name, _ in found.nodes] == ["mains", "inlet", "check_valve", "orifice"]


def test_what_limits():
    assert f.solve_fill_flow(PLAIN._replace(orifices=(f.Orifice(0.8e-3, 0.62),))).limited_by == "orifice"
    assert f.solve_fill_flow(PLAIN._replace(orifices=(f.Orifice(6e-3, 0.8),))).limited_by == "mains"
    small = NETWORK.pump._replace(displacement_flow=2 * LPM)
    found = f.solve_fill_flow(NETWORK._replace(pump=small))
    assert found.limited_by == "pump"
    assert found.flow / LPM == pytest.approx(2.0, rel=0.05)
    rigid = small._replace(slip=0.0)
    found = f.solve_fill_flow(NETWORK._replace(pump=rigid))
    assert (found.limited_by, found.flow) == ("pump", 2 * LPM)
    assert found.nodes[-1][1] == pytest.approx(0.0, abs=1e-6)


def test_a_strong_pump_on_a_weak_main_starves():
    network = NETWORK._replace(mains=f.Mains(0.8e5, 3 * LPM, 0.1e5), reducer=None)
    found = f.solve_fill_flow(network._replace(orifices=(f.Orifice(3e-3, 0.8),)))
    assert found.limited_by == "starved"
    assert found.pump_inlet_gauge == pytest.approx(0.0, abs=1e-3)
    assert found.residual > 1e3
    assert found.nodes[-1][1] == pytest.approx(0.0, abs=1e-3)


def test_no_flow_against_more_pressure_than_there_is():
    found = f.solve_fill_flow(PLAIN, 5e5)
    assert (found.flow, found.limited_by) == (0.0, "none")


def test_flow_beyond_the_curve_is_refused():
    network = PLAIN._replace(treatment=((0.2 * LPM, 1e2), (0.5 * LPM, 4e2)))
    with pytest.raises(OutOfRangeError) as caught:
        f.solve_fill_flow(network)
    assert caught.value.high == pytest.approx(0.75 * LPM)


def test_nothing_that_limits():
    with pytest.raises(UnavailableError) as caught:
        f.solve_fill_flow(f.FillNetwork(f.Mains(4e5, LPM, 4e5), T15))
    assert caught.value.id == "fill.nothing_limits"


def test_bypass_slope_lifts_and_lowers():
    pump = f.Pump(5e5, 5 * LPM, 0.0, bypass_slope=1e10, flow_at_setting=2e-5)
    base = f.fill_residual(NETWORK._replace(pump=pump._replace(bypass_slope=0.0)), 1e-5)
    agrees(
        f.fill_residual,
        f.fill_residual(NETWORK._replace(pump=pump), 1e-5) - base,
        1e5,
        outside.HAND,
        rel=1e-6,
    )


def test_equilibrium():
    head = PropsSI("D", "T", T15, "P", 101325, "Water") * 9.80665 * 0.9
    agrees(f.equilibrium_gauge, f.equilibrium_gauge(PLAIN), 3.5e5 - head - 5e3, outside.COOLPROP, rel=1e-5)
    agrees(f.equilibrium_gauge, f.equilibrium_gauge(NETWORK), 8.5e5 - head - 5e3, outside.COOLPROP, rel=1e-5)


@settings(max_examples=40, deadline=None)
@given(st.floats(1e5, 9e5), st.floats(1e5, 9e5))
def test_more_mains_pressure_never_fills_slower(a, b):
    low, high = sorted((a, b))
    slow, fast = (
        f.solve_fill_flow(PLAIN._replace(reducer=None, mains=f.Mains(p, 20 * LPM, 0.6 * p))).flow
        for p in (low, high)
    )
    assert slow <= fast * (1 + 1e-9)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.0, 2.5e5), st.floats(0.0, 2.5e5))
def test_more_back_pressure_never_fills_faster(a, b):
    low, high = sorted((a, b))
    fast, slow = (f.solve_fill_flow(NETWORK, p).flow for p in (low, high))
    assert slow <= fast * (1 + 1e-9)


# Arithmetic; the last is the policy at the limit, with and without rounding noise.
@pytest.mark.parametrize(
    ("t", "timeout", "runs"),
    [
        (264, 120, 3),
        (120, 120, 1),
        (0, 120, 1),
        (120.001, 120, 2),
        (240 * (1 + 2e-16), 120, 2),
        (720.1, 120, 7),
    ],
)
def test_runs_and_resets(t, timeout, runs):
    agrees(f.pump_runs, f.pump_runs(t, timeout), runs, outside.HAND)
    agrees(f.resets, f.resets(t, timeout), runs - 1, outside.HAND)
    agrees(f.stop_and_check_runs, f.stop_and_check_runs(runs), runs + 1, outside.PRACTICE)


def test_noise_is_not_a_run():
    agrees(f.pump_runs, f.pump_runs(f.fill_time(0.010, 5 * LPM), 120.0), 1, outside.HAND)
    agrees(f.fill_time, f.fill_time(0.011, 2.5 * LPM), 264.0, outside.HAND, rel=1e-6)
    agrees(f.pump_runs, f.pump_runs(120.0 + 1e-8, 120.0), 1, outside.HAND)
    agrees(f.pump_runs, f.pump_runs(120.0 + 1e-6, 120.0), 2, outside.HAND)


def test_ordinary_machine_takes_three_to_six_runs():
    # Common practice, no source: time-out 120 s; 11 L behind a 0.8 mm restrictor and a pump.
    network = NETWORK._replace(pump=None, orifices=(f.Orifice(1.3e-3, 0.75),))
    t = f.fill_time(0.011, f.solve_fill_flow(network).flow)
    assert 3 <= f.pump_runs(t, 120.0) <= 6


@pytest.mark.parametrize(("bar", "share"), [(2, 0.664), (3, 0.748), (4, 0.798), (5, 0.831)])
def test_trapped_air(bar, share):
    # Arithmetic: isothermal.
    agrees(f.filled_share, f.filled_share(bar * 1e5, 101325.0), share, outside.HAND, abs=5e-4)
    agrees(f.trapped_air_share, f.trapped_air_share(bar * 1e5, 101325.0), 1 - share, outside.HAND, abs=5e-4)


def test_trapped_air_at_one_bar():
    agrees(f.filled_share, f.filled_share(3e5, 1e5), 0.75, outside.HAND, rel=1e-6)


def test_closed_fill_against_an_integration():
    # dv/dt = Q0·√(1 − p/p_g) to a hair before the end, where the analytic remainder is below 1e-4.
    V, Q0, p_g, p_atm = 0.8e-3, 2e-5, 3e5, 9e4
    end = V * p_g / (p_g + p_atm)

    def rate(_, v):
        return [Q0 * math.sqrt(max(0.0, 1 - p_atm * v[0] / (V - v[0]) / p_g))]

    def there(_, v):
        return v[0] - end * (1 - 1e-9)

    there.terminal = True
    run = solve_ivp(rate, (0, 500), [0.0], events=there, rtol=1e-10, atol=1e-16)
    agrees(
        f.closed_fill_time,
        f.closed_fill_time(V, Q0, p_g, p_atm),
        run.t_events[0][0],
        outside.QUADRATURE,
        rel=2e-4,
    )


def test_closed_fill_against_the_network():
    # Network solved at each back pressure; losses of hose and cartridge are not quite quadratic.
    V, p_atm = 1e-3, 101325.0
    network = PLAIN._replace(orifices=(f.Orifice(1e-3, 0.7),))
    p_g = f.equilibrium_gauge(network)
    end = 0.999 * V * p_g / (p_g + p_atm)

    def rate(_, v):
        return [max(1e-12, f.solve_fill_flow(network, max(0.0, p_atm * v[0] / (V - v[0]))).flow)]

    def there(_, v):
        return v[0] - end

    there.terminal = True
    run = solve_ivp(rate, (0, 500), [0.0], events=there, rtol=1e-6, atol=1e-12)
    found = f.closed_fill_time(V, f.solve_fill_flow(network).flow, p_g, p_atm)
    assert found == pytest.approx(run.t_events[0][0], rel=0.03)


def test_brew_fill_adds_up():
    p_g, p_atm = 3e5, 1e5
    found = f.brew_fill_time(0.8e-3, 2e-5, 1e-5, p_g, p_atm)
    agrees(f.brew_fill_time, found.trapped_air, 0.2e-3, outside.HAND, rel=1e-6)
    agrees(f.brew_fill_time, found.volume_closed, 0.6e-3, outside.HAND, rel=1e-6)
    agrees(f.brew_fill_time, found.time_solid - found.time_closed, 20.0, outside.HAND, rel=1e-6)
    agrees(f.brew_fill_time, found.time - found.time_solid, 80.0, outside.HAND, rel=1e-6)
    agrees(f.brew_fill_time, found.water_to_waste, 0.8e-3, outside.HAND, rel=1e-6)
    assert f.brew_fill_time(0.8e-3, 2e-5, 1e-5, p_g, p_atm, sweep=2.5).time == pytest.approx(
        found.time_solid + 200.0
    )
    with pytest.raises(OutOfRangeError):
        f.brew_fill_time(0.8e-3, 2e-5, 1e-5, p_g, p_atm, sweep=math.nan)


def test_level_curve_stands_still_at_each_time_out():
    curve = f.level_curve(0.011, 2.5 * LPM, 120.0, reset_pause=30.0)
    agrees(f.level_curve, [t for t, _ in curve], [0, 120, 150, 270, 300, 324], outside.HAND, rel=1e-6)
    agrees(f.level_curve, [v * 1e3 for _, v in curve], [0, 5, 5, 10, 10, 11], outside.HAND, rel=1e-6)
    assert len(f.level_curve(0.010, 5 * LPM, 120.0)) == 2
    with pytest.raises(OutOfRangeError):
        f.level_curve(0.011, 2.5 * LPM, 120.0, reset_pause=-1.0)


@pytest.mark.parametrize("bad", [float("nan"), -1.0])
def test_outside_the_range(bad):
    with pytest.raises(OutOfRangeError):
        f.fill_time(bad, 1e-4)
    with pytest.raises(OutOfRangeError):
        f.pump_runs(bad, 120.0)
    with pytest.raises(OutOfRangeError):
        f.filled_share(bad, 1e5)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -2e5])
def test_a_network_of_wrong_numbers_is_refused(bad):
    for network in (
        PLAIN._replace(mains=f.Mains(bad, 20 * LPM, 2.5e5)),
        PLAIN._replace(mains=f.Mains(4e5, bad, 2.5e5)),
        PLAIN._replace(mains=f.Mains(4e5, 20 * LPM, bad)),
        PLAIN._replace(check_valve_cracking=bad),
        PLAIN._replace(hoses=(f.Hose(0.008, bad),)),
        PLAIN._replace(orifices=(f.Orifice(bad, 0.7),)),
        PLAIN._replace(reducer=f.Reducer(bad)),
        PLAIN._replace(T=bad),
        NETWORK._replace(pump=f.Pump(bad, 5 * LPM)),
        NETWORK._replace(pump=f.Pump(5e5, bad)),
        NETWORK._replace(pump=f.Pump(5e5, 5 * LPM, bad)),
        PLAIN._replace(elevation=math.nan),
    ):
        with pytest.raises(OutOfRangeError):
            f.solve_fill_flow(network)
    with pytest.raises(OutOfRangeError):
        f.solve_fill_flow(PLAIN, bad)


def test_a_flowing_reading_above_the_static_one_is_refused():
    with pytest.raises(OutOfRangeError):
        f.solve_fill_flow(PLAIN._replace(mains=f.Mains(2e5, 20 * LPM, 2.5e5)))


@settings(max_examples=60, deadline=None)
@given(
    static=st.floats(0.5e5, 9e5),
    drop=st.floats(0.0, 0.9),
    bore=st.floats(0.4e-3, 8e-3),
    hose=st.floats(0.004, 0.02),
    rise=st.floats(0.0, 10e5),
    slip=st.sampled_from([0.0, 1e-12, 2e-11]),
    back=st.floats(0.0, 3e5),
)
def test_any_network_balances_or_says_what_stops_it(static, drop, bore, hose, rise, slip, back):
    network = NETWORK._replace(
        mains=f.Mains(static, 10 * LPM, static * (1 - drop)),
        hoses=(f.Hose(hose, 2.0, K=2.0),),
        pump=f.Pump(rise, 4 * LPM, slip),
        orifices=(f.Orifice(bore, 0.7),),
    )
    found = f.solve_fill_flow(network, back)
    assert 0.0 <= found.flow < 15 * LPM
    assert all(math.isfinite(p) for _, p in found.nodes)
    if found.limited_by in ("orifice", "mains"):
        assert abs(found.residual) < 1.0
    if found.limited_by == "pump" and slip:
        assert abs(found.residual) < 1.0
    if found.limited_by != "none":
        assert found.nodes[-1][1] == pytest.approx(back, abs=1.0)
        assert found.limited_by == "starved" or found.pump_inlet_gauge >= -1.0


def test_bounds_of_the_rest():
    assert f.pump_runs(120.0 * (1 + 0.99e-9), 120.0) == 1
    assert f.pump_runs(120.0 * (1 + 1.01e-9), 120.0) == 2
    assert f.Hose(0.008, 1.0).roughness == pytest.approx(1.5e-6)
    assert f.brew_fill_time(1e-3, 1e-5, 1e-5, 3e5, 1e5, sweep=10.0).water_to_waste == pytest.approx(1e-2)
    with pytest.raises(OutOfRangeError) as caught:
        f.brew_fill_time(1e-3, 1e-5, 1e-5, 3e5, 1e5, sweep=10.1)
    assert caught.value.high == 10.0
    assert f.level_curve(0.011, 2.5 * LPM, 120.0, reset_pause=1e5)[-1][0] == pytest.approx(200264.0)
    with pytest.raises(OutOfRangeError) as caught:
        f.level_curve(0.011, 2.5 * LPM, 120.0, reset_pause=1.01e5)
    assert caught.value.high == 1e5


@pytest.mark.parametrize(
    ("part", "field", "bound"),
    [
        ("mains", "static_gauge", 2e7),
        ("mains", "flow_measured", 1.0),
        ("pump", "rise", 5e6),
        ("pump", "displacement_flow", 1e-2),
        ("pump", "slip", 1e-6),
        ("pump", "bypass_slope", 1e12),
        ("pump", "flow_at_setting", 1e-2),
        ("pump", "minimum_inlet_gauge", 5e6),
        ("", "check_valve_cracking", 1e6),
    ],
)
def test_bounds_of_a_network(part, field, bound):
    def network(found):
        if not part:
            return NETWORK._replace(**{field: found})
        return NETWORK._replace(**{part: getattr(NETWORK, part)._replace(**{field: found})})

    f.equilibrium_gauge(network(bound))
    with pytest.raises(OutOfRangeError) as caught:
        f.equilibrium_gauge(network(1.01 * bound))
    assert (caught.value.argument, caught.value.high) == (field, bound)


@pytest.mark.parametrize(("back", "allowed"), [(2e7, True), (2.01e7, False), (-1e5, True), (-1.01e5, False)])
def test_bounds_of_the_back_pressure(back, allowed):
    if allowed:
        assert f.solve_fill_flow(PLAIN, back).flow >= 0.0
    else:
        with pytest.raises(OutOfRangeError):
            f.solve_fill_flow(PLAIN, back)
