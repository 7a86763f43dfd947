"""All checks on finished guides and on the folder they were built into."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from procgen.checks.coverage import check_coverage
from procgen.checks.figures import check_figures
from procgen.checks.formulas import check_formulas
from procgen.checks.links import check_links
from procgen.checks.pages import check_pages
from procgen.checks.procedure_checks import check_procedure
from procgen.checks.quantities import check_quantities
from procgen.messages.diagnostic import Diagnostic
from procgen.procedure.assemble import Assembled
from procgen.procedure.branches import BranchLog


def check_content(
    guides: Iterable[tuple[Assembled, Mapping[str, Any]]], log: BranchLog, templates: Path
) -> list[Diagnostic]:
    """Procedure, formulas and branch coverage; each guide comes with the functions its formulas may call."""
    faults: list[Diagnostic] = []
    for guide, functions in guides:
        faults += check_procedure(guide.procedure, templates)
        faults += check_formulas(guide.worksheet.values, functions, Path(guide.guide) / "figures.html")
    return faults + check_coverage(log, templates)


def check_folder(folder: Path, guides: Iterable[Assembled]) -> list[Diagnostic]:
    """Links, pages, quantities and figures of a built site."""
    faults = [*check_links(folder), *check_pages(folder), *check_quantities(folder)]
    for guide in guides:
        faults += check_figures(folder / guide.guide, guide.worksheet.values)
    return faults
