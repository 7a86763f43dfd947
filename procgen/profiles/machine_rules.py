"""Rules of a machine profile that no site can change."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise

from procgen.messages.yamltext import dotted
from procgen.profiles.fields import Section
from procgen.profiles.loader import Location
from procgen.profiles.machine import Machine
from procgen.profiles.power import SupplyVariant
from procgen.units.measure import Measure

Breach = tuple[Location, str, dict[str, str]]

#: Which conductor pairs an arrangement has.
TERMINALS = {
    "1N": {"L1-N"},
    "3N": {"L1-N", "L2-N", "L3-N", "L1-L2", "L2-L3", "L3-L1"},
    "3": {"L1-L2", "L2-L3", "L3-L1"},
    "split": {"L1-N", "L2-N", "L1-L2"},
    "two_legs": {"L1-N", "L2-N", "L1-L2"},
    "3_delta_208": {"L1-L2", "L2-L3", "L3-L1"},
}
#: Ratio of the voltage between two lines to that between line and neutral.
LINE_RATIO = {"3N": 3**0.5, "two_legs": 3**0.5, "split": 2.0}


#: fields that give a part its mark; every other one refers to a part
MARK_FIELDS = {
    "mark",
    "inlet_mark",
    "outlet_mark",
    "expansion_valve_mark",
    "adjuster_mark",
    "valve_mark",
}


def unique_marks(machine: Machine) -> Iterator[Breach]:
    """A mark names one thing in the machine."""
    seen: set[str] = set()
    places = list(_marks(machine, ()))
    if machine.hot_water.method != "none":
        places += [(mark, ("hot_water", "outlets", i)) for i, mark in enumerate(machine.hot_water.outlets)]
    for mark, location in places:
        if mark in seen:
            yield location, "mark_used_twice", {"found": mark}
        seen.add(mark)


def _marks(part: object, location: Location) -> Iterator[tuple[str, Location]]:
    """Every mark a part and what is in it bear, with its place."""
    if isinstance(part, list):
        for i, item in enumerate(part):
            yield from _marks(item, (*location, i))
    elif isinstance(part, Section):
        for name in type(part).model_fields:
            given = getattr(part, name)
            if name in MARK_FIELDS:
                yield given, (*location, name)
            else:
                yield from _marks(given, (*location, name))


def _known(found: str, known: list[str], location: Location, what: str) -> Iterator[Breach]:
    if found not in known:
        yield location, "unknown_mark", {"found": found, "what": what, "known": ", ".join(known)}


def references(machine: Machine) -> Iterator[Breach]:
    """Every mark that is referred to exists."""
    boilers = [boiler.mark for boiler in machine.brew_boilers]
    elements = [element.mark for element in machine.elements]
    fittings = [fitting.mark for fitting in machine.fittings]
    hoses = [hose.mark for hose in machine.water.hoses]
    inlets = [inlet.mark for inlet in machine.water.inlets]
    for i, group in enumerate(machine.groups):
        yield from _known(group.brew_boiler, boilers, ("groups", i, "brew_boiler"), "brew boiler")
    for i, boiler in enumerate(machine.brew_boilers):
        for j, mark in enumerate(boiler.elements):
            yield from _known(mark, elements, ("brew_boilers", i, "elements", j), "element")
        if not any(group.brew_boiler == boiler.mark for group in machine.groups):
            yield ("brew_boilers", i, "mark"), "boiler_without_group", {"found": boiler.mark}
    for j, mark in enumerate(machine.steam_boiler.elements):
        yield from _known(mark, elements, ("steam_boiler", "elements", j), "element")
    for i, inlet in enumerate(machine.water.inlets):
        yield from _known(inlet.fitting, fittings, ("water", "inlets", i, "fitting"), "fitting")
    for name in ("fill", "brew_feed"):
        path = getattr(machine.water, name)
        yield from _known(path.inlet, inlets, ("water", name, "inlet"), "inlet")
        for j, mark in enumerate(path.hoses):
            yield from _known(mark, hoses, ("water", name, "hoses", j), "hose")


def elements_used_once(machine: Machine) -> Iterator[Breach]:
    """Each element heats exactly one boiler."""
    uses = Counter(machine.steam_boiler.elements)
    for boiler in machine.brew_boilers:
        uses.update(boiler.elements)
    for i, element in enumerate(machine.elements):
        if uses[element.mark] != 1:
            yield (
                ("elements", i, "mark"),
                "element_uses",
                {"found": element.mark, "count": str(uses[element.mark])},
            )


def sources(machine: Machine) -> Iterator[Breach]:
    """A path that starts at a pump starts at a pump that feeds it."""
    feeds = {pump.mark: pump.feeds for pump in machine.pumps.units}
    wanted: list[tuple[str, str, Location]] = [
        (machine.water.fill.source, "steam_fill", ("water", "fill", "source")),
        (machine.water.brew_feed.source, "brew", ("water", "brew_feed", "source")),
    ]
    hot_water = machine.hot_water
    if hot_water.method == "pump_setting":
        wanted.append((hot_water.pump, "cold_water", ("hot_water", "pump")))
    elif hot_water.method != "none":
        wanted.append((hot_water.source, "cold_water", ("hot_water", "source")))
    for i, inlet in enumerate(machine.water.inlets):
        wanted += [(inlet.source, duty, ("water", "inlets", i, "source")) for duty in inlet.feeds]
    for source, duty, location in wanted:
        needs_pump = location == ("hot_water", "pump")
        if source == "mains" and not needs_pump:
            continue
        known = ", ".join(feeds if needs_pump else [*feeds, "mains"])
        if source not in feeds:
            yield (
                location,
                "unknown_mark",
                {
                    "found": source,
                    "what": "pump",
                    "known": known,
                },
            )
        elif duty not in feeds[source]:
            yield location, "pump_does_not_feed", {"found": source, "duty": duty}


def pump_layout(machine: Machine) -> Iterator[Breach]:
    """As many pumps as the layout says; a curve that falls as pressure rises."""
    wanted = 2 if machine.pumps.layout.startswith("twin") else 1
    if len(machine.pumps.units) != wanted:
        params = {"found": str(len(machine.pumps.units)), "expected": str(wanted)}
        yield ("pumps", "units"), "pump_count", params
    for i, pump in enumerate(machine.pumps.units):
        points = [(point.pressure.value, point.flow.value) for point in pump.curve]
        for j, (before, after) in enumerate(pairwise(points), 1):
            if after[0] <= before[0] or after[1] > before[1]:
                yield (
                    ("pumps", "units", i, "curve", j),
                    "pump_curve_rises",
                    {"found": pump.curve[j].flow.text},
                )


def _inside(measure: Measure, span: Measure, location: Location) -> Iterator[Breach]:
    if not span.low <= measure.value <= span.high:
        yield location, "outside_own_range", {"found": measure.text, "expected": span.text}


def set_points(machine: Machine) -> Iterator[Breach]:
    """A set point lies inside its controller's range; the steam boiler states what its controller holds."""
    for i, boiler in enumerate(machine.brew_boilers):
        yield from _inside(
            boiler.set_temperature, boiler.controller_range, ("brew_boilers", i, "set_temperature")
        )
    steam = machine.steam_boiler
    names = (
        ("set_temperature", "temperature_range")
        if steam.holds == "temperature"
        else ("set_pressure", "pressure_range")
    )
    point, span = getattr(steam, names[0]), getattr(steam, names[1])
    for name, given in zip(names, (point, span), strict=True):
        if given is None:
            yield ("steam_boiler",), "missing_field", {"field": f"steam_boiler.{name}", "found": name}
    if point is not None and span is not None:
        yield from _inside(point, span, ("steam_boiler", names[0]))
    if steam.volume_to_probe.high >= steam.volume_total.low:
        params = {"found": steam.volume_to_probe.text, "expected": steam.volume_total.text}
        yield ("steam_boiler", "volume_to_probe"), "not_below", params


def brewing(machine: Machine) -> Iterator[Breach]:
    """Brew pressure below its maximum, that below the expansion valve."""
    brew = machine.brewing
    if brew.pressure.high > brew.pressure_maximum.low:
        yield (
            ("brewing", "pressure"),
            "not_below",
            {"found": brew.pressure.text, "expected": brew.pressure_maximum.text},
        )
    if brew.pressure_maximum.high >= brew.expansion_valve_setting.low:
        params = {"found": brew.pressure_maximum.text, "expected": brew.expansion_valve_setting.text}
        yield ("brewing", "pressure_maximum"), "not_below", params


def fittings(machine: Machine) -> Iterator[Breach]:
    """A fitting has the maker's torque or a bolt whose preload is computed, not both."""
    for i, fitting in enumerate(machine.fittings):
        if (fitting.maker_torque is None) == (fitting.bolt is None):
            yield ("fittings", i), "torque_or_bolt", {"found": fitting.mark}


def supply_variants(machine: Machine) -> Iterator[Breach]:
    """Every element is connected once, between conductors the supply has, at a voltage it is made for."""
    for i, variant in enumerate(machine.supply_variants):
        here: Location = ("supply_variants", i)
        yield from _variant_voltages(variant, here)
        uses = Counter(connection.element for connection in variant.connections)
        for element in machine.elements:
            if uses[element.mark] != 1:
                params = {"found": element.mark, "count": str(uses[element.mark])}
                yield (*here, "connections"), "element_connections", params
        for j, connection in enumerate(variant.connections):
            place: Location = (*here, "connections", j)
            yield from _known(
                connection.element, [e.mark for e in machine.elements], (*place, "element"), "element"
            )
            if connection.terminals not in TERMINALS[variant.arrangement]:
                params = {
                    "found": connection.terminals,
                    "known": ", ".join(sorted(TERMINALS[variant.arrangement])),
                }
                yield (*place, "terminals"), "terminals_not_in_supply", params
                continue
            yield from _element_voltage(machine, variant, connection.element, connection.terminals, place)
        for j, load in enumerate(variant.other_loads):
            if load.terminals not in TERMINALS[variant.arrangement]:
                params = {"found": load.terminals, "known": ", ".join(sorted(TERMINALS[variant.arrangement]))}
                yield (*here, "other_loads", j, "terminals"), "terminals_not_in_supply", params
        yield from _priority(machine, variant, here)
        missing = [
            e.mark for e in machine.elements if variant.current_limit and e.mark not in variant.priority
        ]
        if missing:
            yield (*here, "priority"), "priority_incomplete", {"found": ", ".join(missing)}


def _priority(machine: Machine, variant: SupplyVariant, here: Location) -> Iterator[Breach]:
    for j, mark in enumerate(variant.priority):
        place: Location = (*here, "priority", j)
        yield from _known(mark, [element.mark for element in machine.elements], place, "element")
        if mark in variant.priority[:j]:
            yield place, "priority_twice", {"found": mark}


def voltage_between(variant: SupplyVariant, terminals: str) -> Measure | None:
    """Nominal voltage between two conductors of a variant."""
    return variant.line_to_neutral if terminals.endswith("-N") else variant.line_to_line


def _variant_voltages(variant: SupplyVariant, here: Location) -> Iterator[Breach]:
    needed = {"1N": ("line_to_neutral",), "3": ("line_to_line",), "3_delta_208": ("line_to_line",)}.get(
        variant.arrangement, ("line_to_neutral", "line_to_line")
    )
    for name in needed:
        if getattr(variant, name) is None:
            yield here, "missing_field", {"field": dotted((*here, name)), "found": name}
    ratio = LINE_RATIO.get(variant.arrangement)
    if ratio and variant.line_to_neutral and variant.line_to_line:
        expected = variant.line_to_neutral.value * ratio
        if abs(variant.line_to_line.value / expected - 1) > 0.02:
            params = {"found": variant.line_to_line.text, "expected": f"{expected:.0f} V"}
            yield (*here, "line_to_line"), "voltages_do_not_belong", params


def _element_voltage(
    machine: Machine, variant: SupplyVariant, mark: str, terminals: str, place: Location
) -> Iterator[Breach]:
    element = next((element for element in machine.elements if element.mark == mark), None)
    voltage = voltage_between(variant, terminals)
    # Down to a 240 V element on 208 V (0.867) makers do; up by more than a tenth burns it out.
    if element and voltage and not 0.85 <= voltage.value / element.rated_voltage.value <= 1.10:
        yield place, "element_voltage", {"found": element.rated_voltage.text, "expected": voltage.text}


MACHINE_RULES = (
    unique_marks,
    references,
    elements_used_once,
    sources,
    pump_layout,
    set_points,
    brewing,
    fittings,
    supply_variants,
)
