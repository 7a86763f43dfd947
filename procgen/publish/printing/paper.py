"""What changes when a fragment of the site goes on paper: room for scripts becomes room for a pen.

Everything else of a fragment stays as it is.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from htpy import Element, div, p, span
from markupsafe import escape

from procgen.procedure.model import Hold, Timer
from procgen.publish.printing.about import About
from procgen.publish.words import Words

#: the rooms that the site's scripts fill (``blocks.room``)
_ROOM = re.compile(
    r'<div class="field field--(?P<kind>[\w-]+)" data-field="[\w-]+"(?: data-of="(?P<of>[^"]*)")?></div>'
)
#: a drawing's figures once more as a table: on paper the drawing is read, or its description read aloud
_FOLDED = re.compile(r'<details class="drawing__data">.*?</details>', re.DOTALL)
#: description lists are tagged as lists, but have no items: on paper they are plain blocks
_LIST_TAG = re.compile(r"<(/?)(dl|dt|dd)\b")
#: a symbol whose words stand beside it
_SYMBOL = re.compile(r'<svg class="(?:verdict )?(?P<name>[\w-]+)"[^>]* aria-hidden="true"[^>]*>')
_HREF = re.compile(r'href="(?P<page>[\w.-]+\.html)?(?P<anchor>#[^"]*)?"')


def on_paper(
    markup: str, pages: Mapping[str, str], pens: Mapping[str, str], symbols: Mapping[str, str]
) -> str:
    """A fragment of the site as it is printed.

    Args:
        markup: the fragment.
        pages: first anchor of each page of the site, by file name; a link to a page leads to its heading.
        pens: what stands in the room of a hold or timer, by its id.
        symbols: what a symbol is called, by its class: in a tagged file every picture has words.
    """

    def target(found: re.Match[str]) -> str:
        if found["anchor"]:
            return f'href="{found["anchor"]}"'
        if found["page"] in pages:
            return f'href="#{pages[found["page"]]}"'
        return found.group()

    def named(found: re.Match[str]) -> str:
        return f"{found.group()}<title>{escape(symbols[found['name']])}</title>"

    markup = _SYMBOL.sub(named, markup)
    markup = _ROOM.sub(lambda room: pens.get(room["of"] or "", ""), _FOLDED.sub("", markup))
    return _LIST_TAG.sub(r"<\1x-\2", _HREF.sub(target, markup))


def pens_of(about: About) -> dict[str, str]:
    """Boxes to sign hold points and to tally runs, by id."""
    procedure = about.job.procedure
    pens = {hold.id: str(signature(hold, about)) for hold in procedure.holds()}
    for step in procedure.steps():
        pens |= {timer.id: str(tally(timer, about)) for timer in step.timers if timer.runs_stop}
    return pens


def symbols_of(words: Words) -> dict[str, str]:
    """What the symbols of the pages are called."""
    names = ("sign", "alert", "verdict--stop", "verdict--attention", "verdict--pass")
    return {name: words(f"print.symbol.{name}") for name in names}


def signature(hold: Hold, about: About) -> Element:
    """Name, date and time, signature; an electrician states the licence too."""
    asked = ["name", *(["licence"] if hold.by == "electrician" else []), "time", "signature"]
    return div(".sign")[
        (div(class_=f"sign__{one}")[span(".sign__label")[about.words(f"print.sign.{one}")]] for one in asked)
    ]


def tally(timer: Timer, about: About) -> Element:
    """A box to tick a run, up to the one after which work stops."""
    runs = int(timer.runs_stop or 0)
    return div(".tally")[
        p(".tally__label")[about.words("print.tally", runs=runs)],
        p(".tally__boxes")[(span(".tally__box")[str(run)] for run in range(1, runs + 1))],
    ]
