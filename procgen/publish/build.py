"""``build_site``: every guide, the catalogue and the manifest, built beside and put in place as one."""

from __future__ import annotations

import multiprocessing
import shutil
import sys
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from procgen.messages.catalog import Messages
from procgen.publish import adapter
from procgen.publish.bundle import bundle
from procgen.publish.catalogue import entry
from procgen.publish.guide_pages import guide_site, no_figures
from procgen.publish.job import DrawFigure, GuideJob
from procgen.publish.keep import print_name
from procgen.publish.manifest import Entry, read_manifest, write_manifest
from procgen.publish.switch import Exchange, Switch, exchange
from procgen.publish.words import Words

SITE = "site"
CONFIG = "mkdocs.yml"

#: gives the drawings of one guide
DrawFor = Callable[[GuideJob], DrawFigure]
#: prints a guide of some edition; gives the file
PrintGuide = Callable[[GuideJob, str], bytes]
#: told of each finished guide: its entry, how many are done, how many there are
Progress = Callable[[Entry, int, int], None]
#: looks at the finished folder before it is published; raises to refuse it
Check = Callable[[Path], None]


class UnknownGuideError(Exception):
    """A guide was asked for that this workspace does not have."""

    def __init__(self, guide: str, known: Sequence[str]) -> None:
        self.guide = guide
        self.known = list(known)
        super().__init__(guide)


def no_drawings(_job: GuideJob) -> DrawFigure:
    """No guide has drawings."""
    return no_figures


@dataclass(frozen=True)
class Plan:
    """What all guides of one run share."""

    messages: Messages
    settings: adapter.Settings
    draw_for: DrawFor = no_drawings
    #: pages that change under the reader's eyes: not kept on phones, nothing to take away
    preview: bool = False
    #: prints the guide that stands beside its pages; None where none was asked for
    prints: PrintGuide | None = None


def build_site(
    jobs: Sequence[GuideJob],
    workspace: Path,
    messages: Messages,
    only: Iterable[str] | None = None,
    *,
    draw_for: DrawFor = no_drawings,
    prints: PrintGuide | None = None,
    progress: Progress | None = None,
    check: Check | None = None,
    workers: int = 1,
    exchange_names: Exchange = exchange,
) -> list[Entry]:
    """Build the guides of ``jobs`` and publish them in ``site/``; gives the entries of everything published.

    With ``only`` those guides are built and every other published guide is carried over byte for byte.

    Raises:
        UnknownGuideError: ``only`` names a guide that ``jobs`` do not have.
        SiteFault: the generator refused a page.
        BusyError: another build is running.
    """
    published = workspace / SITE
    wanted = _wanted(jobs, only)
    config_file = workspace / CONFIG
    settings = adapter.load_settings(config_file if config_file.is_file() else None)
    plan = Plan(messages, settings, draw_for, prints=prints)
    with Switch(published, exchange_names) as switch, switch.staging() as staged:
        kept = {} if only is None else read_manifest(published)
        done: dict[str, Entry] = {}
        for built in _build_guides(wanted, plan, staged, workers):
            done[built.guide] = built
            if progress is not None:
                progress(built, len(done), len(wanted))
        carried = [one for name, one in kept.items() if name not in done]
        for one in carried:
            shutil.copytree(published / one.guide, staged / one.guide)
        entries = sorted([*carried, *done.values()], key=lambda one: one.guide)
        build_catalogue(workspace, entries, staged, plan)
        write_manifest(staged, entries)
        if check is not None:
            check(staged)
        switch.publish(staged)
    return entries


def _wanted(jobs: Sequence[GuideJob], only: Iterable[str] | None) -> list[GuideJob]:
    if only is None:
        return list(jobs)
    by_id = {job.guide: job for job in jobs}
    for guide in (chosen := list(dict.fromkeys(only))):
        if guide not in by_id:
            raise UnknownGuideError(guide, list(by_id))
    return [by_id[guide] for guide in chosen]


def build_guide(job: GuideJob, into: Path, plan: Plan) -> Entry:
    """Build one guide's site into a folder of its own."""
    site = guide_site(job, plan.messages, plan.draw_for(job), plan.preview)
    adapter.build(site.spec, into, plan.settings)
    printed: dict[str, int] = {}
    if plan.prints is not None:
        content = plan.prints(job, site.edition)
        (into / print_name(job.guide)).write_bytes(content)
        printed["print"] = len(content)
    sizes = {} if plan.preview else bundle(into, job.guide, site.edition, Words(plan.messages), printed)
    return entry(site.identity, job.worksheet, site.edition, sizes)


def _build_guides(jobs: list[GuideJob], plan: Plan, staged: Path, workers: int) -> Iterator[Entry]:
    if workers < 2 or len(jobs) < 2:
        for job in jobs:
            yield build_guide(job, staged / job.guide, plan)
        return
    with ProcessPoolExecutor(
        min(workers, len(jobs)),
        mp_context=process_context(),
        initializer=_adopt,
        initargs=(jobs, plan, staged),
    ) as pool:
        yield from pool.map(_build_at, range(len(jobs)))


def process_context() -> multiprocessing.context.BaseContext:
    """How processes of a pool are started."""
    # A forked child has the jobs already; with other threads about, forking is not safe.
    fork = sys.platform.startswith("linux") and threading.active_count() == 1
    return multiprocessing.get_context("fork" if fork else "spawn")


_shared: tuple[list[GuideJob], Plan, Path] | None = None


def _adopt(jobs: list[GuideJob], plan: Plan, staged: Path) -> None:
    global _shared  # noqa: PLW0603 - the one place a pool's process keeps what it works on
    _shared = (jobs, plan, staged)


def _build_at(place: int) -> Entry:
    assert _shared is not None
    jobs, plan, staged = _shared
    return build_guide(jobs[place], staged / jobs[place].guide, plan)


def build_catalogue(workspace: Path, entries: Sequence[Entry], into: Path, plan: Plan) -> None:
    """Build catalogue and handbook into the folder that holds the guides; the guides are not touched."""
    from procgen.publish.plugin import give_entries

    aside = into.parent / f"{into.name}-catalogue"
    name = plan.messages.text("site.catalogue.title")
    try:
        adapter.build_configured(
            workspace / CONFIG, aside, lambda config: give_entries(config, entries), name
        )
        shutil.copytree(aside, into, dirs_exist_ok=True)
    finally:
        shutil.rmtree(aside, ignore_errors=True)
