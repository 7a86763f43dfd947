"""Typed quantities in running text: a number followed by a unit, in figures or in words."""

from __future__ import annotations

import re
from collections.abc import Iterator

from procgen.units.kinds import KINDS

_SPELT = (
    "degrees? Celsius|degrees? Fahrenheit|degrees?|milliseconds?|seconds?|minutes?|hours?|days?|weeks?|"
    "lit(?:re|er)s?|millilit(?:re|er)s?|gallons?|ounces?|pounds?|(?:kilo|milli)?grams?|"
    "(?:kilo|milli|centi)?met(?:re|er)s?|inch(?:es)?|f(?:oo|ee)t|percent|per cent|"
    "(?:kilo|milli)?watts?|(?:kilo|milli)?volts?|(?:milli)?amp(?:ere)?s?|(?:kilo|mega|milli)?ohms?|"
    "newton[ -]?met(?:re|er)s?|newtons?|(?:kilo|mega)?pascals?|millibars?|bars|kelvins?|hertz"
)
_NUMBER_WORDS = (
    "one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|fifteen|twenty|thirty|forty|"
    "fifty|sixty|ninety|a hundred|hundred|half an?|a few|several"
)


def _symbols() -> str:
    found = {symbol for kind in KINDS.values() for symbol in kind.typed if symbol != "AWG"}
    found |= {"lbs", "Nm", "sec", "secs", "mins", "hr", "hrs", "gpm", "psig", "barg", "µm", "l", "ml", "Hz"}
    found |= {"kVA", "VA", "rpm", "ppm", "litre", "K"}
    # "2 in the list" is no length; the other units are no English words.
    found.discard("in")
    ordered = sorted(found, key=len, reverse=True)
    return "|".join(re.escape(symbol).replace(r"\ ", "[ \u00a0]") for symbol in ordered)


_FIGURE = r"(?<![\w.,:/#+\-])[+\-−±]?\d[\d\u202f.,]*(?:[ \u00a0]?(?:–|-|\.\.|to|/)[ \u00a0]?\d[\d\u202f.,]*)?"
_QUANTITY = re.compile(
    rf"{_FIGURE}[\s\u00a0\u202f-]{{0,2}}(?:{_symbols()}|in(?!\s+[a-z])|(?i:{_SPELT}))(?![\w°])"
    rf"|\bAWG[ \u00a0]?\d+"
    rf"|(?<![\w.:])1\s?:\s?\d{{2,}}(?![\w:])"
)
_IN_WORDS = re.compile(rf"\b(?i:{_NUMBER_WORDS})[\s\u00a0-]+(?:(?i:{_SPELT})|bar)\b")


def typed_quantities(text: str, words: bool = False) -> Iterator[re.Match[str]]:
    """Places in a text where a number with a unit was typed; ``words`` finds "two minutes" as well."""
    yield from _QUANTITY.finditer(text)
    if words:
        yield from _IN_WORDS.finditer(text)


def has_typed_quantity(text: str) -> bool:
    """True where the text has a number with a unit in it."""
    return _QUANTITY.search(text) is not None
