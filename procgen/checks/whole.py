"""All checks on finished guides and on the folder they were built into."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

from procgen.checks import drawings, figures, offline, pages, quantities
from procgen.checks.coverage import check_coverage
from procgen.checks.formulas import check_formulas
from procgen.checks.html import pages_of
from procgen.checks.links import LinkChecker
from procgen.checks.procedure_checks import check_procedure
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


def check_folder(folder: Path, guides: Iterable[Assembled], workers: int = 2) -> list[Diagnostic]:
    """Links, pages, quantities and figures of a built site; each page is read once."""
    values = {guide.guide: guide.worksheet.values for guide in guides}
    units = sorted({page.path.relative_to(folder).parts[0] for page in pages_of(folder)})
    tasks = [(folder, unit, values.get(unit)) for unit in units]
    if workers < 2 or len(tasks) < 3:
        found = [_check_unit(task) for task in tasks]
    else:
        with ProcessPoolExecutor(workers) as pool:
            found = list(pool.map(_check_unit, tasks, chunksize=1))
    return [fault for faults in found for fault in faults]


def _check_unit(task: tuple[Path, str, Mapping[str, Any] | None]) -> list[Diagnostic]:
    """One guide's folder, or one page or folder of the catalogue."""
    folder, unit, values = task
    links = LinkChecker(folder)
    place = folder / unit
    faults: list[Diagnostic] = []
    for path, page in links.pages.items():
        # The one file is made of the pages judged here; it has a judge of its own.
        if not path.is_relative_to(place.resolve()) or path.name == offline.SINGLE:
            continue
        faults += [*links.page(page), *pages.page_faults(page), *quantities.page_faults(page)]
        faults += drawings.page_faults(page)
        if values is not None:
            faults += figures.page_faults(page, values)
        page.forget()
    return faults + ([*links.assets(place), *offline.guide_faults(place)] if place.is_dir() else [])
