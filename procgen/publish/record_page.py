"""The page "Record": rooms that the scripts fill with what was done, and what it says without scripts."""

from __future__ import annotations

from collections.abc import Iterator

from htpy import p

from procgen.publish.adapter import Heading, Html, Page
from procgen.publish.blocks import room
from procgen.publish.words import Words

SOURCE = "record.md"
#: the rooms of the page, in order: headings in the messages, contents from the scripts
ROOMS = ("summary", "person", "send", "signature", "remark", "entries", "clear")


def record_page(words: Words) -> Page:
    """What the technician did and measured, with the ways to hand it on."""
    return Page(SOURCE, words("record.title"), list(_blocks(words)))


def _blocks(words: Words) -> Iterator[Heading | Html]:
    yield Heading(1, words("record.title"), "record")
    yield Html(str(p(".lead")[words("record.lead")]))
    yield Html(str(p(".no-script")[words("record.no_script")]))
    for name in ROOMS:
        yield Heading(2, words(f"record.{name}"), f"record-{name}")
        yield Html(str(room(f"record-{name}")))
