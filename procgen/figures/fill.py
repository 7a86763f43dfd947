"""Fill chart: level against pump time with each time-out, the band of predictions, and where to stop."""

from __future__ import annotations

from procgen.figures import chart as c
from procgen.figures.canvas import Canvas
from procgen.figures.drawing import Content
from procgen.figures.scene import Scene, Table
from procgen.figures.text import Paragraph

HEAD = 26.0


def chart(scene: Scene) -> Content | None:
    """The fill of the steam boiler; None where it cannot be computed."""
    time, volume = scene.value("fill.time"), scene.value("fill.volume")
    runs, stop = scene.value("fill.pump_runs"), scene.value("fill.stop_and_check_runs")
    if time is None or volume is None or runs is None or stop is None:
        return None
    boiler = scene.machine.steam_boiler
    timeout = boiler.fill_timeout.value
    nominal = time.value or 0.0
    low, high = time.low or nominal, time.high or nominal
    level, last = volume.value or 0.0, int(stop.value or 0)
    end = max(high, last * timeout) * 1.04
    x = c.Axis("time", 0.0, end, scene.say("fill.x"), scene.prefer)
    y = c.Axis("volume", 0.0, level * 1.12, scene.say("fill.y"), scene.prefer)
    entries = _entries(scene)

    def draw(canvas: Canvas) -> float:
        f = c.frame(canvas, x, y, HEAD)
        bottom = c.axes(canvas, f)
        canvas.poly(f.points([(0, 0), (low, level), (high, level)]), "band-cold", close=True)
        _timeouts(canvas, f, timeout, last)
        canvas.poly(f.points([(0, level), (end, level)]), "dash")
        canvas.poly(f.points([(0, 0), (nominal, level)]), "c1")
        canvas.circle(f.px(nominal), f.py(level), 4.5, "ink")
        return c.legend(canvas, bottom, entries)

    rows = [_row(scene, run, timeout, nominal, level) for run in range(1, int(runs.value or 0) + 1)]
    columns = (scene.say("fill.column_run"), scene.say("fill.column_end"), scene.say("fill.column_level"))
    facts = [(scene.say("fill.fact"), _joined(lines), "") for _, lines in entries[1:]]
    title = scene.say("fill.title", mark=boiler.mark)
    return Content(draw, title, scene.say("fill.description"), Table(columns, (*rows, *facts)))


def _joined(lines: list[Paragraph]) -> list:
    return [piece for line in lines for piece in ([line] if isinstance(line, str) else line)]


def _row(scene: Scene, run: int, timeout: float, nominal: float, level: float):  # type: ignore[no-untyped-def]
    """A run's end; its figures are multiples of the time-out, and the level follows the straight line."""
    from procgen.figures.quantity import shown_figure

    until = min(run * timeout, nominal)
    time = shown_figure("time", until, 5.0, scene.prefer)
    volume = shown_figure("volume", level * until / nominal, 1e-4, scene.prefer)
    return (scene.say("fill.run", number=run), [time], [volume])


def _timeouts(canvas: Canvas, f: c.Frame, timeout: float, stop_runs: int) -> None:
    """A line where each run times out, the run's number above it, and the octagon after the last."""
    y = f.top - HEAD / 2 + 1
    width = f.px(timeout) - f.px(0)
    every = max(1, round(18 / width + 0.499))
    for run in range(1, stop_runs + 1):
        x = f.px(run * timeout)
        if run == stop_runs:
            canvas.line(x, f.top, x, f.bottom, "stop-line")
            c.octagon(canvas, x, y)
        else:
            canvas.line(x, f.top, x, f.bottom, "dots")
            c.triangle(canvas, x, y)
        if run % every == 0 and width * every > 30:
            middle = f.px((run - every / 2) * timeout)
            canvas.text(middle, y - 8, str(run), 30, anchor="middle", role="text", data=f' data-run="{run}"')


def _entries(scene: Scene) -> list[tuple[c.Sample | None, list[Paragraph]]]:
    def line(key: str, **ids: tuple[str, str]) -> list[Paragraph]:
        found = {name: scene.q(i, show) for name, (i, show) in ids.items()}  # type: ignore[arg-type]
        return [scene.pieces(key, **{n: q for n, q in found.items() if q is not None})]

    boiler = scene.machine.steam_boiler
    counted = scene.messages.counted
    runs, stop = scene.value("fill.pump_runs"), scene.value("fill.stop_and_check_runs")
    assert runs is not None
    assert stop is not None
    low, high = int(runs.low or 0), int(runs.high or 0)
    run_text = (
        counted("run", high)
        if low == high
        else scene.say("fill.run_range", low=low, high=counted("run", high))
    )
    return [
        (c.line_sample("c1"), line("fill.level", flow=("fill.flow", "span"))),
        (c.band_sample("band-cold"), line("fill.band", time=("fill.time", "span"))),
        (c.line_sample("dash"), line("fill.full", volume=("fill.volume", "span"))),
        (
            c.mark_sample(c.triangle),
            [
                scene.pieces("fill.timeout", timeout=scene.need(boiler, "fill_timeout"), runs=run_text),
                scene.say("fill.reset", sign=boiler_sign(scene)),
            ],
        ),
        (c.mark_sample(c.octagon), [scene.say("fill.stop", runs=counted("run", int(stop.value or 0)))]),
    ]


def boiler_sign(scene: Scene) -> str:
    """How this machine is told to go on filling."""
    return scene.machine.indications.fill_timeout_reset
