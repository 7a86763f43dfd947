"""Every rule judged, its sentences filled."""

from __future__ import annotations

import string
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from procgen.messages.catalog import Messages
from procgen.units.kinds import Preference
from procgen.values.define import source_of
from procgen.values.figure import Figure, Parts, Quoted
from procgen.values.findings import catalogue as _declared  # noqa: F401 -- importing declares
from procgen.values.judge import RULES, Case, Outcome, Rule
from procgen.values.reader import Facts
from procgen.values.worksheet import Finding, Worksheet

#: stops first, then what needs attention, then what passed
_ORDER = {"stop": 0, "attention": 1, "pass": 2}


def judge(facts: Facts, worksheet: Worksheet, messages: Messages) -> tuple[Finding, ...]:
    """The findings of a guide, stops first."""
    findings = []
    for rule in RULES.values():
        if facts.site is None and not rule.without_site:
            continue
        case = Case(facts, worksheet)
        outcome = rule.judge(case)
        if outcome is not None:
            findings.append(_finding(rule, outcome, case, worksheet.prefer, messages))
    return tuple(sorted(findings, key=lambda finding: _ORDER[finding.verdict]))


def _finding(rule: Rule, outcome: Outcome, case: Case, prefer: Preference, messages: Messages) -> Finding:
    base = f"findings.{rule.id}"
    reason = sentence_parts(messages.raw(f"{base}.{outcome.sentence}.reason"), outcome.params, messages)
    remedy_key = f"{base}.{outcome.sentence}.remedy"
    remedy = (
        sentence_parts(messages.raw(remedy_key), outcome.params, messages) if messages.has(remedy_key) else ()
    )
    return Finding(
        id=rule.id,
        verdict=outcome.verdict,
        title=messages.raw(f"{base}.title"),
        reason_parts=reason,
        remedy_parts=remedy,
        who=outcome.who or rule.who,
        source=source_of(rule.source, case.facts),
        values=tuple(dict.fromkeys(case.seen)),
        prefer=prefer,
    )


def _param(given: Any, messages: Messages) -> str | Figure:
    """A figure, a text of the survey, the id of a word, or several ids."""
    if isinstance(given, Figure):
        return given
    if isinstance(given, tuple):
        return messages.listing([messages.raw(word) for word in given])
    text = str(given)
    return messages.raw(text) if text.startswith(("words.", "sensitivity.inputs.")) else Quoted(text)


def sentence_parts(words: str, params: Mapping[str, Any], messages: Messages) -> Parts:
    """A sentence's words with what fills their places."""
    parts: list[str | Figure] = []
    for text, name in _split(words):
        if text:
            parts.append(text)
        if name is not None:
            parts.append(_param(params[name], messages))
    return tuple(parts)


@lru_cache(maxsize=1024)
def _split(words: str) -> tuple[tuple[str, str | None], ...]:
    """A sentence at its places: text before each, and its name."""
    return tuple((text, name) for text, name, _, _ in string.Formatter().parse(words))
