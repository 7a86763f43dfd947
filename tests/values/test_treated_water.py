"""The water that reaches the machine: sampled before the treatment or behind it."""

from __future__ import annotations

import pytest

from procgen.checks.formulas import check_formulas
from procgen.procedure.assemble import assemble
from procgen.profiles.workspace import read_workspace
from procgen.values.functions import functions
from procgen.values.worksheet import Worksheet
from tests.conftest import ROOT
from tests.values.kit import GUIDES, figures, words
from tests.values.mutate import Changes, finding, guide, worksheet

BAKERY = "ellunby-bakery"
#: mg/L as CaCO3 in a degree of German hardness: 10 mg CaO/L, and 100.087 / 56.077
DEGREE = 17.848
BEHIND: Changes = {"water.sample_point": "after_treatment"}


def holds(site: str, changes: Changes) -> Worksheet:
    """A changed survey's worksheet, every formula of its water evaluated again as the pages show it."""
    made = worksheet(site, changes)
    assert check_formulas(made.values, functions(guide(site, changes))) == []
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
        assert same._replace(inputs=()) == value._replace(inputs=()), name
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


#: 97 % kept back, a fifth blended in: 0.2 + 0.8 * 0.03 of every salt.
MEMBRANE: Changes = {
    "treatment.kind": "reverse_osmosis",
    "treatment.filtered_hardness": None,
    "treatment.rejection": "97 %",
    "treatment.bypass": "20 %",
}
LEFT = 0.224
BY_HARDNESS: Changes = {"treatment.kind": "reverse_osmosis", "treatment.bypass": "20 %"}


def test_behind_a_membrane_all_salts_follow_one_balance() -> None:
    made = holds(BAKERY, MEMBRANE)
    raw = {
        "treatment.hardness": 11 * DEGREE,
        "treatment.alkalinity": 8.5 * DEGREE,
        "treatment.calcium_hardness": 61 * 100.087 / 40.078,
        "treatment.chloride": 19.0,
        "treatment.tds": 270.0,
        "treatment.conductivity_probe": 0.0405,
    }
    for name, figure in raw.items():
        assert figures(made.value(name)) == pytest.approx((LEFT * figure,) * 3, rel=3e-4), name
    # Chloride, sulfate and bicarbonate fall alike, so that their ratio stays.
    plain = worksheet(BAKERY, {"treatment": None}).value("treatment.larson_skold").value
    assert made.value("treatment.larson_skold").value == pytest.approx(plain, rel=1e-9)
    # The index takes the solids behind the membrane: its A is a tenth of their logarithm.
    harder = worksheet(BAKERY, {**MEMBRANE, "water.tds": "2700 mg/L"}).value("treatment.lsi_brew").value
    lsi = made.value("treatment.lsi_brew").value
    assert lsi is not None
    assert harder == pytest.approx(lsi - 0.1, abs=1e-9)


def test_a_range_of_rejection_and_bypass_spans_the_corners() -> None:
    made = holds(BAKERY, {**MEMBRANE, "treatment.rejection": "95..99 %", "treatment.bypass": "10..30 %"})
    low, _, high = figures(made.value("treatment.chloride"))
    assert low == pytest.approx(19 * (0.1 + 0.9 * 0.01), rel=1e-9)
    assert high == pytest.approx(19 * (0.3 + 0.7 * 0.05), rel=1e-9)


def test_blend_by_rejection_gives_the_hardness_aimed_at() -> None:
    found = figures(holds(BAKERY, MEMBRANE).value("treatment.blend"))[1]
    set_so = worksheet(BAKERY, {**MEMBRANE, "treatment.bypass": f"{found * 100!r} %"})
    aimed = set_so.value("treatment.hardness_target").value
    assert set_so.value("treatment.hardness").value == pytest.approx(aimed, rel=1e-9)


def test_hardness_measured_behind_the_membrane_counts_before_its_rejection() -> None:
    made = holds(BAKERY, {**MEMBRANE, "treatment.filtered_hardness": "0.1 °dH"})
    mixed = (0.2 * 11 + 0.8 * 0.1) * DEGREE
    assert figures(made.value("treatment.hardness"))[1] == pytest.approx(mixed, rel=3e-4)
    assert figures(made.value("treatment.chloride"))[1] == pytest.approx(LEFT * 19, rel=1e-9)


def test_chloride_is_not_judged_by_the_hardness_that_a_membrane_keeps_back() -> None:
    made = holds(BAKERY, {**BY_HARDNESS, "treatment.filtered_hardness": "0.1 °dH"})
    share = (0.2 * 11 + 0.8 * 0.1) / 11
    for name, raw in (("alkalinity", 8.5 * DEGREE), ("tds", 270.0), ("conductivity_probe", 0.0405)):
        found = figures(made.value(f"treatment.{name}"))[1]
        assert found == pytest.approx(share * raw, rel=3e-4), name
    assert made.value("treatment.chloride").why == "The survey does not state it (rejection)."
    assert not made.value("treatment.larson_skold").ok
    chloride = finding(made, "chloride")
    assert chloride is not None
    assert chloride.verdict == "attention"


def test_a_membrane_of_which_nothing_is_known_gives_no_figure() -> None:
    made = holds(BAKERY, {**BY_HARDNESS, "treatment.filtered_hardness": None, "treatment.bypass": None})
    for name in ("hardness", "alkalinity", "chloride", "tds", "conductivity_probe", "lsi_brew", "blend"):
        assert not made.value(f"treatment.{name}").ok, name


def test_solids_behind_a_decarbonising_cartridge_fall_by_what_it_takes() -> None:
    made = holds(BAKERY, {})
    gone = 0.7 * (11 - 2.5) * DEGREE
    assert figures(made.value("treatment.tds"))[1] == pytest.approx(270 - gone, rel=3e-4)
    # Many litres are shown with noughts that are no digits; the days that follow from them still agree.
    assert holds(BAKERY, {"treatment.bypass": "90 %"}).value("treatment.change_interval").ok
    # The raw share keeps its own, whatever the analysis says of the rest.
    found = figures(holds(BAKERY, {"water.tds": "110 mg/L"}).value("treatment.tds"))[1]
    assert found == pytest.approx(33.0, rel=1e-9)


@pytest.mark.parametrize(
    ("name", "window"),
    [
        # a cartridge that frees carbon dioxide, a membrane that lets it through, a choice still to be made
        (BAKERY, (6.6, 8.2)),
        ("aldrune-laboratory", (6.8, 7.8)),
        ("umberlode-two", (6.6, 8.2)),
        # what leaves the sample's pH as it is
        ("calvessa-pass", None),
        ("vantrey-kiosk", None),
    ],
)
def test_the_procedure_reads_the_ph_where_a_treatment_may_have_changed_it(
    name: str, window: tuple[float, float] | None
) -> None:
    workspace = read_workspace(ROOT)
    parts = assemble(GUIDES[name], workspace.templates, words()).procedure.parts
    readings = [reading for part in parts for step in part.steps() for reading in step.readings]
    found = [(reading.low, reading.high) for reading in readings if reading.id == "water.treatment.ph"]
    assert found == ([window] if window else [])
