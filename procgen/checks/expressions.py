"""Formula text evaluated in SI: arithmetic, a few functions and named ones; nothing else is let in."""

from __future__ import annotations

import ast
import math
import operator
import re
from collections.abc import Callable, Mapping
from typing import Any

#: functions that every formula may use
FUNCTIONS: Mapping[str, Callable[..., float]] = {
    "sqrt": math.sqrt,
    "ceil": math.ceil,
    "floor": math.floor,
    "round": round,
    "abs": abs,
    # One member of a family is its own highest and lowest.
    "min": lambda *terms: min(terms),
    "max": lambda *terms: max(terms),
    "sum": lambda *terms: math.fsum(terms),
    "log": math.log,
    "log10": math.log10,
    "exp": math.exp,
    "sin": math.sin,
    "cos": math.cos,
}
CONSTANTS: Mapping[str, float] = {"pi": math.pi}

_SIGNS = str.maketrans({"^": "**", "×": "*", "·": "*", "−": "-", "÷": "/"})
_ID = re.compile(r"\{([^{}]+)\}")
_LENGTH_LIMIT = 4000
_OPERATORS: Mapping[type, Callable[[Any, Any], Any]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Lt: operator.lt,
    ast.LtE: operator.le,
    ast.Gt: operator.gt,
    ast.GtE: operator.ge,
}


class ExpressionError(ValueError):
    """A formula that cannot be evaluated; says why."""


class Expression:
    """A formula text with its symbols; ``{id}`` stands for another value."""

    def __init__(self, text: str, functions: Mapping[str, Callable[..., float]] | None = None) -> None:
        if len(text) > _LENGTH_LIMIT:
            raise ExpressionError(f"more than {_LENGTH_LIMIT} characters")
        self.text = text
        self._functions = {**FUNCTIONS, **(functions or {})}

    @property
    def ids(self) -> list[str]:
        """Ids of the values named in braces."""
        return list(dict.fromkeys(_ID.findall(self.text)))

    def evaluate(self, symbols: Mapping[str, float]) -> float:
        """The formula's figure, every symbol (and id in braces) in SI.

        Raises:
            ExpressionError: it is no formula, names something unknown, or has no figure there.
        """
        tree, names = self._tree(symbols)
        return self._finite(tree, names)

    def terms(self, symbols: Mapping[str, float]) -> list[float]:
        """Figures of the terms that the formula adds and subtracts, to tell how small its sum is."""
        tree, names = self._tree(symbols)
        return [self._finite(term, names) for term in _terms(tree)]

    def _finite(self, tree: ast.expr, names: Mapping[str, float]) -> float:
        try:
            result = float(self._value(tree, names))
        except ExpressionError:
            raise
        except (ArithmeticError, ValueError, TypeError) as error:
            raise ExpressionError(str(error)) from error
        if not math.isfinite(result):
            raise ExpressionError("the result is not finite")
        return result

    def _tree(self, symbols: Mapping[str, float]) -> tuple[ast.expr, dict[str, float]]:
        """The parsed formula, its symbols replaced by plain names: a mark need not be a Python name."""
        names: dict[str, float] = {}
        places: dict[str, str] = {}

        def name_of(symbol: str) -> str:
            if symbol not in symbols:
                raise ExpressionError(f"unknown value {symbol}")
            places.setdefault(symbol, f"symbol_{len(places)}_")
            names[places[symbol]] = symbols[symbol]
            return places[symbol]

        text = _ID.sub(lambda match: name_of(match.group(1)), self.text)
        if symbols:
            ordered = sorted(filter(None, symbols), key=len, reverse=True)
            pattern = "|".join(re.escape(symbol) for symbol in ordered) or r"(?!)"
            # A function of the same name is a function: a symbol is never followed by a bracket.
            text = re.sub(rf"(?<![\w.])(?:{pattern})(?!\w|\s*\()", lambda m: name_of(m.group()), text)
        try:
            tree = ast.parse(text.translate(_SIGNS).strip(), mode="eval")
        except (SyntaxError, RecursionError, MemoryError) as error:
            raise ExpressionError(f"no formula: {getattr(error, 'msg', error)}") from error
        return tree.body, {**CONSTANTS, **names}

    def _value(self, node: ast.expr, names: Mapping[str, float]) -> Any:
        if isinstance(node, ast.Constant) and type(node.value) in {int, float}:
            return node.value
        if isinstance(node, ast.Name):
            if node.id not in names:
                raise ExpressionError(f"unknown symbol {node.id}")
            return names[node.id]
        if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.UAdd | ast.USub):
            inner = self._value(node.operand, names)
            return -inner if isinstance(node.op, ast.USub) else inner
        if isinstance(node, ast.BinOp):
            return self._binary(node, names)
        if isinstance(node, ast.IfExp):
            return self._value(node.body if self._value(node.test, names) else node.orelse, names)
        if isinstance(node, ast.Compare) and len(node.ops) == 1 and type(node.ops[0]) in _OPERATORS:
            compare = _OPERATORS[type(node.ops[0])]
            return compare(self._value(node.left, names), self._value(node.comparators[0], names))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and not node.keywords:
            if node.func.id not in self._functions:
                raise ExpressionError(f"unknown function {node.func.id}")
            return self._functions[node.func.id](*(self._value(arg, names) for arg in node.args))
        raise ExpressionError(f"not allowed: {type(node).__name__}")

    def _binary(self, node: ast.BinOp, names: Mapping[str, float]) -> Any:
        left, right = self._value(node.left, names), self._value(node.right, names)
        if isinstance(node.op, ast.Pow):
            if abs(right) > 64:
                raise ExpressionError("an exponent above 64")
            return float(left) ** right
        if type(node.op) not in _OPERATORS:
            raise ExpressionError(f"not allowed: {type(node.op).__name__}")
        return _OPERATORS[type(node.op)](left, right)


def _terms(node: ast.expr) -> list[ast.expr]:
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add | ast.Sub):
        return [*_terms(node.left), *_terms(node.right)]
    return [node]
