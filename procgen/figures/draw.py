"""``draw_for(assembled, messages)``: a guide's drawings by name, each drawn once."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from procgen.figures import (
    drain,
    fill,
    heat,
    hotwater,
    positioning,
    readiness,
    supply,
    timeline,
    water,
)
from procgen.figures.canvas import Theme
from procgen.figures.drawing import Content, Drawing, finish
from procgen.figures.scene import GuideData, Scene
from procgen.messages.catalog import Messages

Make = Callable[[Scene], Content | None]

#: every figure by its id; a figure that a guide cannot have gives None
FIGURES: Mapping[str, Make] = {
    "water-schematic": water.schematic,
    "supply-diagram": supply.diagram,
    "drain-route": drain.route,
    "fill-chart": fill.chart,
    "heat-chart": heat.chart,
    "hot-water-chart": hotwater.chart,
    "timeline": timeline.timeline,
    "positioning": positioning.positioning,
    "readiness-card": readiness.card,
}


def draw_for(
    guide: GuideData, messages: Messages, theme: Theme = "screen"
) -> Callable[[str], Drawing | None]:
    """The drawings of one guide; None for a name that no figure has, or that this guide cannot have."""
    drawn: dict[str, Drawing | None] = {}

    def draw(name: str) -> Drawing | None:
        if name not in FIGURES:
            return None
        if name not in drawn:
            scene = Scene(guide, messages, theme)
            content = FIGURES[name](scene)
            drawn[name] = finish(name, content, scene) if content is not None else None
        return drawn[name]

    return draw
