"""Supply diagram: conductors from the board to the clamps, what is connected between which, and the currents.

Drawn in the manner of IEC 60617: a dot joins, a crossing does not.
"""

from __future__ import annotations

from dataclasses import dataclass

from procgen.figures.canvas import LINE, Canvas, number
from procgen.figures.drawing import Content
from procgen.figures.scene import Scene, Table, present
from procgen.figures.text import Paragraph, lay_out

CONDUCTORS = {
    "1N": ("PE", "L1", "N"),
    "3N": ("PE", "L1", "L2", "L3", "N"),
    "3": ("PE", "L1", "L2", "L3"),
    "3_delta_208": ("PE", "L1", "L2", "L3"),
    "split": ("PE", "L1", "L2", "N"),
    "two_legs": ("PE", "L1", "L2", "N"),
}
ROLE = {"PE": "earth", "N": "neutral"}
PITCH = 26.0
SYMBOL_WIDTH = 20.0


@dataclass
class Part:
    """Something connected between two conductors."""

    name: str
    terminals: tuple[str, str]
    lines: list[Paragraph]
    element: bool


def diagram(scene: Scene) -> Content:
    """The supply diagram of the variant in use."""
    conductors = CONDUCTORS[scene.variant.arrangement]
    parts = _parts(scene)
    head, words = _head(scene), _words(scene)
    devices = _devices(scene)
    totals = _totals(scene, conductors)
    terminal: list[Paragraph] = [scene.say("supply.terminals"), scene.variant.terminal_block]

    def draw(canvas: Canvas) -> float:
        wide = canvas.width >= 600
        right = 430.0 if wide else canvas.width
        top = canvas.text(2, 0, head, canvas.width - 4, bold_first=True) + 8
        ladder = _Ladder(canvas, conductors, right)
        bottom = ladder.draw(top, devices, terminal, parts, totals)
        aside = canvas.width - right - 24 if wide else canvas.width - 8
        x, y = (right + 16, top) if wide else (4.0, bottom + 12)
        for paragraph in words:
            y += canvas.text(x, y, paragraph, aside, bold_first=True) + 8
        return max(bottom, y) + 4

    rows = [
        (part.name, "–".join(part.terminals), [p for line in part.lines[1:] for p in (*_pieces(line), " ")])
        for part in parts
    ]
    rows += [
        (name, "", [p for line in lines for p in (*_pieces(line), " ")]) for name, lines in totals.items()
    ]
    columns = (
        scene.say("supply.column_part"),
        scene.say("supply.column_between"),
        scene.say("supply.column_facts"),
    )
    title = scene.say("supply.title", variant=scene.variant.name)
    return Content(draw, title, scene.say("supply.description"), Table(columns, tuple(rows)))


def _pieces(line: Paragraph) -> list:
    return [line] if isinstance(line, str) else list(line)


def _head(scene: Scene) -> list[Paragraph]:
    variant = scene.variant
    to_neutral, to_line = scene.m(variant, "line_to_neutral"), scene.m(variant, "line_to_line")
    return list(
        present(
            scene.say("supply.for_electrician"),
            scene.word(variant.arrangement).capitalize(),
            scene.pieces("supply.to_neutral", voltage=to_neutral) if to_neutral else None,
            scene.pieces("supply.to_line", voltage=to_line) if to_line else None,
            [scene.need(variant, "frequency")],
        )
    )


def _devices(scene: Scene) -> list[tuple[str, list[Paragraph], bool]]:
    """What the survey found between board and machine: symbol, words, and whether it opens the neutral."""
    found: list[tuple[str, list[Paragraph], bool]] = []
    electricity = scene.site.electricity if scene.site else None
    if electricity is None:
        scene.left_out.append(scene.say("supply.no_survey"))
        return found
    device = electricity.device
    if device is not None:
        lines: list[Paragraph] = [scene.say("supply.device"), [scene.need(device, "rating")]]
        if device.curve:
            lines.append(scene.say("supply.curve", curve=device.curve))
        found.append(("breaker", lines, device.all_pole))
    else:
        scene.left_out.append(scene.say("supply.not_surveyed", part=scene.say("supply.device")))
    residual = electricity.residual_device
    if residual is not None:
        lines = [
            scene.say("supply.residual"),
            [scene.need(residual, "rating"), f", {scene.word(residual.type)}"],
        ]
        found.append(("residual", lines, True))
    else:
        scene.left_out.append(scene.say("supply.not_surveyed", part=scene.say("supply.residual")))
    if electricity.lockable_isolator is not None:
        all_pole = bool(electricity.isolator_all_pole)
        words = "supply.all_poles" if all_pole else "supply.not_all_poles"
        lock = "supply.lockable" if electricity.lockable_isolator else "supply.not_lockable"
        found.append(
            ("isolator", [scene.say("supply.isolator"), scene.say(words), scene.say(lock)], all_pole)
        )
    else:
        scene.left_out.append(scene.say("supply.not_surveyed", part=scene.say("supply.isolator")))
    return found


def _parts(scene: Scene) -> list[Part]:
    machine, variant = scene.machine, scene.variant
    owner = dict.fromkeys(machine.steam_boiler.elements, machine.steam_boiler.mark)
    owner |= {mark: boiler.mark for boiler in machine.brew_boilers for mark in boiler.elements}
    elements = {element.mark: element for element in machine.elements}
    found = []
    for connection in variant.connections:
        mark = connection.element
        first, second = connection.terminals.split("-")
        current = scene.q(f"electrical.element_current[{mark}]")
        lines: list[Paragraph] = [scene.say("supply.element", mark=mark, boiler=owner.get(mark, ""))]
        lines.append([scene.need(elements[mark], "rating"), f", {first}–{second}"])
        if current is not None:
            lines.append([current])
        found.append(Part(mark, (first, second), lines, True))
    for load in variant.other_loads:
        first, second = load.terminals.split("-")
        lines = [load.name, [scene.need(load, "power"), f", {first}–{second}"]]
        found.append(Part(load.name, (first, second), lines, False))
    return found


def _totals(scene: Scene, conductors: tuple[str, ...]) -> dict[str, list[Paragraph]]:
    found: dict[str, list[Paragraph]] = {}
    for name in conductors[1:]:
        current = scene.q(f"electrical.current_{name}")
        if current is not None:
            found[name] = [scene.pieces("supply.current", name=name, current=current)]
    found["PE"] = [scene.say("supply.earth")]
    return found


def _words(scene: Scene) -> list[list[Paragraph]]:
    """What goes wrong, said beside the drawing."""
    said: list[list[Paragraph]] = []
    values = scene.data.worksheet.values
    for identifier, key in (
        ("electrical.miswire_power_ratio", "miswire"),
        ("electrical.lost_neutral_voltage", "lost"),
    ):
        value = values.get(identifier)
        if value is None:
            continue
        head = scene.say(f"supply.{key}_head")
        figure = scene.q(identifier) if value.ok else None
        lines_here = sum(name.startswith("L") for name in CONDUCTORS[scene.variant.arrangement])
        if figure is not None:
            said.append([head, scene.pieces(f"supply.{key}", figure=figure)])
        elif lines_here == 1:
            said.append([head, scene.say(f"supply.{key}_one_line")])
        else:
            said.append([head, scene.say("supply.not_here", why=value.why)])
    limit = scene.m(scene.variant, "current_limit", "at_most")
    if limit is not None:
        order = ", ".join(scene.variant.priority)
        said.append(
            [scene.say("supply.limit_head"), scene.pieces("supply.limit", current=limit, order=order)]
        )
    lines: list[Paragraph] = [scene.say("supply.figures_head")]
    for identifier, key in (
        ("electrical.power", "power"),
        ("electrical.device_minimum", "device_minimum"),
        ("electrical.voltage_loaded", "loaded"),
        ("electrical.leakage_expected", "leakage"),
    ):
        figure = scene.q(identifier)
        if figure is not None:
            lines.append(scene.pieces(f"supply.{key}", figure=figure))
    said.append(lines)
    return said


class _Ladder:
    """Conductors from top to bottom, parts as rungs to their right."""

    def __init__(self, canvas: Canvas, conductors: tuple[str, ...], right: float) -> None:
        self.canvas = canvas
        self.conductors = conductors
        self.x = {name: 16 + PITCH * i for i, name in enumerate(conductors)}
        self.part = 16 + PITCH * len(conductors)
        self.words = self.part + SYMBOL_WIDTH
        self.right = right

    def role(self, name: str) -> str:
        return ROLE.get(name, "line")

    def draw(
        self,
        y: float,
        devices: list[tuple[str, list[Paragraph], bool]],
        terminal: list[Paragraph],
        parts: list[Part],
        totals: dict[str, list[Paragraph]],
    ) -> float:
        canvas = self.canvas
        for name, x in self.x.items():
            canvas.text(x, y, name, PITCH, anchor="middle", data=f' data-conductor="{name}"')
        y += LINE + 3
        for symbol, lines, neutral in devices:
            y = self._device(y, symbol, lines, neutral)
        y = self._terminals(y, terminal)
        last = dict.fromkeys(self.conductors, y)
        before = len(canvas.parts)
        for part in parts:
            y = self._rung(y, part, last)
        y += 6
        # How far a conductor goes is known only now; it lies below the dots of its rungs all the same.
        rungs = canvas.parts[before:]
        del canvas.parts[before:]
        for name in self.conductors[1:]:
            canvas.line(self.x[name], last["PE"], self.x[name], last[name], self.role(name))
        canvas.parts += rungs
        self._earth(last["PE"], y)
        y += 34
        for name in self.conductors:
            if name in totals:
                label = lay_out(totals[name], self.right - 8, 12)
                canvas.label(4, y, label)
                y += label.lines * LINE + 4
        return y

    def _device(self, y: float, symbol: str, lines: list[Paragraph], neutral: bool) -> float:
        label = lay_out(lines, self.right - self.words - 4, 12, bold_first=True)
        height = max(30.0, label.lines * LINE) + 8
        canvas = self.canvas
        for name, x in self.x.items():
            opens = name != "PE" and (name != "N" or neutral)
            if symbol == "residual" or not opens:
                canvas.line(x, y, x, y + height, self.role(name))
                continue
            canvas.line(x, y, x, y + 6, self.role(name))
            canvas.line(x, y + 24, x - 8, y + 9, "line")
            canvas.line(x, y + 24, x, y + height, self.role(name))
            mark = (
                f"M{number(x - 3)} {number(y + 3)}l6 6m0 -6l-6 6"
                if symbol == "breaker"
                else f"M{number(x - 4)} {number(y + 6)}h8"
            )
            canvas.path(mark, "line")
        if symbol == "residual":
            first, last = self.x[self.conductors[1]], self.x[self.conductors[-1]]
            middle, half = (first + last) / 2, (last - first) / 2 + 7
            left, wide = number(middle - half), number(2 * half)
            canvas.path(
                f"M{left} {number(y + 15)}a{number(half)} 6 0 1 0 {wide} 0a{number(half)} 6 0 1 0 -{wide} 0Z"
            )
        canvas.label(self.words, y + 2, label, data=f' data-device="{symbol}"')
        return y + height

    def _terminals(self, y: float, lines: list[Paragraph]) -> float:
        label = lay_out(lines, self.right - self.words - 4, 12, bold_first=True, max_lines=8)
        height = max(26.0, label.lines * LINE) + 8
        for name, x in self.x.items():
            self.canvas.line(x, y, x, y + height, self.role(name))
            self.canvas.circle(x, y + 12, 4, "body")
        self.canvas.label(self.words, y + 2, label)
        return y + height

    def _rung(self, y: float, part: Part, last: dict[str, float]) -> float:
        canvas = self.canvas
        label = lay_out(part.lines, self.right - self.words - 4, 12, bold_first=True, max_lines=6)
        height = max(44.0, label.lines * LINE + 8)
        first, second = part.terminals
        top, bottom = y + 7, y + 37
        canvas.open(f' data-part="{"element" if part.element else "load"}" data-terminals="{first}-{second}"')
        for name, level in ((first, top), (second, bottom)):
            canvas.line(self.x[name], level, self.part, level, self.role(name))
            canvas.circle(self.x[name], level, 3, "ink")
            last[name] = max(last[name], level)
        canvas.line(self.part, top, self.part, bottom, "line")
        if part.element:
            canvas.rect(self.part - 5, top + 5, 10, 20, "body")
        else:
            canvas.circle(self.part, top + 15, 9, "body")
        canvas.label(self.words, y + 2, label)
        canvas.close()
        return y + height

    def _earth(self, start: float, y: float) -> None:
        x = self.x["PE"]
        self.canvas.line(x, start, x, y + 8, "earth")
        self.canvas.path(
            f"M{number(x - 10)} {number(y + 8)}h20m-16 5h12m-9 5h6",
            "line",
        )
