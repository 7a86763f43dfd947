"""The install guide on paper: cover, contents, readiness, every part, the calculation sheet, signatures."""

from __future__ import annotations

from collections.abc import Sequence

from htpy import (
    Element,
    Node,
    a,
    article,
    dd,
    div,
    dl,
    dt,
    fragment,
    h1,
    h2,
    header,
    li,
    nav,
    ol,
    p,
    section,
    span,
)
from markupsafe import Markup

from procgen.procedure.anchors import FIGURES_PAGE, anchor
from procgen.procedure.model import Procedure
from procgen.publish import symbols
from procgen.publish.adapter import Page
from procgen.publish.blocks import Scene
from procgen.publish.first_page import facts_block, roles_block, ten_figures, use_block
from procgen.publish.guide_pages import READINESS_CARD
from procgen.publish.part_pages import part_pages
from procgen.publish.printing.about import About
from procgen.publish.printing.calculations import calculation_pages
from procgen.publish.printing.code import scan_code
from procgen.publish.printing.frame import first_anchors, page_content
from procgen.publish.printing.paper import on_paper, pens_of, symbols_of
from procgen.publish.printing.signoff import sign_off
from procgen.publish.readiness import SHAPE, passed_checks, readiness_card


def install_guide(about: About, scene: Scene) -> Node:
    """The document's content."""
    job, words = about.job, about.words
    parts = part_pages(job.procedure, scene)
    pages = {**first_anchors(parts), "index.html": "before", FIGURES_PAGE: "worked-out"}
    whole = fragment[
        cover(about, words("print.install.title")),
        contents(about, parts),
        _before(about, scene),
        (section(".part")[page_content(page)] for page in parts),
        calculation_pages(job.worksheet, words),
        sign_off(about, scene),
    ]
    return Markup(on_paper(str(whole), pages, pens_of(about), symbols_of(words)))


def cover(about: About, kind: str) -> Element:
    """The first sheet: machine, site, which document and state, and whether the work may start."""
    words, identity = about.words, about.identity
    state = about.job.worksheet.readiness
    return article(".cover")[
        header[
            p(".cover__kind")[kind],
            h1[identity.machine],
            p(".cover__site")[identity.site or words("no_site")],
        ],
        identity.demo and p(".cover__demo")[words("demo")],
        div(f".cover__ready.ready--{state}")[
            symbols.verdict(SHAPE[state]),
            div[p(".ready__word")[words(f"readiness.{state}")], p[words(f"readiness.{state}_lead")]],
        ],
        facts_block(identity, about.edition, words),
        dl(".facts")[div[dt[words("print.document")], dd[about.document]]],
        _code(about),
    ]


def _code(about: About) -> Element:
    if not about.address:
        return p(".cover__nocode")[about.words("print.no_address")]
    return scan_code(about.address, about.words("print.code_title"), about.words("print.code_lead"))


def contents(about: About, parts: Sequence[Page]) -> Element:
    """Parts and hold points with their page numbers."""
    words, procedure = about.words, about.job.procedure
    lines = [("before", "", words("print.before"))]
    lines += [
        (first, str(part.number), part.title)
        for part, first in zip(procedure.parts, first_anchors(parts).values(), strict=True)
    ]
    lines += [("worked-out", "", words("figures_page")), ("sign-off", "", words("print.sign.title"))]
    return nav(".contents")[
        h2(".contents__head", id="contents")[words("contents")],
        ol[(_line(*line) for line in lines)],
        h2(".contents__head")[words("print.holds")],
        ol[(_hold_line(about, procedure, hold.id, hold.title) for hold in procedure.holds())],
    ]


def _line(target: str, number: str, title: str) -> Element:
    return li[a(href=f"#{target}")[span(".n")[number], span(".t")[title]]]


def _hold_line(about: About, procedure: Procedure, hold: str, title: str) -> Element:
    return _line(anchor("hold", hold), about.numbers[hold], title)


def _before(about: About, scene: Scene) -> Element:
    words, job = about.words, about.job
    return section(".part.before")[
        h1(id="before")[span(".t")[words("print.before")]],
        about.identity.site is None and div(".model-note")[p[words("model_note")]],
        h2(id="readiness")[words("readiness.heading")],
        readiness_card(job.worksheet, words, scene.draw(READINESS_CARD)),
        h2(id="the-figures")[words("ten.heading")],
        ten_figures(job.worksheet, words),
        h2(id="how-to-use")[words("use.heading")],
        use_block(words),
        h2(id="roles")[words("use.roles")],
        roles_block(job.procedure, words),
        h2(id="passed")[words("readiness.passes")],
        passed_checks(job.worksheet, words),
    ]
