"""The water that reaches the machine: sampled before the treatment or behind it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from procgen.checks.formulas import check_formulas
from procgen.values.functions import functions
from procgen.values.worksheet import Worksheet
from tests.values.kit import figures
from tests.values.mutate import Changes, finding, guide, worksheet

BAKERY = "ellunby-bakery"
#: mg/L as CaCO3 in a degree of German hardness: 10 mg CaO/L, and 100.087 / 56.077
DEGREE = 17.848
BEHIND: Changes = {"water.sample_point": "after_treatment"}


def holds(site: str, changes: Changes) -> Worksheet:
    """A changed survey's worksheet, every formula of its water evaluated again as the pages show it."""
    made = worksheet(site, changes)
    water = {name: value for name, value in made.values.items() if name.startswith("treatment.")}
    assert check_formulas(made.values | water, functions(guide(site, changes))) == []
    return made


def test_a_sample_from_behind_the_treatment_is_what_reaches_the_machine() -> None:
    made = holds(BAKERY, BEHIND)
    typed = {
        "treatment.hardness": 11 * DEGREE,
        "treatment.alkalinity": 8.5 * DEGREE,
        "treatment.calcium_hardness": 61 * 100.087 / 40.078,
        "treatment.ph": 7.5,
        "treatment.chloride": 19.0,
        "treatment.conductivity_probe": 0.0405,
    }
    for name, wanted in typed.items():
        assert figures(made.value(name)) == pytest.approx((wanted,) * 3, rel=3e-4), name


def test_hardness_of_a_treated_sample_from_its_ions() -> None:
    made = holds(BAKERY, {**BEHIND, "water.hardness": None})
    # Standard Methods 2340 B: 2.497 Ca + 4.118 Mg.
    wanted = 2.497 * 61 + 4.118 * 10.7
    assert figures(made.value("treatment.hardness"))[1] == pytest.approx(wanted, rel=1e-9)


@pytest.mark.parametrize("name", ["raw_hardness", "blend", "capacity", "change_interval"])
def test_what_needs_the_raw_water_is_left_out_behind_the_treatment(name: str) -> None:
    found = holds(BAKERY, BEHIND).value(f"treatment.{name}")
    assert not found.ok
    assert found.why == "The sample was taken behind the treatment, so the raw water is not known."


def test_left_out_the_sample_is_raw_water() -> None:
    plain, said = worksheet(BAKERY, {}), worksheet(BAKERY, {"water.sample_point": "before_treatment"})
    for name, value in plain.values.items():
        same = said.value(name)
        assert replace(same, inputs=()) == replace(value, inputs=()), name
    # Treated there: raw and filtered water, 30 parts and 70.
    mixed = (0.3 * 11 + 0.7 * 2.5) * DEGREE
    assert figures(plain.value("treatment.hardness"))[1] == pytest.approx(mixed, rel=3e-4)


def test_the_rules_judge_a_treated_sample_as_it_is() -> None:
    """196 mg/L as CaCO3 where the maker allows 110: nothing softens it any more."""
    found = finding(worksheet(BAKERY, BEHIND), "water_hardness")
    assert found is not None
    assert found.verdict == "stop"
    ph = finding(worksheet(BAKERY, BEHIND), "ph")
    assert ph is not None
    assert ph.verdict == "pass"
