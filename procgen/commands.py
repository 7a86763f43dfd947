"""What each command does, free of argument parsing and printing."""

from __future__ import annotations

import difflib
import shutil
import tempfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import Any

from procgen.figures import draw_for
from procgen.messages.catalog import Messages
from procgen.messages.diagnostic import Diagnostic, InputFaultsError
from procgen.procedure.assemble import Assembled, assemble
from procgen.procedure.branches import BranchLog
from procgen.profiles.workspace import GuideInput, Workspace, read_workspace

#: told of each finished guide: its id, how many are done, how many there are
Progress = Callable[[str, int, int], None]
#: Profiles that exist only so that every branch of every template is rendered; never published.
SYNTHETIC = "machine_profiles/synthetic"


class UnknownGuideError(Exception):
    """No guide has this id; carries the nearest known one."""

    def __init__(self, found: str, known: Sequence[str]) -> None:
        near = difflib.get_close_matches(found, known, 1)
        self.found = found
        self.nearest = near[0] if near else ", ".join(known)
        super().__init__(found)


class ChecksFailedError(Exception):
    """Everything was rendered, but checks on the result fail."""

    def __init__(self, faults: list[Diagnostic]) -> None:
        self.faults = sorted(faults, key=lambda fault: fault.sort_key)
        super().__init__(f"{len(faults)} checks fail")


@dataclass
class Rendered:
    """All guides of a workspace, and which template branches they took."""

    workspace: Workspace
    guides: list[Assembled]
    inputs: list[GuideInput]
    log: BranchLog = field(default_factory=BranchLog)


def find_guide(workspace: Workspace, wanted: str) -> GuideInput:
    """A guide by id.

    Raises:
        UnknownGuideError: no such guide.
    """
    guides = {guide.guide: guide for guide in workspace.guides()}
    if wanted not in guides:
        raise UnknownGuideError(wanted, list(guides))
    return guides[wanted]


def render(
    root: Path, messages: Messages, only: Sequence[str] = (), progress: Progress | None = None
) -> Rendered:
    """Read the workspace and assemble its guides; faults of all guides are reported together.

    Raises:
        InputFaultsError: profiles, surveys or templates are wrong.
        UnknownGuideError: ``only`` names a guide that does not exist.
    """
    workspace = read_workspace(root)
    chosen = [find_guide(workspace, name) for name in only] if only else workspace.guides()
    rendered = Rendered(workspace, [], chosen)
    faults: list[Diagnostic] = []
    for done, guide in enumerate(chosen, 1):
        try:
            rendered.guides.append(assemble(guide, workspace.templates, messages, rendered.log))
        except InputFaultsError as error:
            faults += error.faults
        if progress:
            progress(guide.guide, done, len(chosen))
    if faults:
        raise InputFaultsError(faults)
    return rendered


def build(
    root: Path,
    messages: Messages,
    only: Sequence[str] = (),
    progress: Progress | None = None,
    workers: int = 2,
    prints: bool = False,
) -> list[Any]:
    """Build, check and publish, with a print of each guide where asked for; gives the catalogue's entries.

    Raises:
        PrintEngineMissingError, PrintFaultError: a guide could not be printed; nothing was published.
        InputFaultsError, UnknownGuideError: as ``render``.
        ChecksFailedError: a check on the result fails; nothing was published.
    """
    from procgen.publish.build import build_site

    rendered = render(root, messages, only)
    press = _press(root, messages) if prints else None

    def told(entry: Any, done: int, count: int) -> None:
        if progress:
            progress(entry.guide, done, count)

    return build_site(
        rendered.guides,
        root,
        messages,
        only or None,
        progress=told,
        draw_for=partial(draw_for, messages=messages),
        prints=partial(_print_beside, press=press) if press else None,
        check=lambda folder: _check_folder(folder, rendered.guides),
        workers=workers,
    )


@dataclass
class Prints:
    """What a run of ``print`` gave: files, and of guides without one what was wrong."""

    done: list[Any] = field(default_factory=list)
    failed: list[Any] = field(default_factory=list)
    #: faults of profiles and templates, of guides that never reached the press
    faults: list[Diagnostic] = field(default_factory=list)


def print_guides(
    root: Path,
    messages: Messages,
    only: Sequence[str],
    document: str,
    paper: Any,
    path_for: Callable[[str], Path],
    progress: Progress | None = None,
    workers: int = 2,
    seed: int | None = None,
) -> Prints:
    """Print a document of some guides, or of all; what fails does not stop the rest.

    Raises:
        InputFaultsError, UnknownGuideError: as ``render``, where nothing at all can be read.
        PrintEngineMissingError: the print engine's system libraries are missing.
    """
    from procgen.publish.printing.run import print_all

    workspace, prints, jobs = read_workspace(root), Prints(), []
    chosen = [find_guide(workspace, name) for name in dict.fromkeys(only)] or workspace.guides()
    for guide in chosen:
        try:
            jobs.append(assemble(guide, workspace.templates, messages, BranchLog()))
        except InputFaultsError as error:
            prints.faults += error.faults
    press = replace(_press(root, messages, document, paper), seed=seed)
    for outcome in print_all(jobs, [path_for(job.guide) for job in jobs], press, workers):
        (prints.failed if outcome.faults else prints.done).append(outcome)
        if progress:
            progress(outcome.guide, len(prints.done) + len(prints.failed), len(jobs))
    return prints


def _press(root: Path, messages: Messages, document: str = "install", paper: Any = None) -> Any:
    from procgen.publish import adapter
    from procgen.publish.printing.documents import Press
    from procgen.publish.printing.engine import require_engine

    require_engine()
    config = root / "mkdocs.yml"
    settings = adapter.load_settings(config if config.is_file() else None)
    return Press(messages, document, paper, settings.site_url, partial(_draw_in, messages=messages))


def _print_beside(guide: Assembled, edition: str, press: Any) -> bytes:
    """The print that stands beside a guide's pages."""
    from procgen.publish.printing.documents import print_document
    from procgen.publish.printing.engine import PrintFaultError

    try:
        return print_document(guide, press, edition).content
    except PrintFaultError as error:
        raise PrintFaultError(error.warnings, guide.guide) from error


def _draw_in(guide: Assembled, theme: Any, messages: Messages) -> Any:
    return draw_for(guide, messages, theme)


def _check_folder(folder: Path, guides: Iterable[Assembled]) -> None:
    from procgen.checks.whole import check_folder

    faults = check_folder(folder, guides)
    if faults:
        raise ChecksFailedError(faults)


def published(root: Path) -> Mapping[str, Any]:
    """The editions that stand in a workspace's site, to compare with later."""
    from procgen.publish.build import SITE
    from procgen.publish.changes import read_editions

    return read_editions(root / SITE)


def changes(before: Mapping[str, Any], after: Mapping[str, Any], messages: Messages) -> list[str]:
    """In words: which guides an edit changes, and what in them."""
    from procgen.publish.changes import change_lines, compare

    return change_lines(compare(before, after), messages)


@dataclass
class Checked:
    """The checks that fail, and the editions that a build would publish."""

    faults: list[Diagnostic]
    editions: Mapping[str, Any]


def check(root: Path, messages: Messages, progress: Progress | None = None) -> Checked:
    """Every check on profiles, templates and a site built in a temporary folder.

    Raises:
        InputFaultsError: something could not be read, validated or rendered.
    """
    from procgen.checks.whole import check_content, check_folder
    from procgen.publish.build import build_site
    from procgen.values.functions import functions

    rendered = render(root, messages, progress=progress)
    guides = list(zip(rendered.guides, (functions(guide) for guide in rendered.inputs), strict=True))
    guides += _synthetic(root, messages, rendered.log)
    faults = check_content(guides, rendered.log, rendered.workspace.templates)
    with tempfile.TemporaryDirectory(prefix="procgen-check-") as name:
        copy = Path(name) / "workspace"
        copy.mkdir()
        for part in ("machine_profiles", "docs_src"):
            shutil.copytree(root / part, copy / part)
        shutil.copy(root / "mkdocs.yml", copy / "mkdocs.yml")
        build_site(rendered.guides, copy, messages, draw_for=partial(draw_for, messages=messages), workers=2)
        faults += check_folder(copy / "site", rendered.guides)
        return Checked(faults, published(copy))


def _synthetic(root: Path, messages: Messages, log: BranchLog) -> list[tuple[Assembled, Any]]:
    """Guides of the synthetic profiles, if the workspace has any."""
    from procgen.values.functions import functions

    if not (root / SYNTHETIC).is_dir():
        return []
    workspace = read_workspace(root, "machine_profiles", SYNTHETIC)
    own = set(read_workspace(root).sites) | set(read_workspace(root).machines)
    return [
        (assemble(guide, workspace.templates, messages, log), functions(guide))
        for guide in workspace.guides()
        if guide.guide not in own
    ]


def readiness(root: Path, messages: Messages) -> Any:
    """How ready each site is."""
    from procgen.checks.readiness import readiness_report
    from procgen.values import evaluate

    return readiness_report(
        evaluate(guide, messages) for guide in read_workspace(root).guides() if guide.site
    )


def values(root: Path, guide: str, messages: Messages) -> tuple[Any, str | None]:
    """A guide's worksheet, and the edition it was last built as.

    Raises:
        InputFaultsError, UnknownGuideError: as ``render``.
    """
    from procgen.publish.manifest import editions

    rendered = render(root, messages, [guide])
    return rendered.guides[0].worksheet, editions(root / "site").get(guide)


def serve(root: Path, guide: str, messages: Messages, report: Callable[[Exception], None], port: int) -> None:
    """Serve one guide, rebuilt whenever something it is made from changes.

    Raises:
        InputFaultsError, UnknownGuideError: as ``render``, at the first build.
    """
    from procgen.messages.catalog import load
    from procgen.publish import adapter
    from procgen.publish.build import Plan, build_guide
    from procgen.publish.serve import serve_guide

    find_guide(read_workspace(root), guide)

    def rebuild(into: Path) -> None:
        words = load(root)
        settings = adapter.load_settings(root / "mkdocs.yml")
        plan = Plan(words, settings, partial(draw_for, messages=words), preview=True)
        build_guide(render(root, words, [guide]).guides[0], into, plan)

    serve_guide(rebuild, root, report, port=port)


def schemas(name: str) -> dict[str, Any]:
    """A published JSON Schema: ``machine``, ``site``, ``values`` or ``record``."""
    if name == "record":
        from procgen.records import json_schema as record_schema

        return record_schema()
    if name == "values":
        from procgen.values.export import json_schema as values_schema

        return values_schema()
    from procgen.profiles.json_schema import json_schema

    return json_schema(name)
