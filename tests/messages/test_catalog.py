"""The words: found by id, filled, counted, listed; a workspace may add its own."""

from __future__ import annotations

import ast
import string
from collections.abc import Iterator
from pathlib import Path

import pytest

from procgen.messages.catalog import Messages, MissingMessageError, load
from procgen.messages.diagnostic import Diagnostic, InputFaultsError

WORDS = Messages(
    {
        "greeting": "Fill {volume} at {place}.",
        "words.copper": "copper",
        "counted.run.one": "{n} run",
        "counted.run.other": "{n} runs",
        "listing.last": "{before} and {last}",
        "diagnostics.wrong": "{field}: found '{found}'",
    }
)


def test_places_are_filled_and_shown() -> None:
    assert WORDS.text("greeting", volume="2 L", place="K1") == "Fill 2 L at K1."
    assert WORDS.text("greeting", show=lambda given: f"<{given}>", volume=2, place="x") == "Fill <2> at <x>."


def test_braces_in_what_is_filled_in_stay_text() -> None:
    assert WORDS.text("greeting", volume="{place}", place="{0.__class__}") == "Fill {place} at {0.__class__}."


def test_a_missing_id_names_the_nearest() -> None:
    with pytest.raises(MissingMessageError, match="no words for 'greting'; nearest is 'greeting'"):
        WORDS.raw("greting")


def test_counting_and_listing() -> None:
    assert [WORDS.counted("run", n) for n in (0, 1, 2)] == ["0 runs", "1 run", "2 runs"]
    assert [WORDS.listing(items) for items in ([], ["A"], ["A", "B"], ["A", "B", "C"])] == [
        "",
        "A",
        "A and B",
        "A, B and C",
    ]
    assert WORDS.word("copper") == "copper"


@pytest.mark.parametrize(
    ("line", "column", "said"),
    [
        (3, 5, "models/a.yml:3:5: x: found '{y}'"),
        (3, None, "models/a.yml:3: x: found '{y}'"),
        (None, None, "models/a.yml: x: found '{y}'"),
    ],
)
def test_a_diagnostic_is_one_line_with_its_place(line: int | None, column: int | None, said: str) -> None:
    fault = Diagnostic("wrong", Path("/w/models/a.yml"), line, column, {"field": "x", "found": "{y}"})
    assert WORDS.diagnostic(fault, Path("/w")) == said
    assert WORDS.diagnostic(fault, Path("/elsewhere")) == "/w/" + said


def test_faults_of_a_run_are_sorted_and_told_once() -> None:
    a, b = Path("a.yml"), Path("b.yml")
    faults = [
        Diagnostic("x", b, 1, 1),
        Diagnostic("x", a, 10, 1),
        Diagnostic("x", a, 9, 7),
        Diagnostic("x", a, 9, 7),
        Diagnostic("x", a, 9, 7, {"found": "other"}),
        Diagnostic("x", a, 9, 2),
        Diagnostic("x", a),
    ]
    told = [(f.path.name, f.line, f.column) for f in InputFaultsError(faults).faults]
    assert told == [
        ("a.yml", None, None),
        ("a.yml", 9, 2),
        ("a.yml", 9, 7),
        ("a.yml", 9, 7),
        ("a.yml", 10, 1),
        ("b.yml", 1, 1),
    ]


def test_a_workspace_adds_and_overrides(tmp_path: Path) -> None:
    folder = tmp_path / "docs_src" / "messages"
    folder.mkdir(parents=True)
    (folder / "en.yml").write_text("words:\n  copper: red metal\n  own: of this place\n", encoding="utf-8")
    words = load(tmp_path)
    assert (words.word("copper"), words.word("own")) == ("red metal", "of this place")
    assert words.raw("diagnostics.empty_file") == load().raw("diagnostics.empty_file")


def test_a_broken_message_file_of_a_workspace_is_an_input_fault(tmp_path: Path) -> None:
    folder = tmp_path / "docs_src" / "messages"
    folder.mkdir(parents=True)
    for content, code in (("a: 1\na: 2\n", "duplicate_key"), ("- a\n", "not_a_mapping"), ("", "empty_file")):
        (folder / "en.yml").write_text(content, encoding="utf-8")
        with pytest.raises(InputFaultsError) as caught:
            load(tmp_path)
        assert [fault.code for fault in caught.value.faults] == [code]


def test_every_message_can_be_filled(messages: Messages) -> None:
    """Balanced braces, and places that are plain names: nothing is looked up in what is filled in."""
    for key in messages.keys():  # noqa: SIM118 -- no mapping
        for _, name, form, conversion in string.Formatter().parse(messages.raw(key)):
            assert name is None or name.isidentifier(), key
            assert not form, key
            assert conversion is None, key


def _codes(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in {"Diagnostic", "MeasureError"}:
            first = node.args[0] if node.args else None
            prefix = "quantity_" if getattr(node.func, "id", "") == "MeasureError" else ""
            if isinstance(first, ast.Constant):
                yield prefix + str(first.value)


def test_every_code_has_words(root: Path, messages: Messages) -> None:
    codes = {code for path in (root / "procgen").rglob("*.py") for code in _codes(path)}
    assert len(codes) > 20
    assert [code for code in sorted(codes) if not messages.has(f"diagnostics.{code}")] == []
