"""A guide as a site: its pages, files and what the theme's templates say around them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from procgen.figures import Drawing
from procgen.messages.catalog import Messages
from procgen.procedure.fingerprint import fingerprints
from procgen.procedure.model import Hold, Step
from procgen.publish.adapter import Page, SiteSpec, theme_version
from procgen.publish.assets import assets, named
from procgen.publish.blocks import Scene
from procgen.publish.edition import edition_of
from procgen.publish.edition_file import EDITION_FILE, edition_file
from procgen.publish.field_data import data_file, data_script, guide_data
from procgen.publish.figure_sources import FIGURES_FILE, sources_script
from procgen.publish.first_page import first_page
from procgen.publish.job import DrawFigure, GuideJob, Identity, identity_of
from procgen.publish.keep import MANIFEST_FILE, WORKER_FILE, keep_facts, keep_place, manifest
from procgen.publish.part_pages import numbered, pages_of_steps, part_pages, part_source
from procgen.publish.policy import SITE_POLICY
from procgen.publish.record_page import record_page
from procgen.publish.search_index import INDEX_FILE, guide_documents, index_script
from procgen.publish.sheet import sheet_page
from procgen.publish.words import Words

#: the drawing of the first page; every other one stands where a template names it
READINESS_CARD = "readiness-card"
UI_WORDS = (
    "header",
    "contents",
    "on_this_page",
    "turn",
    "previous",
    "next",
    "all_guides",
    "search",
    "search_results",
    "search_none",
    "search_one",
    "search_other",
    "search_failed",
    "notice",
    "theme",
    "theme_light",
    "theme_dark",
    "theme_outdoor",
    "theme_auto",
)


@dataclass(frozen=True, slots=True)
class GuideSite:
    """A guide ready to be built."""

    identity: Identity
    edition: str
    spec: SiteSpec


def no_figures(_name: str) -> Drawing | None:
    """Draws nothing: for guides without drawings."""
    return None


def guide_site(
    job: GuideJob, messages: Messages, draw: DrawFigure = no_figures, preview: bool = False
) -> GuideSite:
    """Pages, files and settings of one guide; a ``preview`` is not kept on phones and has no policy."""
    words, identity, own = Words(messages), identity_of(job, messages), assets()
    drawings = drawings_of(job, draw)
    scene = scene_of(job, words, drawings)

    def start_page(edition: str) -> Page:
        glance = drawings.get(READINESS_CARD)
        return first_page(identity, job.worksheet, job.procedure, edition, words, glance)

    others = [*part_pages(job.procedure, scene), record_page(words), sheet_page(job.worksheet, words)]
    documents = guide_documents(job.procedure, job.worksheet, words)
    field = data_script(guide_data(job, identity.title, scene.numbers, scene.prints, words))
    index = index_script(documents)
    written = [start_page(""), *others[:-1]]
    sources = sources_script(written, job.worksheet, words)
    files = {
        **own.files,
        **own.field_files,
        named(INDEX_FILE, index): index,
        named(FIGURES_FILE, sources): sources,
        data_file(field): field,
        MANIFEST_FILE: manifest(identity),
    }
    facts = [theme_version(), SITE_POLICY, *_facts(identity), *ui_words(words).values(), *keep_facts(words)]
    edition = edition_of(job.guide, [*written, others[-1]], files, facts)
    pages = [start_page(edition), *others]
    spec = SiteSpec(
        name=identity.title,
        pages=pages,
        files={**files, EDITION_FILE: edition_file(job, identity, edition)},
        css=(*own.css, *own.field_css),
        scripts=(data_file(field), *own.scripts, *own.field),
        root={"guide": identity.guide, "edition": edition},
        extra={
            "procgen": {
                "subtitle": words("kicker"),
                "description": identity.description,
                "banner": words("demo_banner") if identity.demo else "",
                "early": own.early,
                "figures": named(FIGURES_FILE, sources),
                "search": {"engine": own.engine, "index": named(INDEX_FILE, index)},
                "numbers": {part_source(part): str(part.number) for part in job.procedure.parts},
                "words": ui_words(words),
                "up": "../index.html",
                "guide": identity.guide,
                "edition": edition,
                "policy": "" if preview else SITE_POLICY,
                "keep": keep_place(words, "" if preview else WORKER_FILE),
                "imprint": imprint(identity, edition, words),
            }
        },
    )
    return GuideSite(identity, edition, spec)


def scene_of(job: GuideJob, words: Words, drawings: Mapping[str, Drawing]) -> Scene:
    """What the blocks of a guide share, on the site and on paper."""
    return Scene(
        words,
        job.worksheet.prefer,
        drawings.get,
        numbered(job.procedure),
        pages_of_steps(job.procedure),
        {
            item.id: item.title
            for part in job.procedure.parts
            for item in part.items
            if isinstance(item, Step | Hold)
        },
        fingerprints(job.procedure),
    )


def drawings_of(job: GuideJob, draw: DrawFigure) -> dict[str, Drawing]:
    """The first page's drawing and those that the steps name."""
    names = [READINESS_CARD, *(name for step in job.procedure.steps() for name in step.figures)]
    drawn = {name: draw(name) for name in names}
    return {name: drawing for name, drawing in drawn.items() if drawing}


def ui_words(words: Words) -> Mapping[str, str]:
    """The words of the theme's templates and scripts."""
    return {name: words.messages.raw(f"site.{name}") for name in UI_WORDS}


def _facts(identity: Identity) -> list[str]:
    return [
        identity.title,
        identity.profile_revision,
        identity.survey_revision or "",
        identity.supply,
        str(identity.demo),
    ]


def imprint(identity: Identity, edition: str, words: Words) -> list[list[Any]]:
    """What every page says about itself at its foot."""
    rows: list[list[Any]] = [
        [words("guide"), identity.guide],
        [words("profile_revision"), identity.profile_revision],
        [words("survey_revision"), identity.survey_revision],
        [words("edition"), edition],
    ]
    return [row for row in rows if row[1]]
