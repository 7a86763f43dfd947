"""Which lines of the floor each test runs, kept for as long as the files it builds on are the same."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from .where import TRACES, fingerprint

Line = tuple[str, int]
Trace = tuple[float, list[Line]]


class Traces:
    """Seconds and lines by test, in one file beside the verdicts."""

    def __init__(self, path: Path = TRACES) -> None:
        self.path = path
        self.files: dict[str, dict[str, Trace]] = {}
        if path.is_file():
            self.files = json.loads(path.read_text(encoding="utf-8"))

    def _of(self, item: pytest.Item) -> dict[str, Trace]:
        return self.files.setdefault(f"{item.path.name} {fingerprint(item.path)}", {})

    def get(self, item: pytest.Item) -> Trace | None:
        """What is known of a test."""
        return self._of(item).get(item.nodeid)

    def put(self, item: pytest.Item, seconds: float, lines: list[Line]) -> None:
        """Keep what one run showed."""
        self._of(item)[item.nodeid] = seconds, lines

    def save(self) -> None:
        """Write the file."""
        self.path.parent.mkdir(parents=True, exist_ok=True)
        self.path.write_text(json.dumps(self.files), encoding="utf-8")
