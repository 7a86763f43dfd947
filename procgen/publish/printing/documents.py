"""``print_document``: one document of one guide as PDF."""

from __future__ import annotations

from collections.abc import Callable

from procgen.messages.catalog import Messages
from procgen.publish.guide_pages import drawings_of, guide_site, no_figures, scene_of
from procgen.publish.job import DrawFigure, GuideJob
from procgen.publish.part_pages import numbered
from procgen.publish.printing.about import About
from procgen.publish.printing.engine import Printed, print_pdf
from procgen.publish.printing.frame import Paper, Sheets, document, stylesheet
from procgen.publish.printing.install import install_guide
from procgen.publish.words import Words

#: gives a guide's drawings for a theme: ``screen`` or ``print``
DrawIn = Callable[[str], DrawFigure]


def no_drawings(_theme: str) -> DrawFigure:
    """No drawings in any theme."""
    return no_figures


def sheets_of(job: GuideJob, messages: Messages, site_url: str = "", draw_in: DrawIn = no_drawings) -> Sheets:
    """The install guide before it is laid out."""
    words = Words(messages)
    site = guide_site(job, messages, draw_in("screen"))
    address = f"{site_url.rstrip('/')}/{job.guide}/index.html" if site_url else ""
    about = About(job, site.identity, words, site.edition, numbered(job.procedure), address)
    scene = scene_of(job, words, drawings_of(job, draw_in("print")))
    identity = site.identity
    kind = words("print.install.title")
    before, between, after = words("print.count", page="|", pages="|").split("|")
    return Sheets(
        title=f"{kind}: {identity.title}",
        subject=identity.description,
        language=messages.language,
        running=f"{kind} · {identity.machine} · {identity.site or words('no_site')}",
        imprint=words(
            "print.imprint", guide=identity.guide, revision=identity.revision, edition=site.edition
        ),
        count=(before, between, after),
        content=install_guide(about, scene),
    )


def print_document(
    job: GuideJob,
    messages: Messages,
    paper: Paper = "A4",
    site_url: str = "",
    draw_in: DrawIn = no_drawings,
) -> Printed:
    """A guide as PDF.

    Raises:
        PrintEngineMissingError: the engine's system libraries are missing.
        PrintFaultError: the engine warned.
    """
    sheets = sheets_of(job, messages, site_url, draw_in)
    return print_pdf(document(sheets), stylesheet(paper, sheets))
