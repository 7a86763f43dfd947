"""What a day takes, and what the room must carry away: summed here from the files."""

from __future__ import annotations

import pytest

from procgen.values.worksheet import Value
from tests.values import push
from tests.values.kit import GUIDES, sheet

SITES = [name for name, guide in GUIDES.items() if guide.site]


def figure(value: Value) -> float:
    assert value.value is not None, value.why
    return value.value


@pytest.mark.parametrize("name", GUIDES)
def test_the_room_gets_losses_and_steady_loads(name: str) -> None:
    """Common practice, no source: what runs all the time ends as heat in the room."""
    found = sheet(name)
    loads = GUIDES[name].variant.other_loads
    steady = sum(load.power.value for load in loads if not load.name.startswith("Pump motor"))
    assert 0.0 < steady < sum(load.power.value for load in loads)
    assert figure(found.value("use.steady_loads")) == pytest.approx(steady, rel=1e-12)
    losses = figure(found.value("use.standby"))
    assert figure(found.value("use.heat_to_room")) == pytest.approx(losses + steady, rel=1e-12)


@pytest.mark.parametrize("name", SITES)
def test_a_day_takes_the_heat_up_the_hours_and_the_drinks(name: str) -> None:
    found, guide = sheet(name), GUIDES[name]
    assert guide.site is not None
    served = guide.site.data.use
    value = found.value("use.energy_per_day")
    if served is None:
        assert value.reason == "not_surveyed"
        return
    parts = [figure(found.value(one)) for one in ("heat.energy", "use.heat_drawn")]
    at_rest = figure(found.value("use.heat_to_room")) * served.hours_on * 3600.0
    assert figure(value) == pytest.approx(sum(parts) + at_rest, rel=1e-9)


def test_a_machine_without_steady_loads() -> None:
    """Its room gets the losses alone, and the guide says why there is no figure of the rest."""
    guide = GUIDES["jindleford-roastery"]
    at = [one.id for one in guide.machine.data.supply_variants].index(guide.variant.id)
    runs = {
        ("machine", ("supply_variants", at, "other_loads", i, "runs")): "on_demand"
        for i in range(len(guide.variant.other_loads))
    }
    found = push.worksheet(guide, runs)
    assert found.value("use.steady_loads").reason == "no_steady_loads"
    assert found.value("use.heat_to_room").value == found.value("use.standby").value
    assert found.value("use.heat_to_room").formula == "P_standby"
    assert figure(found.value("use.energy_per_day")) < figure(
        sheet("jindleford-roastery").value("use.energy_per_day")
    )
