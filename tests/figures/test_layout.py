"""Words in their room: measured widths, breaking, cutting, and labels that make way for each other."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from procgen.figures.canvas import Canvas
from procgen.figures.chart import thinned
from procgen.figures.quantity import Quantity
from procgen.figures.text import ELLIPSIS, Label, lay_out, width
from procgen.figures.timeline import spread
from tests.figures.kit import messages

FIGURE_WORDS = sorted(key for key in messages()._words if key.startswith("figures."))
WORDS = st.text(alphabet=st.characters(blacklist_categories=("Cs", "Cc")), min_size=0, max_size=300)


def lines_of(label: Label) -> list[str]:
    """Text of each line."""
    found = [""] * label.lines
    for index, atom in enumerate(label.atoms):
        glue = " " if atom.space_before and index and label.atoms[index - 1].line == atom.line else ""
        found[atom.line] += glue + atom.text
    return found


@given(WORDS, st.floats(60, 400))
def test_no_line_is_wider_than_its_room(text: str, limit: float) -> None:
    label = lay_out([text], limit, 12)
    assert all(width(line, 12) <= limit + 1e-6 for line in lines_of(label))
    assert "".join("".join(lines_of(label)).split()) == "".join(text.split())


@given(WORDS, st.integers(1, 4))
def test_cut_text_ends_with_an_ellipsis_and_keeps_its_room(text: str, most: int) -> None:
    label = lay_out([text], 90, 12, max_lines=most)
    assert label.lines <= most
    if lay_out([text], 90, 12).lines > most:
        assert label.atoms[-1].text == ELLIPSIS
        assert all(width(line, 12) <= 90 + 1e-6 for line in lines_of(label))


def test_a_quantity_breaks_between_its_figures_and_is_never_cut_in_two() -> None:
    figure = Quantity("3.4–5.8 bar", "50–84 psi", ())
    broken = lay_out([["set to ", figure]], 90, 12)
    assert lines_of(broken) == ["set to", "3.4–5.8 bar", "(50–84 psi)"]
    cut = lay_out([["set to ", figure]], 90, 12, max_lines=2)
    assert lines_of(cut) == ["set to", ELLIPSIS]


def test_text_is_escaped_and_quantities_are_marked() -> None:
    canvas = Canvas(200)
    figure = Quantity("1 bar", "14.5 psi", (("data-leaf", 'a"b'),))
    canvas.text(0, 0, [["<i> & ", figure, ", then"]], 300)
    assert canvas.parts == [
        '<text x="0" y="12">&lt;i&gt; &amp; <tspan class="q" data-leaf="a&quot;b">'
        '<tspan class="q1">1 bar</tspan> (<tspan class="q2">14.5 psi</tspan>)</tspan>, then</text>'
    ]


def test_broken_lines_do_not_join_when_copied() -> None:
    canvas = Canvas(200)
    canvas.text(0, 0, ["one two three four"], 60)
    import re

    assert re.sub("<[^>]*>", "", canvas.parts[0]) == "one two three four"


@given(
    st.lists(st.tuples(st.floats(0, 500), st.floats(10, 60)), min_size=1, max_size=25).map(
        lambda pairs: sorted(pairs, key=lambda p: p[0])
    )
)
def test_spread_labels_keep_order_and_distance(pairs: list[tuple[float, float]]) -> None:
    wanted, heights = [p[0] for p in pairs], [p[1] for p in pairs]
    places = spread(wanted, heights, -8)
    assert places[0] >= -8 - 1e-9
    for index in range(1, len(places)):
        assert places[index] >= places[index - 1] + heights[index - 1] - 1e-6


def test_labels_with_room_stay_where_they_belong() -> None:
    assert spread([0.0, 50.0, 100.0], [20.0, 20.0, 20.0], -8) == [0.0, 50.0, 100.0]


@pytest.mark.parametrize("key", FIGURE_WORDS)
def test_words_of_drawings_have_no_figure_with_a_unit(key: str) -> None:
    from procgen.procedure.typed import typed_quantities

    assert list(typed_quantities(messages().raw(key))) == []


def test_measured_widths_are_not_below_those_of_common_faces() -> None:
    # The widest common sans serif sets this line of 12 units at 295.6 units (measured in a browser).
    text = "Treatment outlet to Pump inlet V-A low, by the"
    assert width(text, 12) >= 280


@given(st.lists(st.floats(0, 240), min_size=2, max_size=120))
def test_a_thinned_curve_stays_where_it_was(heights: list[float]) -> None:
    points = [(6.0 * i, y) for i, y in enumerate(heights)]
    kept = thinned(points)
    assert (kept[0], kept[-1]) == (points[0], points[-1])
    assert set(kept) <= set(points)
    for x, y in points:
        after = next(i for i in range(1, len(kept)) if kept[i][0] >= x)
        (x1, y1), (x2, y2) = kept[after - 1], kept[after]
        # Measured square to the line: along the height the same distance is larger where the line is steep.
        steep = ((y2 - y1) ** 2 + (x2 - x1) ** 2) ** 0.5 / (x2 - x1)
        assert abs(y1 + (y2 - y1) * (x - x1) / (x2 - x1) - y) <= 0.081 * steep


def test_points_on_a_straight_line_are_left_out() -> None:
    assert thinned([(0.0, 0.0), (1.0, 1.0), (2.0, 2.0), (3.0, 2.0)]) == [(0.0, 0.0), (2.0, 2.0), (3.0, 2.0)]
