"""Water behind a treatment: its pH by the whole equilibrium of carbonate, its conductivity by its ions."""

from __future__ import annotations

import math

import pytest
from scipy.optimize import brentq

from procgen.engineering import treatment as t
from procgen.engineering.kernel import OutOfRangeError
from tests.engineering import outside
from tests.engineering.oracle import agrees

#: 25 degrees Celsius, from memory.
K1, K2, KW = 10**-6.35, 10**-10.33, 1e-14


def carbon(pH: float, alkalinity: float) -> float:
    """All inorganic carbon [mol/L] of a water by pH and alkalinity [mol/L]."""
    h = 10**-pH
    bicarbonate = (alkalinity - KW / h + h) / (1 + 2 * K2 / h)
    return bicarbonate * (1 + h / K1 + K2 / h)


def acidity(alkalinity: float, total: float) -> float:
    """pH of a water by alkalinity and all its inorganic carbon [mol/L]."""

    def excess(pH: float) -> float:
        h = 10**-pH
        share = 1 + h / K1 + K2 / h
        return total / share * (1 + 2 * K2 / h) + KW / h - h - alkalinity

    return float(brentq(excess, 3, 11))


@pytest.mark.parametrize(
    ("pH", "raw", "treated", "freed"),
    [
        (7.5, 151.7, 45.5, 1.0),
        (7.7, 89.2, 40.2, 1.0),
        (8.2, 250.0, 60.0, 1.0),
        (9.0, 120.0, 50.0, 1.0),
        (6.8, 60.0, 20.0, 1.0),
        (6.8, 60.0, 20.0, 0.0),
        (7.5, 151.7, 45.5, 0.0),
        (7.9, 100.0, 40.0, 0.0),
    ],
)
def test_ph_behind_a_treatment(pH: float, raw: float, treated: float, freed: float) -> None:
    """A cartridge turns bicarbonate into carbonic acid: all carbon stays. A membrane holds it back."""
    a, b = raw / 50043.5, treated / 50043.5
    before = carbon(pH, a)
    held = 0.0 if freed else a - b
    got = t.treated_pH(pH, raw, treated, freed)
    agrees(t.treated_pH, got, acidity(b, before - held), outside.CARBONATE, abs=0.1)


def test_untreated_water_keeps_its_ph() -> None:
    assert t.treated_pH(7.4, 120.0, 120.0, 1.0) == pytest.approx(7.4, abs=1e-12)


def test_conductivity_behind_a_cartridge() -> None:
    # One milliequivalent of calcium bicarbonate a litre: 59.47 + 44.5 uS/cm.
    got = t.decarbonised_conductivity(0.05, 100.087, 50.0435, 0.3)
    agrees(t.decarbonised_conductivity, got, 0.05 - 103.97e-4, outside.ION_CONDUCTANCES, rel=2e-4)
    # The raw share alone conducts as much as this, whatever the analysis says.
    got = t.decarbonised_conductivity(0.05, 400.0, 0.0, 0.3)
    agrees(t.decarbonised_conductivity, got, 0.015, outside.HAND, rel=1e-9)


@pytest.mark.parametrize(
    ("formula", "arguments"),
    [
        (t.treated_pH, (4.4, 100.0, 50.0, 1.0)),
        (t.treated_pH, (9.1, 100.0, 50.0, 1.0)),
        (t.treated_pH, (8.1, 100.0, 50.0, 0.0)),
        (t.treated_pH, (7.5, 100.0, 101.0, 1.0)),
        (t.treated_pH, (7.5, 100.0, 0.05, 1.0)),
        (t.treated_pH, (7.5, 100.0, 50.0, 1.1)),
        (t.decarbonised_conductivity, (0.05, 100.0, 101.0, 0.3)),
        (t.decarbonised_conductivity, (0.05, 100.0, 50.0, 1.1)),
        (t.decarbonised_conductivity, (-0.01, 100.0, 50.0, 0.3)),
    ],
)
def test_outside_the_range(formula, arguments) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OutOfRangeError):
        formula(*arguments)


CONDUCTIVITY = {"conductivity": 0.05, "raw_caco3": 200.0, "treated_caco3": 50.0, "bypass": 0.2}
PH = {"pH": 7.5, "raw_caco3": 200.0, "treated_caco3": 50.0, "freed": 1.0}


@pytest.mark.parametrize(
    ("formula", "case", "argument", "low", "high"),
    [
        (t.decarbonised_conductivity, CONDUCTIVITY, "conductivity", 0, 10),
        (t.decarbonised_conductivity, CONDUCTIVITY, "raw_caco3", 0, 10_000),
        (t.decarbonised_conductivity, CONDUCTIVITY, "treated_caco3", 0, 10_000),
        (t.decarbonised_conductivity, CONDUCTIVITY, "bypass", 0, 1),
        (t.treated_pH, PH, "pH", 4.5, 9.0),
        (t.treated_pH, PH, "raw_caco3", 0.1, 10_000),
        (t.treated_pH, PH, "treated_caco3", 0.1, 10_000),
        (t.treated_pH, PH, "freed", 0, 1),
    ],
)
def test_ends_of_what_it_takes(formula, case, argument: str, low: float, high: float) -> None:
    for outside_ in (math.nextafter(low, -math.inf), math.nextafter(high, math.inf)):
        with pytest.raises(OutOfRangeError) as caught:
            formula(**{**case, argument: outside_})
        assert (caught.value.argument, caught.value.low, caught.value.high) == (argument, low, high)
    for inside in (low, high):
        # What is treated is never above what it was before.
        fitting = {"raw_caco3": {"treated_caco3": inside}, "treated_caco3": {"raw_caco3": 10_000.0}}
        assert math.isfinite(formula(**{**case, **fitting.get(argument, {}), argument: inside}))


def test_treated_is_never_above_raw() -> None:
    for formula, case, least in ((t.decarbonised_conductivity, CONDUCTIVITY, 0.0), (t.treated_pH, PH, 0.1)):
        assert math.isfinite(formula(**{**case, "treated_caco3": 200.0}))
        with pytest.raises(OutOfRangeError) as caught:
            formula(**{**case, "treated_caco3": math.nextafter(200.0, 300.0)})
        assert (caught.value.argument, caught.value.low, caught.value.high) == ("treated_caco3", least, 200.0)


def test_with_less_than_all_freed_the_ph_ends_at_8() -> None:
    share = {**PH, "freed": math.nextafter(1.0, 0.0)}
    assert math.isfinite(t.treated_pH(**{**share, "pH": 8.0}))
    with pytest.raises(OutOfRangeError) as caught:
        t.treated_pH(**{**share, "pH": math.nextafter(8.0, 9.0)})
    assert (caught.value.argument, caught.value.low, caught.value.high) == ("pH", 4.5, 8.0)
    assert math.isfinite(t.treated_pH(**{**PH, "pH": 9.0}))
