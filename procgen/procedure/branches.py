"""Which branches of the templates were taken, so that many guides together show the ones none has tried."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from jinja2 import nodes
from jinja2.visitor import NodeTransformer


@dataclass(frozen=True, order=True)
class Branch:
    """One branch: where its condition stands, and which way."""

    template: str
    line: int
    label: str
    #: a loop over nothing that has no words of its own
    implied: bool = field(default=False, compare=False)


@dataclass
class BranchLog:
    """Branches that exist and branches that were taken, over any number of guides."""

    all: set[Branch] = field(default_factory=set)
    taken: set[Branch] = field(default_factory=set)

    @property
    def untaken(self) -> list[Branch]:
        """Branches that no guide has taken, in order."""
        return sorted(self.all - self.taken)


class BranchMarker(NodeTransformer):
    """Makes every branch of a template's tree record that it was taken."""

    def __init__(self, template: str, extension_id: str) -> None:
        self.template = template
        self.branches: set[Branch] = set()
        self._extension_id = extension_id
        self._elifs: set[int] = set()
        self._seen: Counter[tuple[int, str]] = Counter()

    def visit_If(self, node: nodes.If) -> nodes.If:
        """Mark each of ``if``, ``elif`` and ``else``; a missing ``else`` is a branch too."""
        if id(node) not in self._elifs:
            self._mark_if(node, "if")
        self.generic_visit(node)
        return node

    def _mark_if(self, node: nodes.If, label: str) -> None:
        node.body.insert(0, self._statement(node.lineno, label))
        for other in node.elif_:
            self._elifs.add(id(other))
            other.body.insert(0, self._statement(other.lineno, "elif"))
        node.else_.insert(0, self._statement(node.lineno, "else"))

    def visit_For(self, node: nodes.For) -> nodes.For:
        """Mark a loop that ran and a loop that had nothing to run over."""
        implied = not node.else_
        node.body.insert(0, self._statement(node.lineno, "for"))
        node.else_.insert(0, self._statement(node.lineno, "for nothing", implied))
        self.generic_visit(node)
        return node

    def visit_CondExpr(self, node: nodes.CondExpr) -> nodes.CondExpr:
        """Mark both sides of an inline ``if``."""
        self.generic_visit(node)
        node.expr1 = self._expression(node.lineno, "inline if", node.expr1)
        other = node.expr2 or nodes.Const("", lineno=node.lineno)
        node.expr2 = self._expression(node.lineno, "inline else", other)
        return node

    def _branch(self, line: int, label: str, implied: bool = False) -> Branch:
        self._seen[line, label] += 1
        number = self._seen[line, label]
        branch = Branch(self.template, line, label if number == 1 else f"{label} #{number}", implied)
        self.branches.add(branch)
        return branch

    def _call(self, method: str, branch: Branch, *more: nodes.Expr) -> nodes.Call:
        attribute = nodes.ExtensionAttribute(self._extension_id, method)
        arguments: list[nodes.Expr] = [
            nodes.ContextReference(),
            nodes.Const(branch.template),
            nodes.Const(branch.line),
            nodes.Const(branch.label),
            *more,
        ]
        return nodes.Call(attribute, arguments, [], None, None, lineno=branch.line)

    def _statement(self, line: int, label: str, implied: bool = False) -> nodes.Node:
        return nodes.ExprStmt(self._call("took", self._branch(line, label, implied)), lineno=line)

    def _expression(self, line: int, label: str, inner: nodes.Expr) -> nodes.Expr:
        return self._call("took_value", self._branch(line, label), inner)
