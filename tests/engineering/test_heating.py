"""Heating against published examples, integrations written from scratch, and energy balances."""

import doctest
import itertools
import math
from dataclasses import replace

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from procgen.engineering import heating as h
from procgen.engineering import heating_machine as hm
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.unavailable import UnavailableError

from . import outside
from .oracle import agrees

C = 273.15


def cp(T):
    return PropsSI("C", "T", T, "P", 1e6, "Water")


def brew(mark):
    return hm.HeatedBoiler(
        mark, 0.8, 577.5, 0.8, 93 + C, (1000.0,), C_group=1540.0, UA_group=5.0, UA_room=1.0, UA_steam=0.5
    )


STEAM = hm.HeatedBoiler("S", 7.0, 3000.0, 4.0, 125 + C, (3500.0,), steam=True)
MACHINE = (STEAM, brew("K1"), brew("K2"), brew("K3"))


def test_worked_example():
    result = doctest.testmod(h)
    assert (result.failed, result.attempted) == (0, 1)


@pytest.mark.parametrize(("U", "share"), [(207, 0.81), (220, 0.9149), (230, 1.0), (240, 1.0888), (253, 1.21)])
def test_power_at_another_voltage(U, share):
    # Arithmetic.
    agrees(h.element_power, h.element_power(3000.0, 230.0, U), 3000 * share, outside.HAND, rel=1e-4)


def test_rating_tolerance():
    # IEC 60335-1, from memory: +5 % or 20 W, −10 %.
    agrees(
        h.element_power_highest,
        h.element_power_highest(3000.0),
        3150.0,
        outside.recalled("IEC 60335-1, rated input"),
        rel=1e-6,
    )
    agrees(
        h.element_power_highest,
        h.element_power_highest(300.0),
        320.0,
        outside.recalled("IEC 60335-1, rated input"),
        rel=1e-6,
    )
    agrees(
        h.element_power_lowest,
        h.element_power_lowest(3000.0),
        2700.0,
        outside.recalled("IEC 60335-1, rated input"),
        rel=1e-6,
    )


def test_linear_loss():
    # Arithmetic: C 50 kJ/K, UA 5 W/K, 3 kW, 20 °C, 15 → 95 °C.
    agrees(
        h.time_to_temperature,
        h.time_to_temperature(50e3, 5.0, 3e3, 20 + C, 15 + C, 95 + C),
        1418.3,
        outside.HAND,
        abs=0.05,
    )
    agrees(
        h.time_to_temperature,
        h.time_to_temperature(50e3, 0.0, 3e3, 20 + C, 15 + C, 95 + C),
        50e3 * 80 / 3e3,
        outside.HAND,
        rel=1e-6,
    )
    tiny, none = (h.time_to_temperature(50e3, UA, 3e3, 20 + C, 15 + C, 95 + C) for UA in (1e-7, 0.0))
    agrees(h.time_to_temperature, tiny, none, outside.HAND, rel=1e-8)
    agrees(
        h.time_to_temperature,
        h.time_to_temperature(50e3, 5.0, 3e3, 20 + C, 95 + C, 95 + C),
        0.0,
        outside.HAND,
    )


def test_published_storage_heater():
    # 125 L, 20 → 60 °C, 2 kW less 150 W, cp 4200: 11 351 s.
    agrees(
        h.time_to_temperature,
        h.time_to_temperature(125 * 4200.0, 0.0, 1850.0, 20 + C, 20 + C, 60 + C),
        11351,
        outside.STORAGE_HEATER,
        abs=1,
    )
    # With water's own heat; the example's litre of 1 kg and 4200 J/(kg·K) are 0.5 % high.
    agrees(
        h.heating_time,
        h.heating_time(125.0, (), 0.0, 1850.0, 20 + C, 20 + C, 60 + C),
        11351,
        outside.STORAGE_HEATER,
        rel=0.006,
    )


def test_published_kettle():
    # 20 L, 20 → 100 °C, 3.6 kW: 1.867 kWh, 0.52 h.
    agrees(h.heat_stored, h.heat_stored(20.0, (), 20 + C, 100 + C) / 3.6e6, 1.867, outside.KETTLE, rel=0.005)
    agrees(
        h.heating_time,
        h.heating_time(20.0, (), 0.0, 3600.0, 20 + C, 20 + C, 100 + C) / 3600,
        0.52,
        outside.KETTLE,
        abs=0.003,
        unit="hour",
    )


def test_heat_of_ten_litres():
    # By an independent library: 10 L from 20 to 125 °C take 4402.8 kJ.
    mass = 0.010 * PropsSI("D", "T", 20 + C, "P", 101325, "Water")
    agrees(h.heat_stored, h.heat_stored(mass, (), 20 + C, 125 + C), 4402.8e3, outside.COOLPROP, rel=1e-4)


def test_without_loss_it_is_heat_over_power():
    metal = ((5.0, 385.0), (2.0, 500.0))
    found = h.heating_time(10.0, metal, 0.0, 3000.0, 293.15, 290.0, 398.15)
    assert found == pytest.approx(h.heat_stored(10.0, metal, 290.0, 398.15) / 3000.0, rel=1e-9)
    agrees(h.metal_capacity, h.metal_capacity(metal), 2925.0, outside.HAND, rel=1e-6)


def test_heating_against_an_integration():
    metal, UA, P = ((5.0, 385.0), (2.0, 500.0)), 6.0, 2500.0

    def rate(_, T):
        return [(P - UA * (T[0] - 293.15)) / (10.0 * cp(T[0]) + 2925.0)]

    def there(_, T):
        return T[0] - 398.15

    there.terminal = True
    run = solve_ivp(rate, (0, 6000), [288.15], events=there, rtol=1e-9, max_step=20)
    found = h.heating_time(10.0, metal, UA, P, 293.15, 288.15, 398.15)
    agrees(h.heating_time, found, run.t_events[0][0], outside.INTEGRATED, rel=1e-3)
    curve = h.heat_curve(10.0, metal, UA, P, 293.15, 288.15, 398.15)
    assert curve[0] == (0.0, 288.15)
    assert curve[-1] == (found, 398.15)
    assert all(b[0] > a[0] and b[1] > a[1] for a, b in itertools.pairwise(curve))


def test_losses_that_eat_the_power():
    with pytest.raises(UnavailableError) as caught:
        h.heating_time(10.0, (), 10.0, 500.0, 293.15, 293.15, 398.15)
    assert caught.value.id == "heat.not_reached"
    with pytest.raises(UnavailableError):
        h.recovery_time(0.1, 300.0, 366.0, 100.0, 100.0)


@given(st.floats(500, 5000), st.floats(500, 5000))
def test_more_power_is_never_slower(a, b):
    low, high = sorted((a, b))
    slow, fast = (h.heating_time(5.0, ((2.0, 385.0),), 3.0, P, 293.15, 288.15, 398.15) for P in (low, high))
    assert fast <= slow


def test_soak():
    # τ = 1600/(4 + 1) s; T∞ = (4·93 + 1·18)/5 = 78 °C; from 18 °C to within 2 K: 320·ln 30.
    found = h.time_soak(1600.0, 4.0, 1.0, 93 + C, 18 + C, T_start=18 + C, difference=2.0)
    agrees(h.time_soak, found, 320 * math.log(30), outside.HAND, rel=1e-9)
    agrees(
        h.time_soak,
        h.time_soak(1600.0, 4.0, 1.0, 93 + C, 18 + C, T_start=77 + C, difference=2.0),
        0.0,
        outside.HAND,
    )


def test_preheating_and_recovery():
    feed = h.preheated_feed_temperature(15 + C, 125 + C, 0.6)
    agrees(h.preheated_feed_temperature, feed, 81 + C, outside.HAND, rel=1e-6)
    expected = 0.06 * cp(87 + C) * 12 / 900
    agrees(
        h.recovery_time,
        h.recovery_time(0.06, feed, 93 + C, 1000.0, 100.0),
        expected,
        outside.COOLPROP,
        rel=2e-3,
    )
    assert h.recovery_time(0.06, 95 + C, 93 + C, 1000.0, 100.0) == 0.0


@pytest.mark.parametrize(("cold", "share"), [(20, 0.03627), (15, 0.03720)])
def test_expansion(cold, share):
    agrees(
        h.expansion_volume,
        h.expansion_volume(0.011, cold + C, 93 + C),
        0.011 * share,
        outside.COOLPROP,
        rel=5e-4,
    )


def test_one_boiler_of_a_machine_is_that_boiler():
    found = hm.machine_heating((STEAM,), 293.15, 288.15)
    metal = ((1.0, 3000.0),)
    assert found.time_setpoint == pytest.approx(
        h.heating_time(7.0, metal, 4.0, 3500.0, 293.15, 288.15, 398.15), rel=2e-4
    )
    boil = h.heating_time(7.0, metal, 4.0, 3500.0, 293.15, 288.15, 373.124)
    assert found.boilers[0].time_boil == pytest.approx(boil, rel=1e-3)
    within = h.heating_time(7.0, metal, 4.0, 3500.0, 293.15, 288.15, 397.15)
    assert found.boilers[0].time_within == pytest.approx(within, rel=1e-3)
    assert found.time_ready == found.time_setpoint
    assert found.peak_power == 3500.0


def oracle_machine(T_amb, T_start):
    """All elements on at once, no limit; bang-bang-free hold at set point; written from scratch."""
    held = {}
    n = len(MACHINE)

    def rate(_, y):
        T, G = y[:n], y[n:]
        out = []
        for i, b in enumerate(MACHINE):
            q = b.UA * (T[i] - T_amb) + b.UA_group * (T[i] - G[i])
            q -= b.UA_steam * (T[0] - T[i])
            if i == 0:
                q += sum(o.UA_steam * (T[0] - T[k]) for k, o in enumerate(MACHINE))
            rise = (b.elements[0] - q) / (b.m_water * cp(T[i]) + b.C_metal)
            out.append(max(0.0, -q / (b.m_water * cp(T[i]) + b.C_metal)) if i in held else rise)
        for i, b in enumerate(MACHINE):
            out.append((b.UA_group * (T[i] - G[i]) - b.UA_room * (G[i] - T_amb)) / max(b.C_group, 1.0))
        return out

    clock, y = 0.0, [T_start] * n + [T_amb] * n
    while len(held) < n:
        events = []
        for i, b in enumerate(MACHINE):
            if i not in held:

                def event(_, y, i=i, T=b.T_set):
                    return y[i] - T

                event.terminal = True
                events.append(event)
        run = solve_ivp(rate, (clock, clock + 1e4), y, events=events, rtol=1e-8, max_step=20)
        clock, y = run.t[-1], list(run.y[:, -1])
        for i, b in enumerate(MACHINE):
            if i not in held and y[i] >= b.T_set - 1e-6:
                held[i] = (clock, y[n + i])
    return held


def test_machine_against_an_integration():
    found = hm.machine_heating(MACHINE, 293.15, 288.15)
    held = oracle_machine(293.15, 288.15)
    for i, boiler in enumerate(found.boilers):
        at, group = held[i]
        agrees(hm.machine_heating, boiler.time_setpoint, at, outside.INTEGRATED, rel=1.5e-3)
        b = MACHINE[i]
        if b.UA_group:
            final = (5 * b.T_set + 1 * 293.15) / 6
            ready = at + b.C_group / 6 * math.log((final - group) / 2.0)
            agrees(hm.machine_heating, boiler.time_ready, ready, outside.INTEGRATED, rel=2e-3)
    assert found.time_ready == max(b.time_ready for b in found.boilers)
    agrees(hm.machine_heating, found.peak_power, 6500.0, outside.HAND)


@pytest.mark.parametrize("limit", [math.inf, 4600.0, 3500.0])
def test_energy_balance_closes(limit):
    found = hm.machine_heating(MACHINE, 293.15, 288.15, limit=limit)
    stored = lost = 0.0
    for b, r in zip(MACHINE, found.boilers, strict=True):
        stored += h.heat_stored(b.m_water, ((1.0, b.C_metal),), 288.15, b.T_set)
        lost += b.UA * area(r.curve, 293.15)
        if b.UA_group:
            stored += b.C_group * (r.T_group - 293.15)
            lost += b.UA_room * area(r.group_curve, 293.15)
    assert found.energy == pytest.approx(stored + lost, rel=2e-3)
    assert found.energy == pytest.approx(sum(r.energy for r in found.boilers))


def area(curve, base):
    return sum((b[0] - a[0]) * ((a[1] + b[1]) / 2 - base) for a, b in itertools.pairwise(curve))


def test_staging_by_priority_under_a_limit():
    free = hm.machine_heating(MACHINE, 293.15, 288.15)
    tight = hm.machine_heating(MACHINE, 293.15, 288.15, limit=4600.0)
    assert tight.peak_power == 4500.0
    assert tight.time_setpoint > free.time_setpoint
    order = [b.time_setpoint for b in tight.boilers]
    assert order[1] < order[2] < order[3]
    brew_first = hm.machine_heating((*MACHINE[1:], STEAM), 293.15, 288.15, limit=4600.0)
    assert brew_first.boilers[-1].mark == "S"
    assert brew_first.boilers[0].time_setpoint < brew_first.boilers[-1].time_setpoint
    assert brew_first.peak_power <= 4600.0


def test_two_elements_one_fits():
    boiler = replace(STEAM, elements=(2000.0, 2000.0))
    one = hm.machine_heating((boiler,), 293.15, 288.15, limit=3000.0)
    alone = hm.machine_heating((replace(STEAM, elements=(2000.0,)),), 293.15, 288.15)
    assert one.time_setpoint == pytest.approx(alone.time_setpoint, rel=1e-9)


def test_held_boiler_takes_its_share_first():
    # The steam boiler at 125 °C needs 4 × 105 W = 12 % of the time of its element, all that the limit allows.
    alone = hm.machine_heating((replace(brew("K1"), UA_steam=0.0),), 293.15, 288.15)
    both = hm.machine_heating((STEAM, replace(brew("K1"), UA_steam=0.0)), 293.15, 288.15, limit=3500.0)
    after = both.boilers[1].time_setpoint - both.boilers[0].time_setpoint
    weaker = hm.machine_heating(
        (replace(brew("K1"), UA_steam=0.0, elements=(880.0,)),), 293.15, 288.15
    ).time_setpoint
    # While it waits it drifts from 15 towards 20 °C, so it starts a little warmer.
    assert after == pytest.approx(weaker, rel=0.02)
    assert after > alone.time_setpoint


def test_a_machine_that_never_gets_hot():
    with pytest.raises(UnavailableError) as caught:
        hm.machine_heating((replace(STEAM, UA=40.0),), 293.15, 288.15)
    assert caught.value.id == "heat.not_reached"
    with pytest.raises(UnavailableError):
        hm.machine_heating((STEAM,), 293.15, 288.15, limit=1000.0)


@settings(max_examples=25, deadline=None)
@given(st.floats(3500.0, 8000.0), st.floats(278.15, 300.0))
def test_curves_stay_between_start_and_set_point(limit, start):
    found = hm.machine_heating(MACHINE, 293.15, start, limit=limit)
    assert found.peak_power <= limit
    for b, r in zip(MACHINE, found.boilers, strict=True):
        assert all(min(start, 293.15) - 1e-6 <= T <= b.T_set + 1e-6 for _, T in r.curve)
        assert 0 < r.time_within <= r.time_setpoint <= r.time_ready <= found.time_ready
        assert r.energy > 0


def test_colder_start_is_never_faster():
    times = [hm.machine_heating(MACHINE, 293.15, T).time_ready for T in (278.15, 288.15, 298.15)]
    assert times == sorted(times, reverse=True)


@pytest.mark.parametrize("bad", [math.nan, -1.0])
def test_outside_the_range(bad):
    with pytest.raises(OutOfRangeError):
        h.element_power(3000.0, 230.0, bad)
    with pytest.raises(OutOfRangeError):
        h.heating_time(bad, (), 0.0, 1000.0, 293.15, 293.15, 300.0)
    with pytest.raises(OutOfRangeError):
        h.heating_time(1.0, ((bad, 385.0),), 0.0, 1000.0, 293.15, 293.15, 300.0)
    with pytest.raises(OutOfRangeError):
        hm.machine_heating((replace(STEAM, UA=bad),), 293.15, 288.15)
    with pytest.raises(OutOfRangeError):
        hm.machine_heating((STEAM,), bad, 288.15)
    with pytest.raises(OutOfRangeError):
        hm.machine_heating((STEAM,), 293.15, 288.15, limit=bad)


@pytest.mark.parametrize(
    ("field", "bound"),
    [
        ("m_water", 1e4),
        ("C_metal", 1e8),
        ("hysteresis", 50.0),
        ("UA", 1e4),
        ("UA_group", 1e4),
        ("UA_room", 1e4),
        ("UA_steam", 1e4),
        ("C_group", 1e8),
        ("T_set", 468.15),
    ],
)
def test_bounds_of_a_boiler(field, bound):
    b = replace(brew("K1"), elements=(1e6,), C_metal=1e7, C_group=1e6)

    def refusal(found):
        try:
            hm.machine_heating((replace(b, **{field: found}),), 293.15, 288.15)
        except OutOfRangeError as error:
            return error.argument, error.high
        except UnavailableError as error:
            return error.id
        return None

    # At the bound such a boiler may never get hot, but it is not refused for its numbers.
    assert refusal(bound) in (None, "heat.not_reached")
    assert refusal(1.01 * bound) == (field, pytest.approx(bound))


def test_a_lag_too_short_to_follow_is_refused():
    with pytest.raises(OutOfRangeError) as caught:
        hm.machine_heating((replace(brew("K1"), C_group=20.0),), 293.15, 288.15)
    assert (caught.value.argument, caught.value.low) == ("lag", 4.0)
    assert caught.value.found == pytest.approx(20 / 6)
    hm.machine_heating((replace(brew("K1"), C_group=24.1),), 293.15, 288.15)
    with pytest.raises(OutOfRangeError):
        hm.machine_heating((replace(STEAM, UA=1e4),), 293.15, 288.15)


def test_bounds_of_heats_and_powers():
    assert brew("K1").hysteresis == 1.0
    for function in (
        lambda mass: h.heat_stored(mass, (), 290.0, 300.0),
        lambda mass: h.heating_time(mass, (), 0.0, 1e4, 290.0, 290.0, 300.0),
    ):
        assert function(1e4) > 0
        with pytest.raises(OutOfRangeError) as caught:
            function(1.01e4)
        assert caught.value.high == 1e4
    with pytest.raises(OutOfRangeError):
        hm.machine_heating((replace(STEAM, elements=(1.01e6,)),), 293.15, 288.15)
    with pytest.raises(OutOfRangeError):
        hm.machine_heating((), 293.15, 288.15)
    with pytest.raises(OutOfRangeError):
        hm.machine_heating((STEAM,) * 21, 293.15, 288.15)


@pytest.mark.parametrize(("hours", "hot"), [(5.95, True), (6.05, False)])
def test_patience(hours, hot):
    heat = h.heat_stored(7.0, ((1.0, 3000.0),), 288.15, 398.15)
    slow = replace(STEAM, UA=0.0, elements=(heat / hours / 3600,))
    if hot:
        assert hm.machine_heating((slow,), 293.15, 288.15).time_ready == pytest.approx(hours * 3600, rel=1e-4)
    else:
        with pytest.raises(UnavailableError):
            hm.machine_heating((slow,), 293.15, 288.15)


def test_held_boilers_that_need_all_leave_nothing():
    # Two boilers at set point need more than the whole time of the only element that fits.
    hungry = replace(STEAM, UA=20.0, elements=(3000.0,), steam=False)
    with pytest.raises(UnavailableError):
        hm.machine_heating((hungry, replace(hungry, mark="S2"), brew("K1")), 293.15, 288.15, limit=3000.0)
