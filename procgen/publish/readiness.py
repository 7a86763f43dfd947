"""The readiness card: may the work start; what stops it, who must act, and what ready is."""

from __future__ import annotations

from htpy import Element, a, article, dd, div, dl, dt, h3, li, p, section, span, ul

from procgen.figures import Drawing
from procgen.publish import symbols
from procgen.publish.drawings import drawing_block
from procgen.publish.quantities import sentence, value_link
from procgen.publish.words import Words
from procgen.values.worksheet import Finding, Value, Worksheet

SHAPE = {"ready": "pass", "attention": "attention", "not_ready": "stop"}


def readiness_badge(readiness: str, words: Words, stops: int = 0) -> Element:
    """The verdict in words and shape, for lists."""
    count = f" ({words.counted('stop', stops)})" if stops else ""
    return span(f".badge.badge--{readiness}")[
        symbols.verdict(SHAPE[readiness]), span[words(f"readiness.{readiness}") + count]
    ]


def readiness_card(worksheet: Worksheet, words: Words, glance: Drawing | None = None) -> Element:
    """Verdict, all checks at a glance, and every finding that needs someone to act; stops first."""
    stops, points, passes = worksheet.of("stop"), worksheet.of("attention"), worksheet.of("pass")
    state = worksheet.readiness
    return section(f".ready.ready--{state}", aria_labelledby="readiness", data_readiness=state)[
        div(".ready__head")[
            symbols.verdict(SHAPE[state]),
            div[
                p(".ready__word")[words(f"readiness.{state}")],
                p(".ready__count")[
                    f"{words.counted('stop', len(stops))} · {words.counted('point', len(points))} · ",
                    a(href="#passed")[words.counted("pass", len(passes))],
                ],
            ],
        ],
        p(".ready__lead")[
            words(f"readiness.{state}_lead") if worksheet.findings else words("readiness.none")
        ],
        # No table: reason and remedy of every check stand below it as text.
        drawing_block(glance, words, alone=False) if glance else None,
        (_finding(finding, worksheet, words) for finding in (*stops, *points)),
    ]


def _finding(finding: Finding, worksheet: Worksheet, words: Words) -> Element:
    kind = words("readiness.stop" if finding.verdict == "stop" else "readiness.attention_mark")
    known = worksheet.values
    return article(f".finding.finding--{finding.verdict}", id=f"r-{finding.id}", data_finding=finding.id)[
        div(".finding__head")[
            symbols.verdict(finding.verdict), span(".finding__kind")[kind], h3[finding.title]
        ],
        p(".finding__reason")[sentence(finding.reason_parts, worksheet.prefer, known)],
        dl(".finding__facts")[
            div[
                dt[words("readiness.remedy")],
                dd[sentence(finding.remedy_parts, worksheet.prefer, known)],
            ],
            div[dt[words("readiness.who")], dd(".finding__who")[words.role(finding.who)]],
            _behind(finding, worksheet, words),
        ],
    ]


def _behind(finding: Finding, worksheet: Worksheet, words: Words) -> Element | None:
    values = [worksheet.values[name] for name in finding.values if name in worksheet.values]
    shown: list[Value] = [value for value in values if value.ok and value.value is not None]
    if not shown:
        return None
    return div[
        dt[words("readiness.figures")],
        dd[
            ul(".finding__values")[
                (li[value.title, ": ", value_link(value, worksheet.prefer)] for value in shown)
            ]
        ],
    ]


def passed_checks(worksheet: Worksheet, words: Words) -> Element:
    """Every check that passed, in a compact list."""
    known, passes = worksheet.values, worksheet.of("pass")
    return div(".passes")[
        None if passes else p[words("readiness.none")],
        ul[
            (
                li(id=f"r-{finding.id}", data_finding=finding.id)[
                    symbols.verdict("pass"),
                    span[
                        span(".passes__title")[finding.title],
                        " ",
                        sentence(finding.reason_parts, worksheet.prefer, known),
                    ],
                ]
                for finding in passes
            )
        ],
    ]
