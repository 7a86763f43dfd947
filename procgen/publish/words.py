"""The few words and durations that every page shares."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from procgen.messages.catalog import Messages


@dataclass(frozen=True, slots=True)
class Words:
    """Messages of the guide site, by their short key."""

    messages: Messages

    def __call__(self, key: str, **params: Any) -> str:
        """The words under ``site.``."""
        return self.messages.text(f"site.{key}", **params)

    def counted(self, noun: str, number: int) -> str:
        """``1 step``, ``3 steps``."""
        form = "one" if number == 1 else "other"
        return self(f"counted.{noun}.{form}", n=number)

    def role(self, role: str) -> str:
        """A role's name."""
        return self(f"role.{role}")
