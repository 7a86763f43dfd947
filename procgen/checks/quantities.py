"""Every quantity on a page comes from a figure with an origin, and both its units say the same."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from bs4 import Tag

from procgen.checks.html import Page, has_class, pages_of
from procgen.checks.reading_back import NOISE, Printed, printed
from procgen.messages.diagnostic import Diagnostic
from procgen.procedure.typed import typed_quantities

_OUTWARD = {"span": (-1, 1), "upper": (1, 1), "lower": (-1, -1)}
_INWARD = {"limits": (1, -1), "at_most": (-1, -1), "at_least": (1, 1)}


def check_quantities(folder: Path, left_out: frozenset[str] = frozenset()) -> list[Diagnostic]:
    """Faults of every page: numbers with a unit outside figure markup, and figures that disagree."""
    return [fault for page in pages_of(folder, left_out) for fault in page_faults(page)]


def page_faults(page: Page) -> Iterator[Diagnostic]:
    """Faults of one page."""
    for run in page.runs(_has_origin):
        for match in typed_quantities(run):
            yield page.fault("check_quantity_unmarked", found=_flat(match.group()), text=_flat(run)[:60])
    for tag in page.soup.find_all(class_="q"):
        yield from _figure_faults(page, tag)


def _has_origin(tag: Tag) -> bool:
    return has_class(tag, "q", "typed") or tag.name in {"code", "pre", "kbd", "samp"}


def _figure_faults(page: Page, tag: Tag) -> Iterator[Diagnostic]:
    try:
        figure = printed(tag)
        texts = [text for text in (figure.primary, figure.secondary) if text]
        shown = [figure.read(text) for text in texts]
    except ValueError as error:
        yield page.fault("check_quantity_unreadable", found=_flat(tag.get_text()), problem=str(error))
        return
    if figure.ends is None:
        yield page.fault("check_quantity_without_figure", found=_flat(figure.text))
        return
    for index, (text, ends) in enumerate(zip(texts, shown, strict=True)):
        trade = figure.trade if index and figure.trade else None
        yield from _rounding_faults(page, figure, text, ends, trade)
    if len(shown) == 2 and not _agree(shown[0], shown[1], figure):
        yield page.fault("check_quantity_pair", first=_flat(texts[0]), second=_flat(texts[1]))


def allowed_error(show: str, end: int, half: float) -> tuple[float, float]:
    """How far a shown end may lie below and above its figure: half a digit, or one digit to the safe side."""
    step = 2 * half
    direction = (_OUTWARD.get(show) or _INWARD.get(show) or (0, 0))[end]
    if direction == 0:
        return half, half
    return (step, 0.0) if direction < 0 else (0.0, step)


def _rounding_faults(
    page: Page, figure: Printed, text: str, ends: tuple[tuple[float, float], ...], trade: float | None
) -> Iterator[Diagnostic]:
    assert figure.ends is not None
    wanted = figure.ends
    same = abs(wanted[1] - wanted[0]) <= NOISE * max(abs(wanted[0]), abs(wanted[1]), 1e-30)
    for end, (si, half) in ((0, ends[0]), (1, ends[-1])):
        show = "pair" if same and figure.show in {"span", "limits"} else figure.show
        below, above = allowed_error(show, end, half)
        if trade is not None:
            below = above = trade / 2
        if figure.show in {"count", "count_span"}:
            below = above = 1.0
        noise = half * 1e-5 + NOISE * max(abs(si), abs(wanted[end]))
        if not wanted[end] - below - noise <= si <= wanted[end] + above + noise:
            yield page.fault("check_quantity_rounding", found=_flat(text), figure=f"{wanted[end]:.6g}")
            return


def _agree(
    first: tuple[tuple[float, float], ...], second: tuple[tuple[float, float], ...], figure: Printed
) -> bool:
    """Both texts stand for one figure: they differ by no more than both their roundings."""
    factor = 2.0 if figure.show in _OUTWARD or figure.show in _INWARD else 1.0
    extra = figure.trade / 2 if figure.trade else 0.0
    for (a, half_a), (b, half_b) in ((first[0], second[0]), (first[-1], second[-1])):
        if abs(a - b) > factor * (half_a + half_b) * (1 + 1e-5) + extra + NOISE * abs(a):
            return False
    return True


def _flat(text: str) -> str:
    return " ".join(text.split())
