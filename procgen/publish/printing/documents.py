"""``DOCUMENTS``: every printed document by name; ``print_document`` makes one of one guide."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from htpy import Node
from markupsafe import Markup

from procgen.figures import Drawing
from procgen.messages.catalog import Messages
from procgen.publish.blocks import Scene
from procgen.publish.guide_pages import drawings_of, guide_site, no_figures, scene_of
from procgen.publish.job import DrawFigure, GuideJob, Identity, identity_of
from procgen.publish.part_pages import numbered
from procgen.publish.printing.about import About
from procgen.publish.printing.answers import answers
from procgen.publish.printing.engine import Place, Printed, places, print_pdf
from procgen.publish.printing.fit import with_drawings, with_rooms
from procgen.publish.printing.frame import Paper, Sheets, document, stylesheet
from procgen.publish.printing.install import install_guide
from procgen.publish.printing.jobcard import job_card, lines_count
from procgen.publish.printing.survey_form import survey_form
from procgen.publish.printing.training import training
from procgen.publish.words import Words
from procgen.units.kinds import Preference

#: gives the content of a document; its title is ``site.print.<name>.title``
Content = Callable[[About, Scene], Node]


@dataclass(frozen=True, slots=True)
class Document:
    """How a document is made."""

    content: Content
    #: style sheets beside the one that all share
    styles: tuple[str, ...] = ()
    #: whether it shows the guide's drawings
    drawn: bool = False
    #: whether it has rooms to work in, which take what is left of a sheet
    roomy: bool = False
    #: for a document of exactly one sheet: how many lines it has with nothing left out
    lines: Callable[[About], int] | None = None


DOCUMENTS: Mapping[str, Document] = {
    "install": Document(install_guide, drawn=True),
    "jobcard": Document(job_card, ("jobcard.css",), lines=lines_count),
    "survey": Document(survey_form, ("survey.css",)),
    "training": Document(training, ("lesson.css",), roomy=True),
    "answers": Document(answers, ("lesson.css",)),
}

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
    #: which set of exercises; None for the one that follows from guide and edition
    seed: int | None = None

    def paper_for(self, job: GuideJob) -> Paper:
        """The paper asked for, else A4 where the guide's figures are metric and US Letter where not."""
        return self.paper or ("A4" if job.worksheet.prefer == "metric" else "Letter")


def file_name(guide: str, document_name: str) -> str:
    """Name of a printed document."""
    return f"{guide}-{document_name}.pdf"


def edition_now(job: GuideJob, press: Press) -> str:
    """The edition of a guide as it would be built now."""
    return guide_site(job, press.messages, press.draw_in(job, "screen")).edition


def about_of(job: GuideJob, press: Press, edition: str) -> About:
    """What a document needs to know about its guide."""
    words, identity = Words(press.messages), identity_of(job, press.messages)
    name = document_id(job.guide, press.document)
    address = f"{press.site_url.rstrip('/')}/{job.guide}/index.html" if press.site_url else ""
    # A blank form asks in the units of the place; of the paper where there is no place yet.
    by_paper: Preference = "us" if press.paper == "Letter" else "metric"
    asks_in = job.worksheet.prefer if job.site else by_paper
    steps = numbered(job.procedure)
    return About(job, identity, words, edition, name, steps, address, asks_in, press.seed)


def sheets_of(job: GuideJob, press: Press, edition: str) -> Sheets:
    """A document before it is laid out."""
    return _sheets(about_of(job, press, edition), press)


def _sheets(about: About, press: Press) -> Sheets:
    job, words, identity, made = about.job, about.words, about.identity, DOCUMENTS[press.document]
    drawings = drawings_of(job, press.draw_in(job, "print")) if made.drawn else {}
    scene = scene_of(job, words, drawings)
    kind = words(f"print.{press.document}.title")
    before, between, after = words("print.count", page="|", pages="|").split("|")
    sheets = Sheets(
        title=f"{kind}: {identity.title}",
        subject=identity.description,
        language=press.messages.language,
        date=_date(job),
        running=words("print.running", kind=kind, machine=identity.machine, site=_place(identity, words)),
        imprint=words(
            "print.imprint",
            document=about.document,
            revision=identity.revision,
            edition=about.edition,
        ),
        count=(before, between, after),
        content=made.content(about, scene),
        styles=made.styles,
    )
    return _fitted(sheets, drawings, made, press.paper_for(job), words)


def _fitted(
    sheets: Sheets, drawings: Mapping[str, Drawing], made: Document, paper: Paper, words: Words
) -> Sheets:
    """With what follows from where things come to stand."""

    def lay(part: str) -> Mapping[str, Place]:
        alone = replace(sheets, content=Markup(part))
        return places(document(alone), stylesheet(paper, alone))

    content = str(sheets.content)
    if drawings:
        content = with_drawings(content, drawings, paper, lay, words)
    if made.roomy:
        content = with_rooms(content, paper, lay)
    return replace(sheets, content=Markup(content))


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
    about, lines = about_of(job, press, edition or edition_now(job, press)), DOCUMENTS[press.document].lines
    if lines is None:
        return _printed(about, press)
    return _on_one_sheet(about, press, lines(about))


def _printed(about: About, press: Press) -> Printed:
    sheets = _sheets(about, press)
    return print_pdf(document(sheets), stylesheet(press.paper_for(about.job), sheets))


def _on_one_sheet(about: About, press: Press, lines: int) -> Printed:
    """With as many lines as one sheet holds: more are left out until it does."""
    best = _printed(about, press)
    if best.pages == 1:
        return best
    # Few have no room as a rule: look near the end first, then halve.
    fits, too_many, step = 0, lines, 4
    while too_many - fits > 1:
        most = (fits + too_many) // 2 if fits else max(too_many - step, 1)
        tried = _printed(replace(about, most=most), press)
        if tried.pages == 1:
            best, fits = tried, most
        else:
            too_many, step = most, step * 2
    return best if fits else _printed(replace(about, most=0), press)
