"""Every formula shown is evaluated again: with the inputs shown it gives the result shown."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

from procgen.checks.expressions import Expression, ExpressionError
from procgen.messages.diagnostic import Diagnostic
from procgen.units.kinds import KINDS
from procgen.units.show import pair, read_back

Named = Mapping[str, Callable[..., float]]
#: what is left of a solved equation, as a share of its largest term
RESIDUAL_SHARE = 1e-3


def check_formulas(
    values: Mapping[str, Any], named: Named | None = None, sheet: Path | None = None
) -> list[Diagnostic]:
    """Faults of a worksheet's formulas.

    ``named`` are the functions that formulas may call by name, in SI; ``sheet`` is the page that shows them.
    """
    place = sheet or Path("figures.html")
    faults: list[Diagnostic] = []
    for value in values.values():
        if value.status != "ok" or value.value is None or value.series is not None:
            continue
        try:
            faults.extend(_faults(value, values, named or {}, place))
        except ExpressionError as error:
            faults.append(_fault("check_formula_unreadable", place, value, problem=str(error)))
    return faults


def _faults(value: Any, values: Mapping[str, Any], named: Named, place: Path) -> Iterator[Diagnostic]:
    if value.residual:
        yield from _residual_faults(value, values, named, place)
    elif value.formula:
        yield from _formula_faults(value, values, named, place)
    else:
        yield _fault("check_formula_missing", place, value)


def _formula_faults(value: Any, values: Mapping[str, Any], named: Named, place: Path) -> Iterator[Diagnostic]:
    expression = Expression(value.formula, named)
    symbols = _symbols(value, values, expression)
    exact = expression.evaluate(symbols)
    half = value.step / 2 * (1 + 1e-6)
    if abs(exact - value.value) > half + 1e-9 * abs(value.value):
        yield _fault(
            "check_formula_differs", place, value, found=f"{exact:.6g}", expected=f"{value.value:.6g}"
        )
        return
    shown, loose = _with_shown_inputs(value, expression, symbols, exact)
    if shown is not None and abs(shown - value.value) > half + loose + 1e-9 * abs(value.value):
        yield _fault("check_formula_shown", place, value, found=f"{shown:.6g}", expected=f"{value.value:.6g}")


def _residual_faults(
    value: Any, values: Mapping[str, Any], named: Named, place: Path
) -> Iterator[Diagnostic]:
    expression = Expression(value.residual, named)
    symbols = _symbols(value, values, expression)
    left = expression.evaluate(symbols)
    largest = max(abs(term) for term in expression.terms(symbols))
    if abs(left) <= RESIDUAL_SHARE * largest:
        return
    if "result" in value.residual and _changes_sign(expression, symbols, value.step / 2):
        return
    yield _fault("check_formula_residual", place, value, found=f"{left:.3g}", expected=f"{largest:.3g}")


def _changes_sign(expression: Expression, symbols: dict[str, float], half: float) -> bool:
    """The solution lies within half a digit of the result."""
    try:
        ends = [
            expression.evaluate({**symbols, "result": symbols["result"] + side}) for side in (-half, half)
        ]
    except ExpressionError:
        return False
    return ends[0] * ends[1] <= 0


def _symbols(value: Any, values: Mapping[str, Any], expression: Expression) -> dict[str, float]:
    symbols = {item.symbol: item.value for item in value.inputs if item.symbol and item.value is not None}
    symbols["result"] = value.value
    for name in expression.ids:
        other = values.get(name)
        if other is None or other.value is None:
            raise ExpressionError(f"unknown value {name}")
        symbols[name] = other.value
    return symbols


def _with_shown_inputs(
    value: Any, expression: Expression, symbols: dict[str, float], exact: float
) -> tuple[float | None, float]:
    """The result with every input as the sheet prints it, and how far their rounding may move it."""
    shown = dict(symbols)
    loose = 0.0
    for item in value.inputs:
        if item.symbol not in symbols or item.value is None or item.kind not in KINDS:
            continue
        step = item.step or abs(item.value) * 1e-3
        text = pair(item.kind, item.value, step).primary
        figure, half = read_back(item.kind, text)[0]
        # Noughts that only fill places ("12 000 L" of two digits) are no digits.
        half = max(half, step / 2)
        shown[item.symbol] = figure
        moved = [_moved(expression, symbols, item.symbol, side) for side in (-half, half)]
        if None in moved:
            return None, 0.0
        loose += max(abs(end - exact) for end in moved if end is not None)
    try:
        # Twice, for roundings that act together.
        return expression.evaluate(shown), 2 * loose
    except ExpressionError:
        return None, 0.0


def _moved(expression: Expression, symbols: dict[str, float], symbol: str, by: float) -> float | None:
    try:
        return expression.evaluate({**symbols, symbol: symbols[symbol] + by})
    except ExpressionError:
        return None


def _fault(code: str, place: Path, value: Any, **params: str) -> Diagnostic:
    formula = value.residual or value.formula
    return Diagnostic(code, place, params={"value": value.id, "formula": formula, **params}, level="check")
