"""Salts behind a membrane and its blending valve; dissolved solids behind a decarbonising cartridge."""

from __future__ import annotations

import math

import numpy as np
import pytest

from procgen.engineering import treatment as t
from procgen.engineering.kernel import OutOfRangeError
from tests.engineering import outside
from tests.engineering.oracle import agrees


def test_permeate_of_a_published_example() -> None:
    """A plant of 4000 m3/day that rejects 90 % of 400 g/m3: its permeate holds 40 g/m3."""
    agrees(t.membrane_share, 400.0 * t.membrane_share(0.9, 0.0), 40.0, outside.MEMBRANE_EXAMPLE, rel=1e-12)


@pytest.mark.parametrize(
    ("feed", "wanted", "rejection"), [(3000.0, 300.0, 0.95), (460.0, 92.0, 0.98), (780.0, 400.0, 0.9)]
)
def test_a_split_treatment(feed: float, wanted: float, rejection: float) -> None:
    """Flows of permeate and raw water that give a product of 1 with a wanted concentration."""
    permeate = feed * (1 - rejection)
    _, raw = np.linalg.solve([[1.0, 1.0], [permeate, feed]], [1.0, wanted])
    got = feed * t.membrane_share(rejection, float(raw))
    agrees(t.membrane_share, got, wanted, outside.SPLIT, rel=1e-12)


def test_ends_of_a_membrane() -> None:
    assert t.membrane_share(1.0, 0.0) == 0.0
    assert t.membrane_share(0.0, 0.4) == pytest.approx(1.0, abs=1e-12)
    assert t.membrane_share(0.97, 1.0) == 1.0


def solids(calcium: float, magnesium: float, alkalinity: float, others: float) -> float:
    """Standard Methods 1030 E: the ions, alkalinity with 0.6 of its figure as CaCO3 [mg/L]."""
    return 0.6 * alkalinity + calcium + magnesium + others


@pytest.mark.parametrize(("alkalinity", "left"), [(151.7, 45.5), (107.1, 46.2), (90.0, 90.0)])
def test_solids_behind_a_cartridge(alkalinity: float, left: float) -> None:
    """It takes a calcium ion of 40.078 for every 100.087 of alkalinity as CaCO3."""
    gone = alkalinity - left
    before = solids(61.0, 10.7, alkalinity, 80.0)
    after = solids(61.0 - gone * 40.078 / 100.087, 10.7, left, 80.0)
    got = t.decarbonised_solids(before, alkalinity, left, 0.3)
    agrees(t.decarbonised_solids, got, after, outside.SM_1030E, rel=2e-3)


def test_the_raw_share_keeps_its_solids() -> None:
    got = t.decarbonised_solids(150.0, 140.0, 0.0, 0.3)
    agrees(t.decarbonised_solids, got, 45.0, outside.HAND, rel=1e-12)


SOLIDS = {"tds": 270.0, "raw_caco3": 150.0, "treated_caco3": 50.0, "bypass": 0.3}
SHARE = {"rejection": 0.95, "bypass": 0.3}


@pytest.mark.parametrize(
    ("formula", "case", "argument", "low", "high"),
    [
        (t.membrane_share, SHARE, "rejection", 0, 1),
        (t.membrane_share, SHARE, "bypass", 0, 1),
        (t.decarbonised_solids, SOLIDS, "tds", 0, 10_000),
        (t.decarbonised_solids, SOLIDS, "raw_caco3", 0, 10_000),
        (t.decarbonised_solids, SOLIDS, "treated_caco3", 0, 10_000),
        (t.decarbonised_solids, SOLIDS, "bypass", 0, 1),
    ],
)
def test_ends_of_what_it_takes(formula, case, argument: str, low: float, high: float) -> None:
    for beyond in (math.nextafter(low, -math.inf), math.nextafter(high, math.inf)):
        with pytest.raises(OutOfRangeError) as caught:
            formula(**{**case, argument: beyond})
        assert (caught.value.argument, caught.value.low, caught.value.high) == (argument, low, high)
    for inside in (low, high):
        fitting = {"raw_caco3": {"treated_caco3": inside}, "treated_caco3": {"raw_caco3": 10_000.0}}
        assert math.isfinite(formula(**{**case, **fitting.get(argument, {}), argument: inside}))


def test_treated_is_never_above_raw() -> None:
    assert t.decarbonised_solids(270.0, 150.0, 150.0, 0.3) == 270.0
    with pytest.raises(OutOfRangeError) as caught:
        t.decarbonised_solids(270.0, 150.0, math.nextafter(150.0, 200.0), 0.3)
    assert (caught.value.argument, caught.value.low, caught.value.high) == ("treated_caco3", 0.0, 150.0)
