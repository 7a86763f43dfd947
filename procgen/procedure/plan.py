"""The plan of the visit: working time of each role and the waits between, from the Procedure alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from procgen.procedure.model import Procedure


@dataclass(frozen=True)
class PlanRow:
    """One step of the plan."""

    part: str
    step: str
    title: str
    role: str
    #: seconds of work and of waiting; at a timed step someone stays with the machine
    work_s: float
    wait_s: float


@dataclass(frozen=True)
class Plan:
    """Planned duration of the whole visit and of each role."""

    rows: tuple[PlanRow, ...]

    @property
    def total_s(self) -> float:
        """Seconds from first to last step, done one after the other."""
        return sum(row.work_s + row.wait_s for row in self.rows)

    @property
    def by_role(self) -> Mapping[str, float]:
        """Seconds that each role is needed, waits of its own steps included: nobody leaves a timed step."""
        totals: dict[str, float] = {}
        for row in self.rows:
            totals[row.role] = totals.get(row.role, 0.0) + row.work_s + row.wait_s
        return totals

    @property
    def waits(self) -> Mapping[str, float]:
        """Seconds of waiting by step, for the steps that have any."""
        return {row.step: row.wait_s for row in self.rows if row.wait_s}


def plan(procedure: Procedure) -> Plan:
    """Plan a visit: minutes typed for each step, waits at the high end of each timer's value, less what has
    passed of it already."""
    rows = [
        PlanRow(
            part.id,
            step.id,
            step.title,
            step.role,
            step.minutes * 60.0,
            sum(max(0.0, timer.high - timer.passed) for timer in step.timers),
        )
        for part in procedure.parts
        for step in part.steps()
    ]
    return Plan(tuple(rows))
