"""Typed numbers with a unit in a template's own words: figures come from filters, so that they pair."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from jinja2 import Environment

from procgen.messages.diagnostic import Diagnostic
from procgen.procedure.typed import typed_quantities


def lint(environment: Environment, path: Path, source: str) -> list[Diagnostic]:
    """Faults of one template: each typed number with a unit outside ``literal``."""
    faults = []
    for line, text in _own_words(environment, source):
        for match in typed_quantities(text, words=True):
            at = line + text.count("\n", 0, match.start())
            found = " ".join(match.group().split())
            faults.append(Diagnostic("template_typed_quantity", path, at, params={"found": found}))
    return sorted(faults, key=lambda fault: fault.sort_key)


def _own_words(environment: Environment, source: str) -> Iterator[tuple[int, str]]:
    """Text between tags, and texts inside tags (titles, labels), with their lines."""
    literal = False
    tag = ""
    expect_tag = False
    for line, kind, value in environment.lex(source):
        if kind == "block_begin":
            expect_tag, tag = True, ""
        elif kind == "name" and expect_tag:
            expect_tag, tag = False, value
            literal = value == "literal" if value in {"literal", "endliteral"} else literal
        elif literal:
            continue
        elif kind == "data" or (kind == "string" and tag not in {"include", "import", "from"}):
            yield line, value
