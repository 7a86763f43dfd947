"""One page a part: steps, holds and what stands between them, in the order of the template."""

from __future__ import annotations

from collections.abc import Iterator

from htpy import Element, div, fragment, header, p, span
from markupsafe import Markup, escape

from procgen.procedure.anchors import anchor, part_page
from procgen.procedure.model import Hold, Item, Part, Procedure, Prose, Section, Step, Symptom
from procgen.publish.adapter import Heading, Html, Page
from procgen.publish.blocks import Scene, hold_block, notices, room, step_block, symptom_block, text_of
from procgen.publish.quantities import planned
from procgen.publish.words import Words


def part_source(part: Part) -> str:
    """File name of a part's page as the generator reads it."""
    return part_page(part.number, part.id).removesuffix(".html") + ".md"


def numbered(procedure: Procedure) -> dict[str, str]:
    """Printed numbers of steps and holds: part, then place in it."""
    numbers: dict[str, str] = {}
    for part in procedure.parts:
        counted = (item for item in part.items if isinstance(item, Step | Hold))
        for place, item in enumerate(counted, 1):
            numbers[item.id] = f"{part.number}.{place}"
    return numbers


def pages_of_steps(procedure: Procedure) -> dict[str, str]:
    """Page of each step and hold."""
    return {
        item.id: part_page(part.number, part.id)
        for part in procedure.parts
        for item in part.items
        if isinstance(item, Step | Hold)
    }


def planned_minutes(part: Part) -> float:
    """Working time of a part, waits not counted."""
    return sum(step.minutes for step in part.steps())


def part_pages(procedure: Procedure, scene: Scene) -> list[Page]:
    """All pages of a procedure."""
    return [Page(part_source(part), part.title, list(_blocks(part, scene))) for part in procedure.parts]


def _blocks(part: Part, scene: Scene) -> Iterator[Heading | Html]:
    yield Html(str(_kicker(part, scene.words)))
    yield Heading(1, part.title, f"part-{part.id}")
    yield Html(str(_meta(part, scene.words)))
    if any(isinstance(item, Step | Hold) for item in part.items):
        yield Html(str(room("part", part.id)))
    level = 2
    for item in part.items:
        if isinstance(item, Section):
            level = 3
        yield from _item(item, scene, level)


def _item(item: Item, scene: Scene, level: int) -> Iterator[Heading | Html]:
    if isinstance(item, Section):
        yield Heading(2, item.title, anchor("section", item.id))
    elif isinstance(item, Step):
        yield Heading(level, item.title, anchor("step", item.id), scene.numbers[item.id], "step-h")
        yield Html(str(step_block(item, scene)))
    elif isinstance(item, Hold):
        title = f"{scene.words('hold.word')}: {item.title}"
        yield Heading(level, title, anchor("hold", item.id), scene.numbers[item.id], "hold-h")
        yield Html(str(hold_block(item, scene)))
    elif isinstance(item, Symptom):
        yield Heading(level, item.title, anchor("symptom", item.id), css="symptom-h")
        yield Html(str(symptom_block(item, scene)))
    else:
        yield Html(_prose(item, scene))


def _prose(item: Prose, scene: Scene) -> str:
    return str(fragment[notices(item.notices, scene.words), div(".prose")[text_of(item.body)]])


def _kicker(part: Part, words: Words) -> Element:
    return p(".kicker")[words("part.kicker", number=part.number)]


def _meta(part: Part, words: Words) -> Element:
    return header(".part-meta")[span[part_counts(part, words)]]


def part_counts(part: Part, words: Words) -> Markup:
    """What a part holds and how long its work is planned; nothing where there is no step in it."""
    steps, holds = sum(1 for _ in part.steps()), sum(1 for _ in part.holds())
    if not steps and not holds:
        return Markup("")
    counts = [words.counted("step", steps)]
    if holds:
        counts.append(words.counted("hold", holds))
    meta = Markup(escape(words.messages.raw("site.part.meta")))
    return meta.format(counts=" · ".join(counts), time=planned(part.id, planned_minutes(part)))
