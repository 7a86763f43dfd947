"""Hot-water chart: outlet temperature against the adjuster's setting, target window, where nothing flows."""

from __future__ import annotations

from collections.abc import Sequence

from procgen.figures import chart as c
from procgen.figures.canvas import Canvas
from procgen.figures.drawing import Content
from procgen.figures.quantity import shown_figure
from procgen.figures.scene import Scene, Table
from procgen.figures.text import Paragraph, Piece
from procgen.profiles.waterside import NoHotWater, PumpSettingHotWater, RestrictorHotWater
from procgen.values.worksheet import Series

HEAD = 20.0
Points = list[tuple[str, float, float]]


def chart(scene: Scene) -> Content | None:
    """The adjuster's chart; None on a machine without a hot-water outlet."""
    hot = scene.machine.hot_water
    value = scene.data.worksheet.values.get("hotwater.table")
    if isinstance(hot, NoHotWater) or value is None or not value.ok or value.series is None:
        return None
    points, kind = _points(value.series), dict(value.series.columns)["setting"]
    if len(points) < 2:
        return None
    blocked = scene.value("steam.saturation_pressure") if isinstance(hot, PumpSettingHotWater) else None
    window = hot.target_window
    settings = [setting for _, setting, _ in points]
    low = min([*settings, (blocked.value or 0.0) if blocked else settings[0]])
    high = max(settings)
    margin = (high - low) * 0.06
    temperatures = [T for _, _, T in points] + [window.low, window.high]
    room = (max(temperatures) - min(temperatures)) * 0.12
    x = c.Axis(kind, low - margin, high + margin, scene.say(f"hotwater.x_{hot.method}"), scene.prefer)
    y = c.Axis(
        "temperature",
        min(temperatures) - room,
        max(temperatures) + room,
        scene.say("hotwater.y"),
        scene.prefer,
    )
    positions = [(s, name) for name, s, _ in points] if isinstance(hot, RestrictorHotWater) else None
    entries = _entries(scene, blocked is not None)

    def draw(canvas: Canvas) -> float:
        f = c.frame(canvas, x, y, HEAD)
        bottom = c.axes(canvas, f)
        canvas.rect(
            f.left, f.py(window.high), f.right - f.left, f.py(window.low) - f.py(window.high), "band-go"
        )
        if blocked is not None and blocked.value is not None:
            canvas.rect(f.left, f.top, max(0.0, f.px(blocked.value) - f.left), f.bottom - f.top, "band-no")
            canvas.line(f.px(blocked.value), f.top, f.px(blocked.value), f.bottom, "stop-line")
        canvas.line(f.left, f.py(hot.target.value), f.right, f.py(hot.target.value), "dash")
        curve = sorted((s, T) for _, s, T in points)
        canvas.poly(f.points(curve), "c2" if positions is None else "dots")
        for s, T in curve if positions is not None else []:
            canvas.circle(f.px(s), f.py(T), 4, "hot-fill")
        _setting(canvas, f, scene, kind)
        return c.legend(canvas, bottom, entries)

    table = _table(scene, points, kind)
    return Content(draw, scene.say("hotwater.title"), scene.say("hotwater.description"), table)


def _points(series: Series) -> Points:
    names = [name for name, _ in series.columns]
    place = names.index("position") if "position" in names else None
    setting, temperature = names.index("setting"), names.index("temperature")
    found: Points = []
    for row in series.rows:
        if row[setting] is None or row[temperature] is None:
            continue
        name = str(row[place]) if place is not None else ""
        found.append((name, float(row[setting] or 0.0), float(row[temperature] or 0.0)))
    return found


def _setting(canvas: Canvas, f: c.Frame, scene: Scene, kind: str) -> None:
    """The setting for the target above the plot, with its range."""
    value = scene.value("hotwater.setting_for_target")
    if value is None or value.value is None or value.kind != kind:
        return
    low, high = value.low or value.value, value.high or value.value
    if not f.x.low <= value.value <= f.x.high:
        return
    y = f.top - HEAD / 2
    c.whisker(canvas, f, max(low, f.x.low), value.value, min(high, f.x.high), y)
    canvas.line(f.px(value.value), y, f.px(value.value), f.bottom, "thin")
    c.diamond(canvas, f.px(value.value), y)


def _entries(scene: Scene, blocked: bool) -> list[tuple[c.Sample | None, list[Paragraph]]]:
    hot = scene.machine.hot_water
    assert not isinstance(hot, NoHotWater)
    restrictor = isinstance(hot, RestrictorHotWater)
    entries: list[tuple[c.Sample | None, list[Paragraph]]] = [
        (
            c.mark_sample(lambda canvas, x, y: canvas.circle(x, y, 4, "hot-fill"))
            if restrictor
            else c.line_sample("c2"),
            _curve_words(scene, hot),
        ),
        (
            c.band_sample("band-go"),
            [scene.pieces("hotwater.window", window=scene.need(hot, "target_window", "limits"))],
        ),
        (
            c.line_sample("dash"),
            [scene.pieces("hotwater.target", temperature=scene.need(hot, "target"))],
        ),
    ]
    setting = scene.q("hotwater.setting_for_target")
    if setting is not None:
        lines: list[Paragraph] = [scene.pieces("hotwater.setting", setting=setting)]
        value = scene.data.worksheet.values["hotwater.setting_for_target"]
        if value.why:
            lines.append(value.why)
        entries.append((c.mark_sample(c.diamond), lines))
    if blocked:
        pressure = scene.q("steam.saturation_pressure")
        assert pressure is not None
        entries.append((c.band_sample("band-no"), [scene.pieces("hotwater.blocked", pressure=pressure)]))
    standing = scene.q("hotwater.mix_temperature")
    if standing is not None and hot.method in {"pump_setting", "restrictor"}:
        entries.append((None, [scene.pieces("hotwater.stands", temperature=standing)]))
    return entries


def _curve_words(scene: Scene, hot: object) -> list[Paragraph]:
    if not isinstance(hot, RestrictorHotWater):
        return [scene.say("hotwater.curve")]
    ordered = sorted(hot.positions, key=lambda position: position.bore.value)
    names = ", ".join(position.position for position in ordered)
    return [scene.say("hotwater.curve_positions"), scene.say("hotwater.from_left", names=names)]


def _table(scene: Scene, points: Points, kind: str) -> Table:
    step = {"pressure_gauge": 1e4, "size": 1e-5, "temperature": 1.0}.get(kind, 0.01)
    rows: list[tuple[Sequence[Piece], ...]] = []
    for name, setting, temperature in points:
        shown: list[Piece] = [shown_figure(kind, setting, step, scene.prefer)]
        first = [f"{name}: ", *shown] if name else shown
        rows.append((first, [shown_figure("temperature", temperature, 1.0, scene.prefer)]))
    return Table((scene.say("hotwater.column_setting"), scene.say("hotwater.y")), tuple(rows))
