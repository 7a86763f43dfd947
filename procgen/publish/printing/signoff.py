"""The sign-off sheet: every hold point with room for name, time and signature."""

from __future__ import annotations

from htpy import Element, a, h1, p, section, span, table, tbody, td, th, thead, tr

from procgen.procedure.anchors import anchor
from procgen.publish.blocks import Scene
from procgen.publish.printing.about import About


def sign_off(about: About, scene: Scene) -> Element:
    """One line a hold point, then the hand-over of the whole."""
    words = about.words
    heads = ("hold", "by", "name", "time", "signature")
    return section(".part.signoff")[
        h1(id="sign-off")[span(".t")[words("print.sign.title")]],
        p[words("print.sign.lead")],
        table(".signoff__table")[
            thead[tr[(th(scope="col")[words(f"print.sign.{head}")] for head in heads)]],
            tbody[
                (
                    tr[
                        th(scope="row")[
                            a(href=f"#{anchor('hold', hold.id)}")[scene.numbers[hold.id]], " ", hold.title
                        ],
                        td[words.role(hold.by)],
                        _name(hold.by, about),
                        td(".write"),
                        td(".write"),
                    ]
                    for hold in about.job.procedure.holds()
                )
            ],
        ],
        p[words("print.sign.whole")],
        table(".signoff__table")[
            thead[tr[(th(scope="col")[words(f"print.sign.{head}")] for head in ("as", *heads[2:]))]],
            tbody[
                (
                    tr[th(scope="row")[words.role(role)], _name(role, about), td(".write"), td(".write")]
                    for role in ("technician", "electrician", "owner")
                )
            ],
        ],
    ]


def _name(role: str, about: About) -> Element:
    """Room for a name; an electrician states the licence too."""
    return td(".write")[role == "electrician" and span(".sign__label")[about.words("print.sign.licence")]]
