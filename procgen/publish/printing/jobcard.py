"""The job card: one sheet with the figures that matter, every hold point, and the readings to write down."""

from __future__ import annotations

import re
from dataclasses import dataclass

from htpy import Element, Node, div, h1, h2, p, section, span
from markupsafe import Markup

from procgen.procedure.model import Hold, Reading, Step
from procgen.publish import symbols
from procgen.publish.blocks import Scene
from procgen.publish.first_page import ten_figures
from procgen.publish.printing.about import About
from procgen.publish.printing.code import scan_code
from procgen.publish.printing.paper import on_paper, symbols_of
from procgen.publish.readiness import SHAPE
from procgen.publish.words import Words

#: the second unit of a pair: the guide has both, a card of one sheet has the reader's own
_SECOND = re.compile(r' \(<span class="q2">.*?</span>\)')
#: a unit that a line could be broken in: ``mg/L``
_FRACTION = re.compile(r"[^\s<>/]+/[^\s<>/]+(?=[^<>]*</span>)")
_LINK = re.compile(r"<a\b[^>]*>(.*?)</a>", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Line:
    """A reading, the step it stands in, and how soon it may be left to the guide."""

    step: Step
    reading: Reading
    #: 0 guards people or the machine before a hold; 1 has a limit; 2 is compared only
    rank: int


def lines_of(about: About) -> list[Line]:
    """Every reading, in the order of the work."""
    held = {step for hold in about.job.procedure.holds() for step in hold.guards}
    return [
        Line(step, reading, _rank(step, reading, step.id in held))
        for step in about.job.procedure.steps()
        for reading in step.readings
    ]


def _rank(step: Step, reading: Reading, held: bool) -> int:
    limited = reading.low is not None or reading.high is not None
    if held and (step.role == "electrician" or (limited and step.hazards)):
        return 0
    return 1 if limited else 2


def lines_count(about: About) -> int:
    """How many readings a card that holds all of them has."""
    return len(lines_of(about))


def chosen(lines: list[Line], most: int | None) -> list[Line]:
    """As many lines as fit, those with the most at stake first, in the order of the work."""
    if most is None or most >= len(lines):
        return lines
    order = sorted(range(len(lines)), key=lambda place: (lines[place].rank, place))
    return [lines[place] for place in sorted(order[:most])]


def job_card(about: About, scene: Scene) -> Node:
    """The document's content."""
    words, every = about.words, lines_of(about)
    lines = chosen(every, about.most)
    left = len(every) - len(lines)
    whole = section(".card")[
        _head(about),
        about.identity.demo and p(".card__demo")[words("demo_short")],
        h2[words("ten.heading")],
        div(".card__ten")[ten_figures(about.job.worksheet, words)],
        h2[words("print.holds")],
        div(".card__holds")[(_hold(hold, about) for hold in about.job.procedure.holds())],
        h2[words("print.jobcard.readings")],
        div(".card__lines")[(_line(line, about, scene) for line in lines)],
        left and p(".card__left")[left_out(left, words)],
        p(".card__foot")[words("print.jobcard.foot")],
    ]
    return Markup(_LINK.sub(r"\1", _SECOND.sub("", on_paper(str(whole), {}, {}, symbols_of(words)))))


def left_out(count: int, words: Words) -> str:
    """Says how many readings a card has no room for."""
    return words("print.jobcard.left_one") if count == 1 else words("print.jobcard.left", n=count)


def _head(about: About) -> Element:
    words, identity = about.words, about.identity
    state = about.job.worksheet.readiness
    facts = [identity.supply, f"{words('profile_revision')} {identity.profile_revision}"]
    if identity.survey_revision:
        facts.append(f"{words('survey_revision')} {identity.survey_revision}")
    return div(".card__head")[
        div[
            h1(id="card")[words("print.jobcard.heading", machine=identity.machine)],
            p(".card__site")[identity.site or words("no_site")],
            p(".card__facts")[" · ".join([*facts, f"{words('edition')}\u00a0{about.edition}"])],
        ],
        div(f".card__ready.ready--{state}")[
            symbols.verdict(SHAPE[state]), span[words(f"readiness.{state}")], _stops(about)
        ],
        about.address
        and div(".card__code")[scan_code(about.address, words("print.code_title"), words("print.code_lead"))],
    ]


def _stops(about: About) -> Node:
    stops = about.job.worksheet.of("stop")
    return bool(stops) and span(".card__stops")["; ".join(finding.title for finding in stops)]


def _hold(hold: Hold, about: About) -> Element:
    words = about.words
    return div(".card__hold")[
        div(".card__what")[span(".n")[about.numbers[hold.id]], " ", hold.title],
        div(".card__write")[span(".card__label")[f"{words('print.sign.name')}, {words.role(hold.by)}"]],
        div(".card__time")[span(".card__label")[words("print.jobcard.time")]],
    ]


def _whole_units(wanted: Markup) -> Markup:
    return Markup(_FRACTION.sub(lambda unit: f'<span class="u">{unit[0]}</span>', wanted))


def _line(line: Line, about: About, scene: Scene) -> Element:
    reading, words = line.reading, about.words
    marked = f"{line.step.mark}: " if line.step.mark and line.step.mark not in reading.label else ""
    wanted = Markup("; ").join(Markup(text) for text in (reading.target_html, reading.limits_html) if text)
    return div(".card__line", data_reading=f"{line.step.id}.{reading.id}")[
        div(".card__n")[scene.numbers[line.step.id]],
        div(".card__label-cell")[marked, reading.label],
        div(".card__wanted")[_whole_units(wanted) or words("print.jobcard.free")],
        div(".card__box"),
    ]
