"""YAML read as the text that was typed, each leaf with its place; what could mislead is refused."""
# ruff: noqa: E501 -- whole messages stand on one line

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from procgen.messages import yamltext
from procgen.messages.catalog import Messages
from procgen.messages.yamltext import Document, dotted, read

Read = Callable[[str | bytes], Document]


@pytest.fixture
def reading(tmp_path: Path) -> Read:
    """Read a file with some content."""

    def of(content: str | bytes) -> Document:
        path = tmp_path / "file.yml"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return read(path)

    return of


@pytest.mark.parametrize(
    "typed",
    ["1:40", "no", "yes", "on", "0x12", "010", "1e3", "12_5", "2025-03-04", "~", "null", "3.10", ".5", "+1"],
)
def test_nothing_is_resolved(reading: Read, typed: str) -> None:
    document = reading(f"a: {typed}\nb:\n  - {typed}\n")
    assert document.data == {"a": typed, "b": [typed]}
    assert document.faults == []


READ: list[tuple[str, str | bytes, Any]] = [
    ("a byte-order mark", "\ufeffa: 1\n", {"a": "1"}),
    ("Windows line ends", "a: 1\r\nb:\r\n  c: 2\r\n", {"a": "1", "b": {"c": "2"}}),
    ("no last line end", "a: 1", {"a": "1"}),
    ("folded text", "a: >-\n  one\n  two\n", {"a": "one two"}),
    ("comments", "# x\na: 1 # y\n", {"a": "1"}),
    ("an empty field", "a:\nb: 1\n", {"a": "", "b": "1"}),
    ("an anchor and its alias", "a: &x 2 L\nb: *x\n", {"a": "2 L", "b": "2 L"}),
    ("a merge key, which merges nothing", "a: &x\n  c: 1\nb:\n  <<: *x\n", {"a": {"c": "1"}, "b": {"<<": {"c": "1"}}}),
    ("a tag that would build an object", "a: !!python/name:os.system x\n", {"a": "x"}),
    ("a list", "- a\n", ["a"]),
]  # fmt: skip


@pytest.mark.parametrize(("name", "content", "data"), READ, ids=[case[0] for case in READ])
def test_reads(reading: Read, name: str, content: str | bytes, data: Any) -> None:
    document = reading(content)
    assert document.data == data
    assert document.faults == []


def test_every_leaf_has_its_place(reading: Read) -> None:
    document = reading('a: "°°" # two signs, four bytes\nb:\n  - c: 1\n    d: {e: °, f: 2}\n')
    places = {dotted(path): mark for path, mark in document.marks.items()}
    assert places == {
        "": (1, 1),
        "a": (1, 4),
        "b": (2, 1),
        "b[0]": (3, 5),
        "b[0].c": (3, 8),
        "b[0].d": (4, 5),
        "b[0].d.e": (4, 12),
        "b[0].d.f": (4, 18),
    }
    assert document.mark(("b", 0, "d", "missing")) == (4, 5)
    assert document.mark(("nothing",)) == (1, 1)


REFUSED: list[tuple[str, str | bytes, list[str]]] = [
    ("empty", "", ["file.yml:1:1: the file is empty; expected a profile or survey, starting with 'kind:'"]),
    ("comments only", "# x\n\n", ["file.yml:1:1: the file is empty; expected a profile or survey, starting with 'kind:'"]),
    ("a key twice", "a: 1\nb: 2\na: 3\n", ["file.yml:3:1: a: 'a' stands here again (first on line 1); expected each field once"]),
    ("a key twice below, and again", "a:\n  b: 1\n  b: 2\n  b: 3\n", [
        "file.yml:3:3: a.b: 'b' stands here again (first on line 2); expected each field once",
        "file.yml:4:3: a.b: 'b' stands here again (first on line 2); expected each field once",
    ]),
    ("a tab", "a:\n\tb: 1\n", ["file.yml:2:1: a tab in 'b: 1'; expected spaces (YAML does not allow tabs for indenting)"]),
    ("a tab after spaces", "a:\n  b: 1\n \tc: 1\n", ["file.yml:3:2: a tab in 'c: 1'; expected spaces (YAML does not allow tabs for indenting)"]),
    ("not UTF-8, after signs of two bytes", "a: °°".encode() + b"\xb0C\n", ["file.yml:1:6: byte 0xb0 is not UTF-8; expected a text file saved as UTF-8"]),
    ("UTF-16", "a: 1\n".encode("utf-16"), ["file.yml:1:1: byte 0xff is not UTF-8; expected a text file saved as UTF-8"]),
    ("a control character", "a: 1\nb: \x07x\n", ["file.yml:2:4: the character U+0007 may not stand in a file like this; expected text without control characters"]),
    ("a nought byte", b"a: \x00\n", ["file.yml:1:4: the character U+0000 may not stand in a file like this; expected text without control characters"]),
    ("a list as key", "? [a, b]\n: 1\n", ["file.yml:1:3: the file: a field name that is not text; expected a plain name"]),
    ("an alias of nothing", "a: *b\n", ["file.yml:1:4: not YAML at 'a: *b': found undefined alias; expected 'field: value' lines indented with spaces"]),
    ("two documents", "a: 1\n---\nb: 2\n", ["file.yml:2:1: not YAML at '---': but found another document; expected 'field: value' lines indented with spaces"]),
    ("two colons", "a: b: c\n", ["file.yml:1:5: not YAML at 'a: b: c': mapping values are not allowed in this context; expected 'field: value' lines indented with spaces"]),
    ("an alias of itself", "a: &a [*a]\n", ["file.yml:1:1: the file unfolds into too many or too deeply nested entries; expected a plain profile without nested aliases"]),
    ("deep nesting", "a: " + "[" * 60 + "]" * 60, ["file.yml:1:1: the file unfolds into too many or too deeply nested entries; expected a plain profile without nested aliases"]),
]  # fmt: skip


@pytest.mark.parametrize(("name", "content", "said"), REFUSED, ids=[case[0] for case in REFUSED])
def test_refuses_in_words(
    reading: Read, messages: Messages, tmp_path: Path, name: str, content: str | bytes, said: list[str]
) -> None:
    document = reading(content)
    assert [messages.diagnostic(fault, tmp_path) for fault in document.faults] == said


@pytest.mark.parametrize("depth", [1_200, 50_000, 500_000])
def test_bottomless_nesting_is_a_fault_and_no_crash(reading: Read, depth: int) -> None:
    document = reading("[" * depth)
    assert [fault.code for fault in document.faults] == ["yaml_syntax"]
    assert len(document.faults[0].params["found"]) <= 80


def test_an_alias_bomb_is_stopped_while_it_unfolds(reading: Read) -> None:
    levels = ["a: &l0 [x, x, x, x, x, x, x, x, x, x]"]
    levels += [f"b{n}: &l{n} [{', '.join([f'*l{n - 1}'] * 10)}]" for n in range(1, 30)]
    document = reading("\n".join(levels))
    assert document.data is None
    assert [fault.code for fault in document.faults] == ["too_many_nodes"]
    assert len(document.marks) <= yamltext.NODE_LIMIT + 1


def test_a_huge_file_is_not_read(reading: Read, messages: Messages, tmp_path: Path) -> None:
    document = reading(b"#" * (yamltext.SIZE_LIMIT + 1))
    assert [messages.diagnostic(fault, tmp_path) for fault in document.faults] == [
        "file.yml: the file has 524,289 bytes; expected at most 524,288"
    ]
    assert reading(b"a: " + b"x" * (yamltext.SIZE_LIMIT - 3)).faults == []


def test_a_file_that_is_not_there(messages: Messages, tmp_path: Path) -> None:
    document = read(tmp_path / "none.yml")
    assert [messages.diagnostic(fault, tmp_path) for fault in document.faults] == [
        "none.yml: the file cannot be read: No such file or directory"
    ]
