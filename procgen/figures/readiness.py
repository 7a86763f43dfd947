"""Readiness card: every finding at a glance, by shape and word before colour; what stops the work first."""

from __future__ import annotations

from procgen.figures.canvas import LINE, Canvas
from procgen.figures.chart import octagon
from procgen.figures.drawing import Content
from procgen.figures.quantity import sentence_pieces
from procgen.figures.scene import Scene, Table
from procgen.figures.text import Label, lay_out
from procgen.values.worksheet import Finding

ORDER = ("stop", "attention", "pass")


def card(scene: Scene) -> Content | None:
    """The card; None for a guide without findings."""
    sheet = scene.data.worksheet
    if not sheet.findings:
        return None
    found = {verdict: list(sheet.of(verdict)) for verdict in ORDER}  # type: ignore[arg-type]
    state = sheet.readiness
    head = scene.say(f"readiness.{state}")
    counts = ", ".join(
        scene.say(f"readiness.count_{verdict}", count=len(found[verdict]))
        for verdict in ORDER
        if found[verdict]
    )

    def draw(canvas: Canvas) -> float:
        worst = next(verdict for verdict in ORDER if found[verdict])
        shape(canvas, worst, 20, 20, 16)
        y = 4 + canvas.text(46, 2, [head, counts], canvas.width - 50, size=14, bold_first=True)
        y = max(y, 44)
        for verdict in ORDER:
            if found[verdict]:
                y = _group(canvas, scene, verdict, found[verdict], y)
        return y + 4

    rows = tuple(
        (
            finding.title,
            scene.say(f"readiness.{finding.verdict}"),
            sentence_pieces(finding.reason_parts, scene.prefer),
            sentence_pieces(finding.remedy_parts, scene.prefer),
            scene.word(finding.who),
        )
        for verdict in ORDER
        for finding in found[verdict]
    )
    columns = tuple(
        scene.say(f"readiness.column_{name}") for name in ("check", "verdict", "reason", "remedy", "who")
    )
    return Content(
        draw,
        scene.say("readiness.title"),
        f"{head}. {scene.say('readiness.description')}",
        Table(columns, rows),
    )


def shape(canvas: Canvas, verdict: str, x: float, y: float, r: float) -> None:
    """Octagon for a stop, triangle for a point to settle, disc with a tick for a pass."""
    canvas.open(f' data-verdict="{verdict}"')
    if verdict == "stop":
        octagon(canvas, x, y, r)
    elif verdict == "attention":
        canvas.poly([(x, y - r), (x + r, y + r * 0.8), (x - r, y + r * 0.8)], "attention", close=True)
        canvas.rect(x - r * 0.1, y - r * 0.4, r * 0.2, r * 0.65, "mark")
        canvas.circle(x, y + r * 0.5, r * 0.13, "mark")
    else:
        canvas.circle(x, y, r, "pass")
        points = [(x - r * 0.45, y), (x - r * 0.1, y + r * 0.4), (x + r * 0.5, y - r * 0.4)]
        canvas.poly(points, "tick")
    canvas.close()


def _group(canvas: Canvas, scene: Scene, verdict: str, findings: list[Finding], y: float) -> float:
    y += 6
    y += canvas.text(
        2, y, [scene.say(f"readiness.head_{verdict}")], canvas.width, role="soft", bold_first=True
    )
    wide = canvas.width >= 600
    columns = (3 if wide else 2) if verdict == "pass" else (2 if wide else 1)
    each = canvas.width / columns
    labels: list[Label] = []
    for finding in findings:
        lines = [finding.title]
        if verdict != "pass":
            lines.append(scene.say("readiness.who", who=scene.word(finding.who)))
        labels.append(lay_out(lines, each - 34, 12, bold_first=verdict != "pass", max_lines=4))
    for first in range(0, len(findings), columns):
        row = labels[first : first + columns]
        for i, label in enumerate(row):
            finding = findings[first + i]
            canvas.open(f' data-finding="{finding.id}"')
            shape(canvas, verdict, each * i + 12, y + 12, 9)
            canvas.label(each * i + 28, y + 4, label)
            canvas.close()
        y += max(24.0, max(label.lines for label in row) * LINE + 8)
    return y
