"""A record's file: what is read, and what is said about one that cannot be."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from procgen.messages.catalog import Messages
from procgen.messages.diagnostic import InputFaultsError
from procgen.records import COLUMNS, json_schema, read_record, rows
from procgen.records.schema import VERSION

ENTRY = {
    "id": "a-1",
    "time": "2025-03-04T11:02:03.456+01:00",
    "seq": 1,
    "device": "d",
    "edition": "e",
}
TICK = {**ENTRY, "kind": "tick", "step": "water.pour", "print": "0123"}
READING = {
    **ENTRY,
    "id": "a-2",
    "seq": 2,
    "kind": "reading",
    "reading": "fill.steam.inlet",
    "step": "fill.steam",
    "quantity": "pressure_gauge",
    "typed": "-0,4",
    "unit": "bar",
    "si": -4e4,
    "beyond": "",
    "verdict": "low",
    "low": 2e5,
    "high": None,
    "target": None,
    "limits_text": "at least 2 bar",
    "questioned": False,
}


def record(*entries: dict[str, Any], **changes: Any) -> dict[str, Any]:
    """A record as a phone writes it."""
    return {
        "schema": "procgen-record",
        "version": VERSION,
        "guide": "ellunby-bakery",
        "title": "A guide",
        "edition": "e",
        "exported": "2025-03-04T12:00:00.000+01:00",
        "device": "d",
        "started": None,
        "entries": list(entries),
        "aside": [],
        **changes,
    }


def written(folder: Path, content: Any) -> Path:
    """A file of it."""
    path = folder / "record.json"
    text = content if isinstance(content, str) else json.dumps(content, ensure_ascii=False)
    path.write_text(text, encoding="utf-8")
    return path


def said(folder: Path, content: Any, messages: Messages) -> list[str]:
    """What is said about a file that cannot be read."""
    with pytest.raises(InputFaultsError) as caught:
        read_record(written(folder, content))
    return [messages.diagnostic(fault, folder) for fault in caught.value.faults]


def test_a_record_is_read_with_its_times(tmp_path: Path) -> None:
    data = record(TICK, READING)
    jsonschema.validate(data, json_schema())
    found = read_record(written(tmp_path, data))
    assert [entry.kind for entry in found.entries] == ["tick", "reading"]
    assert found.first is not None
    assert found.first.isoformat() == "2025-03-04T11:02:03.456000+01:00"


def test_the_schema_refuses_what_the_reader_refuses() -> None:
    validator = jsonschema.Draft202012Validator(json_schema())
    assert validator.is_valid(record(TICK))
    for wrong in (
        record({**TICK, "extra": 1}),
        record({**TICK, "kind": "tack"}),
        record({**READING, "verdict": "fine"}),
        record(version=2),
        record(schema="x"),
    ):
        assert not validator.is_valid(wrong)


@pytest.mark.parametrize(
    ("content", "wanted"),
    [
        ("{", "record.json:1:2: the record is damaged or cut short: "
              "Expecting property name enclosed in double quotes"),
        ('{"a": NaN}', "record.json: the record is damaged or cut short: NaN is no number"),
        ("[]", "record.json: this is no record: schema is 'list'; expected 'procgen-record'"),
        ({"schema": "x"}, "record.json: this is no record: schema is 'x'; expected 'procgen-record'"),
        (record(version=3), "record.json: the record is of version 3; this program reads up to 1"),
        (record({**TICK, "step": ""}), "record.json: entries[0].step: found \"\"; "
                                       "String should have at least 1 character"),
        (record({key: value for key, value in TICK.items() if key != "print"}),
         "record.json: entries[0].print: missing"),
        (record(TICK, {**READING, "si": "2"}), "record.json: entries[1].si: found \"2\"; "
                                               "Input should be a valid number"),
        (record({**TICK, "more": 1}), "record.json: entries[0].more: found 1; expected no such field"),
        (record({**TICK, "time": "2025-03-04T11:02:03"}),
         "record.json: entries[0].time: found \"2025-03-04T11:02:03\"; Input should have timezone info"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_with_its_place(
    tmp_path: Path, messages: Messages, content: Any, wanted: str
) -> None:
    assert said(tmp_path, content, messages) == [wanted]


def test_an_unknown_kind_names_the_known_ones(tmp_path: Path, messages: Messages) -> None:
    (words,) = said(tmp_path, record({**TICK, "kind": "tack"}), messages)
    assert words.startswith('record.json: entries[0]: found {"id": "a-1"')
    assert "'tack'" in words
    assert "'tick', 'untick', 'confirm'" in words


def test_a_missing_file_and_a_file_that_is_no_text(tmp_path: Path, messages: Messages) -> None:
    with pytest.raises(InputFaultsError) as caught:
        read_record(tmp_path / "gone.json")
    (fault,) = caught.value.faults
    assert messages.diagnostic(fault, tmp_path) == (
        "gone.json: the record cannot be read: No such file or directory"
    )
    (tmp_path / "x.json").write_bytes(b'{"a": "\xff"}')
    with pytest.raises(InputFaultsError) as caught:
        read_record(tmp_path / "x.json")
    assert messages.diagnostic(caught.value.faults[0], tmp_path) == (
        "x.json: the record is no text: byte 7 is not UTF-8"
    )


def test_the_table_keeps_figures_and_disarms_formulas(tmp_path: Path) -> None:
    remark = {**ENTRY, "id": "a-3", "seq": 3, "kind": "remark", "step": "water.pour", "text": '=A("x")'}
    draft = {**ENTRY, "id": "d", "seq": 4, "kind": "draft", "of": "x", "typed": "1", "unit": "bar"}
    found = read_record(written(tmp_path, record(remark, draft, READING, TICK)))
    names = {"water.pour": ("1.1", "Pour test"), "fill.steam.inlet": ("3.1", "Inlet")}
    table = [dict(zip(COLUMNS, row, strict=True)) for row in rows(found, names)]
    assert [row["kind"] for row in table] == ["tick", "reading", "remark"]
    assert [row["title"] for row in table] == ["Pour test", "Inlet", "Pour test"]
    reading = table[1]
    assert (reading["typed"], reading["si"], reading["si_unit"], reading["low"], reading["high"]) == (
        "'-0,4", "-40000", "Pa", "200000", ""
    )  # fmt: skip
    assert table[2]["text"] == '\'=A("x")'
