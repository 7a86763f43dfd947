"""What the scripts of the doing side are given: factors, holds in order, prints, texts; no edition."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from procgen.procedure.fingerprint import fingerprints
from procgen.publish.field_data import data_file, data_script, guide_data
from procgen.publish.part_pages import numbered
from procgen.publish.words import Words
from procgen.units.kinds import KINDS, to_si
from procgen.units.measure import parse
from procgen.units.plausible import plausible
from tests.publish import fakes


def data(prefer: str = "metric") -> dict[str, object]:
    """The data of the hand-made guide."""
    job = fakes.job(prefer=prefer)
    prints = fingerprints(job.procedure)
    return guide_data(job, "A guide", numbered(job.procedure), prints, Words(fakes.messages()))


def test_each_item_names_the_hold_that_stands_before_it() -> None:
    items = data()["items"]
    assert isinstance(items, dict)
    assert {name: item["after"] for name, item in items.items()} == {
        "water.pour": "",
        "water.drain_proved": "",
        "electricity.dead": "water.drain_proved",
        "electricity.dead_done": "water.drain_proved",
        "fill.steam": "electricity.dead_done",
        "fill.bleed[G2]": "electricity.dead_done",
        "fill.before_heat": "electricity.dead_done",
    }
    assert items["fill.before_heat"]["guards"] == ["fill.steam", "fill.bleed[G2]"]
    assert items["fill.bleed[G2]"]["page"] == "03-fill.html"
    assert items["water.pour"]["print"] == fingerprints(fakes.job().procedure)["water.pour"]


@pytest.mark.parametrize(("prefer", "first"), [("metric", "bar"), ("us", "psi")])
def test_the_readers_own_unit_comes_first_and_every_factor_is_that_of_the_units(
    prefer: str, first: str
) -> None:
    kinds = data(prefer)["kinds"]
    assert isinstance(kinds, dict)
    assert kinds["pressure_gauge"]["units"][0]["symbol"] == first
    for name, kind in kinds.items():
        for unit in kind["units"]:
            for figure in (0.0, 1.0, 37.5):
                wanted = to_si(KINDS[name], unit["symbol"], figure)
                assert figure * unit["scale"] + unit["offset"] == pytest.approx(wanted, rel=1e-12)


def test_the_script_cannot_be_ended_by_a_name_and_has_no_edition() -> None:
    job = fakes.job()
    hostile = replace(
        job,
        procedure=replace(job.procedure, parts=(replace(job.procedure.parts[0], title="</script>\u2028"),)),
    )
    prints = fingerprints(hostile.procedure)
    made = guide_data(hostile, "</ScRiPt>", numbered(hostile.procedure), prints, Words(fakes.messages()))
    script = data_script(made)
    assert b"<" not in script
    assert "\u2028" not in script.decode()
    assert json.loads(script.decode().partition("=")[2].rstrip(";\n"))["title"] == "</ScRiPt>"
    assert "edition" not in made
    assert data_file(script) == data_file(data_script(made))


# Figures of an ordinary installation and of a faulty one; common practice, no source.
@pytest.mark.parametrize(
    ("kind", "typed"),
    [
        ("temperature", "127 °C"),
        ("temperature", "-18 °C"),
        ("pressure_gauge", "16 bar"),
        ("pressure_gauge", "-0.9 bar"),
        ("voltage", "480 V"),
        ("resistance", "1667 Ω"),
        ("hardness", "60 °dH"),
        ("small_current", "300 mA"),
        ("fall", "-5 mm/m"),
        ("count", "40"),
    ],
)
def test_what_a_faulty_installation_shows_is_plausible(kind: str, typed: str) -> None:
    low, high = plausible(kind)
    figure = parse(typed, kind).value
    assert (low is None or low <= figure) and (high is None or figure <= high)


def test_no_plausible_end_lies_below_the_floor_of_physics() -> None:
    for name, kind in KINDS.items():
        low, high = plausible(name)
        if kind.floor is not None:
            assert low is not None
            assert low >= kind.floor
        assert low is None or high is None or low < high
