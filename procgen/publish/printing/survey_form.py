"""The blank survey form: asks for every field of the site survey's schema, in the schema's order.

It is made from the schema itself, so that a new field stands in the next form without anybody's doing.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from htpy import Element, Node, div, fragment, h1, h2, h3, p, section, span, table, tbody, td, th, thead, tr

from procgen.profiles.outline import Asked, Group, outline
from procgen.profiles.site import Site
from procgen.publish.blocks import Scene
from procgen.publish.printing.about import About
from procgen.publish.printing.asked import choice_title, field_hint, field_title, unit
from procgen.publish.printing.asked import span as accepted

#: blank rows of what a survey may list any number of; a maker's curve has few points
ROWS, ROWS_OF_FIGURES = 6, 4


def survey_form(about: About, _scene: Scene) -> Node:
    """The document's content."""
    words = about.words
    return section(".form")[
        h1(id="form")[span(".t")[words("print.survey.heading", machine=about.identity.machine)]],
        about.identity.demo and p(".form__demo")[words("demo_short")],
        p(".form__lead")[words("print.survey.lead")],
        p(".form__lead")[words("print.survey.safety")],
        _items(outline(Site), about, 2),
        h2(".form__surveyed")[words("print.survey.surveyed")],
        div(".form__signed")[
            (div[span(".sign__label")[words(f"print.sign.{one}")]] for one in ("name", "time", "signature"))
        ],
    ]


def _items(items: tuple[Asked | Group, ...], about: About, level: int) -> Node:
    """Fields that follow each other share a block; a group has a block and a heading of its own."""

    def blocks() -> Iterator[Node]:
        for grouped, run in groupby(items, lambda item: isinstance(item, Group)):
            if grouped:
                yield from (_group(item, about, level) for item in run if isinstance(item, Group))
            else:
                yield div(".form__rows")[(_row(item, about) for item in run if isinstance(item, Asked))]

    return fragment[blocks()]


def _group(group: Group, about: About, level: int) -> Element:
    words = about.words
    head = (h2 if level == 2 else h3)(class_="form__head")[
        field_title(group.path, words),
        not group.required and span(".form__optional")[words("print.survey.optional_group")],
    ]
    hint = field_hint(group.path, words)
    content = _table(group, about) if group.many else _items(group.items, about, level + 1)
    many = ".form__group--many" if group.many else ""
    return div(f".form__group{many}")[head, hint and p(".form__hint")[hint], content]


def _row(asked: Asked, about: About) -> Element:
    hint = field_hint(asked.path, about.words)
    return div(".form__row", data_asks=".".join(asked.path))[
        div(".form__label")[
            field_title(asked.path, about.words),
            asked.required and span(".form__must")["*"],
            hint and span(".form__hint")[f" {hint}"],
        ],
        div(".form__answer")[_answer(asked, about)],
    ]


def _answer(asked: Asked, about: About) -> Node:
    words, machine = about.words, about.job.machine.data
    if asked.path == ("machine",):
        return span(".form__known")[f"{machine.name} ({machine.id})"]
    if asked.path == ("supply_variant",):
        return _boxes([(variant.id, variant.name) for variant in machine.supply_variants])
    if asked.form == "choice":
        return _boxes([(choice, choice_title(choice, words)) for choice in asked.choices])
    if asked.form == "yes_no":
        return _boxes([(choice, words(f"print.survey.{choice}")) for choice in ("yes", "no")])
    if asked.form == "quantity":
        within = accepted(asked, about.asks_in, words)
        return fragment[
            span(".form__figure"),
            span(".form__unit")[unit(asked, about.asks_in, words)],
            within and span(".form__span")[within],
        ]
    if asked.form in {"whole", "date"}:
        return fragment[
            span(".form__figure"), asked.form == "date" and span(".form__span")[words("print.survey.date")]
        ]
    return span(".form__line")


def _boxes(choices: list[tuple[str, str]]) -> Node:
    # What can only be one thing is no question: its box comes ticked.
    known = "×" if len(choices) == 1 else ""
    return fragment[
        (
            span(".form__choice")[span(".form__box", data_tick=code)[known], title, " "]
            for code, title in choices
        )
    ]


def _table(group: Group, about: About) -> Element:
    """What the survey lists: a row for each."""
    asked = [item for item in group.items if isinstance(item, Asked)]
    rows = ROWS_OF_FIGURES if all(item.form == "quantity" for item in asked) else ROWS
    return table(".form__table")[
        thead[tr[(_column(item, about) for item in asked)]],
        tbody[(tr[(td[_cell(item, about)] for item in asked)] for _ in range(rows))],
    ]


def _column(asked: Asked, about: About) -> Element:
    hint = field_hint(asked.path, about.words)
    return th(scope="col", data_asks=".".join(asked.path))[
        field_title(asked.path, about.words),
        asked.required and span(".form__must")["*"],
        asked.form == "quantity" and f" ({unit(asked, about.asks_in, about.words)})",
        hint and span(".form__hint")[f" {hint}"],
    ]


def _cell(asked: Asked, about: About) -> Node:
    return _answer(asked, about) if asked.form in {"yes_no", "choice"} else None
