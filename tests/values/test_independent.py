"""The whole system against an independent solve at sites that differ in machine, supply and units."""

from __future__ import annotations

import pytest

from procgen.engineering.fill_network import solve_fill_flow
from procgen.engineering.heating_machine import machine_heating
from tests.engineering import outside
from tests.engineering.oracle import agrees
from tests.values import independent
from tests.values.kit import GUIDES, figures, sheet

#: Own pump from the cellar's main; a reducer; split phase in US units; staged by a current limit; three
#: phases without neutral.
SITES = ["ellunby-bakery", "morrask-station", "wexlode-corner", "jindleford-roastery", "lorrimund-gallery"]
STAGED = {"wexlode-corner", "jindleford-roastery", "lorrimund-gallery"}


def files(name: str) -> tuple[object, object]:
    guide = GUIDES[name]
    assert guide.site is not None
    return independent.read(guide.machine.path), independent.read(guide.site.path)


@pytest.mark.parametrize("name", SITES)
def test_fill_time_agrees_with_a_solve_from_the_files(name: str) -> None:
    expected = independent.fill_time(*files(name))
    found = figures(sheet(name).value("fill.time"))[1]
    agrees(solve_fill_flow, found, expected, outside.WHOLE_SITE, rel=5e-4)


@pytest.mark.parametrize("name", SITES)
def test_time_to_ready_agrees_with_an_integration_from_the_files(name: str) -> None:
    heating = independent.Heating(*files(name))
    everything = sum(heating.power.values())
    assert (heating.budget < everything) == (name in STAGED)
    found = figures(sheet(name).value("heat.time_ready"))[1]
    agrees(machine_heating, found, heating.ready(), outside.WHOLE_SITE, rel=1e-3)


def test_the_sites_differ() -> None:
    models = {GUIDES[name].machine.id for name in SITES}
    assert len(models) >= 3
    assert any(GUIDES[name].site.data.mains.reducer for name in SITES if GUIDES[name].site)


def test_the_reading_of_units_is_its_own() -> None:
    assert independent.si("2.5..4 bar") == pytest.approx(3.25e5)
    assert independent.si("93 °C (200 °F to the nearest 5 °F)") == pytest.approx(366.15)
    assert independent.section_of("AWG 10") == pytest.approx(5.261e-6, rel=1e-3)
    assert independent.colebrook(1e5, 1e-4) == pytest.approx(0.018513866, rel=1e-8)
