"""One guide from what people typed: values, findings, procedure, and the plan that follows from its steps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from procgen.engineering.sources import ARITHMETIC
from procgen.messages.catalog import Messages
from procgen.procedure.branches import BranchLog
from procgen.procedure.model import Procedure
from procgen.procedure.plan import Plan, PlanRow, plan
from procgen.procedure.render import render_procedure
from procgen.profiles.loader import Loaded
from procgen.profiles.machine import Machine
from procgen.profiles.site import Site
from procgen.profiles.workspace import GuideInput
from procgen.values import evaluate
from procgen.values.worksheet import Input, Value, Worksheet

#: Planned times are read off a clock, not a stopwatch.
PLAN_STEP = 300.0


@dataclass(frozen=True)
class Assembled:
    """Everything of one guide that an output reads."""

    guide: str
    machine: Loaded[Machine]
    site: Loaded[Site] | None
    worksheet: Worksheet
    procedure: Procedure


def assemble(
    guide: GuideInput, templates: Path, messages: Messages, branches: BranchLog | None = None
) -> Assembled:
    """Evaluate, render and plan one guide.

    Raises:
        InputFaultsError: everything that is wrong with the templates.
    """
    worksheet = evaluate(guide, messages)
    procedure = render_procedure(worksheet, guide.machine, guide.site, templates, messages, branches)
    values = {**worksheet.values, **plan_values(procedure, messages)}
    return Assembled(guide.guide, guide.machine, guide.site, replace(worksheet, values=values), procedure)


def plan_values(procedure: Procedure, messages: Messages) -> Mapping[str, Value]:
    """``time.total`` and ``time.by_role``: they follow from the steps, so the worksheet gets them last."""
    visit = plan(procedure)
    heading = messages.raw("values.titles.time.by_role")
    members = {}
    for role, seconds in visit.by_role.items():
        if seconds > 0:
            name = f"time.by_role[{role}]"
            steps = tuple(_step_input(row, f"t_{i}") for i, row in enumerate(_rows_of(visit, role), 1))
            members[name] = _time_value(name, f"{heading} {messages.word(role)}", seconds, steps)
    inputs = tuple(
        Input(name, "value", "", "time", v.value, v.value, v.value, PLAN_STEP, f"t_{i}")
        for i, (name, v) in enumerate(members.items(), 1)
    )
    total = _time_value("time.total", messages.raw("values.titles.time.total"), visit.total_s, inputs)
    return {"time.total": total, **members}


def _rows_of(visit: Plan, role: str) -> list[PlanRow]:
    return [row for row in visit.rows if row.role == role and row.work_s + row.wait_s > 0]


def _step_input(row: PlanRow, symbol: str) -> Input:
    seconds = row.work_s + row.wait_s
    return Input(row.step, "procedure", row.title, "time", seconds, seconds, seconds, 1.0, symbol)


def _time_value(name: str, title: str, seconds: float, inputs: tuple[Input, ...]) -> Value:
    return Value(
        id=name,
        kind="time",
        title=title,
        status="ok",
        why="",
        value=seconds,
        low=seconds,
        high=seconds,
        step=PLAN_STEP,
        series=None,
        formula=" + ".join(item.symbol for item in inputs),
        residual="",
        inputs=inputs,
        source=ARITHMETIC,
        group="time",
    )
