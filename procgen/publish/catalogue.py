"""The catalogue: what is listed of each guide, and the list as HTML."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from htpy import Element, Node, a, dd, div, dl, dt, li, p, span, strong, ul

from procgen.messages.catalog import Messages
from procgen.profiles.workspace import GuideInput
from procgen.publish import symbols
from procgen.publish.job import Identity, identity_of
from procgen.publish.keep import SINGLE_FILE, print_name, shown_size, zip_name
from procgen.publish.manifest import Entry
from procgen.publish.readiness import readiness_badge
from procgen.publish.search_index import Document
from procgen.publish.words import Words
from procgen.values.worksheet import Worksheet


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
        passes=len(worksheet.of("pass")),
        unsettled=[
            [one.verdict, one.title, one.who] for one in (*worksheet.of("stop"), *worksheet.of("attention"))
        ],
    )


def guide_entry(guide: GuideInput, messages: Messages) -> Entry:
    """Entry of one guide, judged now; without its edition."""
    from procgen.values import evaluate

    return entry(identity_of(guide, messages), evaluate(guide, messages), None)


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
        _checks(one, words),
        dl(".card__facts")[(div[dt[name], dd[text]] for name, text in facts if text)],
        one.downloads and p(".card__downloads")[_downloads(one, words)],
    ]


def _checks(one: Entry, words: Words) -> Element | None:
    """Every check at a glance: by name what is not settled, by number what passed."""
    if not one.unsettled and not one.passes:
        return None
    passed = li[symbols.verdict("pass"), span[words.counted("pass", one.passes)]] if one.passes else None
    return ul(".card__checks", aria_label=words("readiness.heading"))[
        (_check(verdict, title, who, words) for verdict, title, who in one.unsettled), passed
    ]


def _check(verdict: str, title: str, who: str, words: Words) -> Element:
    kind = words("readiness.stop" if verdict == "stop" else "readiness.attention_mark")
    return li[symbols.verdict(verdict), span[strong[kind], f": {title} ({words.role(who)})"]]


def _downloads(one: Entry, words: Words) -> Iterator[Element]:
    for kind, file in (
        ("single", SINGLE_FILE),
        ("zip", zip_name(one.guide)),
        ("print", print_name(one.guide)),
    ):
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
