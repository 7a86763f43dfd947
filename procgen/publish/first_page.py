"""The first page: what this is, whether the work may start, the figures that matter, how to use the guide."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from htpy import (
    Element,
    Node,
    a,
    dd,
    div,
    dl,
    dt,
    fragment,
    li,
    ol,
    p,
    span,
    strong,
    table,
    tbody,
    td,
    th,
    thead,
    tr,
    ul,
)

from procgen.figures import Drawing
from procgen.procedure.anchors import part_page, value_href
from procgen.procedure.model import Procedure
from procgen.publish import symbols
from procgen.publish.adapter import Heading, Html, Page
from procgen.publish.blocks import room
from procgen.publish.job import Identity
from procgen.publish.keep import downloads
from procgen.publish.part_pages import part_counts
from procgen.publish.quantities import planned, value_link, value_text
from procgen.publish.readiness import passed_checks, readiness_card
from procgen.publish.words import Words
from procgen.values.shown import shown_pair, shown_span
from procgen.values.worksheet import Value, Worksheet

ROLES = ("planner", "technician", "electrician", "water_expert", "builder", "owner")
SIGNALS = ("danger", "warning", "caution", "notice")


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the ten figures: the values it shows, and its title if not their own."""

    choose: Callable[[Worksheet], list[Value]]
    ids: tuple[str, ...]
    title: str = ""


def _first(*ids: str) -> Callable[[Worksheet], list[Value]]:
    def choose(worksheet: Worksheet) -> list[Value]:
        found = [worksheet.values[name] for name in ids if name in worksheet.values]
        return [value for value in found if value.ok][:1] or found[:1]

    return choose


def _brew_set(worksheet: Worksheet) -> list[Value]:
    """The brew boilers' set temperature: one line where all agree, else one figure a boiler."""
    found = [v for name, v in worksheet.values.items() if name.startswith("brew.set_temperature")]
    figures = {(value.value, value.low, value.high) for value in found if value.ok}
    return [v for v in found if ("[" in v.id) == (len(figures) > 1)]


def _highest_current(worksheet: Worksheet) -> list[Value]:
    lines = [worksheet.values.get(f"electrical.current_L{n}") for n in (1, 2, 3)]
    found = [value for value in lines if value is not None]
    there = [value for value in found if value.ok and value.high is not None]
    return [max(there, key=lambda value: value.high or 0.0)] if there else found[:1]


def _fall(worksheet: Worksheet) -> list[Value]:
    names = ("drain.fall_worst", "drain.fall_required")
    return [worksheet.values[name] for name in names if name in worksheet.values]


TEN = (
    Row(_first("fill.pump_runs", "fill.resets"), ("fill.pump_runs",)),
    Row(_first("fill.stop_and_check_runs"), ("fill.stop_and_check_runs",)),
    Row(_first("fill.time"), ("fill.time",)),
    Row(_first("heat.time_ready"), ("heat.time_ready",)),
    Row(_brew_set, ("brew.set_temperature",)),
    Row(_first("steam.saturation_pressure"), ("steam.saturation_pressure",)),
    Row(_first("supply.inlet_pressure"), ("supply.inlet_pressure",)),
    Row(_first("pump.brew_setting"), ("pump.brew_setting",)),
    Row(_highest_current, ("electrical.current_L1",), "ten.current"),
    Row(_fall, ("drain.fall_worst",), "ten.fall"),
)


def first_page(
    identity: Identity,
    worksheet: Worksheet,
    procedure: Procedure,
    edition: str,
    words: Words,
    glance: Drawing | None = None,
) -> Page:
    """The guide's first page; ``glance`` is the drawing of all checks."""
    blocks = _blocks(identity, worksheet, procedure, edition, words, glance)
    return Page("index.md", words("first_page"), list(blocks))


def _blocks(
    identity: Identity,
    worksheet: Worksheet,
    procedure: Procedure,
    edition: str,
    words: Words,
    glance: Drawing | None,
) -> Iterator[Heading | Html]:
    yield Html(str(p(".kicker")[words("kicker")]))
    yield Heading(1, identity.title, "guide")
    yield Html(str(facts_block(identity, edition, words)))
    yield Html(str(room("start")))
    if identity.site is None:
        yield Html(str(div(".model-note", role="note")[p[words("model_note")]]))
    yield Heading(2, words("readiness.heading"), "readiness")
    yield Html(str(readiness_card(worksheet, words, glance)))
    yield Heading(2, words("ten.heading"), "the-figures")
    yield Html(str(ten_figures(worksheet, words)))
    yield Heading(2, words("parts.heading"), "parts")
    yield Html(str(_parts(procedure, words)))
    yield Heading(2, words("downloads.heading"), "keep")
    yield Html(str(downloads(identity, edition, words)))
    yield Heading(2, words("readiness.passes"), "passed")
    yield Html(str(passed_checks(worksheet, words)))
    yield Heading(2, words("use.heading"), "how-to-use")
    yield Html(str(use_block(words)))
    yield Heading(2, words("use.roles"), "roles")
    yield Html(str(roles_block(procedure, words)))


def facts_block(identity: Identity, edition: str, words: Words) -> Element:
    """What a guide is for, and which state of it this is."""
    rows = [
        (words("machine"), identity.machine),
        (words("site"), identity.site or words("no_site")),
        (words("supply_variant"), identity.supply),
        (words("profile_revision"), identity.profile_revision),
        (words("survey_revision"), identity.survey_revision),
        (words("edition"), edition),
    ]
    return dl(".facts")[(div[dt[name], dd[span(".typed")[text]]] for name, text in rows if text)]


def ten_figures(worksheet: Worksheet, words: Words) -> Element:
    """The ten figures that matter, each with its range and the way to its calculation."""
    return div(".ten")[
        p[words("ten.lead")],
        dl(".ten__list")[(_ten_row(row, worksheet, words) for row in TEN)],
    ]


def _ten_row(row: Row, worksheet: Worksheet, words: Words) -> Element:
    values = row.choose(worksheet)
    if not values:
        return div(".ten__row.is-missing")[dt[row.ids[0]], dd[words("ten.none")]]
    title = words(row.title) if row.title else values[0].title
    missing = "" if any(value.ok for value in values) else ".is-missing"
    return div(f".ten__row{missing}", data_ten=values[0].id)[
        dt[title], dd[(_ten_figure(value, worksheet, words, len(values) > 1) for value in values)]
    ]


def _ten_figure(value: Value, worksheet: Worksheet, words: Words, named: bool) -> Element:
    name = span(".ten__name")[f"{value.title}: "] if named else None
    if not value.ok or value.value is None:
        missing = a(href=value_href(value.id))[words("ten.unavailable")]
        return div(".ten__figure")[name, span(".ten__why")[missing, ": ", span(".typed")[value.why]]]
    single, spanned = shown_pair(value, worksheet.prefer), shown_span(value, worksheet.prefer)
    over = value_text(value, worksheet.prefer) if spanned.text != single.text else None
    return div(".ten__figure")[
        name,
        strong[value_link(value, worksheet.prefer, "pair")],
        over is not None and span(".ten__range")[words("ten.range"), " ", over],
    ]


def _parts(procedure: Procedure, words: Words) -> Node:
    return fragment[
        ol(".partlist")[
            (
                li[
                    a(href=part_page(part.number, part.id))[
                        span(".n")[str(part.number)], span(".partlist__title")[part.title]
                    ],
                    span(".partlist__meta")[part_counts(part, words)],
                    room("progress", part.id),
                ]
                for part in procedure.parts
            )
        ],
        p(".small")[words("parts.waits")],
    ]


def use_block(words: Words) -> Node:
    """How to read a guide, and what its signal words mean."""
    lines = ("order", "holds", "timers", "pressure", "figures", "notices")
    return fragment[
        ul(".use")[(li[words(f"use.{line}")] for line in lines)],
        dl(".signals")[
            (
                div(f".signals__row.notice--{signal}")[
                    dt(".notice__word")[
                        signal != "notice" and symbols.alert(signal), span[words(f"signal.{signal}")]
                    ],
                    dd[words(f"use.{signal}")],
                ]
                for signal in SIGNALS
            )
        ],
    ]


def roles_block(procedure: Procedure, words: Words) -> Element:
    """Planned work and hold points of each role."""
    minutes = dict.fromkeys(ROLES, 0.0)
    holds = dict.fromkeys(ROLES, 0)
    for step in procedure.steps():
        minutes[step.role] += step.minutes
    for hold in procedure.holds():
        holds[hold.by] += 1
    present = [role for role in ROLES if minutes[role] or holds[role]]
    return div(".scroll", tabindex="0")[
        table(".roles")[
            thead[
                tr[
                    th(scope="col")[words("step.role")],
                    th(scope="col")[words("use.role_time")],
                    th(scope="col")[words("use.role_holds")],
                ]
            ],
            tbody[
                (
                    tr[
                        th(scope="row")[words.role(role)],
                        td[planned(f"role.{role}", minutes[role]) if minutes[role] else "–"],
                        td[str(holds[role])],
                    ]
                    for role in present
                )
            ],
        ]
    ]
