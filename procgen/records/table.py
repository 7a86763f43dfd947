"""A record as a table: the columns that the phone's CSV has, from the file alone or with a guide's names."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from procgen.records.schema import AnyEntry, Record
from procgen.units.kinds import KINDS

COLUMNS = (
    "time",
    "kind",
    "number",
    "title",
    "id",
    "name",
    "role",
    "licence",
    "typed",
    "unit",
    "si",
    "si_unit",
    "low",
    "high",
    "target",
    "verdict",
    "text",
    "edition",
    "device",
    "seq",
)

#: signs at which a spreadsheet takes text for a formula
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def rows(record: Record, names: Mapping[str, tuple[str, str]] | None = None) -> Iterator[tuple[str, ...]]:
    """One row an entry, drafts left out; ``names`` gives number and title by id of step, hold or reading."""
    for entry in sorted(record.entries, key=lambda one: (one.seq, one.id)):
        if entry.kind != "draft":
            yield tuple(_cell(value) for value in _row(entry, names or {}).values())


def _row(entry: AnyEntry, names: Mapping[str, tuple[str, str]]) -> dict[str, object]:
    data = entry.model_dump(by_alias=True, exclude_none=True)
    item = data.get("step") or data.get("hold") or ""
    own = data.get("reading") or data.get("timer") or item
    number, title = names.get(item, ("", ""))
    row: dict[str, object] = {name: data.get(name, "") for name in COLUMNS}
    quantity = data.get("quantity")
    row |= {
        "time": entry.time.isoformat(timespec="milliseconds"),
        "number": number,
        "title": names.get(own, (number, title))[1],
        "id": own,
        "si_unit": KINDS[quantity].si if isinstance(quantity, str) and quantity in KINDS else "",
        "text": data.get("text") or data.get("state") or "",
    }
    return row


def _cell(value: object) -> str:
    if isinstance(value, str):
        return f"'{value}" if value.startswith(_FORMULA) else value
    if isinstance(value, float):
        return repr(value).removesuffix(".0")
    return str(value)
