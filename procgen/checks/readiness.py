"""How ready each guide's site is: its stops and points of attention, who must act, in one report."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class ReadinessLine:
    """One finding of one guide that is no pass."""

    guide: str
    finding: str
    verdict: str
    reason: str
    remedy: str
    who: str


@dataclass(frozen=True)
class Readiness:
    """The guides by readiness, and what stands in their way."""

    guides: tuple[tuple[str, str], ...]
    lines: tuple[ReadinessLine, ...]

    def of(self, guide: str) -> tuple[ReadinessLine, ...]:
        """What stands in one guide's way, stops first."""
        return tuple(line for line in self.lines if line.guide == guide)

    @property
    def not_ready(self) -> tuple[str, ...]:
        """Guides with a stop."""
        return tuple(guide for guide, readiness in self.guides if readiness == "not_ready")


def readiness_report(worksheets: Iterable[Any]) -> Readiness:
    """Collect the stops and attentions of worksheets, guides in order, stops before attentions."""
    guides = []
    lines = []
    for worksheet in sorted(worksheets, key=lambda sheet: str(sheet.guide)):
        guides.append((worksheet.guide, worksheet.readiness))
        for verdict in ("stop", "attention"):
            lines += [
                ReadinessLine(worksheet.guide, f.id, f.verdict, f.reason, f.remedy, f.who)
                for f in worksheet.findings
                if f.verdict == verdict
            ]
    return Readiness(tuple(guides), tuple(lines))
