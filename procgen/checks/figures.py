"""Every printed figure is the worksheet's, and its rounding errs to the safe side."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from procgen.checks.html import Page, pages_of
from procgen.checks.quantities import allowed_error
from procgen.checks.reading_back import NOISE, Printed, printed
from procgen.messages.diagnostic import Diagnostic

#: which end of the worksheet's value a way of showing takes
_ENDS = {
    "pair": ("value", "value"),
    "count": ("value", "value"),
    "span": ("low", "high"),
    "limits": ("low", "high"),
    "count_span": ("low", "high"),
    "upper": ("high", "high"),
    # A limit that is known within a range is kept wherever in the range it lies.
    "at_most": ("low", "low"),
    "lower": ("low", "low"),
    "at_least": ("high", "high"),
}


def check_figures(
    folder: Path, values: Mapping[str, Any], left_out: frozenset[str] = frozenset()
) -> list[Diagnostic]:
    """Faults of every figure with ``data-value`` on the pages of one guide."""
    return [fault for page in pages_of(folder, left_out) for fault in page_faults(page, values)]


def page_faults(page: Page, values: Mapping[str, Any]) -> Iterator[Diagnostic]:
    """Faults of one page of a guide."""
    for tag in page.soup.find_all(class_="q"):
        if not tag.get("data-value"):
            continue
        try:
            figure = printed(tag)
        except ValueError:  # told by check_quantities
            continue
        yield from _faults(page, figure, values)


def _faults(page: Page, figure: Printed, values: Mapping[str, Any]) -> Iterator[Diagnostic]:
    value = values.get(figure.value_id)
    if value is None:
        yield page.fault("check_figure_unknown", found=figure.value_id)
        return
    if value.status != "ok":
        yield page.fault("check_figure_unavailable", found=figure.value_id, text=_flat(figure.text))
        return
    if value.kind != figure.kind:
        yield page.fault("check_figure_kind", found=figure.value_id, kind=figure.kind, expected=value.kind)
        return
    wanted = [getattr(value, name) for name in _ENDS.get(figure.show, ("value", "value"))]
    wanted = [value.value if end is None else end for end in wanted]
    if figure.ends is None or any(not _same(a, b) for a, b in zip(figure.ends, wanted, strict=True)):
        said = "nothing" if figure.ends is None else _ends_text(figure.ends)
        expected = _ends_text(wanted)
        yield page.fault("check_figure_differs", found=figure.value_id, said=said, expected=expected)
        return
    yield from _rounding_faults(page, figure, wanted)


def _rounding_faults(page: Page, figure: Printed, wanted: list[float]) -> Iterator[Diagnostic]:
    show = "pair" if figure.show in {"span", "limits"} and _same(wanted[0], wanted[1]) else figure.show
    if show in {"count", "count_span"}:
        return
    for text in (figure.primary, figure.secondary):
        if not text or (text == figure.secondary and figure.trade):
            continue
        try:
            ends = figure.read(text)
        except ValueError:  # told by check_quantities
            continue
        for end, (si, half) in ((0, ends[0]), (1, ends[-1])):
            below, above = allowed_error(show, end, half)
            noise = half * 1e-5 + NOISE * max(abs(si), abs(wanted[end]))
            if not wanted[end] - below - noise <= si <= wanted[end] + above + noise:
                params = {"found": figure.value_id, "text": _flat(text), "expected": f"{wanted[end]:.6g}"}
                yield page.fault("check_figure_rounding", **params)
                break


def _ends_text(ends: Iterable[float]) -> str:
    return " to ".join(dict.fromkeys(f"{end:.6g}" for end in ends))


def _same(a: float, b: float) -> bool:
    return abs(a - b) <= 1e-9 * max(abs(a), abs(b), 1e-12)


def _flat(text: str) -> str:
    return " ".join(text.split())
