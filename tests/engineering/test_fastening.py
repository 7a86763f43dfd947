"""Torque and preload against ISO 898-1 and published torques."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from procgen.engineering import fastening as f
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.sources_general import UnknownEntryError

from . import outside
from .bounds_general import check_bounds
from .oracle import agrees


def test_torque_of_a_large_bolt() -> None:
    # Published: M12 8.8, 70 % of proof, K 0.2 gives 34 kN and 82 N m.
    preload = f.preload_for_share(f.proof_load("M12", "8.8"), 0.70)
    agrees(f.preload_for_share, preload, 34_230.0, outside.BOLT_EXAMPLE, rel=1e-6)
    agrees(
        f.torque_from_preload,
        f.torque_from_preload(0.2, 0.012, preload),
        82.15,
        outside.BOLT_EXAMPLE,
        abs=0.01,
    )


def test_preload_of_a_large_bolt() -> None:
    # The same bolt: 82 N m give 34 kN, printed with two digits.
    found = f.preload_from_torque(82.0, 0.2, 0.012)
    agrees(f.preload_from_torque, found, 34_000.0, outside.BOLT_EXAMPLE, rel=0.015)
    agrees(f.preload_from_torque, found, 34_166.7, outside.HAND, rel=1e-5)


@pytest.mark.parametrize(
    ("thread", "proof", "torque"),
    # ISO 898-1 class 8.8 proof loads, published; 75 % and K 0.2 by arithmetic.
    [
        ("M5", 8230, 0.2 * 0.005 * 0.75 * 8230), ("M6", 11_600, 10.44), ("M8", 21_200, 25.44),
        ("M10", 33_700, 50.55), ("M12", 48_900, 88.02),
    ],
)  # fmt: skip
def test_class_8_8(thread: str, proof: float, torque: float) -> None:
    d = f.COARSE[thread][0]
    assert d == pytest.approx(float(thread[1:]) / 1000, rel=1e-12)
    agrees(f.proof_load, f.proof_load(thread, "8.8"), proof, outside.ISO_898_1)
    agrees(f.torque_for_share, f.torque_for_share(d, proof, 0.2, 0.75), torque, outside.ISO_898_1, abs=6e-3)
    # The printed load is stress times area, rounded.
    agrees(
        f.proof_stress,
        f.proof_stress("8.8") * f.stress_area(*f.COARSE[thread]),
        proof,
        outside.ISO_898_1,
        rel=7e-3,
    )


@pytest.mark.parametrize(
    ("thread", "square_mm"),
    # ISO 898-1, nominal stress area: from memory.
    [("M4", 8.78), ("M5", 14.2), ("M6", 20.1), ("M8", 36.6), ("M10", 58.0), ("M12", 84.3), ("M16", 157)],
)
def test_stress_area(thread: str, square_mm: float) -> None:
    agrees(
        f.stress_area,
        f.stress_area(*f.COARSE[thread]) * 1e6,
        square_mm,
        outside.recalled("ISO 898-1, nominal stress areas"),
        rel=3e-3,
    )


def test_stress_area_constant() -> None:
    # Mean of the pitch diameter and the root diameter (minor less H/6) of the basic profile, ISO 68-1.
    height = math.sqrt(3.0) / 2.0
    pitch_diameter, root_diameter = 1 - 2 * 3 / 8 * height, 1 - 2 * 17 / 24 * height
    mean = (pitch_diameter + root_diameter) / 2
    agrees(
        f.stress_area,
        f.stress_area(0.010, 0.001),
        math.pi / 4 * (0.010 - (1 - mean) * 0.001) ** 2,
        outside.published("basic profile of ISO 68-1, by hand"),
        rel=1e-7,
    )


@pytest.mark.parametrize(
    ("thread", "property_class", "proof"),
    # ISO 898-1 table of proof loads: from memory, rounded there.
    [
        ("M4", "8.8", 5100), ("M16", "8.8", 91_000), ("M8", "4.6", 8240), ("M8", "5.8", 13_900),
        ("M8", "10.9", 30_400), ("M8", "12.9", 35_500),
    ],
)  # fmt: skip
def test_computed_proof_loads(thread: str, property_class: str, proof: float) -> None:
    agrees(
        f.proof_load,
        f.proof_load(thread, property_class),
        proof,
        outside.recalled("ISO 898-1, proof loads of other classes"),
        rel=5e-3,
    )


def test_proof_stress() -> None:
    # ISO 898-1 (MPa), ISO 3506-1 for A2-70: from memory.
    table = {"4.6": 225, "5.8": 380, "8.8": 580, "10.9": 830, "12.9": 970, "A2-70": 450}
    agrees(
        f.proof_stress,
        {name: f.proof_stress(name) / 1e6 for name in table},
        table,
        outside.recalled("ISO 898-1 and ISO 3506-1, proof stresses"),
        rel=1e-6,
    )
    agrees(
        f.proof_load,
        f.proof_load("M8", "A2-70"),
        450e6 * f.stress_area(0.008, 0.00125),
        outside.recalled("ISO 898-1 and ISO 3506-1, proof stresses"),
        rel=1e-6,
    )


def test_unknown_thread_and_class() -> None:
    with pytest.raises(UnknownEntryError, match="thread: no entry for 'M7'"):
        f.proof_load("M7", "8.8")
    with pytest.raises(UnknownEntryError, match=r"proof_stress: no entry for '3\.6'"):
        f.proof_load("M8", "3.6")


def test_nut_factor() -> None:
    # Common practice, from memory.
    agrees(
        f.nut_factor,
        [f.nut_factor(name) for name in ("dry", "oiled", "waxed")],
        [0.20, 0.15, 0.12],
        outside.PRACTICE,
    )


@given(st.floats(0.06, 0.4), st.floats(0.003, 0.02), st.floats(1, 1e5))
def test_torque_and_preload_go_both_ways(K: float, d: float, F: float) -> None:
    torque = f.torque_from_preload(K, d, F)
    assert f.preload_from_torque(torque, K, d) == pytest.approx(F)
    assert f.torque_from_preload(K, d, 2 * F) == pytest.approx(2 * torque)


def test_torque_limits() -> None:
    agrees(f.torque_limits, f.torque_limits(20.0, 0.1), (18.0, 22.0), outside.HAND, rel=1e-6)
    agrees(f.torque_limits, f.torque_limits(20.0, 0.0), (20.0, 20.0), outside.HAND)
    agrees(f.torque_limits, f.torque_limits(1e5, 0.5), (5e4, 1.5e5), outside.HAND, rel=1e-6)


@pytest.mark.parametrize(
    ("torque", "tolerance", "argument", "high"),
    [
        (-1.0, 0.1, "torque", 1e5), (1.001e5, 0.1, "torque", 1e5), (math.nan, 0.1, "torque", 1e5),
        (20.0, -0.1, "tolerance", 0.5), (20.0, 0.501, "tolerance", 0.5),
    ],
)  # fmt: skip
def test_torque_limits_refuse(torque: float, tolerance: float, argument: str, high: float) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        f.torque_limits(torque, tolerance)
    assert (caught.value.argument, caught.value.low, caught.value.high) == (argument, 0.0, high)


def test_pitch_is_below_half_the_diameter() -> None:
    assert f.stress_area(0.010, 0.005) > 0
    with pytest.raises(OutOfRangeError) as caught:
        f.stress_area(0.010, 0.00501)
    assert caught.value.high == pytest.approx(0.005)


D, K = (0.001, 0.1), (0.05, 0.5)


@pytest.mark.parametrize(
    ("kernel", "good", "bounds"),
    [
        (f.torque_from_preload, {"K": 0.2, "d": 0.01, "F": 1e4}, {"K": K, "d": D, "F": (0, 1e7)}),
        (f.preload_from_torque, {"torque": 20.0, "K": 0.2, "d": 0.01}, {"torque": (0, 1e5), "K": K, "d": D}),
        (f.stress_area, {"d": 0.01, "P": 0.0015}, {"d": D, "P": (1e-4, 0.01)}),
        (f.preload_for_share, {"proof": 1e4, "share": 0.75}, {"proof": (0, 1e7), "share": (0, 0.9)}),
        (
            f.torque_for_share,
            {"d": 0.01, "proof": 1e4, "K": 0.2, "share": 0.75},
            {"d": D, "proof": (0, 1e7), "K": K, "share": (0, 0.9)},
        ),
    ],
    ids=lambda found: getattr(getattr(found, "info", None), "name", ""),
)
def test_valid_ranges(kernel, good, bounds) -> None:
    check_bounds(kernel, good, bounds)
