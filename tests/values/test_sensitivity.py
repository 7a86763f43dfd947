"""What the sentences say against surveys and profiles with the input changed on disk."""

from __future__ import annotations

import pytest

from procgen.values.figure import Figure
from procgen.values.worksheet import Effect, Worksheet
from tests.values import mutate
from tests.values.kit import GUIDES, SITES, sheet
from tests.values.test_whatif import with_static, with_voltage

ORIFICE = "machine:water.fill.orifice_discharge"


def said(worksheet: Worksheet, identifier: str) -> Effect:
    (found,) = [effect for effect in worksheet.sentences if effect.id == identifier]
    return found


def figures(effect: Effect, name: str) -> list[Figure]:
    return [part for part in effect.text_parts if isinstance(part, Figure) and part.name == name]


def nominal(worksheet: Worksheet, name: str) -> float:
    value = worksheet.value(name).value
    assert value is not None
    return value


def at_ends(site: str) -> list[Worksheet]:
    measure = GUIDES[site].machine.data.water.fill.orifice_discharge
    return [mutate.worksheet(site, {ORIFICE: f"{end!r}"}) for end in (measure.low, measure.high)]


@pytest.mark.parametrize("site", ["calvessa-pass", "lorrimund-gallery", "wexlode-corner"])
def test_the_orifice_moves_the_runs_as_said(site: str) -> None:
    effect = said(sheet(site), "fill.most")
    assert effect.text.startswith(
        "How freely the fill orifice lets water through moves the number of runs most"
    )
    (shown,) = figures(effect, "effect.count")
    assert sorted(nominal(again, "fill.pump_runs") for again in at_ends(site)) == [shown.low, shown.high]
    assert shown.low < shown.high


@pytest.mark.parametrize("site", ["quathery-cellar", "aldrune-laboratory", "nimmersby-quay"])
def test_where_nothing_changes_the_runs_it_says_so_and_it_is_so(site: str) -> None:
    effect = said(sheet(site), "fill.most")
    assert effect.text.startswith("No input by itself changes the number of runs within its range.")
    (times,) = figures(effect, "effect.time")
    found = at_ends(site)
    assert {nominal(again, "fill.pump_runs") for again in found} == {nominal(sheet(site), "fill.pump_runs")}
    assert sorted(nominal(again, "fill.time") for again in found) == pytest.approx([times.low, times.high])


@pytest.mark.parametrize("site", [name for name in SITES if name != "zedrun-arcade"])
def test_less_pressure_costs_what_is_said(site: str) -> None:
    survey = GUIDES[site].site
    assert survey is not None
    assert survey.data.mains.static_pressure is not None
    effect = said(sheet(site), "fill.less")
    (less,) = figures(effect, "effect.less")
    again = with_static(site, survey.data.mains.static_pressure.value - less.value)
    more = nominal(again, "fill.resets") - nominal(sheet(site), "fill.resets")
    longer = nominal(again, "fill.time") - nominal(sheet(site), "fill.time")
    if "one more reset" in effect.text:
        assert more == 1
    elif "more resets;" in effect.text:
        (shown,) = figures(effect, "effect.time")
        assert more == 0
        assert shown.value == pytest.approx(longer, rel=1e-5)
    else:
        assert "less than two seconds" in effect.text
        assert more == 0
        assert 0 <= longer < 2


def test_half_a_bar_costs_a_reset_somewhere_and_none_elsewhere() -> None:
    texts = [said(sheet(site), "fill.less").text for site in SITES]
    assert any("costs one more reset." in text for text in texts)
    assert any("costs no more resets" in text for text in texts)


@pytest.mark.parametrize(
    "site", ["calvessa-pass", "sundrell-mill", "lorrimund-gallery", "aldrune-laboratory"]
)
def test_less_voltage_costs_what_is_said(site: str) -> None:
    worksheet = sheet(site)
    effect = said(worksheet, "heat.less")
    (less,) = figures(effect, "effect.less")
    loaded = nominal(worksheet, "electrical.voltage_loaded")
    first, second = with_voltage(site, loaded), with_voltage(site, loaded - less.value)
    later = nominal(second, "heat.time_ready") - nominal(first, "heat.time_ready")
    if "less than half a minute" in effect.text:
        assert abs(later) < 30
    else:
        (shown,) = figures(effect, "effect.time")
        assert shown.value == pytest.approx(abs(later), rel=1e-4)
        assert ("later" in effect.text) == (later > 0)


def test_the_supply_voltage_moves_the_time_to_ready_where_it_was_not_measured() -> None:
    effect = said(sheet("zedrun-arcade"), "heat.most")
    assert effect.text.startswith(
        "The supply voltage, as a share of the rated one, moves the time to ready most"
    )
    (times,) = figures(effect, "effect.time")
    design = GUIDES["zedrun-arcade"].machine.data.design.voltage_share
    rated = GUIDES["zedrun-arcade"].variant.line_to_neutral
    assert rated is not None
    found = [
        nominal(
            mutate.worksheet("zedrun-arcade", {"electricity.line_to_neutral": f"{rated.value * end!r} V"}),
            "heat.time_ready",
        )
        for end in (design.low, design.high)
    ]
    assert sorted(found) == pytest.approx([times.low, times.high], rel=1e-5)


@pytest.mark.parametrize("guide", sorted(GUIDES))
def test_every_guide_says_it_in_words_of_its_own(guide: str) -> None:
    worksheet = sheet(guide)
    assert {effect.about for effect in worksheet.sentences} == {"fill.pump_runs", "heat.time_ready"}
    for effect in worksheet.sentences:
        assert "{" not in effect.text
        assert "machine." not in effect.text
        assert "site." not in effect.text
