"""Drain route to scale: each run with its fall, the fall that is required, traps, rises and pump lines."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from procgen.figures import chart as c
from procgen.figures.canvas import LINE, Canvas
from procgen.figures.drawing import Content
from procgen.figures.quantity import Quantity, shown_figure
from procgen.figures.scene import Scene, Table, present
from procgen.figures.text import Paragraph
from procgen.profiles.site import DrainSegment

KINDS = ("run", "trap", "pumped", "rise")
ROLE = {"run": "line", "trap": "c4", "pumped": "c5", "rise": "stop-line"}
HEAD = 30.0


@dataclass
class Run:
    """A segment with its place in the drawing, in metres."""

    segment: DrainSegment
    kind: str
    start: float
    end: float


def route(scene: Scene) -> Content | None:
    """The surveyed drain route; None without one."""
    drain = scene.site.drain if scene.site else None
    if drain is None:
        return None
    runs = _runs(drain.segments)
    required = scene.value("drain.fall_required")
    entries = _entries(scene, runs)
    keys = _keys(scene, runs, required is not None)
    fall = required.value if required is not None else None

    def draw(canvas: Canvas) -> float:
        bottom = _draw(canvas, scene, runs, fall)
        y = c.legend(canvas, bottom, keys)
        return c.legend(canvas, y, entries)

    rows = tuple(
        (run.segment.name, [p for line in lines[1:] for p in (*_flat(line), " ")])
        for run, (_, lines) in zip(runs, entries, strict=True)
    )
    assert scene.site is not None
    title = scene.say("drain.title", site=scene.site.name)
    table = Table((scene.say("drain.column_run"), scene.say("drain.column_facts")), rows)
    return Content(draw, title, scene.say("drain.description"), table)


def _flat(line: Paragraph) -> list:
    return [line] if isinstance(line, str) else list(line)


def _runs(segments: list[DrainSegment]) -> list[Run]:
    """Segments one after the other; a length is along the pipe, so the plan length is a little less."""
    found, x = [], 0.0
    for segment in segments:
        rise = segment.end_height.value - segment.start_height.value
        flat = math.sqrt(max(segment.length.value**2 - rise**2, 0.0))
        kind = "run"
        if segment.after_pump:
            kind = "pumped"
        elif segment.within_trap:
            kind = "trap"
        elif rise > 1e-9:
            kind = "rise"
        found.append(Run(segment, kind, x, x + flat))
        x += flat
    return found


def _draw(canvas: Canvas, scene: Scene, runs: list[Run], fall: float | None) -> float:
    heights = [h for run in runs for h in (run.segment.start_height.value, run.segment.end_height.value)]
    top, low = max(heights), min([*heights, 0.0])
    span = max(runs[-1].end, 0.1)
    left, width, tall = 14.0, canvas.width - 28, 300.0 if canvas.width >= 600 else 240.0
    scale = min(width / span, tall / max(top - low, 0.1))
    left += (width - span * scale) / 2

    def at(x: float, h: float) -> tuple[float, float]:
        return left + x * scale, HEAD + 12 + (top - h) * scale

    floor = at(0, 0)[1]
    canvas.line(6, floor, canvas.width - 6, floor, "thin")
    hatch = "".join(f"M{x + 5} {floor:.1f}l-5 6" for x in range(10, int(canvas.width) - 10, 14))
    canvas.path(hatch, "thin")
    for before, after in pairwise(runs):
        h1, h2 = before.segment.end_height.value, after.segment.start_height.value
        if h1 - h2 > 1e-6:
            canvas.poly([at(before.end, h1), at(after.start, h2)], "waste")
    for run in runs:
        s = run.segment
        start, end = s.start_height.value, s.end_height.value
        if fall is not None and run.kind in {"run", "rise"}:
            canvas.poly([at(run.start, start), at(run.end, start - fall * s.length.value)], "dash")
        canvas.open(f' data-run="{run.kind}"')
        canvas.poly([at(run.start, start), at(run.end, end)], ROLE[run.kind])
        canvas.close()
        x, y = at(run.end, end)
        canvas.circle(x, y, 2.5, "ink")
    _numbers(canvas, runs, at)
    bottom = max(floor + 8, at(0, low)[1]) + 10
    return _scale_bar(canvas, scene, bottom, scale)


def _numbers(canvas: Canvas, runs: list[Run], at) -> None:  # type: ignore[no-untyped-def]
    """Numbers in a row above the route, spread so that none touches its neighbour."""
    wanted = [at((run.start + run.end) / 2, 0)[0] for run in runs]
    places: list[float] = []
    for x in wanted:
        places.append(max(x, places[-1] + 24) if places else max(x, 12.0))
    over = places[-1] - (canvas.width - 12)
    for i in range(len(places) - 1, -1, -1):
        limit = canvas.width - 12 - 24 * (len(places) - 1 - i)
        places[i] = min(places[i], limit) if over > 0 else places[i]
    for index, (run, x) in enumerate(zip(runs, places, strict=True)):
        s = run.segment
        mx, my = at((run.start + run.end) / 2, (s.start_height.value + s.end_height.value) / 2)
        canvas.line(x, 20, mx, my - 2, "dots")
        numbered(canvas, x, 10, str(index + 1))


def numbered(canvas: Canvas, x: float, y: float, text: str) -> None:
    """A number in a ring."""
    canvas.circle(x, y, 9.5, "body")
    canvas.text(x, y - LINE * 11 / 12 / 2, text, 19, anchor="middle", size=11)


def _scale_bar(canvas: Canvas, scene: Scene, y: float, scale: float) -> float:
    metres = (0.1, 0.25, 0.5, 1.0, 2.0, 5.0)
    feet = tuple(0.3048 * n for n in (0.25, 0.5, 1, 2, 5, 10))
    lengths = metres if scene.prefer == "metric" else feet
    length = next((n for n in lengths if n * scale >= 40), lengths[-1])
    end = 6 + length * scale
    canvas.poly([(6, y), (6, y + 8), (end, y + 8), (end, y)], "thin")
    shown = shown_figure("length", length, 0.01, scene.prefer)
    canvas.text(end + 8, y, [scene.pieces("drain.scale", length=shown)], canvas.width - end - 12)
    return y + LINE + 4


def _keys(scene: Scene, runs: list[Run], required: bool) -> list[tuple[c.Sample | None, list[Paragraph]]]:
    kinds = {run.kind for run in runs}
    keys: list[tuple[c.Sample | None, list[Paragraph]]] = [
        (c.line_sample(ROLE[kind]), [scene.say(f"drain.key_{kind}")]) for kind in KINDS if kind in kinds
    ]
    if required:
        fall = scene.q("drain.fall_required")
        assert fall is not None
        keys.append((c.line_sample("dash"), [scene.pieces("drain.key_required", fall=fall)]))
    if any(a.segment.end_height.value - b.segment.start_height.value > 1e-6 for a, b in pairwise(runs)):
        keys.append((c.line_sample("waste"), [scene.say("drain.key_drop")]))
    keys.append((c.line_sample("thin"), [scene.say("drain.key_floor")]))
    return keys


def _entries(scene: Scene, runs: list[Run]) -> list[tuple[c.Sample | None, list[Paragraph]]]:
    found: list[tuple[c.Sample | None, list[Paragraph]]] = []
    for index, run in enumerate(runs):
        segment = run.segment
        name = f"drain.fall[{segment.name}]"
        fall: Quantity | None = scene.q(name) if run.kind in {"run", "rise"} else None
        size = scene.pieces(
            "drain.size",
            length=scene.need(segment, "length"),
            bore=scene.need(segment, "bore"),
        )
        heights = scene.pieces(
            "drain.heights",
            start=scene.need(segment, "start_height"),
            end=scene.need(segment, "end_height"),
        )
        falls = scene.pieces("drain.falls", fall=fall) if fall is not None and run.kind == "run" else None
        word = scene.say(f"drain.said_{run.kind}") if run.kind != "run" else None
        lines = list(present(segment.name, size, heights, falls, word))
        text = str(index + 1)
        found.append((lambda canvas, x, y, text=text: numbered(canvas, x + 11, y + 2, text), lines))  # type: ignore[misc]
    return found
