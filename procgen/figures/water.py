"""Water schematic: from the main through treatment and pumps to boilers, groups, outlets and drain."""

from __future__ import annotations

from procgen.figures.canvas import Canvas
from procgen.figures.drawing import WIDE, Content
from procgen.figures.piping import Lane, built_in, in_order, lanes, shared
from procgen.figures.scene import Scene, Table, present
from procgen.figures.text import Paragraph
from procgen.figures.tree import EDGE, Block, Row, Tree, leaves, rows_of
from procgen.figures.water_inside import duty_block
from procgen.profiles.waterside import Hose, Inlet, NoHotWater, Pump

BACKFLOW = {
    "single_check": "check",
    "double_check": "check2",
    "reduced_pressure_zone": "rpz",
    "air_gap": "tundish",
}


def schematic(scene: Scene) -> Content:
    """The water schematic of one guide."""
    tree = supply_tree(scene)
    hot = scene.machine.hot_water
    if isinstance(hot, NoHotWater):
        scene.left_out.append(scene.say("water.no_hot_water", why=hot.reason))
    waste = drain_block(scene)
    rows = rows_of([tree, waste])
    table = Table(
        (scene.say("water.column_part"), scene.say("water.column_facts")),
        tuple((row.lines[0], _joined(row.lines[1:])) for row in rows),
    )

    def draw(canvas: Canvas) -> float:
        wide = canvas.width >= 600
        lay = Tree(canvas, wide)
        bottom = lay.place(tree, EDGE, 0, canvas.width)
        return lay.place(waste, EDGE, bottom + 14, canvas.width) + 12

    machine, site = scene.machine, scene.site
    title = scene.say(
        "water.title" if site else "water.title_model", machine=machine.name, site=site.name if site else ""
    )
    count = max(leaves(tree), 1)
    return Content(draw, title, scene.say("water.description"), table, max(WIDE, 236.0 * count))


def _joined(lines: list[Paragraph]) -> list:
    pieces: list = []
    for line in lines:
        if pieces:
            pieces.append("; ")
        pieces += [line] if isinstance(line, str) else list(line)
    return pieces


def supply_tree(scene: Scene) -> Block:
    """Main to machine."""
    found = lanes(scene.machine)
    common = shared(found)
    trunk = Block(
        [*_mains_rows(scene), *(_piece_row(scene, piece) for piece in common), *_inlet_pressure(scene)]
    )
    branches = [_lane_block(scene, lane, len(common)) for lane in found]
    if len(branches) == 1:
        only = branches[0]
        trunk.rows += only.rows
        trunk.children, trunk.spread, trunk.zone = only.children, True, only.zone
        return trunk
    trunk.children, trunk.spread = branches, True
    return trunk


def _mains_rows(scene: Scene) -> list[Row]:
    site, design = scene.site, scene.machine.design
    mains = site.mains if site else None
    static = scene.m(mains, "static_pressure", "span")
    lines: list[Paragraph] = [scene.say("water.mains")]
    if static is not None:
        lines.append(scene.pieces("water.static", pressure=static))
    else:
        lines.append(scene.pieces("water.static_design", pressure=scene.need(design, "mains_static", "span")))
    flowing = mains.flowing if mains else None
    if flowing is not None:
        lines.append(
            scene.pieces(
                "water.flowing", pressure=scene.need(flowing, "pressure"), flow=scene.need(flowing, "flow")
            )
        )
    else:
        lines.append(
            scene.pieces(
                "water.flowing_design",
                pressure=scene.need(design, "mains_flowing", "span"),
                flow=scene.need(design, "mains_flowing_flow"),
            )
        )
    lines += _line(scene, "water.night", pressure="supply.static_maximum")
    rows = [Row("mains", lines, "mains", pipe="none")]
    rows += _surveyed_rows(scene)
    rows.append(_treatment_row(scene))
    return rows


def _line(scene: Scene, key: str, **ids: str) -> list[Paragraph]:
    """A line of words around worksheet figures; nothing where one of them is unavailable."""
    found = {name: scene.q(identifier) for name, identifier in ids.items()}
    if any(figure is None for figure in found.values()):
        return []
    return [scene.pieces(key, **{name: figure for name, figure in found.items() if figure is not None})]


def _surveyed_rows(scene: Scene) -> list[Row]:
    """Fittings that the survey found; those it did not find are said, not drawn."""
    if scene.site is None:
        scene.left_out.append(scene.say("water.no_survey"))
        return []
    mains = scene.site.mains
    rows = []
    for name, symbol in (("isolating_valve", "valve"), ("strainer", "filter")):
        if getattr(mains, name):
            rows.append(Row(symbol, [scene.say(f"water.{name}")], name))
        else:
            scene.left_out.append(scene.say("water.not_found", part=scene.say(f"water.{name}")))
    device = mains.backflow_device
    if device in BACKFLOW:
        rows.append(Row(BACKFLOW[device], [scene.say("water.backflow"), scene.word(device)], "backflow"))
    else:
        scene.left_out.append(scene.say("water.not_found", part=scene.say("water.backflow")))
    rows += _reducer_rows(scene)
    if mains.hammer_arrestor:
        rows.append(Row("arrestor", [scene.say("water.hammer_arrestor")], "hammer_arrestor"))
    return rows


def _reducer_rows(scene: Scene) -> list[Row]:
    assert scene.site is not None
    fitted = scene.site.mains.reducer
    wanted = scene.value("supply.reducer_setting")
    lines: list[Paragraph]
    if fitted is not None:
        lines = [
            scene.say("water.reducer"),
            scene.pieces("water.set_to", pressure=scene.need(fitted, "setting")),
        ]
        return [Row("reducer", lines, "reducer")]
    if wanted is not None:
        lines = [
            scene.say("water.reducer_needed"),
            *_line(scene, "water.set_to", pressure="supply.reducer_setting"),
        ]
        return [Row("missing", lines, "reducer_needed")]
    return []


def _treatment_row(scene: Scene) -> Row:
    site = scene.site
    if site is None:
        return Row(
            "treatment", [scene.say("water.treatment"), scene.say("water.treatment_model")], "treatment"
        )
    treatment = site.treatment
    if treatment is None:
        return Row("missing", [scene.say("water.treatment"), scene.say("water.treatment_none")], "treatment")
    lines: list[Paragraph] = [
        scene.say("water.treatment"),
        f"{treatment.name} ({scene.word(treatment.kind)})",
    ]
    lines += _line(scene, "water.loss", loss="supply.treatment_loss", flow="supply.peak_flow")
    return Row("treatment", lines, "treatment")


def _inlet_pressure(scene: Scene) -> list[Row]:
    lines = _line(scene, "water.inlet_pressure", pressure="supply.inlet_pressure", flow="supply.peak_flow")
    if not lines:
        return []
    window = scene.need(scene.machine.water, "inlet_pressure", "limits")
    lines.append(scene.pieces("water.inlet_window", pressure=window))
    return [Row("gauge", [scene.say("water.gauge_inlet"), *lines], "gauge")]


def _piece_row(scene: Scene, piece: Hose | Pump) -> Row:
    return hose_row(scene, piece) if isinstance(piece, Hose) else pump_row(scene, piece)


def hose_row(scene: Scene, hose: Hose) -> Row:
    """A hose with what it connects."""
    size = scene.pieces("water.hose_size", length=scene.need(hose, "length"), bore=scene.need(hose, "bore"))
    ends = scene.say("water.hose_ends", start=hose.start, end=hose.end)
    return Row("hose", [scene.say("water.hose", mark=hose.mark), ends, size], "hose", hose.mark)


def pump_row(scene: Scene, pump: Pump) -> Row:
    """A pump with its marks, what it feeds and what it is set to."""
    feeds = scene.messages.listing([scene.word(duty) for duty in pump.feeds])
    lines: list[Paragraph] = [
        scene.say("water.pump", mark=pump.mark),
        scene.say("water.pump_ends", inlet=pump.inlet_mark, outlet=pump.outlet_mark),
        scene.say("water.pump_feeds", feeds=feeds),
    ]
    if "brew" in pump.feeds:
        lines += _line(scene, "water.pump_brew", pressure="pump.brew_setting")
    if _sets_hot_water(scene, pump):
        lines += _line(scene, "water.pump_cold", pressure="pump.cold_water_setting")
    if len(lines) == 3:
        lines.append(scene.pieces("water.pump_factory", pressure=scene.need(pump, "factory_outlet")))
    return Row("pump", lines, "pump", pump.mark)


def _sets_hot_water(scene: Scene, pump: Pump) -> bool:
    hot = scene.machine.hot_water
    return hot.method == "pump_setting" and hot.pump == pump.mark


def inlet_row(scene: Scene, inlet: Inlet) -> Row:
    """A connection of the machine."""
    lines: list[Paragraph] = [scene.say("water.inlet", mark=inlet.mark), inlet.thread]
    torque = scene.q(f"fastening.torque[{inlet.fitting}]", "limits")
    if torque is not None:
        lines.append(scene.pieces("water.fitting", mark=inlet.fitting, torque=torque))
    return Row("port", lines, "inlet", inlet.mark)


def _lane_block(scene: Scene, lane: Lane, common: int) -> Block:
    machine = scene.machine
    rows = [_piece_row(scene, piece) for piece in lane.way[common:]]
    rows.append(inlet_row(scene, lane.inlet))
    inside: list[Block] = []
    open_duties = in_order(lane.inlet.feeds)
    for pump in built_in(machine, lane.inlet):
        own = [duty for duty in open_duties if duty in pump.feeds]
        open_duties = [duty for duty in open_duties if duty not in own]
        inside.append(Block([pump_row(scene, pump)], [duty_block(scene, duty) for duty in own], True))
    inside += [duty_block(scene, duty) for duty in open_duties]
    inside = [_merged(block) for block in inside if block.rows]
    return Block(rows, inside, True, scene.say("water.machine", name=machine.name))


def _merged(block: Block) -> Block:
    """A pump with one duty continues on its own pipe."""
    if len(block.children) == 1 and block.spread:
        only = block.children[0]
        return Block(block.rows + only.rows, only.children, only.spread, only.zone)
    return block


def drain_block(scene: Scene) -> Block:
    """What leaves the machine as waste, and where it goes."""
    machine, site = scene.machine, scene.site
    valve, brewing = machine.steam_boiler.relief_valve, machine.brewing
    box = [
        scene.say("water.drain_outlet", mark=machine.drain.mark),
        scene.pieces("water.bore", bore=scene.need(machine.drain, "bore")),
        scene.say("water.drain_relief", mark=valve.mark, text=valve.discharge),
        scene.say(
            "water.drain_expansion", mark=brewing.expansion_valve_mark, text=brewing.expansion_valve_discharge
        ),
    ]
    rows = [Row("from", list(present(*box)), "drain_outlet", machine.drain.mark, "none")]
    drain = site.drain if site else None
    if drain is None:
        scene.left_out.append(scene.say("water.no_drain"))
    else:
        lines: list[Paragraph] = [scene.word(drain.receiver).capitalize()]
        lines += _line(scene, "water.air_gap_required", gap="drain.air_gap")
        if drain.air_gap is not None:
            lines.append(scene.pieces("water.air_gap_found", gap=scene.need(drain, "air_gap")))
        rows.append(Row("tundish", lines, "receiver", pipe="waste"))
        if drain.trap:
            rows.append(Row("trap", [scene.say("water.trap")], "trap", pipe="waste"))
    end: list[Paragraph] = [scene.say("water.drain")]
    end += _line(scene, "water.drain_peak", flow="drain.peak_flow")
    rows.append(Row("drain", end, "drain", pipe="waste"))
    return Block(rows)
