"""One boiler with its group against an integration by scipy with CoolProp's water, and by hand."""

from __future__ import annotations

import math

import pytest
from CoolProp.CoolProp import PropsSI
from scipy.integrate import solve_ivp

from procgen.engineering import heating_alone as a

GROUP = (1540.0, 5.0, 1.0)
ROOM, COLD, SET = 293.15, 288.15, 366.15


def enthalpy(T: float) -> float:
    """Of liquid water at one atmosphere, saturated where it would boil, J/kg."""
    if T < 373.0:
        return float(PropsSI("H", "T", T, "P", 101325, "Water"))
    return float(PropsSI("H", "T", T, "Q", 0, "Water"))


def mean_heat(T: float) -> float:
    """Mean specific heat over the span of 5 K in which a temperature lies."""
    low = 273.15 + 5.0 * math.floor((T - 273.15) / 5.0 + 1e-12)
    start = max(low, 273.16)  # the library has no liquid at the ice point itself
    return (enthalpy(low + 5.0) - enthalpy(start)) / (low + 5.0 - start)


def integrate(
    m: float, C: float, UA: float, power: float, group: tuple[float, float, float]
) -> tuple[float, float]:
    """Time to the set point and the group's temperature then."""
    C_g, UA_g, UA_r = group
    heats = {low: mean_heat(low) for low in [273.15 + 5.0 * k for k in range(25)]}

    def slopes(_: float, y: list[float]) -> list[float]:
        T, G = y
        heat = heats[273.15 + 5.0 * math.floor((T - 273.15) / 5.0)]
        across = UA_g * (T - G)
        return [(power - UA * (T - ROOM) - across) / (m * heat + C), (across - UA_r * (G - ROOM)) / C_g]

    def there(_: float, y: list[float]) -> float:
        return y[0] - SET

    there.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(slopes, (0.0, 3e3), [COLD, ROOM], events=there, rtol=1e-9, atol=1e-9, max_step=2.0)
    return float(found.t_events[0][0]), float(found.y_events[0][0][1])


@pytest.mark.parametrize(
    ("m", "C", "UA", "power", "group"),
    [
        (0.8, 577.5, 0.8, 1000.0, GROUP),
        (0.5, 300.0, 2.0, 900.0, (400.0, 3.0, 2.5)),
    ],
)
def test_against_an_integration(
    m: float, C: float, UA: float, power: float, group: tuple[float, float, float]
) -> None:
    clock, warm = integrate(m, C, UA, power, group)
    found = a.heat(m, C, UA, power, group, ROOM, COLD, SET, 1.0)
    # CoolProp's heats (IAPWS-95) differ from IF97's by up to 0.08 %.
    assert found.reached == pytest.approx(clock, rel=4e-4)
    assert found.T_group == pytest.approx(warm, abs=0.02)
    assert found.energy == pytest.approx(power * clock, rel=4e-4)
    assert (found.curve[0], found.groups[0]) == ((0.0, COLD), (0.0, ROOM))
    assert found.curve[-1] == (pytest.approx(clock, rel=4e-4), pytest.approx(SET, abs=1e-6))
    assert found.groups[-1] == (pytest.approx(clock, rel=4e-4), pytest.approx(warm, abs=0.02))
    # With the steps that the machine takes the time moves little.
    step = a.step_length(m, C, UA, *group)
    assert a.heat(m, C, UA, power, group, ROOM, COLD, SET, step).reached == pytest.approx(clock, rel=2e-3)


def test_the_first_five_kelvin() -> None:
    """1 kg from 0 to 5 °C without loss: about 21.06 kJ."""
    found = a.heat(1.0, 0.0, 0.0, 1000.0, (0.0, 0.0, 0.0), 273.15, 273.15, 278.15, 0.5)
    by_library = 5.0 * mean_heat(273.2)
    assert found.reached == pytest.approx(by_library / 1000.0, rel=3e-4)
    assert found.energy == pytest.approx(by_library, rel=3e-4)


def test_a_step_beyond_the_grid() -> None:
    """A strong element at the top of the range: the trial step of 30 s would end at 250 °C."""
    found = a.heat(0.1, 0.0, 0.0, 1500.0, (0.0, 0.0, 0.0), ROOM, 460.15, 468.15, 30.0)
    heat = enthalpy(468.15) - enthalpy(460.15)
    assert found.reached == pytest.approx(0.1 * heat / 1500.0, rel=5e-3)


def test_specific_heats() -> None:
    """Forty spans of 5 K from 0 to 200 °C, by CoolProp."""
    heats = a.heats()
    assert len(heats) == 40
    for k in (0, 1, 10, 20, 30, 39):
        assert heats[k] == pytest.approx(mean_heat(273.15 + 5.0 * k + 1e-6), rel=1e-3)


@pytest.mark.parametrize(
    ("figures", "step"),
    [
        # 30 s where nothing is faster.
        ((0.8, 577.5, 0.0, 0.0, 0.0, 0.0), 30.0),
        ((10.0, 3000.0, 1.0, 0.0, 0.0, 0.0), 30.0),
        # An eighth of (m 4180 J/(kg K) + C)/(UA + UA_group).
        ((0.2, 100.0, 2.0, 1e6, 5.0, 0.0), 936.0 / 7.0 / 8.0),
        ((0.2, 100.0, 1.0, 1e6, 6.0, 0.0), 936.0 / 7.0 / 8.0),
        ((0.0, 1.0, 0.01, 0.0, 0.0, 0.0), 12.5),
        # An eighth of C_group/(UA_group + UA_room).
        ((10.0, 3000.0, 1.0, 600.0, 5.0, 1.0), 12.5),
        ((10.0, 3000.0, 0.0, 60.0, 0.01, 0.99), 7.5),
    ],
)
def test_steps(figures: tuple[float, ...], step: float) -> None:
    assert a.step_length(*figures) == pytest.approx(step, rel=1e-12)


@pytest.mark.parametrize("group", [GROUP, (400.0, 3.0, 2.5)])
def test_held_against_an_integration(group: tuple[float, float, float]) -> None:
    C_g, UA_g, UA_r = group
    start = a.Alone(300.0, 320.0, 3e5, ((0.0, COLD), (300.0, SET)), ((0.0, ROOM), (300.0, 320.0)))

    def slopes(_: float, y: list[float]) -> list[float]:
        across = UA_g * (SET - y[0])
        return [(across - UA_r * (y[0] - ROOM)) / C_g, 0.8 * (SET - ROOM) + across]

    truth = solve_ivp(slopes, (0.0, 700.0), [320.0, 0.0], rtol=1e-10, atol=1e-9, dense_output=True)
    held = a.hold(start, 0.8, group, ROOM, SET, 1000.0)
    assert held.energy == pytest.approx(truth.y[1][-1], rel=1e-7)
    assert held.T_group == pytest.approx(truth.y[0][-1], abs=1e-5)
    assert held.groups[:2] == start.groups
    assert [t for t, _ in held.groups[2:]] == pytest.approx([300.0 + 700.0 * k / 12 for k in range(1, 13)])
    for t, G in held.groups[2:]:
        assert pytest.approx(truth.sol(t - 300.0)[0], abs=1e-5) == G


def test_held_for_no_time_and_without_a_group() -> None:
    start = a.Alone(300.0, 320.0, 3e5, ((0.0, COLD), (300.0, SET)), ((0.0, ROOM), (300.0, 320.0)))
    for end in (300.0, 200.0):
        assert a.hold(start, 0.8, GROUP, ROOM, SET, end) == a.Held(0.0, 320.0, start.groups)
    # 0.8 W/K x 73 K x 700 s = 40 880 J.
    bare = a.hold(start, 0.8, (0.0, 0.0, 0.0), ROOM, SET, 1000.0)
    assert (bare.energy, bare.T_group) == (pytest.approx(40880.0, rel=1e-9), 320.0)


def test_where_a_weak_boiler_stays() -> None:
    """10 W and 1 W/K: 10 K above the room, and that is what the refusal says."""
    with pytest.raises(a.StaysColdError) as caught:
        a.heat(0.1, 0.0, 1.0, 10.0, (0.0, 0.0, 0.0), ROOM, ROOM, SET, 30.0)
    assert caught.value.reached == pytest.approx(ROOM + 10.0, abs=1e-3)
