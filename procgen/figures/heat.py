"""Heat-up chart: each boiler against time, set point and ready marked apart, the band of the voltage."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from procgen.figures import chart as c
from procgen.figures.canvas import Canvas
from procgen.figures.drawing import Content
from procgen.figures.quantity import shown_figure
from procgen.figures.scene import Scene, Table
from procgen.figures.text import Paragraph
from procgen.values.constants import ELEMENT_TOLERANCE
from procgen.values.define import UnavailableError
from procgen.values.evaluate import nominal_evaluation
from procgen.values.reader import Facts
from procgen.values.worksheet import Series

HEAD = 40.0
Curve = list[tuple[float, float]]
#: shares of the ranges of voltage and element tolerance that the band is drawn from
SAMPLES = ((0, 0), (0.25, 0.25), (0.5, 0.5), (0.75, 0.75), (1, 1), (0, 1), (1, 0), (0.25, 0.75), (0.75, 0.25))


def chart(scene: Scene) -> Content | None:
    """The heat-up; None where it cannot be computed."""
    value = scene.data.worksheet.values.get("heat.curve")
    ready, reached = scene.value("heat.time_ready"), scene.value("heat.time_setpoint")
    if value is None or not value.ok or value.series is None or ready is None or reached is None:
        return None
    curves = _curves(value.series)
    sampled = _sampled(scene)
    groups = _alike(curves)
    end = max([ready.high or 0.0, *(curve[-1][0] for one in sampled for curve in one.values())]) * 1.03
    temperatures = [T for curve in curves.values() for _, T in curve]
    lowest, highest = min(temperatures), max(temperatures)
    room = (highest - lowest) * 0.08
    x = c.Axis("time", 0.0, end, scene.say("heat.x"), scene.prefer)
    y = c.Axis("temperature", lowest - room, highest + room, scene.say("heat.y"), scene.prefer)
    entries = _entries(scene, groups, bool(sampled))

    def draw(canvas: Canvas) -> float:
        f = c.frame(canvas, x, y, HEAD)
        bottom = c.axes(canvas, f)
        for group in groups:
            if sampled:
                around = [curves[group[0]], *(one[group[0]] for one in sampled if group[0] in one)]
                canvas.poly(f.points(_envelope(around)), "band-hot", close=True)
        for group in groups:
            canvas.poly(f.points(curves[group[0]]), _role(scene, groups, group))
        _marks(canvas, f, scene, groups, curves)
        return c.legend(canvas, bottom, entries)

    title = scene.say("heat.title", name=scene.machine.name)
    return Content(draw, title, scene.say("heat.description"), _table(scene, value.series))


def _curves(series: Series) -> dict[str, Curve]:
    found: dict[str, Curve] = {}
    for index, (mark, _) in enumerate(series.columns[1:], 1):
        found[mark] = [
            (float(row[0]), float(row[index]))
            for row in series.rows
            if row[0] is not None and row[index] is not None
        ]
    return found


def _alike(curves: dict[str, Curve]) -> list[list[str]]:
    """Marks whose curves are the same share one line."""
    groups: list[list[str]] = []
    for mark, curve in curves.items():
        same = next(
            (
                g
                for g in groups
                if all(abs(a[1] - b[1]) < 0.05 for a, b in zip(curves[g[0]], curve, strict=True))
            ),
            None,
        )
        if same is None:
            groups.append([mark])
        else:
            same.append(mark)
    return groups


def _sampled(scene: Scene) -> list[dict[str, Curve]]:
    """The curves over the ranges of supply voltage and element tolerance; none where neither has a range.

    Staged elements switch in steps, so the ends of the ranges alone do not bound what lies between.
    """
    nominal = nominal_evaluation(Facts(scene.guide_input))
    ranged = {}
    for name in sorted(nominal.depends.get("heat.curve", ())):
        leaf = nominal.all_leaves.get(name)
        if leaf is not None and leaf.measure.is_range and _of_supply(name, leaf.measure.kind):
            ranged[name] = (leaf.measure.low, leaf.measure.high)
    found = []
    for voltage, tolerance in SAMPLES if ranged else ():
        share = {name: tolerance if name == ELEMENT_TOLERANCE.name else voltage for name in ranged}
        moved = {name: low + (high - low) * share[name] for name, (low, high) in ranged.items()}
        try:
            found.append(_curves(nominal.moved_by(moved).get("heat.curve")))
        except UnavailableError:
            continue
    return found


def _of_supply(name: str, kind: str) -> bool:
    return kind == "voltage" or name.endswith("voltage_share") or name == ELEMENT_TOLERANCE.name


def _envelope(curves: Sequence[Curve]) -> list[tuple[float, float]]:
    """Around all curves of one boiler: highest forward, lowest back; a curve stays where it ends."""
    times = sorted({t for curve in curves for t, _ in curve})
    spans = [(t, [_at(curve, t) for curve in curves]) for t in times]
    return [(t, max(Ts)) for t, Ts in spans] + [(t, min(Ts)) for t, Ts in reversed(spans)]


def _at(curve: Curve, time: float) -> float:
    for (t1, T1), (t2, T2) in pairwise(curve):
        if time <= t2:
            return T1 + (T2 - T1) * (time - t1) / (t2 - t1) if t2 > t1 else T2
    return curve[-1][1]


def _role(scene: Scene, groups: Sequence[Sequence[str]], group: Sequence[str]) -> str:
    """The steam boiler's line is the same in every guide; brew boilers take the others in turn."""
    steam = scene.machine.steam_boiler.mark
    if steam in group:
        return "c2"
    others = [g for g in groups if steam not in g]
    return ("c1", "c3", "c4", "c5", "c6")[others.index(group) % 5]


def _time_id(scene: Scene, mark: str) -> str:
    return "heat.time_steam" if mark == scene.machine.steam_boiler.mark else f"heat.time_brew[{mark}]"


def _set_id(scene: Scene, mark: str) -> str:
    steam = mark == scene.machine.steam_boiler.mark
    return "steam.set_temperature" if steam else f"brew.set_temperature[{mark}]"


def _marks(
    canvas: Canvas, f: c.Frame, scene: Scene, groups: Sequence[Sequence[str]], curves: dict[str, Curve]
) -> None:
    for group in groups:
        time, wanted = scene.value(_time_id(scene, group[0])), scene.value(_set_id(scene, group[0]))
        if time is not None and wanted is not None:
            c.disc(canvas, f.px(time.value or 0.0), f.py(wanted.value or 0.0))
    for row, (identifier, mark) in enumerate(
        (("heat.time_setpoint", c.disc), ("heat.time_ready", c.diamond))
    ):
        value = scene.value(identifier)
        if value is None:
            continue
        at = value.value or 0.0
        y = f.top - HEAD + 10 + 18 * row
        c.whisker(canvas, f, value.low or at, at, value.high or at, y)
        canvas.line(f.px(at), y, f.px(at), f.bottom, "dots" if row else "thin")
        mark(canvas, f.px(at), y)


def _entries(
    scene: Scene, groups: Sequence[Sequence[str]], band: bool
) -> list[tuple[c.Sample | None, list[Paragraph]]]:
    entries: list[tuple[c.Sample | None, list[Paragraph]]] = []
    for group in groups:
        time, wanted = scene.q(_time_id(scene, group[0])), scene.q(_set_id(scene, group[0]), "pair")
        name = scene.messages.listing(list(group))
        steam = group[0] == scene.machine.steam_boiler.mark
        key = "heat.steam" if steam else "heat.brew"
        if time is not None and wanted is not None:
            pieces = scene.pieces(key, marks=name, temperature=wanted, time=time)
            entries.append((c.line_sample(_role(scene, groups, group)), [pieces]))
    for identifier, mark, key in (
        ("heat.time_setpoint", c.disc, "heat.setpoint"),
        ("heat.time_ready", c.diamond, "heat.ready"),
    ):
        figure = scene.q(identifier)
        if figure is not None:
            entries.append((c.mark_sample(mark), [scene.pieces(key, time=figure)]))
    if band:
        entries.append((c.band_sample("band-hot"), [scene.say("heat.band")]))
    entries.append((None, [_staging(scene)]))
    return entries


def _staging(scene: Scene) -> Paragraph:
    limit = scene.m(scene.variant, "current_limit", "at_most")
    if limit is None:
        return scene.say("heat.not_staged")
    order = ", ".join(scene.variant.priority)
    return scene.pieces("heat.staged", current=limit, order=order)


def _table(scene: Scene, series: Series) -> Table:
    columns = (scene.say("heat.x"), *(mark for mark, _ in series.columns[1:]))
    rows = []
    for row in series.rows[::4]:
        cells: list[list] = [[shown_figure("time", float(row[0] or 0.0), 10.0, scene.prefer)]]
        cells += [
            [shown_figure("temperature", float(T), 1.0, scene.prefer)] if T is not None else ["–"]
            for T in row[1:]
        ]
        rows.append(tuple(cells))
    return Table(columns, tuple(rows))
