"""The fields of a site survey in the trade's words: title, hint, unit, span, choices."""

from __future__ import annotations

from procgen.profiles.outline import Asked
from procgen.publish.words import Words
from procgen.units.kinds import KINDS, Preference
from procgen.units.measure import parse
from procgen.units.show import measure_pair, pair, pair_range

_FIELD = "print.survey.field"
_CHOICE = "print.survey.choice"


def field_title(path: tuple[str, ...], words: Words) -> str:
    """A field's or group's name; the schema's own where nobody has worded it."""
    key = f"{_FIELD}.{'_'.join(path)}"
    if words.messages.has(f"site.{key}"):
        return words(key)
    shared = f"print.survey.any.{path[-1]}"
    if words.messages.has(f"site.{shared}"):
        return words(shared)
    return path[-1].replace("_", " ").capitalize()


def field_hint(path: tuple[str, ...], words: Words) -> str:
    """How the field is measured or where it is read; empty where its name says it."""
    key = f"print.survey.hint.{'_'.join(path)}"
    return words(key) if words.messages.has(f"site.{key}") else ""


def choice_title(code: str, words: Words) -> str:
    """A choice in the trade's words; a code of practice by its own name."""
    own, shared = f"{_CHOICE}.{code}", f"words.{code}"
    if words.messages.has(f"site.{own}"):
        return words(own)
    return words.messages.text(shared) if words.messages.has(shared) else code


def unit(asked: Asked, prefer: Preference, words: Words) -> str:
    """The unit that stands behind a room to write in."""
    kind = KINDS[asked.kind]
    symbol = kind.metric if prefer == "metric" else kind.us
    return words("print.survey.gauge", unit=symbol) if kind.reference == "gauge" else symbol


def span(asked: Asked, prefer: Preference, words: Words) -> str:
    """The figures that the schema accepts, in the reader's units; empty where it states none."""
    if asked.low is None or asked.high is None:
        return ""
    low, high = (
        pair(asked.kind, end.value, end.step, prefer, "inward", upward).primary
        for end, upward in ((parse(asked.low, asked.kind), False), (parse(asked.high, asked.kind), True))
    )
    return words("print.survey.span", low=low, high=high)


def typed_text(asked: Asked, typed: str, prefer: Preference, words: Words) -> str:
    """What a survey says in a field, as a reader sees it."""
    if asked.form == "quantity":
        measure = parse(typed, asked.kind)
        if measure.is_range:
            return pair_range(asked.kind, measure.low, measure.high, measure.step, prefer).text
        return measure_pair(measure, prefer).text
    if asked.form == "yes_no":
        return words(f"print.survey.{'yes' if typed in {'yes', 'true'} else 'no'}")
    return choice_title(typed, words) if asked.form == "choice" else typed
