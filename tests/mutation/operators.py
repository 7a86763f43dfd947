"""Every small change of a module's source that may change a number, as an exchange of a few characters."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass

COMPARISONS: dict[type[ast.cmpop], tuple[str, tuple[str, ...]]] = {
    ast.Lt: ("<", ("<=", ">")),
    ast.LtE: ("<=", ("<", ">=")),
    ast.Gt: (">", (">=", "<")),
    ast.GtE: (">=", (">", "<=")),
    ast.Eq: ("==", ("!=",)),
    ast.NotEq: ("!=", ("==",)),
    ast.Is: ("is", ("is not",)),
    ast.IsNot: ("is not", ("is",)),
    ast.In: ("in", ("not in",)),
    ast.NotIn: ("not in", ("in",)),
}
ARITHMETIC: dict[type[ast.operator], tuple[str, str]] = {
    ast.Add: ("+", "-"),
    ast.Sub: ("-", "+"),
    ast.Mult: ("*", "/"),
    ast.Div: ("/", "*"),
    ast.FloorDiv: ("//", "/"),
    ast.Pow: ("**", "*"),
}
EXTREMES = {"min": "max", "max": "min"}
#: Calls whose whole numbers count or select something.
COUNTING = {"range", "round", "islice", "enumerate", "combinations", "permutations"}
#: Records that hold no figure of a formula.
RECORDS = {"Source"}


@dataclass(frozen=True)
class Mutant:
    """One change: bytes ``start`` to ``end`` of the source of ``module`` become ``new``."""

    module: str
    #: "body" of a function, "signature" (decorator or default), "class" body, or "module" level.
    where: str
    #: Name of the top-level function or class (with its method), or "" at module level.
    function: str
    line_number: int
    #: Lines of the statement (for a signature: of the function) in which the change stands.
    span: tuple[int, int]
    start: int
    end: int
    new: str
    line: str
    becomes: str

    def apply(self, source: bytes) -> bytes:
        """The changed source."""
        return source[: self.start] + self.new.encode() + source[self.end :]

    @property
    def key(self) -> tuple[str, str, str, str]:
        """What names the change in the list of equivalent ones, wherever its line moves."""
        return self.module, self.function, self.line, self.becomes


class _Finder:
    def __init__(self, module: str, source: bytes) -> None:
        self.module, self.source = module, source
        self.lines = source.split(b"\n")
        starts = [0]
        for line in self.lines:
            starts.append(starts[-1] + len(line) + 1)
        self.starts = starts
        self.found: list[Mutant] = []
        self.lines_now = (0, 0)

    def at(self, line: int, column: int) -> int:
        return self.starts[line - 1] + column

    def span(self, node: ast.expr) -> tuple[int, int]:
        assert node.end_lineno is not None
        assert node.end_col_offset is not None
        return self.at(node.lineno, node.col_offset), self.at(node.end_lineno, node.end_col_offset)

    def add(self, where: str, function: str, start: int, end: int, new: str) -> None:
        number = self.source.count(b"\n", 0, start) + 1
        first, line = self.starts[number - 1], self.lines[number - 1]
        becomes = line[: start - first] + new.encode() + line[end - first :]
        self.found.append(
            Mutant(
                self.module, where, function, number, self.lines_now, start, end, new,
                line.decode().strip(), becomes.decode().strip(),
            )
        )  # fmt: skip

    def token(self, left: ast.expr, right: ast.expr, symbol: str) -> tuple[int, int]:
        """Where the operator between two operands stands."""
        start, end = self.span(left)[1], self.span(right)[0]
        pattern = re.escape(symbol).replace(r"\ ", r"\s+").encode()
        between = re.sub(rb"#[^\n]*", lambda m: b" " * len(m.group()), self.source[start:end])
        match = re.search(pattern, between)
        assert match is not None, (self.module, self.source[start:end], symbol)
        return start + match.start(), start + match.end()

    # ------------------------------------------------------------------ walk

    def module_body(self, tree: ast.Module) -> None:
        for statement in tree.body:
            if isinstance(statement, ast.FunctionDef):
                self.function(statement, statement.name)
            elif isinstance(statement, ast.ClassDef):
                for part in statement.body:
                    if isinstance(part, ast.FunctionDef):
                        self.function(part, f"{statement.name}.{part.name}")
                    else:
                        self.visit(part, "class", statement.name, False)
            else:
                self.visit(statement, "module", "", False)

    def function(self, node: ast.FunctionDef, name: str) -> None:
        first = min((decorator.lineno for decorator in node.decorator_list), default=node.lineno)
        self.lines_now = (first, node.end_lineno or first)
        for decorator in node.decorator_list:
            if isinstance(decorator, ast.Call) and getattr(decorator.func, "id", "") == "kernel":
                for keyword in decorator.keywords:
                    if keyword.arg == "valid":
                        self.visit(keyword.value, "signature", name, False)
        for default in (*node.args.defaults, *node.args.kw_defaults):
            if default is not None:
                self.visit(default, "signature", name, False)
        for statement in node.body:
            self.visit(statement, "body", name, False)

    def visit(self, node: ast.AST, where: str, function: str, counting: bool) -> None:
        if isinstance(node, (ast.JoinedStr, ast.Import, ast.ImportFrom)):
            return
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in RECORDS:
            return
        if isinstance(node, ast.stmt):
            self.lines_now = _header(node)
        self.here(node, where, function, counting)
        for child, counts in _children(node, counting):
            self.visit(child, where, function, counts)

    def here(self, node: ast.AST, where: str, function: str, counting: bool) -> None:
        def add(start: int, end: int, new: str) -> None:
            self.add(where, function, start, end, new)

        if isinstance(node, ast.Constant) and type(node.value) in (int, float):
            start, end = self.span(node)
            for changed in _changed(node.value, counting):
                add(start, end, changed)
        elif isinstance(node, ast.BinOp) and type(node.op) in ARITHMETIC:
            symbol, new = ARITHMETIC[type(node.op)]
            add(*self.token(node.left, node.right, symbol), new)
        elif isinstance(node, ast.AugAssign) and type(node.op) in ARITHMETIC:
            symbol, new = ARITHMETIC[type(node.op)]
            add(*self.token(node.target, node.value, symbol + "="), new + "=")
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, (ast.USub, ast.Not)):
            start = self.span(node)[0]
            add(start, start + (1 if isinstance(node.op, ast.USub) else len("not")), "")
        elif isinstance(node, ast.Compare):
            operands = [node.left, *node.comparators]
            for left, right, operator in zip(operands[:-1], operands[1:], node.ops, strict=True):
                symbol, others = COMPARISONS[type(operator)]
                for new in others:
                    add(*self.token(left, right, symbol), new)
        elif isinstance(node, ast.BoolOp):
            symbol, new = ("and", "or") if isinstance(node.op, ast.And) else ("or", "and")
            for left, right in zip(node.values, node.values[1:], strict=False):
                add(*self.token(left, right, symbol), new)
        elif isinstance(node, ast.Name) and node.id in EXTREMES and isinstance(node.ctx, ast.Load):
            add(*self.span(node), EXTREMES[node.id])


def _header(node: ast.stmt) -> tuple[int, int]:
    """Lines of a statement, without the statements inside it."""
    body = getattr(node, "body", None)
    last = body[0].lineno - 1 if body else node.end_lineno or node.lineno
    return node.lineno, max(node.lineno, last)


def _children(node: ast.AST, counting: bool) -> Iterator[tuple[ast.AST, bool]]:
    """Parts of a node that may hold a figure, and whether a whole number in them counts or selects."""
    for field, value in ast.iter_fields(node):
        if field in {"annotation", "returns", "decorator_list"}:
            continue
        counts = (
            counting
            or (isinstance(node, ast.Subscript) and field == "slice")
            or (isinstance(node, ast.Call) and field == "args" and getattr(node.func, "id", "") in COUNTING)
            or (isinstance(node, ast.Dict) and field == "keys")
        )
        for part in value if isinstance(value, list) else [value]:
            if isinstance(part, ast.AST):
                yield part, counts or (isinstance(node, ast.Compare) and isinstance(part, ast.Constant))


def _changed(value: float, counting: bool) -> tuple[str, ...]:
    if isinstance(value, int) and counting:
        return f"{value + 1}", f"({value - 1})" if value < 1 else f"{value - 1}"
    if value == 0:
        return "0.02", "(-0.02)"
    return repr(value * 1.02), repr(value * 0.98)


def mutants(module: str, source: bytes) -> list[Mutant]:
    """Every change of one module, in the order of its lines."""
    finder = _Finder(module, source)
    finder.module_body(ast.parse(source))
    return sorted(finder.found, key=lambda m: (m.start, m.end, m.new))
