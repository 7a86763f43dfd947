"""The templates' own words, looked at without rendering any guide."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from procgen.messages.diagnostic import Diagnostic
from procgen.procedure.environment import templates_of


def check_templates(templates_dir: Path) -> list[Diagnostic]:
    """Typed quantities, unknown names, filters and tags in every branch of every template."""
    return [replace(fault, level="check") for fault in templates_of(templates_dir).faults]
