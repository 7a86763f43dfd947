"""Drawings of one guide as SVG, from its profile, survey, worksheet and procedure.

Lives here: where lines and words of a drawing go. May not live here: computing a figure, pages, files.
"""

from procgen.figures.draw import FIGURES, draw_for
from procgen.figures.drawing import Drawing
from procgen.figures.style import stylesheet

__all__ = ["FIGURES", "Drawing", "draw_for", "stylesheet"]
