"""What the names in formulas stand for, in words and tables, so that an exercise can be worked on paper.

The figures of the tables are the engineering's own, at round places.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from htpy import Element, Node, caption, code, div, fragment, h2, p, table, tbody, td, th, thead, tr

from procgen.engineering.atmosphere import pressure_at_altitude
from procgen.engineering.drain import AIR_GAP_MINIMUM, FALL_RULES
from procgen.engineering.kernel import Kernel
from procgen.engineering.sources_general import code_entry
from procgen.engineering.water import saturation_pressure
from procgen.profiles.site import Site
from procgen.publish.sheet import source_text
from procgen.publish.words import Words
from procgen.units.kinds import KINDS, Preference, to_si
from procgen.units.show import pair

_CALLED = re.compile(r"([a-z_]+)\(")
#: functions that need more than their arguments, and where that stands
_BY_CODE = {"air_gap", "required_fall"}
#: digits of a table: 0.1 mbar, as narrow as the answers of an exercise are
_STEP = 100.0


def rule_lines(formulas: Iterable[str], site: Site, words: Words) -> list[Element]:
    """A line for each function that the formulas call and that has words."""
    called = dict.fromkeys(name for formula in formulas for name in _CALLED.findall(formula))
    return [p(".task__rule")[code[name], ": ", text] for name in called if (text := _rule(name, site, words))]


def _rule(name: str, site: Site, words: Words) -> str:
    key, prefer = f"print.training.rule.{name}", site.units
    if not words.messages.has(f"site.{key}"):
        return ""
    if name not in _BY_CODE:
        return words(key)
    drainage = site.codes.drainage
    if name == "air_gap":
        limit = code_entry("air_gap", AIR_GAP_MINIMUM, drainage)
        return words(key, code=drainage, least=pair("size", limit.figure, 1e-3, prefer).text)
    rules = code_entry("required_fall", FALL_RULES, drainage)
    said = "; ".join(
        words(
            "print.training.rule.fall_up_to",
            bore=pair("size", rule.bore_maximum, 1e-3, prefer).text,
            fall=pair("fall", rule.fall, 1e-4, prefer).text,
        )
        for rule in rules
    )
    return words(key, code=drainage, rules=said)


@dataclass(frozen=True, slots=True)
class _Table:
    """A table of one figure against another: round places in each unit system."""

    name: str
    kind: str
    figure: Kernel[[float], float]
    places: dict[Preference, range]


_TABLES = (
    _Table(
        "air",
        "altitude",
        pressure_at_altitude,
        {"metric": range(0, 3600, 200), "us": range(0, 11500, 500)},
    ),
    _Table(
        "boiling",
        "temperature",
        saturation_pressure,
        {"metric": range(86, 142, 2), "us": range(186, 290, 4)},
    ),
)


def tables(prefer: Preference, words: Words) -> Node:
    """Pressure of the air, and of water that boils."""
    return fragment[
        h2(id="tables")[words("print.training.tables")],
        p(".lesson__lead")[words("print.training.tables_lead")],
        div(".lesson__tables")[(_table(one, prefer, words) for one in _TABLES)],
    ]


def _table(one: _Table, prefer: Preference, words: Words) -> Element:
    heads = [words(f"print.training.table.{one.name}.{part}") for part in ("place", "figure")]
    return table(".lesson__table")[
        caption[source_text(one.figure.info.source, words)],
        thead[tr[(th(scope="col")[head] for head in heads)]],
        tbody[_rows(one, prefer)],
    ]


def _rows(one: _Table, prefer: Preference) -> Iterator[Element]:
    kind = KINDS[one.kind]
    symbol = kind.metric if prefer == "metric" else kind.us
    for place in one.places[prefer]:
        si = to_si(kind, symbol, float(place))
        shown = pair("pressure_absolute", one.figure(si), _STEP, prefer).primary
        yield tr[td[pair(one.kind, si, 1.0, prefer).primary], td[shown]]
