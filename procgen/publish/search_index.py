"""What the search finds: documents made from the Procedure model and the worksheet, not from pages.

The index is a classic script that sets one global: it loads from a folder (``file://``) as from a server.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from procgen.procedure.anchors import anchor, part_page, value_href
from procgen.procedure.model import Hold, Part, Procedure, Prose, Section, Step, Symptom
from procgen.publish.part_pages import numbered
from procgen.publish.sheet import group_title, groups_of
from procgen.publish.words import Words
from procgen.units.kinds import Preference
from procgen.values.shown import shown_span
from procgen.values.worksheet import Value, Worksheet

#: a guide's is named by its content, too
INDEX_FILE = "search-data.js"
GLOBAL = "procgenSearchData"

#: u: address, t: title, k: kind or place, n: number, b: text
Document = dict[str, str]


def guide_documents(procedure: Procedure, worksheet: Worksheet, words: Words) -> list[Document]:
    """One document a step, hold point, notice, symptom, section text, finding and figure."""
    numbers = numbered(procedure)
    found = [document for part in procedure.parts for document in _part(part, numbers, words)]
    found += _findings(worksheet, words)
    for group, values in groups_of(worksheet).items():
        found += [_value(value, group_title(group, words), worksheet.prefer) for value in values]
    return found


def _document(url: str, title: str, kind: str, text: str, number: str = "") -> Document:
    document = {"u": url, "t": title, "k": kind, "b": plain(text)}
    return {**document, "n": number} if number else document


def plain(text: str) -> str:
    """One line with ordinary spaces: no-break and thin ones are for the page."""
    return " ".join(text.replace("\u00a0", " ").replace("\u202f", "").split())


def _part(part: Part, numbers: dict[str, str], words: Words) -> Iterator[Document]:
    page = part_page(part.number, part.id)
    place, prose_at = part.title, page
    yield _document(page, part.title, words("part.kicker", number=part.number), "")
    for item in part.items:
        if isinstance(item, Section):
            place, prose_at = f"{part.title}: {item.title}", f"{page}#{anchor('section', item.id)}"
            yield _document(prose_at, item.title, part.title, "")
        elif isinstance(item, Step):
            yield from _step(item, f"{page}#{anchor('step', item.id)}", place, numbers[item.id], words)
        elif isinstance(item, Hold):
            url = f"{page}#{anchor('hold', item.id)}"
            yield _document(url, item.title, words("hold.word"), item.body.text, numbers[item.id])
        elif isinstance(item, Symptom):
            url = f"{page}#{anchor('symptom', item.id)}"
            texts = [item.body.text, *(notice.body.text for notice in item.notices)]
            yield _document(url, item.title, place, " ".join(texts))
        elif isinstance(item, Prose) and item.body.text:
            yield _document(prose_at, place, part.title, item.body.text)


def _step(step: Step, url: str, place: str, number: str, words: Words) -> Iterator[Document]:
    texts = [step.body.text, step.mark]
    if step.expected:
        texts.append(step.expected.text)
    for reading in step.readings:
        texts += [
            reading.label,
            _untagged(reading.target_html),
            _untagged(reading.limits_html),
            reading.outside.text,
        ]
    texts += [timer.label for timer in step.timers]
    yield _document(url, step.title, place, " ".join(texts), number)
    for notice in step.notices:
        word, hazard = words(f"signal.{notice.signal}"), words(f"hazard.{notice.hazard}")
        yield _document(url, f"{word}: {hazard}", f"{place}: {step.title}", notice.body.text, number)


def _untagged(html: str) -> str:
    from procgen.procedure.fragments import plain_text

    return plain_text(html) if html else ""


def _findings(worksheet: Worksheet, words: Words) -> list[Document]:
    kind = words("readiness.heading")
    return [
        _document(f"index.html#r-{f.id}", f.title, kind, f"{f.reason} {f.remedy}") for f in worksheet.findings
    ]


def _value(value: Value, group: str, prefer: Preference) -> Document:
    shown = shown_span(value, prefer).text if value.ok and value.value is not None else value.why
    return _document(value_href(value.id), value.title, group, f"{shown} {value.id}")


def index_script(documents: list[Document]) -> bytes:
    """The documents as a classic script."""
    return classic_script(GLOBAL, documents)


def classic_script(name: str, data: Any) -> bytes:
    """Data for a page opened from a folder; nothing in it can end the script or its string."""
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    text = text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
    return f"self.{name}={text};\n".encode()
