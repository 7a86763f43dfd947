"""A machine under a limit against integrations by scipy, and the ends of what a machine may be."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from CoolProp.CoolProp import PropsSI
from scipy.integrate import solve_ivp

from procgen.engineering import heating_machine as hm
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.unavailable import UnavailableError
from procgen.engineering.water import saturation_temperature

ROOM, COLD = 293.15, 288.15
STEAM = hm.HeatedBoiler("S", 7.0, 3000.0, 4.0, 398.15, (3000.0,), steam=True)
BREW = hm.HeatedBoiler("K", 3.0, 1500.0, 1.0, 366.15, (1000.0,), C_group=6000.0, UA_group=5.0, UA_room=1.0)


def heat_of(T: float) -> float:
    """Specific heat of liquid water, J/(kg K), mean over 5 K as the formula says."""
    low = 273.15 + 5.0 * math.floor((T - 273.15) / 5.0)
    ends = []
    for edge in (max(low, 273.16), low + 5.0):
        given = ("P", 101325) if edge < 373.0 else ("Q", 0)
        ends.append(PropsSI("H", "T", edge, *given, "Water"))
    return float(ends[1] - ends[0]) / (low + 5.0 - max(low, 273.16))


HEATS = {k: heat_of(273.15 + 5.0 * k + 1e-6) for k in range(40)}


def capacity(b: hm.HeatedBoiler, T: float) -> float:
    return b.m_water * HEATS[int((T - 273.15) / 5.0)] + b.C_metal


def until(slopes, start, index, level):
    """Integrate until one figure reaches a level: time and all figures then."""

    def there(_, y):
        return y[index] - level

    there.terminal = True
    there.direction = 1
    found = solve_ivp(slopes, (0.0, 2e4), start, events=there, rtol=1e-8, atol=1e-8, max_step=10.0)
    return float(found.t_events[0][0]), [float(x) for x in found.y_events[0][0]]


def group_slope(b, T, G):
    """K/s."""
    return (b.UA_group * (T - G) - b.UA_room * (G - ROOM)) / b.C_group


@pytest.mark.parametrize("wall", [0.0, 1e-9])
def test_one_after_the_other(wall: float) -> None:
    """3 kW for both: the steam boiler first; held, it needs 420 W, 14 % of the time; the rest is the other's.

    Once with boilers side by side, once joined by a wall that conducts nothing worth the name.
    """
    found = hm.machine_heating((STEAM, replace(BREW, UA_steam=wall)), ROOM, COLD, limit=3000.0)
    steam, brew = found.boilers

    def first(_, y):
        S, T, G = y
        lost = BREW.UA * (T - ROOM) + BREW.UA_group * (T - G)
        return [
            (3000.0 - 4.0 * (S - ROOM)) / capacity(STEAM, S),
            -lost / capacity(BREW, T),
            group_slope(BREW, T, G),
        ]

    t1, (_, T1, G1) = until(first, [COLD, COLD, ROOM], 0, 398.15)
    duty = 4.0 * 105.0 / 3000.0

    def second(_, y):
        T, G, _ = y
        power = (1.0 - duty) * 1000.0
        lost = BREW.UA * (T - ROOM) + BREW.UA_group * (T - G)
        return [(power - lost) / capacity(BREW, T), group_slope(BREW, T, G), power]

    t2, (_, G2, energy) = until(second, [T1, G1, 0.0], 0, 366.15)
    assert steam.time_setpoint == pytest.approx(t1, rel=6e-4)
    assert steam.energy_setpoint == pytest.approx(3000.0 * steam.time_setpoint, abs=1e-3)
    assert brew.time_setpoint == pytest.approx(t1 + t2, rel=6e-4)
    assert brew.energy_setpoint == pytest.approx(energy, rel=1e-3)
    index = next(k for k, (t, _) in enumerate(brew.group_curve) if t == brew.time_setpoint)
    assert brew.group_curve[index][1] == pytest.approx(G2, abs=0.08)
    assert brew.group_curve[0] == (0.0, ROOM)
    before = next(T for t, T in brew.curve if t == steam.time_setpoint)
    assert before == pytest.approx(T1, abs=0.02)

    # Then both are held until the group is within 2 K of its 353.98 K.
    final = (5.0 * 366.15 + ROOM) / 6.0
    soak = 1000.0 * math.log((final - G2) / 2.0)
    assert brew.time_ready == pytest.approx(t1 + t2 + soak, rel=1e-3)
    span = found.time_ready - brew.time_setpoint

    def third(_, y):
        return [group_slope(BREW, 366.15, y[0]), 1.0 * 73.0 + 5.0 * (366.15 - y[0])]

    held = solve_ivp(third, (0.0, span), [G2, 0.0], rtol=1e-9, atol=1e-6)
    assert brew.energy == pytest.approx(energy + held.y[1][-1], rel=1e-3)
    assert brew.T_group == pytest.approx(held.y[0][-1], abs=0.05)
    assert brew.group_curve[-1] == (pytest.approx(found.time_ready), brew.T_group)
    # By hand: 105 K x 4 W/K for as long as it is held.
    kept = steam.energy - steam.energy_setpoint
    assert kept == pytest.approx(420.0 * (found.time_ready - steam.time_setpoint), rel=1e-5)
    assert found.energy == pytest.approx(steam.energy + brew.energy, rel=1e-12)
    assert (found.peak_power, steam.T_group, steam.group_curve) == (3000.0, ROOM, ())
    assert (found.time_setpoint, found.time_ready) == (brew.time_setpoint, brew.time_ready)
    assert (steam.curve[-1], brew.curve[-1]) == ((found.time_ready, 398.15), (found.time_ready, 366.15))


def test_a_group_warms_while_its_boiler_is_held() -> None:
    """The brew boiler first, held while the steam boiler heats with what is left of 3 kW."""
    found = hm.machine_heating((BREW, STEAM), ROOM, COLD, limit=3000.0)
    brew, steam = found.boilers
    t1, (_, G1) = until(
        lambda _, y: [
            (1000.0 - (y[0] - ROOM) - 5.0 * (y[0] - y[1])) / capacity(BREW, y[0]),
            group_slope(BREW, y[0], y[1]),
        ],
        [COLD, ROOM], 0, 366.15,
    )  # fmt: skip
    assert brew.time_setpoint == pytest.approx(t1, rel=6e-4)
    span = steam.time_setpoint - brew.time_setpoint
    held = solve_ivp(
        lambda _, y: [group_slope(BREW, 366.15, y[0]), 73.0 + 5.0 * (366.15 - y[0])],
        (0.0, span), [G1, 0.0], rtol=1e-9, atol=1e-6,
    )  # fmt: skip
    then = next(G for t, G in brew.group_curve if t == steam.time_setpoint)
    assert then == pytest.approx(held.y[0][-1], abs=0.08)
    after = brew.energy - brew.energy_setpoint - 73.0 * (found.time_ready - steam.time_setpoint)
    rest = solve_ivp(
        lambda _, y: [group_slope(BREW, 366.15, y[0]), 5.0 * (366.15 - y[0])],
        (0.0, max(found.time_ready - steam.time_setpoint, 1e-9)), [then, 0.0], rtol=1e-9, atol=1e-6,
    )  # fmt: skip
    assert after == pytest.approx(held.y[1][-1] + rest.y[1][-1], rel=1e-3)


def test_the_largest_held_element_decides_what_fits_beside_it() -> None:
    """3 kW and 1 kW held, 1 kW wanted, 3.5 kW allowed: nothing fits beside the large one.

    With the first held (60 W of 3 kW: 2 % of the time) the others share 98 %: the second needs
    1e4 ln(980/940) s for its 40 K at 1 W/K. Held too (40 W of 1 kW) it leaves 94 % to the last, which has
    no loss and heats by 50 K in all.
    """
    large = hm.HeatedBoiler("A", 0.0, 1e4, 1.0, 353.15, (3000.0,))
    small = hm.HeatedBoiler("B", 0.0, 1e4, 1.0, 333.15, (1000.0,))
    last = hm.HeatedBoiler("C", 0.0, 1e4, 0.0, 343.15, (1000.0,))
    found = hm.machine_heating((large, small, last), ROOM, ROOM, limit=3500.0)
    times = [b.time_setpoint for b in found.boilers]
    assert times == sorted(times)
    second = 1e4 * math.log(980.0 / 940.0)
    assert times[1] - times[0] == pytest.approx(second, rel=1e-5)
    assert times[2] - times[1] == pytest.approx((1e4 * 50.0 - 980.0 * second) / 940.0, rel=1e-4)


def test_boilers_that_take_all_the_time_leave_none() -> None:
    """Two at set point need 2 x 2400 W of 3 kW: the third falls to the temperature of the room."""
    hungry = hm.HeatedBoiler("A", 7.0, 3000.0, 40.0, 353.15, (3000.0,))
    idle = hm.HeatedBoiler("K", 0.5, 500.0, 5.0, 366.15, (1000.0,))
    with pytest.raises(UnavailableError) as caught:
        hm.machine_heating((hungry, replace(hungry, mark="B"), idle), ROOM, 353.15, limit=3000.0)
    assert caught.value.details["boiler"] == 2
    assert caught.value.details["reached"] == pytest.approx(ROOM, abs=0.01)
    assert caught.value.details["wanted"] == 366.15


def test_not_told_is_none() -> None:
    bare = hm.HeatedBoiler("K", 1.0, 0.0, 0.0, 366.15, (1000.0,))
    assert (bare.C_group, bare.UA_group, bare.UA_room, bare.UA_steam, bare.hysteresis) == (0, 0, 0, 0, 1.0)


FREE = hm.HeatedBoiler("K", 1.0, 500.0, 0.0, 366.15, (1000.0,))
GROUPED = replace(FREE, C_group=1000.0, UA_group=0.1)


@pytest.mark.parametrize(
    ("field", "boiler", "low", "high"),
    [
        ("m_water", FREE, 0.0, 1e4),
        ("C_metal", FREE, 0.0, 1e8),
        ("hysteresis", FREE, 0.0, 50.0),
        ("UA", replace(FREE, C_metal=1e5), 0.0, 1e4),
        ("UA_group", replace(FREE, C_metal=1e5, C_group=1e5), 0.0, 1e4),
        ("UA_room", replace(FREE, C_group=1e5), 0.0, 1e4),
        ("UA_steam", replace(FREE, C_metal=1e5), 0.0, 1e4),
        ("C_group", FREE, 0.0, 1e8),
        ("C_group", GROUPED, 1.0, 1e8),
        ("elements", FREE, 0.0, 1e6),
        ("T_set", FREE, ROOM, 468.15),
    ],
)
def test_ends_of_a_boiler(field: str, boiler: hm.HeatedBoiler, low: float, high: float) -> None:
    def run(found: float) -> None:
        hm.machine_heating(
            (replace(boiler, **{field: (found,) if field == "elements" else found}),), ROOM, COLD
        )

    for inside in (low, high):
        try:
            run(inside)
        except UnavailableError as cold:  # nothing is refused for its number
            assert cold.id == "heat.not_reached"
    for outside in (math.nextafter(low, -math.inf), math.nextafter(high, math.inf)):
        with pytest.raises(OutOfRangeError) as caught:
            run(outside)
        assert (caught.value.argument, caught.value.low, caught.value.high) == (field, low, high)


def test_least_heat_capacity() -> None:
    """1 J/K: 0.24 g of water at 4180 J/(kg K) is more, 0.238 g less."""
    hm.machine_heating((replace(FREE, m_water=0.0, C_metal=1.0, elements=(0.01,)),), ROOM, COLD)
    hm.machine_heating((replace(FREE, m_water=2.4e-4, C_metal=0.0, elements=(0.01,)),), ROOM, COLD)
    for mass, metal in ((0.0, 0.999), (2.38e-4, 0.0)):
        with pytest.raises(OutOfRangeError) as caught:
            hm.machine_heating((replace(FREE, m_water=mass, C_metal=metal),), ROOM, COLD)
        assert (caught.value.argument, caught.value.low, caught.value.high) == ("heat capacity", 1.0, 1e9)


def test_ends_of_a_machine() -> None:
    """One boiler to twenty, a start within the water's range, a limit that is not negative."""
    assert len(hm.machine_heating((FREE,) * 20, ROOM, COLD).boilers) == 20
    for count in (0, 21):
        with pytest.raises(OutOfRangeError) as caught:
            hm.machine_heating((FREE,) * count, ROOM, COLD)
        assert (caught.value.argument, caught.value.low, caught.value.high) == ("boilers", 1, 20)
    hot = replace(FREE, T_set=468.15)
    assert hm.machine_heating((hot,), ROOM, 468.15).time_setpoint == 0.0
    for start in (math.nextafter(273.15, 0.0), math.nextafter(468.15, 500.0)):
        with pytest.raises(OutOfRangeError) as caught:
            hm.machine_heating((hot,), ROOM, start)
        assert (caught.value.argument, caught.value.low, caught.value.high) == ("T_start", 273.15, 468.15)
    for room in (math.nextafter(273.15, 0.0), math.nextafter(333.15, 500.0)):
        with pytest.raises(OutOfRangeError) as caught:
            hm.machine_heating((hot,), room, COLD)
        assert (caught.value.argument, caught.value.low, caught.value.high) == ("T_amb", 273.15, 333.15)
    with pytest.raises(UnavailableError):
        hm.machine_heating((FREE,), ROOM, COLD, limit=0.0)
    with pytest.raises(OutOfRangeError) as caught:
        hm.machine_heating((FREE,), ROOM, COLD, limit=-1e-9)
    assert (caught.value.argument, caught.value.low) == ("limit", 0.0)


def test_what_counts_as_too_quick() -> None:
    """Heat capacity over all conductances, by hand: 418 J/K over 100 + 5 + 2 x 10 W/K at the steam boiler."""
    steam = hm.HeatedBoiler("S", 0.1, 0.0, 100.0, 398.15, (3000.0,), 1e4, 5.0, 1.0, steam=True)
    brew = replace(BREW, UA_steam=10.0)
    with pytest.raises(OutOfRangeError) as caught:
        hm.machine_heating((steam, brew, replace(brew, mark="K2")), ROOM, COLD)
    assert (caught.value.argument, caught.value.low) == ("lag", 4.0)
    assert caught.value.found == pytest.approx(418.0 / 125.0, rel=1e-12)
    with pytest.raises(OutOfRangeError) as caught:
        hm.machine_heating((replace(steam, steam=False, UA_steam=7.0),), ROOM, COLD)
    assert caught.value.found == pytest.approx(418.0 / 112.0, rel=1e-12)
    with pytest.raises(OutOfRangeError) as caught:
        hm.machine_heating((replace(FREE, C_group=1.0, UA_group=0.01, UA_room=0.99),), ROOM, COLD)
    assert caught.value.found == pytest.approx(1.0, rel=1e-12)


@pytest.mark.parametrize("wall", [0.0, 1e-9])
def test_cold_and_hot_ends_of_the_grid(wall: float) -> None:
    """From 0 to 5 °C in one span; and at 195 °C a trial step of 30 s that would end far beyond the grid."""
    ice = hm.HeatedBoiler("A", 1.0, 0.0, 0.0, 278.15, (100.0,), UA_steam=wall)
    found = hm.machine_heating((ice, replace(ice, mark="B")), 273.15, 273.15, limit=100.0)
    assert found.boilers[0].time_setpoint == pytest.approx(5.0 * HEATS[0] / 100.0, rel=1e-3)
    assert found.boilers[1].time_setpoint == pytest.approx(10.0 * HEATS[0] / 100.0, rel=1e-3)
    top = hm.HeatedBoiler("A", 0.1, 100.0, 0.0, 468.15, (1500.0,), UA_steam=wall)
    found = hm.machine_heating((top, replace(top, mark="B")), ROOM, 460.15, limit=1500.0)
    by_hand = (0.1 * (5.0 * HEATS[38] + 3.0 * HEATS[37]) + 800.0) / 1500.0
    assert found.boilers[0].time_setpoint == pytest.approx(by_hand, rel=5e-3)


def test_where_a_curve_passes_a_level() -> None:
    points = ((1.0, 10.0), (11.0, 20.0), (21.0, 20.0), (31.0, 40.0))
    passed = {5.0: 1.0, 10.0: 1.0, 15.0: 6.0, 20.0: 11.0, 30.0: 26.0, 40.0: 31.0, 50.0: 31.0}
    for level, time in passed.items():
        assert hm._crossing(points, level) == pytest.approx(time, rel=1e-12)


@pytest.mark.parametrize("wall", [0.0, 1e-9])
def test_each_by_itself(wall: float) -> None:
    """No limit: the boilers heat together; ready with the last, and all are held until then."""
    quick = hm.HeatedBoiler("Q", 0.5, 400.0, 0.5, 363.15, (800.0,), 500.0, 4.0, 1.5)
    boilers = (STEAM, replace(BREW, UA_steam=wall), quick)
    found = hm.machine_heating(boilers, ROOM, COLD)
    ends = []
    for b, result in zip(boilers, found.boilers, strict=True):
        power = b.elements[0]

        def slopes(_, y, b=b, power=power):
            T, G, _ = y
            across = b.UA_group * (T - G)
            warming = group_slope(b, T, G) if b.UA_group else 0.0
            return [(power - b.UA * (T - ROOM) - across) / capacity(b, T), warming, power]

        t, (_, G, energy) = until(slopes, [COLD, ROOM, 0.0], 0, b.T_set)
        total = b.UA_group + b.UA_room
        soak = 0.0
        if b.UA_group:
            final = (b.UA_group * b.T_set + b.UA_room * ROOM) / total
            soak = b.C_group / total * math.log((final - G) / 2.0)
        ends.append((t, t + soak, G, energy))
        assert result.time_setpoint == pytest.approx(t, rel=8e-4)
        assert result.time_ready == pytest.approx(t + soak, rel=2e-3)
        assert result.energy_setpoint == pytest.approx(energy, rel=8e-4)
        assert result.curve[0] == (0.0, COLD)
        assert result.curve[-1] == (found.time_ready, b.T_set)
        assert all(a[0] < c[0] for a, c in zip(result.curve, result.curve[1:], strict=False))
        if b.UA_group:
            assert result.group_curve[0] == (0.0, ROOM)
            assert all(a[0] < c[0] for a, c in zip(result.group_curve, result.group_curve[1:], strict=False))
            assert result.group_curve[-1] == (pytest.approx(found.time_ready), result.T_group)
    last = max(ready for _, ready, _, _ in ends)
    assert found.time_ready == pytest.approx(last, rel=2e-3)
    assert found.time_setpoint == pytest.approx(max(t for t, *_ in ends), rel=8e-4)
    assert found.peak_power == 4800.0
    for b, result, (_, _, _, energy) in zip(boilers, found.boilers, ends, strict=True):
        span = found.time_ready - result.time_setpoint
        if not b.UA_group:
            assert result.energy == pytest.approx(
                result.energy_setpoint + b.UA * (b.T_set - ROOM) * span, rel=1e-6
            )
            continue
        G = next(g for t, g in result.group_curve if t == result.time_setpoint)

        def held(_, y, b=b):
            return [group_slope(b, b.T_set, y[0]), b.UA * (b.T_set - ROOM) + b.UA_group * (b.T_set - y[0])]

        truth = solve_ivp(held, (0.0, span), [G, 0.0], rtol=1e-9, atol=1e-6)
        assert result.energy == pytest.approx(energy + truth.y[1][-1], rel=1e-3)
        assert result.T_group == pytest.approx(truth.y[0][-1], abs=0.03)
    assert found.energy == pytest.approx(sum(b.energy for b in found.boilers), rel=1e-12)


def test_points_of_a_soak() -> None:
    """Twelve points of an exponential of 1000 s from the last set point to the last ready."""
    found = hm.machine_heating((replace(BREW, UA_steam=1e-9),), ROOM, COLD)
    brew = found.boilers[0]
    start = next(k for k, (t, _) in enumerate(brew.group_curve) if t == brew.time_setpoint)
    after = brew.group_curve[start + 1 :]
    assert len(after) == 12
    G, final, span = (
        brew.group_curve[start][1],
        (5.0 * 366.15 + ROOM) / 6.0,
        found.time_ready - brew.time_setpoint,
    )
    for k, (t, T) in enumerate(after, start=1):
        assert t == pytest.approx(brew.time_setpoint + span * k / 12.0, rel=1e-12)
        assert pytest.approx(final + (G - final) * math.exp(-span * k / 12.0 / 1000.0), abs=1e-6) == T


@pytest.mark.parametrize("wall", [0.0, 1e-9])
def test_already_hot(wall: float) -> None:
    """A boiler that starts at its set point is there at once, given nothing, no part of the peak."""
    warm = replace(BREW, C_group=0.0, UA_group=0.0, UA_room=0.0, UA=0.0, T_set=363.15, UA_steam=wall)
    found = hm.machine_heating((STEAM, warm), ROOM, 363.15)
    assert (found.boilers[1].time_setpoint, found.boilers[1].energy_setpoint) == (0.0, 0.0)
    assert found.boilers[1].energy == pytest.approx(0.0, abs=1e-3)
    assert found.boilers[1].curve[0] == (0.0, 363.15)
    assert found.peak_power == 3000.0
    steam = found.boilers[0].curve
    assert steam[-1] == (found.time_ready, 398.15)
    assert steam[-2][0] < steam[-1][0]


def test_a_group_that_counts_as_soaked_at_once() -> None:
    """A difference of 100 K is there before the boiler is: nothing follows the set point."""
    found = hm.machine_heating((replace(BREW, UA_steam=1e-9),), ROOM, COLD, 100.0)
    brew = found.boilers[0]
    assert brew.time_ready == brew.time_setpoint == found.time_ready
    assert brew.group_curve[-1][0] == brew.time_setpoint
    assert brew.group_curve[-2][0] < brew.group_curve[-1][0]
    assert brew.energy == pytest.approx(brew.energy_setpoint, rel=1e-12)


def test_when_it_boils() -> None:
    """Only a steam boiler, from its own local boiling point on; set exactly to that, with its set point."""
    boiling = saturation_temperature(101325.0)
    for T_set, steam, boils in ((390.15, False, False), (370.15, True, False), (boiling, True, True)):
        b = replace(STEAM, T_set=T_set, steam=steam)
        result = hm.machine_heating((b,), ROOM, COLD).boilers[0]
        assert (result.time_boil is not None) == boils
        if boils:
            assert result.time_boil == pytest.approx(result.time_setpoint, rel=1e-9)


@pytest.mark.parametrize("UA", [1.0, 4.0])
def test_what_a_held_boiler_and_its_group_leave_to_the_next(UA: float) -> None:
    """The brew boiler, held, takes 73 or 292 W and its warming group's share of 1 kW: so much time is gone.

    2.5 kW are allowed. The steam boiler's second element (500 W) fits beside the brew boiler, its first
    (2 kW) only without it.
    """
    steam, first = replace(STEAM, elements=(2000.0, 500.0)), replace(BREW, UA=UA)
    found = hm.machine_heating((first, steam), ROOM, COLD, limit=2500.0)
    brew, last = found.boilers

    def together(_, y):
        S, T, G = y
        lost = UA * (T - ROOM) + BREW.UA_group * (T - G)
        return [
            (500.0 - 4.0 * (S - ROOM)) / capacity(steam, S),
            (1000.0 - lost) / capacity(BREW, T),
            group_slope(BREW, T, G),
        ]

    # Beside 1 kW only the small element of the steam boiler fits.
    t1, (S1, _, G1) = until(together, [COLD, COLD, ROOM], 1, 366.15)

    def after(_, y):
        S, G = y
        duty = (73.0 * UA + 5.0 * (366.15 - G)) / 1000.0
        power = (1.0 - duty) * 2500.0 + duty * 500.0
        return [(power - 4.0 * (S - ROOM)) / capacity(steam, S), group_slope(BREW, 366.15, G)]

    t2, (_, G2) = until(after, [S1, G1], 0, 398.15)
    assert brew.time_setpoint == pytest.approx(t1, rel=6e-4)
    # The share of the time is taken anew at each step of 30 s.
    assert last.time_setpoint == pytest.approx(t1 + t2, rel=1.2e-3)
    then = next(G for t, G in brew.group_curve if t == last.time_setpoint)
    assert then == pytest.approx(G2, abs=0.08)


def test_an_element_that_just_does_not_fit() -> None:
    """3 kW under a limit of a hundredth of a watt less are never switched on, before or beside another."""
    for boilers in ((BREW, STEAM), (STEAM, BREW)):
        assert hm.machine_heating(boilers, ROOM, COLD, limit=3000.0).peak_power == 3000.0
        with pytest.raises(UnavailableError) as caught:
            hm.machine_heating(boilers, ROOM, COLD, limit=2999.99)
        assert boilers[int(caught.value.details["boiler"])].mark == "S"
        assert caught.value.details["reached"] < ROOM
