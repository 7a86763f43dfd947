"""The catalogue: what is listed of each guide, kept beside the built guides, and the list as HTML."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, field, fields
from pathlib import Path

from htpy import Element, Node, a, dd, div, dl, dt, li, p, ul

from procgen.messages.catalog import Messages
from procgen.publish.job import Identity, identity_of
from procgen.publish.keep import SINGLE_FILE, shown_size, zip_name
from procgen.publish.readiness import readiness_badge
from procgen.publish.search_index import Document
from procgen.publish.words import Words
from procgen.values.worksheet import Worksheet

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


def entry(
    identity: Identity, worksheet: Worksheet, edition: str | None, sizes: Mapping[str, int] | None = None
) -> Entry:
    """A guide's entry."""
    return Entry(
        guide=identity.guide,
        title=identity.title,
        model=identity.model,
        machine=identity.machine,
        site=identity.site,
        readiness=worksheet.readiness,
        stops=len(worksheet.of("stop")),
        points=len(worksheet.of("attention")),
        revision=identity.revision,
        edition=edition,
        demo=identity.demo,
        downloads=sizes or {},
    )


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


def workspace_entries(root: Path, published: Path, messages: Messages) -> list[Entry]:
    """Entries of every guide of a workspace, judged now; editions of the last build.

    Raises:
        InputFaultsError: profiles or surveys cannot be read.
    """
    from procgen.profiles.workspace import read_workspace
    from procgen.values import evaluate

    built = editions(published)
    found = []
    for guide in read_workspace(root).guides():
        worksheet = evaluate(guide, messages)
        found.append(entry(identity_of(guide, messages), worksheet, built.get(guide.guide)))
    return found


def cards(entries: Iterable[Entry], words: Words) -> Node:
    """Cards of some guides, by id."""
    found = sorted(entries, key=lambda one: one.guide)
    if not found:
        return p[words("catalogue.none")]
    return ul(".cards")[(_card(one, words) for one in found)]


def _card(one: Entry, words: Words) -> Element:
    facts = [
        (words("catalogue.model"), one.machine if one.site else ""),
        (words("catalogue.revision"), one.revision),
        (words("catalogue.edition"), one.edition or words("catalogue.not_built")),
    ]
    return li(data_guide=one.guide)[
        p(".card__title")[a(href=f"{one.guide}/index.html")[one.site or one.machine]],
        p(".card__ready")[readiness_badge(one.readiness, words, one.stops)],
        dl(".card__facts")[(div[dt[name], dd[text]] for name, text in facts if text)],
        one.downloads and p(".card__downloads")[_downloads(one, words)],
    ]


def _downloads(one: Entry, words: Words) -> Iterator[Element]:
    for kind, file in (("single", SINGLE_FILE), ("zip", zip_name(one.guide))):
        if kind in one.downloads:
            size = shown_size(one.downloads[kind], words)
            yield a(href=f"{one.guide}/{file}", download=f"{one.guide}.{file.rpartition('.')[2]}")[
                words("downloads.short", name=words(f"downloads.{kind}"), size=size)
            ]


def catalogue_documents(entries: Iterable[Entry], words: Words) -> list[Document]:
    """What the catalogue's search finds of the guides."""
    return [
        {
            "u": f"{one.guide}/index.html",
            "t": one.title,
            "k": words("catalogue.guides" if one.site else "catalogue.models"),
            "b": f"{words('readiness.' + one.readiness)} {one.guide} {one.model} {one.revision}",
        }
        for one in sorted(entries, key=lambda item: item.guide)
    ]
