"""The table of deviations: every formula, what it is compared with, and how far apart the two are.

The data (`deviations.json`, beside this file) and the handbook's page come from one run of the checks.
"""

from __future__ import annotations

import inspect
import json
import math
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import jinja2
import pytest

from procgen.engineering.kernel import Kernel
from procgen.procedure.typed import typed_quantities
from procgen.units.registry import registry

from .formulas import formulas, key_of, libraries_of, modules, sections
from .oracle import NOISE, Check

DATA = Path("tests/engineering/deviations.json")
PAGE = Path("docs_src/handbook/checks.md")
TEMPLATE = Path(__file__).with_name("checks.md.jinja")
#: Where the checks are; the run that writes the table runs these.
PLACES = ("tests/engineering", "tests/values/test_independent.py")

Row = dict[str, Any]

#: Units that the trade prints otherwise than pint does.
_OURS = (
    (r"mgCaCO3·l\b", "mg CaCO₃"),
    (r"mgCaCO3\b", "mg/L CaCO₃"),
    (r"\bml\b", "mL"),
    (r"\bl\b", "L"),
    (r"\b1×10", "10"),
    (r"\bdeg\b", "°"),
)


def is_check(item: pytest.Item) -> bool:
    """Whether a test calls `agrees`."""
    function = inspect.unwrap(getattr(item, "function", lambda: None))
    return "agrees" in function.__code__.co_names


def rows(checks: Iterable[Check]) -> list[Row]:
    """One row for each formula and each thing it is compared with."""
    found: dict[tuple[str, str, str], Row] = {}
    for check in checks:
        key = (check.formula, check.source, check.unit or "")
        row = found.setdefault(
            key,
            {
                "formula": check.formula,
                "source": check.source,
                "from_memory": check.from_memory,
                "points": 0,
                "deviation": 0.0,
                "tolerance": 0.0,
                "unit": check.unit,
                "share": 0.0,
            },
        )
        row["points"] += check.points
        row["deviation"] = max(row["deviation"], check.deviation)
        row["share"] = max(row["share"], check.share)
        row["tolerance"] = max(row["tolerance"], check.tolerance)
    for row in found.values():
        row["deviation"], row["share"] = _upward(row["deviation"]), _upward(row["share"])
    return [found[key] for key in sorted(found)]


def _upward(deviation: float, digits: int = 2) -> float:
    """A deviation with the digits that it is shown with; nothing where it is the rounding of floats."""
    if deviation < NOISE:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(deviation)) - digits + 1)
    return float(f"{math.ceil(deviation / step - 1e-6) * step:.{digits}g}")


def write(checkout: Path, checks: Iterable[Check]) -> None:
    """Write data and page into a checkout."""
    table = rows(checks)
    for name, text in ((DATA, to_json(table)), (PAGE, page(table))):
        path = checkout / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")


def to_json(table: list[Row]) -> str:
    """The data as they are committed: one row a line, so that a change shows as that line."""
    return "[\n" + ",\n".join(json.dumps(row, ensure_ascii=False) for row in table) + "\n]\n"


def page(table: list[Row]) -> str:
    """The handbook's page."""
    environment = jinja2.Environment(
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        # A heading's anchor is written {#so}.
        comment_start_string="<#",
        comment_end_string="#>",
    )
    environment.filters.update(cell=cell, apart=apart)
    areas = [area for area in (_area(home, table) for home in modules()) if area["formulas"]]
    return environment.from_string(TEMPLATE.read_text(encoding="utf-8")).render(
        areas=areas,
        formulas=sum(len(area["formulas"]) for area in areas),
        points=sum(row["points"] for row in table),
        largest=largest(table),
    )


def largest(table: list[Row]) -> list[Row]:
    """The rows that are furthest apart: as a share, in kelvin, and among plain numbers."""
    own = {"K": 3, "": 3}
    found = _first(10, [row for row in table if row["unit"] not in own], "share")
    for unit, many in own.items():
        found += _first(many, [row for row in table if row["unit"] == unit], "deviation")
    return found


def _first(many: int, table: list[Row], by: str) -> list[Row]:
    return sorted(table, key=lambda row: (-row[by], row["formula"], row["source"]))[:many]


def _area(home: Any, table: list[Row]) -> dict[str, Any]:
    name = home.__name__.rpartition(".")[2]
    own = [formula for key, formula in formulas().items() if key.partition(".")[0] == name]
    return {
        "id": name,
        "about": inspect.getdoc(home).splitlines()[0],
        "formulas": [_formula(formula, table) for formula in own],
    }


def _formula(formula: Any, table: list[Row]) -> dict[str, Any]:
    doc = inspect.getdoc(formula)
    return {
        "name": formula.__name__,
        "gives": doc.splitlines()[0],
        "valid": _valid(formula),
        "source": _source(formula),
        "calls": ", ".join(sorted(libraries_of(formula))),
        "checks": [row for row in table if row["formula"] == key_of(formula)],
    }


def _source(formula: Any) -> str:
    if not isinstance(formula, Kernel):
        return _prose(sections(formula.__doc__)["Source"])
    source = formula.info.source
    return ", ".join(filter(None, (source.title, source.clause, "from memory" if source.from_memory else "")))


def _valid(formula: Any) -> str:
    """The bounds that the kernel enforces; where it has none, what its docstring says."""
    if not isinstance(formula, Kernel) or not formula.info.valid:
        return _prose(sections(formula.__doc__)["Valid"])
    spans = []
    for name, (low, high) in formula.info.valid.items():
        unit = formula.info.units[name]
        if high is None:
            spans.append(f"{name} {shown(low, unit, 6)} and above")
        else:
            start = "" if low is None else f"{shown(low, '', 6)} to "
            spans.append(f"{name} {start}{shown(high, unit, 6)}")
    return "; ".join(spans)


def shown(figure: float | None, unit: str, digits: int = 2) -> str:
    """A figure with its unit, as pint prints them, the litre with its capital; the two stay on one line."""
    text = f"{registry().Quantity(figure, unit):.{digits}g~P}"
    for printed, ours in _OURS:
        text = re.sub(printed, ours, text)
    return text.replace(" ", "\u00a0")


def apart(figure: float, unit: str | None) -> str:
    """A deviation or a tolerance with its unit: ``0.02 %``, ``0.3 K``, ``exact``."""
    if figure < NOISE:
        return "exact"
    if unit is None:
        return shown(100 * figure, "percent") if figure >= 1e-6 else f"under {shown(1e-4, 'percent')}"
    return shown(figure, unit)


def _prose(text: str) -> str:
    return " ".join(text.split()).rstrip(".")


def cell(text: str) -> str:
    """Text in a cell of a Markdown table: nothing in it is markup, and a quantity in it is meant."""
    escaped = re.sub(r"([\\`*_{}\[\]<>|~])", r"\\\1", text)
    return f'<span class="typed">{escaped}</span>' if any(typed_quantities(text)) else escaped
