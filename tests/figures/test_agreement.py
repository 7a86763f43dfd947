"""Marks, directions and counts in the pictures are those of profile, survey and procedure."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any

import pytest

from procgen.figures import Drawing
from procgen.figures.piping import lanes
from procgen.figures.piping import names as named
from procgen.procedure.assemble import Assembled
from procgen.profiles.machine import Machine
from procgen.profiles.waterside import NoHotWater
from tests.figures.kit import (
    SVG,
    drawings,
    form,
    guides,
    names,
    place_of,
    preferring,
    replaced,
    text_of,
    with_attribute,
)


def marks_of(machine: Machine) -> set[str]:
    """Marks that a water schematic must show."""
    hot = machine.hot_water
    found = {
        item.mark
        for group in (machine.water.inlets, machine.water.hoses, machine.pumps.units)
        for item in group
    }
    found |= {item.mark for item in (*machine.brew_boilers, *machine.groups, *machine.options.steam_wands)}
    steam = machine.steam_boiler
    found |= {steam.mark, steam.relief_valve.mark, steam.vacuum_breaker.mark}
    found |= {machine.brewing.expansion_valve_mark, machine.drain.mark}
    if not isinstance(hot, NoHotWater):
        found |= set(hot.outlets)
        found |= {
            mark for mark in (getattr(hot, "valve_mark", None), getattr(hot, "adjuster_mark", None)) if mark
        }
    return found


def schematic_faults(drawing: Drawing, machine: Machine) -> list[str]:
    """What in a water schematic is not as the profile has it."""
    picture = form(drawing)
    groups = {str(e.get("data-mark")): e for e in with_attribute(picture, "data-mark")}
    faults = [f"mark {mark}" for mark in marks_of(machine) ^ set(groups)]
    faults += [f"words of {mark}" for mark, group in groups.items() if mark not in text_of(group)]
    tips = {
        (float(x), float(y))
        for path in picture.iter(f"{SVG}path")
        for x, y in re.findall(r"M([-\d.]+) ([-\d.]+)l-4-8h8z", path.get("d") or "")
    }
    for lane in lanes(machine):
        way = [piece.mark for piece in lane.way if piece.mark in groups] + [lane.inlet.mark]
        places = [place_of(groups[mark]) for mark in way if mark in groups]
        if [y for _, y in places] != sorted(y for _, y in places):
            faults.append(f"order {way}")
        for mark, (x, y) in zip(way, places, strict=False):
            if not any(abs(tx - x) < 0.1 and 4 < y - ty < 20 for tx, ty in tips):
                faults.append(f"arrow before {mark}")
    return faults + _pump_faults(groups, machine)


def _pump_faults(groups: dict[str, Any], machine: Machine) -> list[str]:
    """Each pump is fed by the hose to its inlet and feeds the hose from its outlet, and no other."""
    faults = []
    for pump in machine.pumps.units:
        if pump.mark not in groups:
            continue
        _, at = place_of(groups[pump.mark])
        text = text_of(groups[pump.mark])
        if f"in at {pump.inlet_mark}, out at {pump.outlet_mark}" not in text:
            faults.append(f"ends of {pump.mark}")
        for hose in machine.water.hoses:
            if hose.mark not in groups:
                continue
            _, y = place_of(groups[hose.mark])
            if named(hose.end, pump.inlet_mark) and y >= at:
                faults.append(f"hose {hose.mark} below {pump.mark}")
            if named(hose.start, pump.outlet_mark) and y <= at:
                faults.append(f"hose {hose.mark} above {pump.mark}")
    return faults


@pytest.mark.parametrize("name", names())
def test_schematic_shows_the_marks_and_flow_of_the_profile(name: str) -> None:
    guide = guides()[name]
    assert schematic_faults(drawings(guide)["water-schematic"], guide.machine.data) == []


def _renamed_hose(machine: Machine) -> Machine:
    water = machine.water
    hoses = [water.hoses[0].model_copy(update={"mark": "W0"}), *water.hoses[1:]]
    return machine.model_copy(update={"water": water.model_copy(update={"hoses": hoses})})


def _turned_pump(machine: Machine) -> Machine:
    unit = machine.pumps.units[0]
    turned = unit.model_copy(update={"inlet_mark": unit.outlet_mark, "outlet_mark": unit.inlet_mark})
    pumps = machine.pumps.model_copy(update={"units": [turned, *machine.pumps.units[1:]]})
    return machine.model_copy(update={"pumps": pumps})


@pytest.mark.parametrize("change", [_renamed_hose, _turned_pump])
def test_a_schematic_of_another_machine_is_found(change: Any) -> None:
    guide = guides()["hobbin-row"]
    assert schematic_faults(drawings(guide)["water-schematic"], change(guide.machine.data)) != []


def test_an_arrow_that_points_the_other_way_is_found() -> None:
    guide = guides()["hobbin-row"]
    drawing = drawings(guide)["water-schematic"]
    turned = Drawing(drawing.id, drawing.svg.replace("l-4-8h8z", "l-4 8h8z"), "", "", "")
    assert any(fault.startswith("arrow") for fault in schematic_faults(turned, guide.machine.data))


@pytest.mark.parametrize("name", ["hobbin-row", "tibbenrow-plaza", "orrenholt-hall", "zedrun-arcade"])
def test_the_branch_to_the_steam_boiler_is_on_the_way_that_carries_it(name: str) -> None:
    guide = guides()[name]
    machine = guide.machine.data
    picture = form(drawings(guide)["water-schematic"])
    x = {str(e.get("data-mark")): place_of(e)[0] for e in with_attribute(picture, "data-mark")}
    inlet = next(i for i in machine.water.inlets if "steam_fill" in i.feeds)
    others = [i for i in machine.water.inlets if i is not inlet]
    steam = x[machine.steam_boiler.mark]
    assert steam >= x[inlet.mark]
    for other in others:
        assert not x[inlet.mark] < x[other.mark] <= steam


@pytest.mark.parametrize("name", names())
def test_supply_diagram_joins_what_the_variant_connects(name: str) -> None:
    guide = guides()[name]
    variant = guide_variant(guide)
    picture = form(drawings(guide)["supply-diagram"])
    rungs = list(with_attribute(picture, "data-terminals"))
    assert [r.get("data-terminals") for r in rungs] == [
        item.terminals for item in (*variant.connections, *variant.other_loads)
    ]
    heads = {
        str(t.get("data-conductor")): float(str(t.get("x")))
        for t in with_attribute(picture, "data-conductor")
    }
    for rung, item in zip(rungs, (*variant.connections, *variant.other_loads), strict=True):
        dots = [float(str(c.get("cx"))) for c in rung.iter(f"{SVG}circle") if c.get("r") == "3"]
        assert dots == [heads[name] for name in item.terminals.split("-")]
    neutral = variant.arrangement in {"1N", "3N", "split", "two_legs"}
    assert ("N" in heads) == neutral


def guide_variant(guide: Assembled) -> Any:
    """The variant that a guide is wired by."""
    variants = guide.machine.data.supply_variants
    wanted = guide.site.data.supply_variant if guide.site else variants[0].id
    return next(v for v in variants if v.id == wanted)


@pytest.mark.parametrize("name", names())
def test_fill_chart_counts_its_runs(name: str) -> None:
    guide = guides()[name]
    values = guide.worksheet.values
    picture = form(drawings(guide)["fill-chart"])
    stop = int(values["fill.stop_and_check_runs"].value or 0)
    lines = [p for p in picture.iter(f"{SVG}path") if p.get("class") == "fg-stop-line"]
    timeouts = [p for p in picture.iter(f"{SVG}path") if p.get("class") == "fg-dots"]
    assert len(lines) == 1
    assert len(timeouts) == stop - 1
    places = [float(re.match(r"M([-\d.]+)", p.get("d") or "").group(1)) for p in (*timeouts, *lines)]  # type: ignore[union-attr]
    steps = [b - a for a, b in pairwise(places)]
    assert all(abs(step - steps[0]) < 0.25 for step in steps)
    assert re.search(rf"After {stop} runs?", text_of(picture))


@pytest.mark.parametrize("name", ["hobbin-row", "morrask-station", "pippetree-one"])
def test_timeline_has_every_hold_and_part_and_the_planned_time(name: str) -> None:
    guide = guides()[name]
    picture = form(drawings(guide)["timeline"])
    events = list(with_attribute(picture, "data-event"))
    holds = [text_of(e) for e in events if e.get("data-event") == "hold"]
    parts = [text_of(e) for e in events if e.get("data-event") == "part"]
    assert len(holds) == len(list(guide.procedure.holds()))
    for hold, said in zip(guide.procedure.holds(), holds, strict=True):
        assert hold.title in said
    assert parts == [f"{part.number} {part.title}" for part in guide.procedure.parts]
    bars = list(with_attribute(picture, "data-bar"))
    assert {bar.get("data-role") for bar in bars} == {
        step.role for step in guide.procedure.steps() if step.minutes
    }
    # Hours in which nobody stays with the machine are no part of the visit, and that is said.
    assert "Not counted: until the steam boiler is hand-warm" in text_of(picture)
    heights = sum(float(str(next(bar.iter(f"{SVG}rect")).get("height"))) for bar in bars)
    total = guide.worksheet.values["time.total"].value or 0.0
    scale = 44.0 / 3600
    assert heights == pytest.approx(total * scale, rel=0.1)


@pytest.mark.parametrize("name", names())
def test_readiness_card_has_every_finding_with_its_shape(name: str) -> None:
    guide = guides()[name]
    picture = form(drawings(guide)["readiness-card"])
    shown = {}
    for group in with_attribute(picture, "data-finding"):
        inner = next(with_attribute(group, "data-verdict"))
        shown[str(group.get("data-finding"))] = inner.get("data-verdict")
    assert shown == {finding.id: finding.verdict for finding in guide.worksheet.findings}


def test_drain_marks_rises_traps_and_pump_lines() -> None:
    kinds = {}
    for name in ("quathery-cellar", "fennavar-museum", "ellunby-bakery"):
        picture = form(drawings(guides()[name])["drain-route"])
        kinds[name] = [e.get("data-run") for e in with_attribute(picture, "data-run")]
    assert kinds["quathery-cellar"] == ["run", "run", "rise", "run"]
    assert kinds["fennavar-museum"] == ["run", "trap", "run", "pumped", "pumped"]
    assert kinds["ellunby-bakery"] == ["run", "trap", "run"]


@pytest.mark.parametrize("name", ["quathery-cellar", "tibbenrow-plaza"])
def test_drain_is_to_scale(name: str) -> None:
    guide = guides()[name]
    assert guide.site is not None
    assert guide.site.data.drain is not None
    picture = form(drawings(guide)["drain-route"])
    runs = [next(e.iter(f"{SVG}path")).get("d") or "" for e in with_attribute(picture, "data-run")]
    scales = []
    for d, segment in zip(runs, guide.site.data.drain.segments, strict=True):
        x1, y1, x2, y2 = map(float, re.findall(r"-?[\d.]+", d))
        scales.append(((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5 / segment.length.value)
        fall = segment.start_height.value - segment.end_height.value
        assert y2 - y1 == pytest.approx(fall * scales[-1], abs=0.3)
    assert max(scales) == pytest.approx(min(scales), rel=0.01)


def test_unit_preference_puts_the_readers_unit_first() -> None:
    guide = guides()["hobbin-row"]
    metric, us = (text_of(form(drawings(preferring(guide, p))["water-schematic"])) for p in ("metric", "us"))
    assert "11 bar" in metric or "bar (" in metric
    assert "psi (" in us
    assert "psi (" not in metric


def test_one_inlet_and_many_draw_alike() -> None:
    guide = guides()["jindleford-roastery"]
    machine = guide.machine.data
    water = machine.water
    second = water.inlets[0].model_copy(update={"mark": "B2", "feeds": ["cold_water"], "source": "mains"})
    first = water.inlets[0].model_copy(update={"feeds": ["brew", "steam_fill"]})
    hose = water.hoses[1].model_copy(
        update={"mark": "S6", "start": "Treatment outlet, tee", "end": "Machine inlet B2"}
    )
    changed = replaced(
        guide,
        water=water.model_copy(update={"inlets": [first, second], "hoses": [*water.hoses, hose]}),
    )
    assert schematic_faults(drawings(changed)["water-schematic"], changed.machine.data) == []
