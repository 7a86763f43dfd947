"""Print many guides in parallel: each in a process of its own, a failing one does not stop the rest."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from pathlib import Path

from procgen.publish.build import process_context
from procgen.publish.job import GuideJob
from procgen.publish.printing.documents import Press, print_document
from procgen.publish.printing.engine import PrintFaultError, require_engine


@dataclass(frozen=True, slots=True)
class Outcome:
    """One guide's print: where it is, or why there is none."""

    guide: str
    path: Path
    pages: int = 0
    size: int = 0
    faults: tuple[str, ...] = ()


def print_all(
    jobs: Sequence[GuideJob], paths: Sequence[Path], press: Press, workers: int = 1
) -> Iterator[Outcome]:
    """Print each job to its path, as they come ready.

    Raises:
        PrintEngineMissingError: the engine's system libraries are missing; nothing was printed.
    """
    require_engine()
    if workers < 2 or len(jobs) < 2:
        yield from (_print(job, path, press) for job, path in zip(jobs, paths, strict=True))
        return
    with ProcessPoolExecutor(
        min(workers, len(jobs)),
        mp_context=process_context(),
        initializer=_adopt,
        initargs=(jobs, paths, press),
    ) as pool:
        for done in as_completed([pool.submit(_print_at, place) for place in range(len(jobs))]):
            yield done.result()


_shared: tuple[Sequence[GuideJob], Sequence[Path], Press] | None = None


def _adopt(jobs: Sequence[GuideJob], paths: Sequence[Path], press: Press) -> None:
    global _shared  # noqa: PLW0603 - the one place a pool's process keeps what it works on
    _shared = (jobs, paths, press)


def _print_at(place: int) -> Outcome:
    assert _shared is not None
    jobs, paths, press = _shared
    return _print(jobs[place], paths[place], press)


def _print(job: GuideJob, path: Path, press: Press) -> Outcome:
    try:
        printed = print_document(job, press)
        write(path, printed.content)
    except PrintFaultError as error:
        return Outcome(job.guide, path, faults=tuple(error.warnings))
    except OSError as error:
        return Outcome(job.guide, path, faults=(str(error),))
    return Outcome(job.guide, path, printed.pages, len(printed.content))


def write(path: Path, content: bytes) -> None:
    """Write a file as one: a reader meets the old or the new one, never half."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, draft = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        Path(draft).chmod(0o644)
        Path(draft).replace(path)
    finally:
        Path(draft).unlink(missing_ok=True)
