"""``DOCUMENTS``: every printed document by name; ``print_document`` makes one of one guide."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from htpy import Node

from procgen.messages.catalog import Messages
from procgen.publish.blocks import Scene
from procgen.publish.guide_pages import drawings_of, guide_site, no_figures, scene_of
from procgen.publish.job import DrawFigure, GuideJob, Identity, identity_of
from procgen.publish.part_pages import numbered
from procgen.publish.printing.about import About
from procgen.publish.printing.engine import Printed, print_pdf
from procgen.publish.printing.frame import Paper, Sheets, document, stylesheet
from procgen.publish.printing.install import install_guide
from procgen.publish.printing.tall import on_sheets
from procgen.publish.words import Words

#: height of a drawing in widths that a sheet of the shorter paper holds below its caption
TALLEST = 1.24

#: gives the content of a document; its title is ``site.print.<name>.title``
Document = Callable[[About, Scene], Node]
DOCUMENTS: Mapping[str, Document] = {"install": install_guide}

#: gives a guide's drawings for a theme: ``screen`` or ``print``
DrawIn = Callable[[GuideJob, str], DrawFigure]


def no_drawings(_job: GuideJob, _theme: str) -> DrawFigure:
    """No drawings in any theme."""
    return no_figures


@dataclass(frozen=True, slots=True)
class Press:
    """What all prints of one run share."""

    messages: Messages
    document: str = "install"
    #: the paper; None for what the guide's unit system suggests
    paper: Paper | None = None
    #: public address of the workspace's site, or ""
    site_url: str = ""
    draw_in: DrawIn = no_drawings

    def paper_for(self, job: GuideJob) -> Paper:
        """The paper asked for, else A4 where the guide's figures are metric and US Letter where not."""
        return self.paper or ("A4" if job.worksheet.prefer == "metric" else "Letter")


def file_name(guide: str, document_name: str) -> str:
    """Name of a printed document."""
    return f"{guide}-{document_name}.pdf"


def edition_now(job: GuideJob, press: Press) -> str:
    """The edition of a guide as it would be built now."""
    return guide_site(job, press.messages, press.draw_in(job, "screen")).edition


def sheets_of(job: GuideJob, press: Press, edition: str) -> Sheets:
    """A document before it is laid out."""
    words, identity = Words(press.messages), identity_of(job, press.messages)
    name = document_id(job.guide, press.document)
    address = f"{press.site_url.rstrip('/')}/{job.guide}/index.html" if press.site_url else ""
    about = About(job, identity, words, edition, name, numbered(job.procedure), address)
    drawn = drawings_of(job, press.draw_in(job, "print"))
    drawings = {name: on_sheets(drawing, TALLEST, words) for name, drawing in drawn.items()}
    scene = scene_of(job, words, drawings)
    kind = words(f"print.{press.document}.title")
    before, between, after = words("print.count", page="|", pages="|").split("|")
    return Sheets(
        title=f"{kind}: {identity.title}",
        subject=identity.description,
        language=press.messages.language,
        date=_date(job),
        running=words("print.running", kind=kind, machine=identity.machine, site=_place(identity, words)),
        imprint=words(
            "print.imprint",
            document=name,
            revision=identity.revision,
            edition=edition,
        ),
        count=(before, between, after),
        content=DOCUMENTS[press.document](about, scene),
    )


def document_id(guide: str, document_name: str) -> str:
    """What a loose sheet is matched by, beside the edition."""
    return file_name(guide, document_name).removesuffix(".pdf")


def _place(identity: Identity, words: Words) -> str:
    return identity.site or words("no_site")


def _date(job: GuideJob) -> str:
    """Date of the revision that the guide follows, as a person wrote it."""
    return str((job.site or job.machine).data.date)


def print_document(job: GuideJob, press: Press, edition: str | None = None) -> Printed:
    """A guide's document as PDF; without an ``edition`` it is worked out.

    Raises:
        PrintEngineMissingError: the engine's system libraries are missing.
        PrintFaultError: the engine warned or failed.
    """
    sheets = sheets_of(job, press, edition or edition_now(job, press))
    return print_pdf(document(sheets), stylesheet(press.paper_for(job), sheets))
