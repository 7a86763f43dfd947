"""Heating against published examples, integrations written from scratch, and energy balances."""

import doctest
import math

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from procgen.engineering import heating as h
from procgen.engineering import heating_machine as hm
from procgen.engineering.heating_stretch import HeatedBoiler
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.unavailable import UnavailableError

from . import heated, outside
from .heated import cp
from .oracle import agrees

C = 273.15
ROOM, START = 20 + C, 15 + C


BREW = HeatedBoiler(0.8, 577.5, 0.8, 93 + C, (1000.0,), 1540.0, 5.0, 1.0)


STEAM = HeatedBoiler(7.0, 3000.0, 4.0, 125 + C, (3500.0,))
MACHINE = (STEAM, BREW, BREW, BREW)


def test_worked_examples():
    result = doctest.testmod(h)
    assert (result.failed, result.attempted) == (0, 2)


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


def alone(m_water, P, T_start, T_set, *, C_metal=0.0, UA=0.0, T_amb=ROOM):
    """Time to the set point of a boiler without a group."""
    return hm.machine_heating(
        (HeatedBoiler(m_water, C_metal, UA, T_set, (P,)),), T_amb, T_start
    ).time_setpoint


def test_linear_loss():
    # Arithmetic: 50 kJ/K, 5 W/K, 3 kW, 20 °C, 15 → 95 °C: 1e4 s x ln(3025/2625).
    found = alone(0.0, 3e3, 15 + C, 95 + C, C_metal=50e3, UA=5.0)
    agrees(hm.machine_heating, found, 1418.3, outside.HAND, rel=1e-4)
    found = alone(0.0, 3e3, 15 + C, 95 + C, C_metal=50e3)
    agrees(hm.machine_heating, found, 50e3 * 80 / 3e3, outside.HAND, rel=1e-9)


def test_published_storage_heater():
    # 125 L, 20 → 60 °C, 2 kW less 150 W, cp 4200: 11 351 s.
    found = alone(0.0, 1850.0, 20 + C, 60 + C, C_metal=125 * 4200.0)
    agrees(hm.machine_heating, found, 11351, outside.STORAGE_HEATER, rel=1e-4)
    # With water's own heat; the example's litre of 1 kg and 4200 J/(kg·K) are 0.5 % high.
    found = alone(125.0, 1850.0, 20 + C, 60 + C)
    agrees(hm.machine_heating, found, 11351, outside.STORAGE_HEATER, rel=0.005)


def test_published_kettle():
    # 20 L, 20 → 100 °C, 3.6 kW: 1.867 kWh, 0.52 h.
    agrees(h.heat_stored, h.heat_stored(20.0, (), 20 + C, 100 + C) / 3.6e6, 1.867, outside.KETTLE, rel=0.005)
    found = alone(20.0, 3600.0, 20 + C, 100 + C)
    agrees(hm.machine_heating, found / 3600, 0.52, outside.KETTLE, abs=0.003, unit="hour")


def test_heat_of_ten_litres():
    # By an independent library: 10 L from 20 to 125 °C take 4402.8 kJ.
    mass = 0.010 * PropsSI("D", "T", 20 + C, "P", 101325, "Water")
    agrees(h.heat_stored, h.heat_stored(mass, (), 20 + C, 125 + C), 4402.8e3, outside.COOLPROP, rel=1e-4)


def test_without_loss_it_is_heat_over_power():
    metal = ((5.0, 385.0), (2.0, 500.0))
    found = alone(10.0, 3000.0, 290.0, 398.15, C_metal=2925.0)
    assert found == pytest.approx(h.heat_stored(10.0, metal, 290.0, 398.15) / 3000.0, rel=2e-5)
    agrees(h.metal_capacity, h.metal_capacity(metal), 2925.0, outside.HAND, rel=1e-6)


def test_losses_that_eat_the_power():
    with pytest.raises(UnavailableError) as caught:
        alone(10.0, 500.0, ROOM, 398.15, UA=10.0)
    assert caught.value.id == "heat.not_reached"
    with pytest.raises(UnavailableError) as caught:
        h.recovery_time(0.1, 300.0, 366.0, 100.0, 100.0)
    assert caught.value.id == "heat.not_reached"


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


def cycle(boiler, loss_from, power, difference):
    """Seconds off and on of a held boiler, integrated with its group at rest: (off, on)."""
    T_set, G = boiler.T_set, loss_from
    heat = (heated.enthalpy(T_set) - heated.enthalpy(T_set - difference)) / difference

    def slopes(power):
        def rate(_, T):
            lost = boiler.UA * (T[0] - ROOM) + boiler.UA_group * (T[0] - G)
            return [(power - lost) / (boiler.m_water * heat + boiler.C_metal)]

        return rate

    def there(level):
        def event(_, T):
            return T[0] - level

        event.terminal = True
        return event

    times = []
    for power_now, start, level in (
        (0.0, T_set, T_set - difference),
        (power, T_set - difference, T_set),
    ):
        done = solve_ivp(
            slopes(power_now), (0, 1e4), [start], events=there(level), rtol=1e-10, atol=1e-10, max_step=1.0
        )
        times.append(float(done.t_events[0][0]))
    return times


@pytest.mark.parametrize(("boiler", "difference"), [(STEAM, 1.5), (BREW, 0.4), (BREW, 6.0)])
def test_held_hot_against_an_integration(boiler, difference):
    b = boiler
    soaked = (b.UA_group * b.T_set + b.UA_room * ROOM) / (b.UA_group + b.UA_room) if b.UA_group else b.T_set
    off, on = cycle(b, soaked, b.elements[0], difference)
    loss = b.UA * (b.T_set - ROOM) + b.UA_group * (b.T_set - soaked)
    heat = h.heat_stored(b.m_water, ((1.0, b.C_metal),), b.T_set - difference, b.T_set) / difference
    given = (heat, b.UA + b.UA_group)
    # CoolProp's heats (IAPWS-95) differ from IF97's by up to 0.08 %.
    found = h.time_off(*given, loss, difference)
    agrees(h.time_off, found, off, outside.INTEGRATED, rel=8e-4)
    found = h.time_on(*given, b.elements[0], loss, difference)
    agrees(h.time_on, found, on, outside.INTEGRATED, rel=8e-4)


def test_held_hot_by_hand():
    # 30 kJ/K, 4 W/K, 105 K above the room: 420 W. 1.5 K: 7500 s x ln(420/414); with 3.5 kW ln(3086/3080).
    agrees(h.time_off, h.time_off(30e3, 4.0, 420.0, 1.5), 7500 * math.log(420 / 414), outside.HAND, rel=1e-9)
    found = h.time_on(30e3, 4.0, 3500.0, 420.0, 1.5)
    agrees(h.time_on, found, 7500 * math.log(3086 / 3080), outside.HAND, rel=1e-9)
    # Loss that does not change: 45 kJ at 420 W, at 3080 W.
    agrees(h.time_off, h.time_off(30e3, 0.0, 420.0, 1.5), 45e3 / 420, outside.HAND, rel=1e-9)
    agrees(h.time_on, h.time_on(30e3, 0.0, 3500.0, 420.0, 1.5), 45e3 / 3080, outside.HAND, rel=1e-9)


def test_one_boiler_of_a_machine_is_that_boiler():
    found = hm.machine_heating((STEAM,), ROOM, START)
    way = heated.integrated((STEAM,), ROOM, START)[0]
    agrees(hm.machine_heating, found.time_setpoint, way.reached, outside.INTEGRATED, rel=4e-4)
    assert found.time_ready == found.time_setpoint == found.boilers[0].reached
    assert found.energy == found.boilers[0].energy
    assert found.peak_power == 3500.0


LIMITS = [math.inf, 4600.0, 3500.0]


def machine(limit):
    return hm.machine_heating(MACHINE, ROOM, START, limit=limit)


@pytest.mark.parametrize("limit", LIMITS)
def test_machine_against_an_integration(limit):
    found = machine(limit)
    ready = heated.ready(MACHINE, ROOM, heated.integrated(MACHINE, ROOM, START, limit))
    ways = heated.integrated(MACHINE, ROOM, START, limit, ready)
    for heat, way in zip(found.boilers, ways, strict=True):
        agrees(hm.machine_heating, heat.reached, way.reached, outside.INTEGRATED, rel=6e-4)
        agrees(hm.machine_heating, heat.T_group, way.T_group, outside.INTEGRATED, abs=0.2, unit="K")
        agrees(hm.machine_heating, heat.energy, way.energy, outside.INTEGRATED, rel=1.5e-3)
    agrees(hm.machine_heating, found.time_ready, ready, outside.INTEGRATED, rel=4e-4)
    energy = sum(way.energy + way.kept for way in ways)
    agrees(hm.machine_heating, found.energy, energy, outside.INTEGRATED, rel=4e-4)


def test_power_at_one_moment():
    for limit, power in zip(LIMITS, (6500.0, 4500.0, 3500.0), strict=True):
        agrees(hm.machine_heating, machine(limit).peak_power, power, outside.HAND)


@pytest.mark.parametrize("limit", LIMITS)
def test_energy_balance_closes(limit):
    for b, heat in zip(MACHINE, machine(limit).boilers, strict=True):
        stored = h.heat_stored(b.m_water, ((1.0, b.C_metal),), START, b.T_set)
        assert heat.energy == pytest.approx(stored + heat.lost, rel=2e-4)


def test_staging_by_priority_under_a_limit():
    free, tight = machine(math.inf), machine(4600.0)
    assert tight.time_setpoint > free.time_setpoint
    order = [heat.reached for heat in tight.boilers]
    assert order[1] < order[2] < order[3]
    brew_first = hm.machine_heating((*MACHINE[1:], STEAM), ROOM, START, limit=4600.0)
    assert brew_first.boilers[-1].boiler is STEAM
    assert brew_first.boilers[0].reached < brew_first.boilers[-1].reached
    assert brew_first.peak_power <= 4600.0


def test_two_elements_one_fits():
    boiler = STEAM._replace(elements=(2000.0, 2000.0))
    one = hm.machine_heating((boiler,), ROOM, START, limit=3000.0)
    alone = hm.machine_heating((STEAM._replace(elements=(2000.0,)),), ROOM, START)
    assert one.time_setpoint == pytest.approx(alone.time_setpoint, rel=1e-9)


def test_a_machine_that_never_gets_hot():
    with pytest.raises(UnavailableError) as caught:
        hm.machine_heating((STEAM._replace(UA=40.0),), ROOM, START)
    assert caught.value.id == "heat.not_reached"
    with pytest.raises(UnavailableError):
        hm.machine_heating((STEAM,), ROOM, START, limit=1000.0)


def anything(low, high):
    """From a little to a lot, evenly by its logarithm."""
    return st.floats(math.log(low), math.log(high)).map(lambda x: min(max(low, math.exp(x)), high))


BOILERS = st.builds(
    HeatedBoiler,
    st.just(0.0) | anything(0.01, 100.0),
    anything(1.0, 1e5),
    st.just(0.0) | anything(1e-6, 1e4),
    st.floats(335.0, 468.0),
    st.lists(st.just(0.0) | anything(1.0, 1e5), max_size=3).map(tuple),
    anything(1.0, 1e6),
    st.just(0.0) | anything(1e-6, 1e4),
    st.just(0.0) | anything(1e-6, 1e4),
)


@settings(deadline=None)
@given(
    st.lists(BOILERS, min_size=1, max_size=4).map(tuple),
    st.floats(273.15, 330.0),
    st.floats(273.15, 330.0),
    st.floats(0.0, 1.2),
)
def test_whatever_the_boilers(boilers, room, start, share):
    """Numbers, between start and set point, within the limit, and no heat from nowhere."""
    limit = share * sum(sum(b.elements) for b in boilers)
    try:
        found = hm.machine_heating(boilers, room, start, limit=limit)
    except UnavailableError as cold:
        assert min(room, start) - 1e-6 <= cold.details["reached"] < cold.details["wanted"]
        return
    assert found.peak_power <= limit * (1 + 1e-12)
    assert 0 < found.time_setpoint <= found.time_ready < math.inf
    assert 0 <= found.energy < math.inf
    for b, heat in zip(boilers, found.boilers, strict=True):
        stored = h.heat_stored(b.m_water, ((1.0, b.C_metal),), start, b.T_set)
        largest = max(stored, heat.energy, abs(heat.lost))
        assert abs(heat.energy - stored - heat.lost) <= 1e-3 * largest
        for k in range(21):
            T = heat.temperature(heat.reached * k / 20)
            assert min(room, start) - 1e-6 <= T <= b.T_set + 1e-6


@settings(deadline=None)
@given(BOILERS, st.floats(273.15, 330.0), st.floats(1.0, 5000.0), st.floats(1e-6, 1.0))
def test_more_power_is_never_slower(boiler, start, power, more):
    try:
        slow, fast = (
            hm.machine_heating((boiler._replace(elements=(P,)),), ROOM, start)
            for P in (power, power * (1 + more))
        )
    except UnavailableError:
        return
    assert fast.time_setpoint <= slow.time_setpoint * (1 + 1e-8)


def test_colder_start_is_never_faster():
    times = [hm.machine_heating(MACHINE, ROOM, T).time_ready for T in (278.15, 288.15, 298.15)]
    assert times == sorted(times, reverse=True)


@pytest.mark.parametrize("bad", [math.nan, -1.0])
def test_outside_the_range(bad):
    with pytest.raises(OutOfRangeError):
        h.element_power(3000.0, 230.0, bad)
    with pytest.raises(OutOfRangeError):
        h.heat_stored(bad, (), ROOM, 300.0)
    with pytest.raises(OutOfRangeError):
        h.heat_stored(1.0, ((bad, 385.0),), ROOM, 300.0)
    with pytest.raises(OutOfRangeError):
        hm.machine_heating((STEAM._replace(UA=bad),), ROOM, START)
    with pytest.raises(OutOfRangeError):
        hm.machine_heating((STEAM,), bad, START)
    with pytest.raises(OutOfRangeError):
        hm.machine_heating((STEAM,), ROOM, START, bad)
    with pytest.raises(OutOfRangeError):
        hm.machine_heating((STEAM,), ROOM, START, limit=bad)
