"""One boiler and its group at constant power: against matrix exponentials, and another steam table."""

from __future__ import annotations

import math

import numpy as np
import pytest
from iapws import IAPWS97
from scipy.linalg import expm

from procgen.engineering import heating_stretch as hs

from . import heated, outside
from .oracle import agrees

C = 273.15
ROOM, START, SET = 20 + C, 15 + C, 93 + C
BREW = hs.HeatedBoiler(0.8, 577.5, 0.8, SET, (1000.0,), 1540.0, 5.0, 1.0)
EVEN = hs.HeatedBoiler(0.0, 1e3, 0.0, SET, (), 1e3, 1.0, 0.0)
LIGHT = hs.HeatedBoiler(0.0, 2.0, 50.0, SET, (), 1.0, 400.0, 300.0)
#: Boiler, temperature of boiler and group, power, where it goes to, and how long.
STRETCHES = {
    "brew": (BREW, START, ROOM, 1000.0, SET, 300.0),
    "leaky": (BREW._replace(UA=6.0, UA_room=3.0), START, ROOM, 700.0, 340.0, 600.0),
    "no group": (BREW._replace(UA_group=0.0), START, ROOM, 1000.0, SET, 300.0),
    "no loss": (BREW._replace(UA=0.0, UA_room=0.0), START, ROOM, 1000.0, SET, 300.0),
    "neither": (BREW._replace(UA=0.0, UA_group=0.0), START, ROOM, 1000.0, SET, 300.0),
    "group warmer": (BREW, START, 340.0, 200.0, 300.0, 100.0),
    "cold group": (BREW._replace(C_group=200.0, UA_group=50.0), 330.0, ROOM, 900.0, SET, 20.0),
    "unpowered": (BREW, 350.0, 320.0, 0.0, 330.0, 600.0),
    "equal lags": (EVEN, 300.0, ROOM, 50.0, 310.0, 600.0),
    "milliseconds": (LIGHT, START, ROOM, 9e3, 330.0, 0.01),
    "hardly any loss": (BREW._replace(UA=1e-7, UA_group=0.0), START, ROOM, 1000.0, SET, 300.0),
}  # fmt: skip


def stretch_of(name: str) -> tuple[hs.Stretch, float]:
    b, T, G, power, T_end, length = STRETCHES[name]
    return hs.Stretch(b, ROOM, T, G, power, T_end), length


def exact(name: str, t: float) -> tuple[float, float, float]:
    """Temperatures and heat lost after a time, by the exponential of the whole system's matrix."""
    b, T, G, power, T_end, _ = STRETCHES[name]
    capacity = b.m_water * hs.mean_heat(T, T_end) + b.C_metal
    group = b.C_group or 1.0
    u, g, r = b.UA, b.UA_group, b.UA_room if b.UA_group else 0.0
    system = np.array(
        [
            [-(u + g) / capacity, g / capacity, 0.0, power / capacity],
            [g / group, -(g + r) / group, 0.0, 0.0],
            [u + g, -g, 0.0, 0.0],
            [0.0, 0.0, 0.0, 0.0],
        ]
    )
    found = expm(system * t) @ np.array([T - ROOM, G - ROOM, 0.0, 1.0])
    return ROOM + float(found[0]), ROOM + float(found[1]), float(found[2])


def _boiling(T: float) -> float:
    """Saturation pressure, MPa."""
    return float(IAPWS97(T=T, x=0).P)


def _other(T: float) -> float:
    """Enthalpy, J/kg."""
    return 1e3 * float(IAPWS97(T=T, P=max(0.101325, _boiling(T) + 1e-9)).h)


def test_enthalpies_by_another_implementation() -> None:
    found = hs.enthalpies()
    assert len(found) == 40
    places = (0, 3, 15, 25, 39)
    starts = [_other(C + 5.0 * k) for k in places]
    agrees(hs.enthalpies, [found[k][0] for k in places], starts, outside.IAPWS, rel=1e-6)
    heats = [(_other(C + 5.0 * (k + 1)) - _other(C + 5.0 * k)) / 5.0 for k in places]
    agrees(hs.enthalpies, [found[k][1] for k in places], heats, outside.IAPWS, rel=1e-6)


SPANS = [(15.0, 93.0), (93.0, 15.0), (20.0, 125.0), (61.0, 64.0), (0.0, 195.0), (14.9, 15.2), (120.0, 195.0)]


def test_mean_heats_by_other_implementations() -> None:
    found = [hs.mean_heat(a + C, b + C) for a, b in SPANS]
    other = [(_other(b + C) - _other(a + C)) / (b - a) for a, b in SPANS]
    # Within 5 K the enthalpy is taken as straight.
    agrees(hs.mean_heat, found, other, outside.IAPWS, rel=2e-4)
    over = [(heated.enthalpy(b + C) - heated.enthalpy(a + C)) / (b - a) for a, b in SPANS if b - a > 20]
    long = [heat for heat, (a, b) in zip(found, SPANS, strict=True) if b - a > 20]
    agrees(hs.mean_heat, long, over, outside.COOLPROP, rel=1e-3)


@pytest.mark.parametrize("apart", [1e-13, 1e-10, 1e-7, -1e-13, -1e-10, -1e-7])
def test_a_hair_across_the_end_of_a_span(apart: float) -> None:
    """A difference of enthalpies that is rounding must not make any odd specific heat."""
    for k in range(1, 40):
        edge = C + 5.0 * k
        cold, warm = hs.enthalpies()[k - 1][1], hs.enthalpies()[k][1]
        for T in (edge - 0.5 * apart, math.nextafter(edge, 0.0), edge):
            found = hs.mean_heat(T, T + apart)
            assert 0.999 * min(cold, warm) <= found <= 1.001 * max(cold, warm)


def test_not_told_is_none() -> None:
    bare = hs.HeatedBoiler(1.0, 0.0, 0.0, SET, (1000.0,))
    assert (bare.C_group, bare.UA_group, bare.UA_room) == (0, 0, 0)


@pytest.mark.parametrize("UA", [1e-3, 1.6e-3, 1.7e-3, 0.1])
def test_a_loss_small_against_the_time(UA: float) -> None:
    """From room temperature for 600 s: UA·(P/C)·(t²/2)·(1 − x/3 + x²/12 − x³/60), x = UA·t/C."""
    stretch = hs.Stretch(hs.HeatedBoiler(0.0, 1e4, UA, SET, ()), ROOM, ROOM, ROOM, 1e3, SET)
    x = UA * 600.0 / 1e4
    by_hand = UA * 0.1 * 180e3 * (1.0 - x / 3.0 + x**2 / 12.0 - x**3 / 60.0)
    assert stretch.lost(600.0) == pytest.approx(by_hand, rel=2e-9)


@pytest.mark.parametrize("name", STRETCHES)
def test_temperatures_and_loss(name: str) -> None:
    stretch, length = stretch_of(name)
    for share in (1e-9, 1e-6, 0.03, 0.4, 1.0):
        T, G, lost = exact(name, share * length)
        found = stretch.at(share * length)
        agrees(hs.Stretch, found[0], T, outside.EXPONENTIAL, abs=1e-7, unit="K")
        agrees(hs.Stretch, found[1], G, outside.EXPONENTIAL, abs=1e-7, unit="K")
        assert stretch.lost(share * length) == pytest.approx(lost, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("name", [n for n in STRETCHES if n not in {"unpowered"}])
@pytest.mark.parametrize("share", [0.2, 0.9, 1.0])
def test_when_a_temperature_is_reached(name: str, share: float) -> None:
    """A temperature of the exponential, looked for up to just behind it and up to far away."""
    stretch, length = stretch_of(name)
    # The cold group cools its boiler first.
    level = max(stretch.T + 1e-3, exact(name, share * length)[0])
    for end in (1.01 * length, 2.0 * length, 1e3 * length):
        t = stretch.time_to(level, end)
        assert exact(name, t)[0] == pytest.approx(level, abs=1e-7)


def test_never_reached() -> None:
    """200 W against 3.2 W/K: 62.5 K above the room at most; and not within a time too short."""
    weak = hs.HeatedBoiler(0.5, 300.0, 3.2, SET, ())
    stretch = hs.Stretch(weak, ROOM, START, ROOM, 200.0, SET)
    assert stretch.time_to(ROOM + 62.6, 1e6) == math.inf
    t = stretch.time_to(ROOM + 62.4, 1e6)
    assert stretch.time_to(ROOM + 62.4, 0.99 * t) == math.inf
    assert stretch.time_to(ROOM + 62.4, 1.01 * t) == pytest.approx(t, abs=1e-3)


def test_the_inverse_of_a_decay() -> None:
    """5 s at a rate of 0.01 1/s have decayed to (1 - e^-0.05)/0.01; 1/0.01 is never reached."""
    assert hs._undecayed(0.01, -math.expm1(-0.05) / 0.01) == pytest.approx(5.0, rel=1e-12)
    assert hs._undecayed(0.0, 5.0) == 5.0
    assert hs._undecayed(0.01, 100.0) == math.inf
    assert hs._undecayed(0.01, 101.0) == math.inf
