"""A machine under a limit against integrations by scipy, by hand, and the ends of what a machine may be."""

from __future__ import annotations

import itertools
import math
from typing import Any

import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from procgen.engineering import heating_machine as hm
from procgen.engineering.heating_stretch import HeatedBoiler
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.unavailable import UnavailableError

from . import heated

ROOM, COLD = 293.15, 288.15
STEAM = HeatedBoiler(7.0, 3000.0, 4.0, 398.15, (3000.0,))
BREW = HeatedBoiler(3.0, 1500.0, 1.0, 366.15, (1000.0,), C_group=6000.0, UA_group=5.0, UA_room=1.0)
QUICK = HeatedBoiler(0.5, 400.0, 0.5, 363.15, (800.0,), 500.0, 4.0, 1.5)
SMALL = HeatedBoiler(0.8, 577.5, 0.8, 366.15, (1000.0,), 1540.0, 5.0, 1.0)
#: Boilers in their order, and what they may draw together.
MACHINES: dict[str, tuple[tuple[HeatedBoiler, ...], float]] = {
    # 3 kW for both: the steam boiler first; held, it needs 420 W, 14 % of the time.
    "one after the other": ((STEAM, BREW), 3000.0),
    # The brew boiler first, its group soaking while the steam boiler has what is left.
    "group soaks meanwhile": ((BREW, STEAM), 3000.0),
    "each by itself": ((STEAM, BREW, QUICK), math.inf),
    # The steam boiler's second element (500 W) fits beside the brew boiler, its first only without it.
    "an element beside": ((BREW._replace(UA=4.0), STEAM._replace(elements=(2000.0, 500.0))), 2500.0),
    # Of two elements one fits: held, the boiler needs twice the share that both would need.
    "an element too many": ((STEAM._replace(UA=8.0, elements=(1500.0, 1600.0)), QUICK), 2000.0),
    "four": ((STEAM._replace(elements=(3500.0,)), SMALL, SMALL, SMALL._replace(UA=1.5)), 4600.0),
    "three that differ": ((QUICK, SMALL, STEAM._replace(elements=(1500.0,) * 3)), 3900.0),
}  # fmt: skip


def machine(name: str) -> hm.MachineHeat:
    boilers, limit = MACHINES[name]
    return hm.machine_heating(boilers, ROOM, COLD, limit=limit)


@pytest.mark.parametrize("name", MACHINES)
def test_against_an_integration(name: str) -> None:
    boilers, limit = MACHINES[name]
    ready = heated.ready(boilers, ROOM, heated.integrated(boilers, ROOM, COLD, limit))
    ways = heated.integrated(boilers, ROOM, COLD, limit, ready)
    found = machine(name)
    for b, heat, way in zip(boilers, found.boilers, ways, strict=True):
        assert heat.boiler is b
        # CoolProp's heats (IAPWS-95) differ from IF97's by up to 0.08 %; beside a held boiler whose group
        # still soaks the power is the mean of up to 240 s.
        assert heat.reached == pytest.approx(way.reached, rel=6e-4)
        assert heat.energy == pytest.approx(way.energy, rel=1.5e-3)
        assert heat.lost == pytest.approx(way.lost, abs=1.5e-3 * way.energy)
        assert heat.kept(heat.reached, ready) == pytest.approx(way.kept, rel=2e-3, abs=200.0)
        if b.UA_group:
            assert heat.T_group == pytest.approx(way.T_group, abs=0.2)
    energy = sum(way.energy + way.kept for way in ways)
    assert found.energy == pytest.approx(energy, rel=5e-4)
    assert found.time_setpoint == max(heat.reached for heat in found.boilers)
    assert found.time_ready == pytest.approx(ready, rel=4e-4)
    assert found.time_ready == max(heat.reached + heat.soak(2.0) for heat in found.boilers)
    assert found.peak_power <= limit


def test_what_fits() -> None:
    """One after the other: what does not fit is passed over, what just fits is taken."""
    assert hm.fitting((), 100.0) == 0.0
    assert hm.fitting((60.0, 50.0, 40.0, 1.0), 100.0) == 100.0
    assert hm.fitting((101.0, 50.0, 51.0), 100.0) == 50.0
    assert hm.fitting((1e5, 1e5), math.inf) == 2e5


def test_powers_at_one_moment() -> None:
    """By hand, from what fits beside what."""
    peaks = {name: machine(name).peak_power for name in MACHINES}
    assert list(peaks.values()) == [3000.0, 3000.0, 4800.0, 2500.0, 1500.0, 4500.0, 3300.0]


@pytest.mark.parametrize("name", MACHINES)
def test_stretches_follow_each_other(name: str) -> None:
    """From cold to the set point without a gap, at most twenty minutes each, with what was given as power."""
    for heat in machine(name).boilers:
        assert heat.stretches[0][0] == 0.0
        assert heat.stretches[0][2].at(0.0) == (COLD, ROOM)
        for (start, length, stretch), (after, _, following) in itertools.pairwise(heat.stretches):
            assert start + length == after
            assert 0.0 < length <= 1200.0
            assert stretch.at(length) == (following.T, following.G)
        start, length, last = heat.stretches[-1]
        assert start + length == heat.reached
        assert last.at(length)[0] == pytest.approx(heat.boiler.T_set, abs=0.01)
        given = math.fsum(stretch.power * length for _, length, stretch in heat.stretches)
        assert heat.energy == pytest.approx(given, rel=1e-12)


def test_temperature_on_the_way_and_after() -> None:
    heat = machine("one after the other").boilers[1]
    assert heat.temperature(0.0) == COLD
    for start, length, stretch in heat.stretches:
        assert heat.temperature(start) == pytest.approx(stretch.T, abs=1e-9)
        assert heat.temperature(start + 0.7 * length) == pytest.approx(stretch.at(0.7 * length)[0], abs=1e-9)
    assert heat.temperature(heat.reached) == heat.temperature(1e9) == 366.15
    assert heat.temperature(math.nextafter(heat.reached, 0.0)) == pytest.approx(366.15, abs=0.01)


def test_kept_between_two_moments() -> None:
    """The integral of the loss, by quadrature; a boiler without a group loses 420 W."""
    found = machine("each by itself")
    steam, brew, _ = found.boilers
    assert steam.kept(steam.reached + 5.0, steam.reached + 105.0) == pytest.approx(42000.0, rel=1e-12)
    final = (5.0 * 366.15 + ROOM) / 6.0

    def loss(t: float) -> float:
        G = final + (brew.T_group - final) * math.exp(-(t - brew.reached) / 1000.0)
        return 1.0 * 73.0 + 5.0 * (366.15 - G)

    start, end = brew.reached + 30.0, brew.reached + 900.0
    assert brew.kept(start, end) == pytest.approx(quad(loss, start, end)[0], rel=1e-9)
    assert brew.kept(start, start) == 0.0


def test_the_largest_held_element_decides_what_fits_beside_it() -> None:
    """3 kW and 1 kW held, 1 kW wanted, 3.5 kW allowed: nothing fits beside the large one.

    With the first held (60 W of 3 kW: 2 % of the time) the others share 98 %: the second needs
    1e4 ln(980/940) s for its 40 K at 1 W/K. Held too (40 W of 1 kW) it leaves 94 % to the last, which has
    no loss and heats by 50 K in all.
    """
    large = HeatedBoiler(0.0, 1e4, 1.0, 353.15, (3000.0,))
    small = HeatedBoiler(0.0, 1e4, 1.0, 333.15, (1000.0,))
    last = HeatedBoiler(0.0, 1e4, 0.0, 343.15, (1000.0,))
    found = hm.machine_heating((large, small, last), ROOM, ROOM, limit=3500.0)
    times = [heat.reached for heat in found.boilers]
    assert times == sorted(times)
    second = 1e4 * math.log(980.0 / 940.0)
    assert times[1] - times[0] == pytest.approx(second, rel=1e-8)
    assert times[2] - times[1] == pytest.approx((1e4 * 50.0 - 980.0 * second) / 940.0, rel=1e-8)


def test_of_a_held_boiler_what_fits_is_counted() -> None:
    """A cold 1 kW boiler beside one at set point that loses 250 W and has 2 x 500 W, of which one fits.

    800 W are allowed: half of the time the small one is on, and beside it 300 W fit; the other half 600 W.
    """
    held = HeatedBoiler(0.0, 1e4, 250.0 / 60.0, 353.15, (500.0, 500.0))
    cold = HeatedBoiler(0.0, 1e4, 0.0, 383.15, (300.0, 300.0))
    found = hm.machine_heating((held, cold), ROOM, 353.15, limit=800.0)
    assert found.boilers[1].reached == pytest.approx(1e4 * 30.0 / 450.0, rel=1e-9)
    assert found.boilers[0].reached == 0.0
    assert found.peak_power == 800.0


def test_a_held_boiler_that_nothing_heats_takes_nothing() -> None:
    """None fits, it has none, or they give nothing: it was at its set point from the start."""
    cold = HeatedBoiler(0.0, 1e4, 0.0, 383.15, (1000.0,))
    for elements in ((), (0.0,), (2000.0,)):
        held = HeatedBoiler(1.0, 0.0, 5.0, 353.15, elements)
        found = hm.machine_heating((held, cold, cold), ROOM, 353.15, limit=1000.0)
        assert [heat.reached for heat in found.boilers] == pytest.approx([0.0, 300.0, 600.0], rel=1e-9)


def test_boilers_that_take_all_the_time_leave_none() -> None:
    """Two at set point need 2 x 2400 W of 3 kW: the third falls to the temperature of the room."""
    hungry = HeatedBoiler(7.0, 3000.0, 40.0, 353.15, (3000.0,))
    idle = HeatedBoiler(0.5, 500.0, 5.0, 366.15, (1000.0,))
    with pytest.raises(UnavailableError) as caught:
        hm.machine_heating((hungry, hungry, idle), ROOM, 353.15, limit=3000.0)
    assert caught.value.details["boiler"] == 2
    assert caught.value.details["reached"] == pytest.approx(ROOM, abs=0.01)
    assert caught.value.details["wanted"] == 366.15


def test_which_boiler_stays_cold_without_a_limit() -> None:
    """100 W against 4 W/K: 25 K above the room."""
    with pytest.raises(UnavailableError) as caught:
        hm.machine_heating((BREW, STEAM._replace(elements=(100.0,), m_water=0.5)), ROOM, COLD)
    assert caught.value.details == {
        "boiler": 1,
        "reached": pytest.approx(ROOM + 25.0, abs=0.3),
        "wanted": 398.15,
    }


def test_what_a_soaking_group_leaves_until_a_boiler_is_there() -> None:
    """Held at 100 °C from the start, its group cold: 10·(T_set − G(t)) of 2 kW; the rest heats without loss.

    G(t) = T_set − (T_set − room)·exp(−t/50 s): the time is the root of what the other has been given.
    """
    held = HeatedBoiler(0.0, 1e4, 0.0, 373.15, (2000.0,), 500.0, 10.0, 0.0)
    cold = HeatedBoiler(0.0, 500.0, 0.0, 453.15, (2000.0,))
    found = hm.machine_heating((held, cold), ROOM, 373.15, limit=2000.0)

    def missing(t: float) -> float:
        kept = 10.0 * 80.0 * 50.0 * (1.0 - math.exp(-t / 50.0))
        return 2000.0 * t - kept - 500.0 * 80.0

    assert found.boilers[1].reached == pytest.approx(brentq(missing, 1.0, 100.0), rel=1e-6)


def test_one_just_after_the_other() -> None:
    """Without loss, 1 kW each: 100 and 101 s; then the third, which did not fit beside them."""
    first = HeatedBoiler(0.0, 1e4, 0.0, ROOM + 10.0, (1000.0,))
    third = HeatedBoiler(0.0, 1e4, 0.0, ROOM + 10.0, (5000.0,))
    found = hm.machine_heating((first, first._replace(C_metal=1.01e4), third), ROOM, ROOM, limit=5000.0)
    assert [heat.reached for heat in found.boilers] == pytest.approx([100.0, 101.0, 121.0], rel=1e-9)
    assert [heat.energy for heat in found.boilers] == pytest.approx([1e5, 1.01e5, 1e5], rel=1e-9)


def test_equal_boilers_arrive_together() -> None:
    found = hm.machine_heating((SMALL,) * 20, ROOM, COLD, limit=1e4)
    first, second = found.boilers[:10], found.boilers[10:]
    assert len({heat.reached for heat in first}) == 1
    # Beside one that is held nine fit: the last has its turn after them, but for the time that none needs.
    assert len({heat.reached for heat in second[:9]}) == 1
    assert first[0].reached < second[0].reached < second[9].reached
    assert first[0].reached == hm.machine_heating((SMALL,), ROOM, COLD).time_setpoint


@pytest.mark.parametrize("power", [900.0 + 37.0 * k for k in range(12)])
def test_who_arrives_is_there(power: float) -> None:
    """A boiler that comes to its set point in its first stretch has no second."""
    for boiler in (SMALL, SMALL._replace(UA_group=0.0)):
        (heat,) = hm.machine_heating((boiler._replace(elements=(power,)),), ROOM, COLD).boilers
        assert len(heat.stretches) == 1


def test_a_thousandth_of_a_second_apart() -> None:
    """1 J/K and 1 MW: 80 K in 80 µs, and half as quickly: each has its own energy."""
    quick = HeatedBoiler(0.0, 1.0, 0.0, 368.15, (1e6,))
    found = hm.machine_heating((quick, quick._replace(elements=(5e5,))), ROOM, COLD, limit=1.5e6 - 1.0)
    # Only the first fits; the second follows.
    assert [heat.reached for heat in found.boilers] == pytest.approx([8e-5, 24e-5], rel=1e-6)
    assert [heat.energy for heat in found.boilers] == pytest.approx([80.0, 80.0], rel=1e-6)


@pytest.mark.parametrize("lag", [1e-3, 0.3, 20.0, 4000.0])
@pytest.mark.parametrize("above", [1e-4, 0.1, 10.0])
def test_near_what_a_boiler_can_reach(lag: float, above: float) -> None:
    """50 W/K: the temperature at the very end lies a little above the set point; τ ln((80 + a)/a) by hand."""
    b = HeatedBoiler(0.0, max(50.0 * lag, 1.0), 50.0, ROOM + 80.0, (50.0 * (80.0 + above),))
    tau = b.C_metal / 50.0
    by_hand = tau * math.log((80.0 + above) / above)
    if by_hand > 21600.0:
        with pytest.raises(UnavailableError):
            hm.machine_heating((b,), ROOM, ROOM)
    else:
        assert hm.machine_heating((b,), ROOM, ROOM).time_setpoint == pytest.approx(by_hand, rel=1e-7)
    with pytest.raises(UnavailableError) as caught:
        hm.machine_heating((b._replace(elements=(50.0 * (80.0 - above),)),), ROOM, ROOM)
    short = above + (80.0 - above) * math.exp(-21600.0 / tau)
    assert caught.value.details["wanted"] - caught.value.details["reached"] == pytest.approx(short, abs=1e-6)


@pytest.mark.parametrize(("seconds", "hot"), [(21599.0, True), (21601.0, False)])
def test_patience(seconds: float, hot: bool) -> None:
    """Six hours, to the second."""
    b = HeatedBoiler(0.0, 1e5, 0.0, ROOM + 80.0, (8e6 / seconds,))
    for machine_of, limit in (((b,), math.inf), ((b._replace(T_set=ROOM), b), 1.5 * b.elements[0])):
        if hot:
            found = hm.machine_heating(machine_of, ROOM, ROOM, limit=limit)
            assert found.time_setpoint == pytest.approx(seconds, rel=1e-9)
        else:
            with pytest.raises(UnavailableError):
                hm.machine_heating(machine_of, ROOM, ROOM, limit=limit)


@pytest.mark.parametrize(("seconds", "hot"), [(21599.0, True), (21601.0, False)])
def test_patience_of_one_that_had_to_wait(seconds: float, hot: bool) -> None:
    """1 kW for both, without loss: the first takes 1010 s; from there no whole stretches end at six hours."""
    first = HeatedBoiler(0.0, 1.01e4, 0.0, ROOM + 100.0, (1000.0,))
    second = first._replace(C_metal=10.0 * (seconds - 1010.0))
    if hot:
        found = hm.machine_heating((first, second), ROOM, ROOM, limit=1000.0)
        assert found.time_setpoint == pytest.approx(seconds, rel=1e-9)
    else:
        with pytest.raises(UnavailableError):
            hm.machine_heating((first, second), ROOM, ROOM, limit=1000.0)


FREE = HeatedBoiler(1.0, 500.0, 0.0, 366.15, (1000.0,))
GROUPED = FREE._replace(C_group=1000.0, UA_group=0.1)


@pytest.mark.parametrize(
    ("field", "boiler", "low", "high"),
    [
        ("m_water", FREE, 0.0, 1e4),
        ("C_metal", FREE, 0.0, 1e8),
        ("UA", FREE, 0.0, 1e4),
        ("UA_group", FREE._replace(C_group=1e5), 0.0, 1e4),
        ("UA_room", FREE, 0.0, 1e4),
        ("C_group", FREE, 0.0, 1e8),
        ("C_group", GROUPED, 1.0, 1e8),
        ("elements", FREE, 0.0, 1e6),
        ("T_set", FREE, ROOM, 468.15),
    ],
)
def test_ends_of_a_boiler(field: str, boiler: HeatedBoiler, low: float, high: float) -> None:
    def run(found: Any) -> None:
        changed = {field: (found,) if field == "elements" else found}
        hm.machine_heating((boiler._replace(**changed),), ROOM, COLD)

    for inside in (low, high):
        try:
            run(inside)
        except UnavailableError as cold:  # nothing is refused for its number
            assert cold.id == "heat.not_reached"
    for outside in (math.nextafter(low, -math.inf), math.nextafter(high, math.inf), math.nan):
        with pytest.raises(OutOfRangeError) as caught:
            run(outside)
        assert caught.value.function == "machine_heating"
        assert (caught.value.argument, caught.value.high) == (field, high)
        if field != "UA_group":
            assert caught.value.low == low


def test_least_conductance_to_a_group() -> None:
    """A millionth of a W/K, or none."""
    hm.machine_heating((GROUPED._replace(UA_group=1e-6),), ROOM, COLD)
    for found in (math.nextafter(1e-6, 0.0), 1e-300):
        with pytest.raises(OutOfRangeError) as caught:
            hm.machine_heating((GROUPED._replace(UA_group=found),), ROOM, COLD)
        assert (caught.value.function, caught.value.argument) == ("machine_heating", "UA_group")
        assert caught.value.low == 1e-6


def test_least_heat_capacity() -> None:
    """1 J/K: 0.24 g of water at 4180 J/(kg K) is more, 0.238 g less."""
    hm.machine_heating((FREE._replace(m_water=0.0, C_metal=1.0, elements=(0.01,)),), ROOM, COLD)
    hm.machine_heating((FREE._replace(m_water=2.4e-4, C_metal=0.0, elements=(0.01,)),), ROOM, COLD)
    for mass, metal in ((0.0, 0.999), (2.38e-4, 0.0)):
        with pytest.raises(OutOfRangeError) as caught:
            hm.machine_heating((FREE._replace(m_water=mass, C_metal=metal),), ROOM, COLD)
        assert (caught.value.argument, caught.value.low, caught.value.high) == ("heat capacity", 1.0, 1e9)


def test_ends_of_a_machine() -> None:
    """One boiler to twenty, a start within the water's range, a limit that is not negative."""
    assert len(hm.machine_heating((FREE,) * 20, ROOM, COLD).boilers) == 20
    for count in (0, 21):
        with pytest.raises(OutOfRangeError) as caught:
            hm.machine_heating((FREE,) * count, ROOM, COLD)
        assert (caught.value.argument, caught.value.low, caught.value.high) == ("boilers", 1, 20)
    hot = FREE._replace(T_set=468.15)
    assert hm.machine_heating((hot,), ROOM, 468.15).time_setpoint == 0.0
    for start in (math.nextafter(273.15, 0.0), math.nextafter(468.15, 500.0)):
        with pytest.raises(OutOfRangeError) as caught:
            hm.machine_heating((hot,), ROOM, start)
        assert (caught.value.argument, caught.value.low, caught.value.high) == ("T_start", 273.15, 468.15)
    for room in (math.nextafter(273.15, 0.0), math.nextafter(333.15, 500.0)):
        with pytest.raises(OutOfRangeError) as caught:
            hm.machine_heating((hot,), room, COLD)
        assert (caught.value.argument, caught.value.low, caught.value.high) == ("T_amb", 273.15, 333.15)
    for room, start in ((273.15, COLD), (333.15, COLD), (ROOM, 273.15)):
        assert hm.machine_heating((hot,), room, start).time_setpoint > 0.0
    for difference in (1e-3, 100.0):
        assert hm.machine_heating((FREE,), ROOM, COLD, difference).time_ready > 0.0
    for difference in (math.nextafter(1e-3, 0.0), math.nextafter(100.0, 200.0)):
        with pytest.raises(OutOfRangeError) as caught:
            hm.machine_heating((FREE,), ROOM, COLD, difference)
        found = caught.value
        assert (found.argument, found.low, found.high) == ("soak_difference", 1e-3, 100.0)
    with pytest.raises(UnavailableError):
        hm.machine_heating((FREE,), ROOM, COLD, limit=0.0)
    with pytest.raises(OutOfRangeError) as caught:
        hm.machine_heating((FREE,), ROOM, COLD, limit=-1e-9)
    assert (caught.value.argument, caught.value.low) == ("limit", 0.0)


def test_cold_and_hot_ends_of_the_water() -> None:
    """From 0 to 5 °C, and from 187 to 195 °C, without loss: enthalpy over power."""
    ice = HeatedBoiler(1.0, 0.0, 0.0, 278.15, (100.0,))
    found = hm.machine_heating((ice, ice), 273.15, 273.15, limit=100.0)
    by_hand = (heated.enthalpy(278.15) - heated.enthalpy(273.16)) * 5.0 / 4.99 / 100.0
    assert found.boilers[0].reached == pytest.approx(by_hand, rel=4e-4)
    assert found.boilers[1].reached == pytest.approx(2.0 * by_hand, rel=4e-4)
    top = HeatedBoiler(0.1, 100.0, 0.0, 468.15, (1500.0,))
    found = hm.machine_heating((top, top), ROOM, 460.15, limit=1500.0)
    by_hand = (0.1 * (heated.enthalpy(468.15) - heated.enthalpy(460.15)) + 800.0) / 1500.0
    assert found.boilers[0].reached == pytest.approx(by_hand, rel=5e-4)


def test_already_hot() -> None:
    """A boiler that starts at its set point is there at once, given nothing, no part of the peak."""
    warm = BREW._replace(C_group=0.0, UA_group=0.0, UA_room=0.0, UA=0.0, T_set=363.15)
    found = hm.machine_heating((STEAM, warm), ROOM, 363.15)
    assert (found.boilers[1].reached, found.boilers[1].energy, found.boilers[1].lost) == (0.0, 0.0, 0.0)
    assert found.boilers[1].temperature(0.0) == 363.15
    assert found.peak_power == 3000.0
    assert found.energy == pytest.approx(found.boilers[0].energy, rel=1e-12)


def test_a_group_that_counts_as_soaked_at_once() -> None:
    """A difference of 100 K is there before the boiler is: nothing follows the set point."""
    found = hm.machine_heating((BREW,), ROOM, COLD, 100.0)
    assert found.boilers[0].soak(100.0) == 0.0
    assert found.boilers[0].reached == found.time_ready
    assert found.energy == pytest.approx(found.boilers[0].energy, rel=1e-12)


def test_an_element_that_just_does_not_fit() -> None:
    """3 kW under a limit of a hundredth of a watt less are never switched on, before or beside another."""
    for boilers in ((BREW, STEAM), (STEAM, BREW)):
        assert hm.machine_heating(boilers, ROOM, COLD, limit=3000.0).peak_power == 3000.0
        with pytest.raises(UnavailableError) as caught:
            hm.machine_heating(boilers, ROOM, COLD, limit=2999.99)
        assert boilers[int(caught.value.details["boiler"])] is STEAM
        assert caught.value.details["reached"] < ROOM
