"""What must hold whatever the site: which way each figure goes when one fact of the site or machine moves."""

from __future__ import annotations

import math
from collections.abc import Mapping

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from procgen.engineering import atmosphere
from procgen.units.kinds import KINDS, from_si, to_si
from procgen.units.measure import parse
from procgen.units.show import pair, read_back, step_for
from procgen.values import Worksheet
from procgen.values.constants import ELEMENT_TOLERANCE
from procgen.values.define import UnavailableError
from procgen.values.definitions import heat
from procgen.values.evaluate import nominal_evaluation
from procgen.values.reader import Facts
from tests.values import push
from tests.values.kit import GUIDES, figures
from tests.values.profiles import heavy

BAKERY, PRESSURE = "ellunby-bakery", "morrask-station"
NOISE = 1e-9


def sheet(name: str, changes: Mapping[str, str]) -> Worksheet:
    """A worksheet with leaves typed anew: ``{"site altitude": "900 m"}``."""
    places = {push.at(*place.split(" ")): text for place, text in changes.items()}
    try:
        return push.worksheet(GUIDES[name], places)
    except push.RefusedError:
        assume(False)
        raise


def number(found: Worksheet, identifier: str) -> float | None:
    return found.value(identifier).value


def never_more(before: float | None, after: float | None) -> bool:
    """A figure did not rise; where either does not exist there is nothing to compare."""
    return before is None or after is None or after <= before + NOISE * max(1.0, abs(before))


def rising(low: float, high: float) -> st.SearchStrategy[tuple[float, float]]:
    """Two figures, the lower first, far enough apart to be told from noise."""
    figure = st.floats(low, high).map(lambda x: round(x, 3))
    return st.tuples(figure, figure).map(sorted).filter(lambda p: p[1] - p[0] > 1e-3 * (high - low))  # type: ignore[return-value]


def holding(kind: str) -> list[str]:
    return [
        name for name, guide in GUIDES.items() if guide.site and guide.machine.data.steam_boiler.holds == kind
    ]


def by_hot_water(method: str) -> list[str]:
    return [
        name for name, guide in GUIDES.items() if guide.site and guide.machine.data.hot_water.method == method
    ]


@heavy(8)
@given(
    st.sampled_from([BAKERY, "tibbenrow-plaza", "jindleford-roastery"]),
    rising(1.0, 9.0),
    st.floats(0.5, 0.95),
)
def test_more_mains_pressure_never_fills_slower(name: str, bar: tuple[float, float], share: float) -> None:
    weak, strong = (
        sheet(name, {
            "site mains.static_pressure": f"{p:.3f} bar",
            "site mains.flowing.pressure": f"{p * share:.3f} bar",
        })
        for p in bar
    )  # fmt: skip
    for identifier in ("fill.time", "fill.pump_runs", "fill.resets"):
        assert never_more(number(weak, identifier), number(strong, identifier)), identifier
        # Over the whole range too, not only in its middle.
        if weak.value(identifier).ok and strong.value(identifier).ok:
            assert never_more(figures(weak.value(identifier))[2], figures(strong.value(identifier))[2])
    # Where a weak main still fills, a strong one does.
    assert strong.value("fill.time").ok or not weak.value("fill.time").ok


@heavy(8)
@given(rising(1.5, 12.0), rising(60.0, 96.0))
def test_more_cold_water_is_never_hotter(bar: tuple[float, float], celsius: tuple[float, float]) -> None:
    """By the pump's setting: more pressure mixes cooler, and a hotter target asks for less of it."""
    gauges = [
        number(sheet(BAKERY, {
            "machine pumps.units.1.factory_inlet": "0 bar",
            "machine pumps.units.1.factory_outlet": f"{p:.3f} bar",
        }), "hotwater.mix_temperature")
        for p in bar
    ]  # fmt: skip
    assert never_more(*gauges)
    settings = [
        number(sheet(BAKERY, {"machine hot_water.target": f"{t:.3f} °C"}), "hotwater.setting_wanted")
        for t in celsius
    ]
    assert never_more(*settings)


@heavy(10)
@given(st.sampled_from(by_hot_water("restrictor") + by_hot_water("timed_dilution")), rising(60.0, 95.0))
def test_a_hotter_target_asks_for_less_cold_water(name: str, celsius: tuple[float, float]) -> None:
    wanted = [
        number(sheet(name, {"machine hot_water.target": f"{t:.3f} °C"}), "hotwater.setting_wanted")
        for t in celsius
    ]
    assert never_more(*wanted)


@heavy(8)
@given(st.sampled_from(holding("temperature")), rising(-400.0, 4900.0))
def test_altitude_never_gives_room(name: str, metres: tuple[float, float]) -> None:
    low, high = (sheet(name, {"site altitude": f"{z:.3f} m"}) for z in metres)
    for identifier in ("site.atmospheric_pressure", "brew.temperature_limit", "steam.relief_margin"):
        assert never_more(number(low, identifier), number(high, identifier)), identifier
    assert number(low, "steam.set_temperature") == number(high, "steam.set_temperature")


@heavy(8)
@given(st.sampled_from(holding("pressure")), rising(-400.0, 4900.0))
def test_a_held_gauge_pressure_cools_with_altitude(name: str, metres: tuple[float, float]) -> None:
    low, high = (sheet(name, {"site altitude": f"{z:.3f} m"}) for z in metres)
    assert never_more(number(low, "brew.temperature_limit"), number(high, "brew.temperature_limit"))
    cold, warm = number(high, "steam.set_temperature"), number(low, "steam.set_temperature")
    assert cold is not None
    assert warm is not None
    assert cold < warm
    held = GUIDES[name].machine.data.steam_boiler.set_pressure
    assert held is not None
    assert number(high, "steam.saturation_pressure") == pytest.approx(held.value, rel=1e-6)


@heavy(8)
@given(rising(200.0, 260.0))
def test_more_voltage_never_heats_slower(volts: tuple[float, float]) -> None:
    low, high = (
        sheet(BAKERY, {
            "site electricity.line_to_neutral": f"{u:.3f} V",
            "site electricity.line_to_line": f"{u * math.sqrt(3):.3f} V",
        })
        for u in volts
    )  # fmt: skip
    for identifier in ("heat.time_steam", "heat.time_brew", "heat.time_setpoint", "heat.time_ready"):
        assert never_more(number(low, identifier), number(high, identifier)), identifier


@heavy(8)
@given(rising(2.0, 40.0))
def test_colder_water_never_heats_faster(celsius: tuple[float, float]) -> None:
    cold, warm = (sheet(BAKERY, {"site mains.water_temperature": f"{t:.3f} °C"}) for t in celsius)
    for identifier in ("heat.time_steam", "heat.time_brew", "heat.time_setpoint", "heat.energy_setpoint"):
        assert never_more(number(cold, identifier), number(warm, identifier)), identifier
    # Water is densest at 4 °C: below that a colder start expands less.
    cold_volume, warm_volume = number(cold, "heat.expansion_volume"), number(warm, "heat.expansion_volume")
    assert celsius[0] < 4.0 or never_more(cold_volume, warm_volume)


@heavy(8)
@given(st.sampled_from([BAKERY, "wexlode-corner", "hobbin-row", "tibbenrow-plaza"]), rising(1.0, 200.0))
def test_a_longer_cable_never_loses_less(name: str, metres: tuple[float, float]) -> None:
    short, long = (sheet(name, {"site electricity.cable.length": f"{x:.3f} m"}) for x in metres)
    assert never_more(number(long, "electrical.voltage_drop"), number(short, "electrical.voltage_drop"))
    assert never_more(number(short, "electrical.voltage_loaded"), number(long, "electrical.voltage_loaded"))
    assert short.value("electrical.voltage_drop").ok or not long.value("electrical.voltage_drop").ok


@heavy(10)
@given(rising(1.0, 90.0), rising(2.0, 60.0))
def test_more_use_and_harder_water_never_last_longer(
    litres: tuple[float, float], hardness: tuple[float, float]
) -> None:
    little, much = (sheet(BAKERY, {"site use.hot_water": f"{x:.3f} L"}) for x in litres)
    assert never_more(number(little, "treatment.change_interval"), number(much, "treatment.change_interval"))
    # The cartridge counts carbonate hardness: hardness and alkalinity rise together.
    soft, hard = (
        sheet(BAKERY, {"site water.hardness": f"{h:.3f} °dH", "site water.alkalinity": f"{h * 0.8:.3f} °dH"})
        for h in hardness
    )
    for identifier in ("treatment.capacity", "treatment.change_interval"):
        assert never_more(number(soft, identifier), number(hard, identifier)), identifier


@pytest.mark.parametrize("name", GUIDES)
def test_the_energy_of_heating_closes(name: str) -> None:
    """What the elements gave is in water and metal, or was lost on the way: summed here over the curves."""
    evaluation = nominal_evaluation(Facts(GUIDES[name]))
    try:
        machine = evaluation.part_of(heat._simulate)
    except UnavailableError:
        pytest.fail("no heat-up")
    room = machine.boilers[0].T_amb
    marks = evaluation.part_of(heat._boiler_order)
    for mark, found in zip(marks, machine.boilers, strict=True):
        b, flows = found.boiler, []
        for _, length, stretch in found.stretches:
            for k in range(400):
                T, G = stretch.at(length * (k + 0.5) / 400)
                flows.append((b.UA * (T - room) + b.UA_group * (T - G)) * length / 400)
        assert evaluation.get(f"heat.lost[{mark}]") == pytest.approx(sum(flows), rel=1e-5), mark
        balance = evaluation.get(f"heat.stored[{mark}]") + sum(flows)
        assert evaluation.get(f"heat.supplied[{mark}]") == pytest.approx(balance, rel=5e-4), mark
    total = sum(evaluation.get(f"heat.supplied[{mark}]") for mark in marks)
    assert evaluation.get("heat.energy_setpoint") == pytest.approx(total, rel=1e-9)
    assert evaluation.get("heat.energy") >= total * (1 - 1e-9)
    whole = evaluation.get("heat.energy_setpoint") + evaluation.get("heat.energy_soak")
    assert evaluation.get("heat.energy") == pytest.approx(whole, rel=1e-9)


@pytest.mark.parametrize(
    "name", [n for n, guide in GUIDES.items() if guide.variant.current_limit is not None]
)
@pytest.mark.parametrize("tolerance", [0.90, 0.95, 1.0, 1.05])
def test_no_line_passes_its_limit_while_elements_are_staged(name: str, tolerance: float) -> None:
    """Elements that carry the same current in each line, and in the fullest line the other loads besides."""
    variant = GUIDES[name].variant
    assert variant.current_limit is not None
    moved = nominal_evaluation(Facts(GUIDES[name])).moved_by({ELEMENT_TOLERANCE.name: tolerance})
    volts = {"1N": 1.0, "split": 2.0}.get(variant.arrangement, math.sqrt(3)) * moved.get("electrical.voltage")
    currents = dict.fromkeys(("L1", "L2", "L3"), moved.part_of(heat._simulate).peak_power / volts)
    for load in variant.other_loads:
        rated = variant.line_to_neutral if load.terminals.endswith("-N") else variant.line_to_line
        assert rated is not None
        for line in set(load.terminals.split("-")) & currents.keys():
            currents[line] += load.power.value / load.power_factor.value / rated.value
    assert max(currents.values()) <= variant.current_limit.value * (1 + 1e-9)


@given(st.floats(-430.0, 5000.0), st.floats(-0.3, 25.0))
def test_gauge_and_atmosphere_make_absolute(metres: float, bar: float) -> None:
    """The two kinds share their units and differ by the site's own air, through typing and showing."""
    air = atmosphere.pressure_at_altitude(metres)
    gauge = parse(f"{bar:.6f} bar(g)", "pressure_gauge").value
    absolute = parse(f"{(gauge + air) / 1e5:.10f} bar(a)", "pressure_absolute").value
    assert absolute - air == pytest.approx(gauge, abs=1.0)
    for symbol in KINDS["pressure_gauge"].typed:
        as_gauge = from_si(KINDS["pressure_gauge"], symbol, gauge)
        as_air = from_si(KINDS["pressure_absolute"], symbol, air)
        as_absolute = from_si(KINDS["pressure_absolute"], symbol, gauge + air)
        assert as_gauge + as_air == pytest.approx(as_absolute, rel=1e-9, abs=1e-9)


@given(st.sampled_from(sorted(KINDS)), st.floats(1e-3, 9999.0), st.integers(2, 5))
def test_what_is_shown_reads_back(name: str, figure: float, digits: int) -> None:
    """Every kind, both unit systems: read as a reader would, within half its last digit or step."""
    kind = KINDS[name]
    if kind.us == "AWG":
        figure = 0.5 + figure / 100  # the gauges end at 4/0, 107 mm²
    si = to_si(kind, kind.metric, figure)
    step = step_for(si, name, digits)
    shown = pair(name, si, step)
    for text in (shown.primary, shown.secondary):
        if text:
            back, half = read_back(name, text)[0]
            assert back == pytest.approx(si, abs=max(half, step / 2) * (1 + 1e-6) + 1e-9 * abs(si)), text


@given(
    st.sampled_from([(k.name, u) for k in KINDS.values() for u in k.typed if u != "AWG"]),
    st.floats(0.001, 1e5),
)
def test_typed_and_display_units_go_both_ways(where: tuple[str, str], figure: float) -> None:
    kind, symbol = KINDS[where[0]], where[1]
    si = to_si(kind, symbol, figure)
    assert from_si(kind, symbol, si) == pytest.approx(figure, rel=1e-9, abs=1e-9)
    for other in {kind.metric, kind.us} - {"AWG"}:
        assert to_si(kind, other, from_si(kind, other, si)) == pytest.approx(si, rel=1e-12, abs=1e-12)
    typed = parse(f"{figure:.6f} {symbol}", kind.name)
    assert typed.value == pytest.approx(to_si(kind, symbol, float(f"{figure:.6f}")), rel=1e-12)
