"""What is listed of each guide, and the manifest of a built site: read without any of the heavy parts."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field, fields
from pathlib import Path

MANIFEST = "procgen.json"
SCHEMA = 1


@dataclass(frozen=True, slots=True)
class Entry:
    """One guide as the catalogue and ``procgen list`` show it."""

    guide: str
    title: str
    model: str
    machine: str
    site: str | None
    readiness: str
    stops: int
    points: int
    revision: str
    edition: str | None
    demo: bool
    #: sizes in bytes of what is offered to take away, by kind; unknown before the first build
    downloads: Mapping[str, int] = field(default_factory=dict)
    passes: int = 0
    #: verdict, title and who must act of every check that did not pass
    unsettled: Sequence[Sequence[str]] = ()


def write_manifest(site: Path, entries: Iterable[Entry]) -> None:
    """Write what was built beside it."""
    guides = {one.guide: asdict(one) for one in entries}
    text = json.dumps({"schema": SCHEMA, "guides": guides}, indent=1, sort_keys=True, ensure_ascii=False)
    (site / MANIFEST).write_text(text + "\n", encoding="utf-8")


def read_manifest(site: Path) -> dict[str, Entry]:
    """Entries of the guides that stand in a built site; empty where there is none."""
    path = site / MANIFEST
    if not path.is_file():
        return {}
    data = json.loads(path.read_text(encoding="utf-8"))
    if data.get("schema") != SCHEMA:
        return {}
    known = {one.name for one in fields(Entry)}
    return {
        name: Entry(**{key: value for key, value in given.items() if key in known})
        for name, given in data["guides"].items()
        if (site / name).is_dir()
    }


def editions(site: Path) -> Mapping[str, str | None]:
    """Edition of each built guide."""
    return {name: one.edition for name, one in read_manifest(site).items()}
