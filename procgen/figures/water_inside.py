"""The machine's own water ways: brewing, steam boiler with its fittings, hot-water adjuster."""

from __future__ import annotations

from procgen.figures.piping import Duty
from procgen.figures.scene import Scene
from procgen.figures.text import Paragraph
from procgen.figures.tree import Block, Row
from procgen.profiles.boilers import BrewBoiler, Group
from procgen.profiles.waterside import (
    NoHotWater,
    PumpSettingHotWater,
    RestrictorHotWater,
    ThermostaticHotWater,
    TimedDilutionHotWater,
)


def duty_block(scene: Scene, duty: Duty) -> Block:
    """The way of one duty behind its inlet."""
    return {"brew": _brew, "steam_fill": _steam, "cold_water": _hot_water}[duty](scene)


def _line(scene: Scene, key: str, **ids: str) -> list[Paragraph]:
    found = {name: scene.q(identifier) for name, identifier in ids.items()}
    if any(figure is None for figure in found.values()):
        return []
    return [scene.pieces(key, **{name: figure for name, figure in found.items() if figure is not None})]


def _brew(scene: Scene) -> Block:
    machine = scene.machine
    check = Row("check", [scene.say("water.check_brew")], "check_valve")
    brewing = machine.brewing
    expansion = Row(
        "relief",
        [
            scene.say("water.expansion_valve", mark=brewing.expansion_valve_mark),
            scene.pieces("water.opens_at", pressure=scene.need(brewing, "expansion_valve_setting")),
            scene.say("water.to_drain"),
        ],
        "expansion_valve",
        brewing.expansion_valve_mark,
    )
    boilers = [_boiler(scene, boiler) for boiler in machine.brew_boilers]
    return Block([check], [Block([expansion]), *boilers])


def _boiler(scene: Scene, boiler: BrewBoiler) -> Block:
    rows = []
    if boiler.preheat is not None:
        steam = scene.machine.steam_boiler.mark
        rows.append(Row("coil", [scene.say("water.preheat", mark=steam)], "preheat"))
    lines: list[Paragraph] = [
        scene.say("water.brew_boiler", mark=boiler.mark),
        [scene.need(boiler, "volume")],
        *_line(scene, "water.temperature", temperature=f"brew.set_temperature[{boiler.mark}]"),
    ]
    rows.append(Row("boiler", lines, "brew_boiler", boiler.mark))
    groups = [_group(scene, group) for group in scene.machine.groups if group.brew_boiler == boiler.mark]
    if len(groups) == 1:
        return Block(rows + groups)
    return Block(rows, [Block([group]) for group in groups])


def _group(scene: Scene, group: Group) -> Row:
    lines: list[Paragraph] = [scene.say("water.group", mark=group.mark)]
    if group.bleed_point is not None:
        lines.append(scene.say("water.bleed", mark=group.bleed_point.mark))
    return Row("group", lines, "group", group.mark, "hot")


def _steam(scene: Scene) -> Block:
    machine = scene.machine
    boiler, path = machine.steam_boiler, machine.water.fill
    orifice: list[Paragraph] = [
        scene.say("water.fill_orifice"),
        [scene.need(path, "orifice_bore")],
        *_line(scene, "water.fill_flow", flow="fill.flow"),
    ]
    lines: list[Paragraph] = [
        scene.say("water.steam_boiler", mark=boiler.mark),
        scene.pieces("water.to_probe", volume=scene.need(boiler, "volume_to_probe")),
        *_line(scene, "water.temperature", temperature="steam.set_temperature"),
        *_line(scene, "water.steam_pressure", pressure="steam.saturation_pressure"),
    ]
    rows = [
        Row("check", [scene.say("water.check_fill")], "check_valve"),
        Row("restrictor", orifice, "orifice"),
        Row("boiler", lines, "steam_boiler", boiler.mark),
    ]
    return Block(rows, _steam_fittings(scene))


def _steam_fittings(scene: Scene) -> list[Block]:
    machine = scene.machine
    boiler = machine.steam_boiler
    relief = boiler.relief_valve
    rows = [
        Row(
            "relief",
            [
                scene.say("water.relief_valve", mark=relief.mark),
                scene.pieces("water.opens_at", pressure=scene.need(relief, "setting")),
                scene.say("water.to_drain"),
            ],
            "relief_valve",
            relief.mark,
            "hot",
        ),
        Row(
            "breaker",
            [scene.say("water.vacuum_breaker", mark=boiler.vacuum_breaker.mark)],
            "vacuum_breaker",
            boiler.vacuum_breaker.mark,
            "hot",
            arrow=False,
        ),
    ]
    wands = machine.options.steam_wands
    rows += [
        Row("wand", [scene.say("water.wand", mark=wand.mark)], "steam_wand", wand.mark, "hot")
        for wand in wands
    ]
    hot = machine.hot_water
    if not isinstance(hot, NoHotWater):
        outlets = scene.messages.listing(list(hot.outlets))
        rows.append(Row("to", [scene.say("water.to_mixing", outlets=outlets)], "to_mixing", pipe="hot"))
    return [Block([row]) for row in rows]


def _hot_water(scene: Scene) -> Block:
    hot = scene.machine.hot_water
    if isinstance(hot, NoHotWater):
        return Block([])
    steam = scene.machine.steam_boiler.mark
    adjuster: list[Paragraph]
    if isinstance(hot, PumpSettingHotWater):
        bore = scene.need(hot, "cold_bore")
        adjuster = [scene.say("water.cold_restrictor"), [bore], scene.say("water.by_pump", mark=hot.pump)]
        row = Row("restrictor", adjuster, "adjuster")
    elif isinstance(hot, RestrictorHotWater):
        adjuster = [scene.say("water.adjuster", mark=hot.adjuster_mark), scene.word("restrictor")]
        row = Row("adjustable", adjuster, "adjuster", hot.adjuster_mark)
    elif isinstance(hot, ThermostaticHotWater):
        adjuster = [scene.say("water.adjuster", mark=hot.valve_mark), scene.word("thermostatic_valve")]
        row = Row("mixer", adjuster, "adjuster", hot.valve_mark)
    else:
        assert isinstance(hot, TimedDilutionHotWater)
        adjuster = [
            scene.say("water.adjuster", mark=hot.valve_mark),
            scene.word("timed_dilution"),
            hot.setting_name,
        ]
        row = Row("timed", adjuster, "adjuster", hot.valve_mark)
    mixing = Row("from", [scene.say("water.from_boiler", mark=steam)], "from_boiler")
    outlets = [_outlet(scene, mark, index == 0) for index, mark in enumerate(hot.outlets)]
    return Block([row, mixing], [Block([outlet]) for outlet in outlets], len(outlets) == 1)


def _outlet(scene: Scene, mark: str, first: bool) -> Row:
    lines: list[Paragraph] = [scene.say("water.outlet", mark=mark)]
    hot = scene.machine.hot_water
    if first and not isinstance(hot, NoHotWater):
        lines += _line(scene, "water.mix", temperature="hotwater.mix_temperature")
        lines.append(scene.pieces("water.target", temperature=scene.need(hot, "target")))
    return Row("tap", lines, "hot_water_outlet", mark, "hot")
