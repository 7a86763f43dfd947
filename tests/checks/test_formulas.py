# ruff: noqa: E501 -- the exact words of a fault stand on one line
"""Formulas are evaluated in a small language; a wrong figure, a wrong formula and a wrong input are found."""

from __future__ import annotations

import math
from typing import Any

import pytest

from procgen.checks.expressions import Expression, ExpressionError
from procgen.checks.formulas import check_formulas
from procgen.messages.catalog import load
from procgen.values.worksheet import Input, Value
from tests.procedure.kit import value


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("V / Q", 110.0),
        ("2 * V^2 - 1", 241.0),
        ("−V", -11.0),
        ("V × Q · 10 ÷ 2", 5.5),
        ("sqrt(16) + ceil(1.2) + min(3, V) + max(1, 2) + abs(-1)", 12.0),
        ("log10(1000) + log(exp(2))", 5.0),
        ("pi * d_Δ1^2 / 4", math.pi * 25 / 4),
        ("max(K-1, K-2)", 8.0),
        ("sum(V, Q, 1)", 12.1),
        ("max(V) - min(Q)", 10.9),
        ("double(V)", 22.0),
        ("{fill.time} + 1", 265.0),
        ("V if V > 3 else Q", 11.0),
        ("1e3 * Q", 100.0),
    ],
)
def test_expression(text: str, wanted: float) -> None:
    symbols = {"V": 11.0, "Q": 0.1, "d_Δ1": 5.0, "K-1": 7.0, "K-2": 8.0, "fill.time": 264.0}
    assert Expression(text, {"double": lambda x: 2 * x}).evaluate(symbols) == pytest.approx(wanted, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("W + 1", "unknown symbol W"),
        ("cube(V)", "unknown function cube"),
        ("{fill.tme}", "unknown value fill.tme"),
        ("V /", "no formula: invalid syntax"),
        ("V / 0", "float division by zero"),
        ("sqrt(-1)", ""),
        ("V.real", "not allowed: Attribute"),
        ("[V][0]", "not allowed: Subscript"),
        ("(lambda: V)()", "not allowed: Call"),
        ("__import__('os')", "unknown function __import__"),
        ("'a' * 3", "not allowed: Constant"),
        ("V ^ 100", "an exponent above 64"),
        ("V % 3", "not allowed: Mod"),
        ("1e300 * 1e300", "the result is not finite"),
        ("V" * 5000, "more than 4000 characters"),
        ("True", "not allowed: Constant"),
    ],
)
def test_expressions_that_are_refused(text: str, problem: str) -> None:
    with pytest.raises(ExpressionError) as caught:
        Expression(text).evaluate({"V": 11.0})
    assert problem in str(caught.value)


def given(symbol: str, kind: str, figure: float, step: float) -> Input:
    return Input(f"site.{symbol}", "survey", "s.yml:1", kind, figure, figure, figure, step, symbol)


def fill(**changes: Any) -> dict[str, Value]:
    """A fill time from a volume and a flow."""
    inputs = (given("V", "volume", 0.0075, 1e-4), given("Q", "flow", 4.1667e-5, 1e-6 / 6))
    fields: dict[str, Any] = {"formula": "V / Q", "inputs": inputs, **changes}
    return {"fill.time": value("fill.time", "time", 180.0, 0.0075 / 4.1667e-5, 180.0, 5.0, **fields)}


def said(values: dict[str, Value], **named: Any) -> list[str]:
    return [load().diagnostic(fault) for fault in check_formulas(values, named)]


def test_a_sound_formula() -> None:
    assert said(fill()) == []
    assert said(fill(formula="ratio(V, Q)"), ratio=lambda a, b: a / b) == []


@pytest.mark.parametrize(
    ("changes", "wanted"),
    [
        ({"formula": "Q / V"},
         "the formula of 'fill.time' (Q / V) gives 0.0055556; the figure is 179.999 (SI)"),
        ({"value": 190.0}, "the formula of 'fill.time' (V / Q) gives 179.999; the figure is 190 (SI)"),
        ({"formula": "V / W"},
         "the formula of 'fill.time' (V / W) cannot be evaluated: unknown symbol W"),
        ({"formula": ""}, "'fill.time' has a figure and no formula"),
        ({"residual": "V - Q * result * 2"},
         "the equation of 'fill.time' (V - Q * result * 2) is off by -0.0075, its largest term being 0.015 (SI)"),
        ({"residual": "{fill.volume} - Q * result"},
         "the formula of 'fill.time' ({fill.volume} - Q * result) cannot be evaluated: unknown value fill.volume"),
    ],
)  # fmt: skip
def test_a_faulty_formula(changes: dict[str, Any], wanted: str) -> None:
    assert said(fill(**changes)) == [f"figures.html: {wanted}"]


def test_a_solved_value_needs_a_small_residual_or_a_sign_change() -> None:
    assert said(fill(residual="V - Q * result")) == []
    assert said(fill(residual="V - Q * result", value=181.5, formula="")) == []
    assert len(said(fill(residual="V - Q * result", value=185.0))) == 1


def test_inputs_shown_too_coarsely_are_found() -> None:
    # 0.001 L/min digits of the flow decide a figure shown to the second; shown as printed the sum is off.
    inputs = (given("a", "length", 10.04, 0.01), given("b", "length", 10.0, 0.01))
    fine = value("x", "length", 0.0, 0.04, 0.0, 0.001, formula="a - b", inputs=inputs)
    assert said({"x": fine}) == []
    hidden = (given("a", "count", 4.4, 1.0), given("b", "length", 10.0, 0.01))

    def jumps(a: float, b: float) -> float:
        return b if a == 4.4 else b + 3 if a == 4.0 else b + 0.1

    shown = value("x", "length", 0.0, 10.0, 0.0, 0.01, formula="jumps(a, b)", inputs=hidden)
    assert said({"x": shown}, jumps=jumps) == [
        "figures.html: with the inputs shown, the formula of 'x' (jumps(a, b)) gives 13; the figure is 10 (SI)"
    ]


def test_unavailable_values_and_curves_are_left_alone() -> None:
    assert said(fill(status="unavailable", value=None, formula="")) == []
