"""Losses against published examples, explicit friction formulas and arithmetic."""

import doctest
import math

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from procgen.engineering import hydraulics as h
from procgen.engineering.kernel import OutOfRangeError

from . import outside
from .oracle import agrees

T15 = 288.15
CURVE = ((2e-5, 1.2e4), (5e-5, 4.5e4), (1e-4, 1.3e5))
LPM = 1 / 60e3


def colebrook(Re, eD):
    """Solved afresh, as an oracle."""
    return brentq(
        lambda f: 1 / math.sqrt(f) + 2 * math.log10(eD / 3.7 + 2.51 / (Re * math.sqrt(f))),
        1e-3,
        0.2,
        xtol=1e-14,
    )


def test_worked_examples():
    result = doctest.testmod(h)
    assert (result.failed, result.attempted) == (0, 2)


def test_published_friction_factor():
    # Documentation of the library fluids; Swamee-Jain 0.018452 and Haaland 0.018265 stand beside it.
    found = h.friction_factor(1e5, 1e-4)
    assert found == pytest.approx(0.018513866, rel=1e-7)
    agrees(
        h.friction_factor,
        found,
        0.25 / math.log10(1e-4 / 3.7 + 5.74 / 1e5**0.9) ** 2,
        outside.SWAMEE_JAIN,
        rel=0.005,
    )


@pytest.mark.parametrize(("Re", "eD"), [(4000, 0.0), (1.2e4, 1e-3), (1e5, 1e-4), (1e6, 0.01)])
def test_friction_factor_solves_colebrook(Re, eD):
    agrees(h.friction_factor, h.friction_factor(Re, eD), colebrook(Re, eD), outside.COLEBROOK, rel=1e-6)


def test_laminar_and_the_bridge():
    agrees(
        h.friction_factor,
        h.friction_factor(1000, 0.01),
        0.064,
        outside.published("Poiseuille's law, 64/Re"),
        rel=1e-12,
    )
    agrees(
        h.friction_factor,
        h.friction_factor(2000, 0.0),
        0.032,
        outside.published("Poiseuille's law, 64/Re"),
        rel=1e-12,
    )
    agrees(
        h.friction_factor,
        h.friction_factor(3000, 0.0),
        (0.032 + colebrook(4000, 0.0)) / 2,
        outside.COLEBROOK,
        rel=1e-6,
    )
    assert h.friction_factor(3999.999, 0.0) == pytest.approx(h.friction_factor(4000, 0.0), rel=1e-6)


def test_crane_example_7_1():
    # Crane TP-410, 7.1: 50 mm smooth pipe; f 0.0179 is printed for its Re of 100 600.
    agrees(h.friction_factor, h.friction_factor(100600, 0.0), 0.0179, outside.CRANE_7_1, abs=1e-4)


def test_reynolds_by_an_independent_library():
    rho, mu = (PropsSI(key, "T", 303.15, "P", 101325, "Water") for key in "DV")
    found = h.reynolds(200 * LPM, 0.05, 303.15)
    agrees(h.reynolds, found, 4 * 200 * LPM * rho / (math.pi * 0.05 * mu), outside.COOLPROP, rel=5e-4)


# By an independent library at 15 °C, wall 1.5 µm.
@pytest.mark.parametrize(("lpm", "bore", "length", "Pa"), [(10, 0.010, 3.0, 17986), (3, 0.008, 1.5, 3176)])
def test_pipe_loss(lpm, bore, length, Pa):
    agrees(h.pipe_loss, h.pipe_loss(lpm * LPM, bore, length, 1.5e-6, T15), Pa, outside.NETWORK, rel=2e-4)


def test_velocity():
    agrees(h.velocity, h.velocity(10 * LPM, 0.010), 2.122, outside.HAND, abs=5e-4)


def test_fitting_loss():
    # K·ρ·v²/2 by hand: 2.5 × 999.10 × 2.12207² / 2.
    agrees(h.fitting_loss, h.fitting_loss(10 * LPM, 0.010, 2.5, T15), 5623.9, outside.HAND, rel=1e-4)


@pytest.mark.parametrize(("mm", "bar", "mL"), [(0.8, 7, 11.666), (1.0, 3, 11.933)])
def test_orifice_flow(mm, bar, mL):
    # Arithmetic of the textbook formula at 15 °C, Cd 0.62.
    agrees(
        h.orifice_flow,
        h.orifice_flow(bar * 1e5, mm / 1e3, 0.62, T15) * 1e6,
        mL,
        outside.HAND,
        abs=6e-4,
        unit="mL/s",
    )


@pytest.mark.parametrize(("mm", "bar", "mL"), [(0.8, 7, 11.666), (1.0, 3, 11.933)])
def test_orifice_loss(mm, bar, mL):
    # The same arithmetic, the other way round; the flow is printed with five digits.
    agrees(h.orifice_loss, h.orifice_loss(mL / 1e6, mm / 1e3, 0.62, T15), bar * 1e5, outside.HAND, rel=1e-4)


@given(st.floats(1.0, 1e6), st.floats(1e-4, 1e-2), st.floats(0.1, 1.0))
def test_orifice_there_and_back(dp, d, Cd):
    assert h.orifice_loss(h.orifice_flow(dp, d, Cd, T15), d, Cd, T15) == pytest.approx(dp, rel=1e-9)


def test_static_head():
    # 0.09789 bar a metre (20 °C), 0.433 psi a foot.
    agrees(h.static_head, h.static_head(1.0, 293.15), 9789.0, outside.HEAD, abs=1.0)
    agrees(h.static_head, h.static_head(1.0, 277.15), 9806.4, outside.HEAD, rel=1e-4)
    agrees(h.static_head, h.static_head(0.3048, 288.15) / 6894.757, 0.433, outside.HEAD, abs=5e-4, unit="psi")
    agrees(h.static_head, h.static_head(-2.0, 277.15), -19612.8, outside.HEAD, rel=1e-4)


@pytest.mark.parametrize(("Q", "Pa"), [(0.0, 0.0), *CURVE])
def test_treatment_is_exact_at_its_points(Q, Pa):
    agrees(h.treatment_loss, h.treatment_loss(Q, CURVE), Pa, outside.HAND, rel=1e-12)
    agrees(h.treatment_loss, h.treatment_loss(Q, ((0.0, 0.0), *CURVE)), Pa, outside.HAND, rel=1e-12)


def test_treatment_between_below_and_beyond():
    n_low = math.log(4.5 / 1.2) / math.log(2.5)
    n_high = math.log(13 / 4.5) / math.log(2)
    agrees(h.treatment_loss, h.treatment_loss(3e-5, CURVE), 1.2e4 * 1.5**n_low, outside.HAND, rel=1e-12)
    agrees(h.treatment_loss, h.treatment_loss(1e-5, CURVE), 1.2e4 * 0.5**n_low, outside.HAND, rel=1e-12)
    agrees(h.treatment_loss, h.treatment_loss(1.5e-4, CURVE), 1.3e5 * 1.5**n_high, outside.HAND, rel=1e-12)
    agrees(h.treatment_loss, h.treatment_loss(1e-5, ((2e-5, 1.2e4),)), 3e3, outside.HAND, rel=1e-12)
    # Exponents are held within 1 and 2 outside the points.
    agrees(
        h.treatment_loss,
        h.treatment_loss(1.5e-4, ((5e-5, 1e4), (1e-4, 1e5))),
        2.25e5,
        outside.HAND,
        rel=1e-12,
    )
    agrees(
        h.treatment_loss, h.treatment_loss(1e-5, ((5e-5, 1e4), (1e-4, 1.1e4))), 2e3, outside.HAND, rel=1e-12
    )
    agrees(h.treatment_loss, h.treatment_loss(1e-5, ((5e-5, 1e4), (1e-4, 1e5))), 4e2, outside.HAND, rel=1e-12)
    agrees(
        h.treatment_loss,
        h.treatment_loss(1.5e-4, ((5e-5, 1e4), (1e-4, 1.1e4))),
        1.65e4,
        outside.HAND,
        rel=1e-12,
    )


def test_treatment_ends_at_one_and_a_half_times_its_last_flow():
    agrees(h.curve_limit, h.curve_limit(CURVE), 1.5e-4, outside.HAND, rel=1e-6)
    with pytest.raises(OutOfRangeError) as caught:
        h.treatment_loss(1.51e-4, CURVE)
    assert str(caught.value) == "treatment_loss: Q = 0.000151 m**3/s lies outside 0..0.00015 m**3/s"


@pytest.mark.parametrize(
    "bad",
    [(), ((0.0, 0.0),), ((2e-5, 1e4), (1e-5, 2e4)), ((2e-5, 1e4), (3e-5, 1e4)), ((0.0, 5.0), (1e-5, 6.0))],
)
def test_a_curve_must_rise(bad):
    with pytest.raises(ValueError, match="treatment curve"):
        h.treatment_loss(1e-5, bad)


@given(st.floats(0, 1.5e-4), st.floats(0, 1.5e-4))
def test_treatment_rises(a, b):
    low, high = sorted((a, b))
    assert h.treatment_loss(low, CURVE) <= h.treatment_loss(high, CURVE)


@given(st.floats(1e-8, 1e-3), st.floats(1e-8, 1e-3), st.floats(0.003, 0.02))
def test_more_flow_never_loses_less(a, b, bore):
    low, high = sorted((a, b))
    assert h.pipe_loss(low, bore, 2.0, 1.5e-6, T15) <= h.pipe_loss(high, bore, 2.0, 1.5e-6, T15)


def test_mains_by_one_flow_test():
    agrees(
        h.flowing_supply_pressure_gauge,
        h.flowing_supply_pressure_gauge(0.0, 5e5, 2e-4, 3e5),
        5e5,
        outside.HAND,
    )
    agrees(
        h.flowing_supply_pressure_gauge,
        h.flowing_supply_pressure_gauge(2e-4, 5e5, 2e-4, 3e5),
        3e5,
        outside.HAND,
        rel=1e-6,
    )
    agrees(
        h.flowing_supply_pressure_gauge,
        h.flowing_supply_pressure_gauge(1e-4, 5e5, 2e-4, 3e5),
        4.5e5,
        outside.HAND,
        rel=1e-6,
    )
    with pytest.raises(OutOfRangeError) as caught:
        h.flowing_supply_pressure_gauge(4e-4, 5e5, 2e-4, 3e5)
    assert caught.value.high == pytest.approx(2e-4 * math.sqrt(2.5))
    with pytest.raises(OutOfRangeError):
        h.flowing_supply_pressure_gauge(1e-4, 3e5, 2e-4, 5e5)


def test_reducer():
    agrees(h.reducer_outlet, h.reducer_outlet(6e5, 3e5), 3e5, outside.HAND)
    agrees(h.reducer_outlet, h.reducer_outlet(6e5, 3e5, 1e-4, 2e-4, 0.2, 1e5), 2.7e5, outside.HAND, rel=1e-6)
    # Droop far beyond nominal flow ends at nothing, not below.
    agrees(h.reducer_outlet, h.reducer_outlet(6e5, 3e5, 1e-3, 1e-4, 0.2), 0.0, outside.HAND)
    with pytest.raises(OutOfRangeError):
        h.reducer_outlet(6e5, 3e5, 1e-4, droop_fraction=0.2)
    # Too little before it: fully open, only its own loss.
    agrees(h.reducer_outlet, h.reducer_outlet(2e5, 3e5, 1e-4, 2e-4, 0.2, 1e5), 1.75e5, outside.HAND, rel=1e-6)


@pytest.mark.parametrize("bad", [float("nan"), -1.0, float("inf")])
def test_outside_the_range(bad):
    with pytest.raises(OutOfRangeError):
        h.pipe_loss(bad, 0.01, 1.0, 0.0, T15)
    with pytest.raises(OutOfRangeError):
        h.orifice_flow(bad, 0.001, 0.62, T15)
    with pytest.raises(OutOfRangeError):
        h.treatment_loss(bad, CURVE)
