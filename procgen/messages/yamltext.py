"""YAML read as plain strings with line and column: nothing is resolved, duplicates and bombs are refused.

This is the one home of PyYAML. ``1:40``, ``no``, ``0x12``, ``1e3`` and dates stay the text that was typed.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from procgen.messages.diagnostic import Diagnostic

#: A profile is some kilobytes; anything near this is not one.
SIZE_LIMIT = 512 * 1024
#: More nodes than this only comes from aliases inside aliases.
NODE_LIMIT = 50_000
DEPTH_LIMIT = 40

Path_ = tuple[str | int, ...]


@dataclass
class Document:
    """Plain data of one YAML file, and where each leaf stands."""

    path: Path
    data: Any = None
    marks: dict[Path_, tuple[int, int]] = field(default_factory=dict)
    faults: list[Diagnostic] = field(default_factory=list)

    def mark(self, path: Path_) -> tuple[int, int]:
        """Line and column of a leaf, or of the nearest thing above it."""
        while path and path not in self.marks:
            path = path[:-1]
        return self.marks.get(path, (1, 1))


def read(path: Path) -> Document:
    """Read a YAML file; what is wrong with it stands in ``faults`` of the result."""
    document = Document(path)
    text = _text(path, document)
    if text is None:
        return document
    try:
        node = yaml.compose(
            text, Loader=yaml.CBaseLoader if hasattr(yaml, "CBaseLoader") else yaml.BaseLoader
        )
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        found = _line(text, line)
        code = "yaml_tab" if "\t" in found[: len(found) - len(found.lstrip())] else "yaml_syntax"
        params = {"problem": error.problem or "", "found": found.strip()[:80]}
        document.faults.append(Diagnostic(code, path, line, column, params=params))
        return document
    except yaml.reader.ReaderError as error:
        document.faults.append(_character(path, text, error))
        return document
    except (yaml.YAMLError, RecursionError) as error:
        document.faults.append(
            Diagnostic("yaml_syntax", path, 1, 1, params={"problem": str(error), "found": ""})
        )
        return document
    if node is None:
        document.faults.append(Diagnostic("empty_file", path, 1, 1))
        return document
    _Builder(document).build(node)
    return document


def _text(path: Path, document: Document) -> str | None:
    try:
        size = path.stat().st_size
        if size > SIZE_LIMIT:
            document.faults.append(
                Diagnostic(
                    "file_too_large", path, params={"found": f"{size:,}", "expected": f"{SIZE_LIMIT:,}"}
                )
            )
            return None
        raw = path.read_bytes()
    except OSError as error:
        document.faults.append(
            Diagnostic("unreadable_file", path, params={"problem": error.strerror or str(error)})
        )
        return None
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = raw[: error.start].decode("utf-8-sig")
        line, column = _end_of(before)
        found = f"0x{raw[error.start]:02x}"
        document.faults.append(Diagnostic("not_utf8", path, line, column, params={"found": found}))
        return None
    return text


def _line(text: str, line: int) -> str:
    lines = text.splitlines()
    return lines[line - 1] if 0 < line <= len(lines) else ""


def _end_of(text: str) -> tuple[int, int]:
    """Line and column of what follows a text."""
    return text.count("\n") + 1, len(text) - text.rfind("\n")


def _character(path: Path, text: str, error: yaml.reader.ReaderError) -> Diagnostic:
    """A character that YAML does not allow, wherever the reader noticed it."""
    code = error.character if isinstance(error.character, int) else ord(error.character)
    line, column = _end_of(text[: max(text.find(chr(code)), 0)])
    return Diagnostic("yaml_character", path, line, column, params={"found": f"U+{code:04X}"})


class _Builder:
    """Turns composed nodes into plain data, keeping marks."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.count = 0

    def build(self, node: yaml.Node) -> None:
        try:
            self.document.data = self._plain(node, (), 0)
        except _TooMuch:
            line, column = node.start_mark.line + 1, node.start_mark.column + 1
            self.document.data = None
            self.document.faults = [Diagnostic("too_many_nodes", self.document.path, line, column)]

    def _plain(self, node: yaml.Node, path: Path_, depth: int) -> Any:
        self.count += 1
        if self.count > NODE_LIMIT or depth > DEPTH_LIMIT:
            raise _TooMuch
        self.document.marks[path] = (node.start_mark.line + 1, node.start_mark.column + 1)
        if isinstance(node, yaml.ScalarNode):
            return node.value
        if isinstance(node, yaml.SequenceNode):
            return [self._plain(child, (*path, index), depth + 1) for index, child in enumerate(node.value)]
        return self._mapping(node, path, depth)

    def _mapping(self, node: yaml.Node, path: Path_, depth: int) -> dict[str, Any]:
        data: dict[str, Any] = {}
        first: dict[str, int] = {}
        for key_node, value_node in node.value:
            line, column = key_node.start_mark.line + 1, key_node.start_mark.column + 1
            if not isinstance(key_node, yaml.ScalarNode):
                self._fault("key_not_text", line, column, found="", path=path)
                continue
            key = key_node.value
            if key in data:
                self._fault("duplicate_key", line, column, found=key, path=path, first=str(first[key]))
                continue
            first[key] = line
            data[key] = self._plain(value_node, (*path, key), depth + 1)
            # A fault of a whole section or of an unknown key is shown at its key.
            if not isinstance(value_node, yaml.ScalarNode):
                self.document.marks[(*path, key)] = (line, column)
        return data

    def _fault(self, code: str, line: int, column: int, *, found: str, path: Path_, first: str = "") -> None:
        where = (*path, found) if found else path
        params = {"found": found, "field": dotted(where) or "the file", "first": first}
        self.document.faults.append(Diagnostic(code, self.document.path, line, column, params=params))


class _TooMuch(Exception):  # noqa: N818 -- a signal inside this module, not an error of its user
    pass


def dotted(path: Path_) -> str:
    """A path as people write it: ``groups[2].mark``."""
    text = ""
    for part in path:
        text += f"[{part}]" if isinstance(part, int) else (f".{part}" if text else str(part))
    return text
