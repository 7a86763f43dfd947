"""A changed figure outside every function: put in every place that took it over when it was imported."""

from __future__ import annotations

import ast
import sys
from functools import cache
from pathlib import Path
from types import ModuleType

from .operators import Mutant
from .transplant import put_in_place

_ABSENT = object()
FOLDERS = ("procgen.engineering.", "tests.engineering.")


@cache
def _statements(path: str) -> tuple[tuple[ast.stmt, frozenset[str]], ...]:
    return _read(Path(path).read_bytes())


def _read(source: bytes) -> tuple[tuple[ast.stmt, frozenset[str]], ...]:
    """Statements of a module with the names that each reads when the module is imported."""
    return tuple((statement, frozenset(_names(statement))) for statement in ast.parse(source).body)


def _names(statement: ast.stmt) -> set[str]:
    parts: list[ast.AST] = [statement]
    if isinstance(statement, ast.FunctionDef):
        defaults = [d for d in (*statement.args.defaults, *statement.args.kw_defaults) if d is not None]
        parts = [*statement.decorator_list, *defaults]
    nodes = [node for part in parts for node in ast.walk(part)]
    plain = {node.id for node in nodes if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load)}
    return plain | {node.attr for node in nodes if isinstance(node, ast.Attribute)}


def propagate(mutant: Mutant, changed: bytes) -> bool:
    """Change the live modules; false where only a new import would do (then nothing may be believed)."""
    live = sys.modules[f"procgen.engineering.{mutant.module}"]
    return _renew(live, _read(changed), mutant.line_number, {})


def _renew(
    live: ModuleType,
    statements: tuple[tuple[ast.stmt, frozenset[str]], ...],
    line: int,
    given: dict[str, object],
) -> bool:
    """Run again what a line, or names with new values, decide in a module; then in all that took it over."""
    inside = live.__name__.startswith(FOLDERS[0])
    scope = {**vars(live), **given}
    new = dict(given)
    for statement, names in statements:
        if not (statement.lineno <= line <= (statement.end_lineno or 0) or names & new.keys()):
            continue
        if isinstance(statement, ast.ClassDef) or not inside:
            return False
        exec(compile(ast.Module([statement], []), str(live.__file__), "exec"), scope)
        if isinstance(statement, ast.FunctionDef):
            put_in_place(vars(live)[statement.name], scope[statement.name])
        elif isinstance(statement, (ast.Assign, ast.AnnAssign)):
            targets = statement.targets if isinstance(statement, ast.Assign) else [statement.target]
            changed = {n.id for t in targets for n in ast.walk(t) if isinstance(n, ast.Name)}
            new |= {name: scope[name] for name in changed}
        else:
            return False
    old = {name: vars(live).get(name) for name in new}
    vars(live).update(new)
    own = {name for name in new if name not in given}
    return not own or all(
        _renew(other, _statements(str(other.__file__)), 0, taken)
        for other in list(sys.modules.values())
        if other is not live and getattr(other, "__name__", "").startswith(FOLDERS)
        if (taken := {name: new[name] for name in own if vars(other).get(name, _ABSENT) is old[name]})
    )
