"""A worksheet as data: JSON with a published schema, and rows for a table or CSV. Numbers are not rounded."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from procgen.units.kinds import KINDS
from procgen.values.worksheet import Series, Value, Worksheet

SCHEMA = "procgen-values-1"


def worksheet_data(sheet: Worksheet, edition: str | None) -> dict[str, Any]:
    """The worksheet as ``procgen values --format json`` prints it."""
    return {
        "schema": SCHEMA,
        "guide": sheet.guide,
        "model": sheet.machine_id,
        "site": sheet.site_id,
        "edition": edition,
        "values": [_value(value) for value in sheet.values.values()],
        "findings": [
            {"id": f.id, "verdict": f.verdict, "reason": f.reason, "remedy": f.remedy, "who": f.who}
            for f in sheet.findings
        ],
    }


def _value(value: Value) -> dict[str, Any]:
    return {
        "id": value.id,
        "kind": value.kind,
        "title": value.title,
        "status": value.status,
        "why": value.why,
        "value": value.value,
        "low": value.low,
        "high": value.high,
        "unit": _unit(value.kind),
        "reference": value.reference,
        "series": _series(value.series) if value.series else None,
        "formula": value.formula or value.residual,
        "inputs": [
            {
                "name": item.name,
                "origin": item.place or item.origin,
                "value": item.value,
                "low": item.low,
                "high": item.high,
                "unit": _unit(item.kind),
            }
            for item in value.inputs
        ],
        "source": " ".join(part for part in (value.source.title, value.source.clause) if part)
        + (" (from memory)" if value.source.from_memory else ""),
    }


def _unit(kind: str) -> str:
    """The SI unit a number is given in: the kinds are kept in it, so nothing is rounded on the way."""
    return KINDS[kind].si if kind in KINDS else ""


def _series(series: Series) -> dict[str, Any]:
    return {
        "columns": [
            {
                "name": name,
                "kind": kind,
                "unit": _unit(kind),
                "reference": KINDS[kind].reference if kind in KINDS else None,
            }
            for name, kind in series.columns
        ],
        "rows": [list(row) for row in series.rows],
    }


COLUMNS = ("id", "title", "value", "low", "high", "unit", "status", "why")


def rows(sheet: Worksheet) -> Iterator[tuple[str, ...]]:
    """One row a value, numbers as Python prints them."""
    for v in sheet.values.values():
        numbers = tuple("" if number is None else repr(number) for number in (v.value, v.low, v.high))
        yield (v.id, v.title, *numbers, _unit(v.kind), v.status, v.why)


def json_schema() -> dict[str, Any]:
    """JSON Schema of ``worksheet_data``."""
    number = {"type": ["number", "null"]}
    text = {"type": "string"}
    item = _closed(name=text, origin=text, value=number, low=number, high=number, unit=text)
    reference = {"enum": ["gauge", "absolute", "difference", None]}
    column = _closed(name=text, kind=text, unit=text, reference=reference)
    cell = {"type": ["number", "string", "null"]}
    series = _closed(
        columns={"type": "array", "items": column},
        rows={"type": "array", "items": {"type": "array", "items": cell}},
    )
    value = _closed(
        id=text,
        kind=text,
        title=text,
        status={"enum": ["ok", "unavailable"]},
        why=text,
        value=number,
        low=number,
        high=number,
        unit=text,
        reference=reference,
        series={"anyOf": [series, {"type": "null"}]},
        formula=text,
        inputs={"type": "array", "items": item},
        source=text,
    )
    finding = _closed(
        id=text, verdict={"enum": ["pass", "attention", "stop"]}, reason=text, remedy=text, who=text
    )
    nullable = {"type": ["string", "null"]}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Values and findings of one guide",
        **_closed(
            schema={"const": SCHEMA},
            guide=text,
            model=text,
            site=nullable,
            edition=nullable,
            values={"type": "array", "items": value},
            findings={"type": "array", "items": finding},
        ),
    }


def _closed(**properties: Any) -> dict[str, Any]:
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }
