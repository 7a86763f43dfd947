"""One fault of what people typed: where it is, what it is. The words stand in the message files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal


@dataclass(frozen=True)
class Diagnostic:
    """A fault with its place. ``code`` and ``params`` choose and fill the words."""

    code: str
    path: Path
    line: int | None = None
    column: int | None = None
    params: Mapping[str, str] = field(default_factory=dict)
    #: "input": it could not be read, validated or rendered (exit 2); "check": the result fails (exit 1)
    level: Literal["input", "check"] = "input"

    @property
    def sort_key(self) -> tuple[str, int, int, str]:
        """Order of printing: by file, then by place in it."""
        return (str(self.path), self.line or 0, self.column or 0, self.code)


class InputFaultsError(Exception):
    """Everything that was wrong with what was read in one run."""

    def __init__(self, faults: list[Diagnostic]) -> None:
        self.faults = sorted(set_of(faults), key=lambda fault: fault.sort_key)
        super().__init__(f"{len(self.faults)} faults in the input")


def set_of(faults: list[Diagnostic]) -> list[Diagnostic]:
    """The faults without repetitions, in the order they were found."""
    seen: dict[tuple[object, ...], Diagnostic] = {}
    for fault in faults:
        seen.setdefault((*fault.sort_key, tuple(sorted(fault.params.items()))), fault)
    return list(seen.values())
