# ruff: noqa: E501 -- the exact words of a fault stand on one line
"""Seeded faults of a procedure, the order of its holds, untested branches, readiness."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from procgen.checks.coverage import check_coverage
from procgen.checks.procedure_checks import BEFORE_PART, HOLD_ORDER, check_procedure
from procgen.checks.readiness import readiness_report
from procgen.procedure.branches import BranchLog
from procgen.procedure.environment import templates_of
from procgen.procedure.model import Fragment, Hold, Notice, Part, Procedure, Reading, Step, Timer
from procgen.values.worksheet import Finding
from tests.checks.kit import said
from tests.procedure.kit import SOURCE, part, render, words, worksheet

FOLDER = Path("/templates")


def fragment(text: str = "Words.", line: int = 7) -> Fragment:
    return Fragment(f"<p>{text}</p>", text, (), "09-heat.md", line)


def a_step(item_id: str = "heat.on", **changes: Any) -> Step:
    fields: dict[str, Any] = {
        "id": item_id,
        "title": "Heat",
        "role": "technician",
        "minutes": 5.0,
        "hazards": ("scald",),
        "notices": (Notice("warning", "scald", fragment("Hot.")),),
        "body": fragment(),
        "expected": None,
        "readings": (),
        "timers": (),
        "figures": (),
    }
    return Step(**{**fields, **changes})


def a_reading(**changes: Any) -> Reading:
    fields: dict[str, Any] = {
        "id": "heat.on.pressure",
        "label": "Pressure",
        "kind": "pressure_gauge",
        "target": 1.3e5,
        "low": 1.2e5,
        "high": 1.4e5,
        "value_id": "",
        "outside": fragment("Stop."),
        "target_html": "",
        "limits_html": "",
        "line": 8,
        "template": "09-heat.md",
    }
    return Reading(**{**fields, **changes})


def faults(*items: Any, holds: tuple[str, ...] = (), before: dict[str, str] | None = None) -> list[str]:
    whole = Procedure("g", (Part("heat", "Heat", 9, items, "09-heat.md"),))
    return said(check_procedure(whole, FOLDER, holds, before or {}), FOLDER)


def test_a_sound_step() -> None:
    assert faults(a_step(readings=(a_reading(),), timers=(Timer("heat.on.t", "T", "", 5.0, 9.0),))) == []


@pytest.mark.parametrize(
    ("item", "wanted"),
    [
        (a_step(notices=()), "7: step 'heat.on' names the hazard 'scald' and has no notice for it"),
        (a_step(hazards=("scalt",), notices=()),
         "7: unknown hazard 'scalt' in 'heat.on'; nearest known: scald"),
        (a_step(role="tecnician"), "7: unknown role 'tecnician' in 'heat.on'; nearest known: technician"),
        (a_step(notices=(Notice("warning", "scald", fragment("")),)),
         "7: the notice for 'scald' in 'heat.on' has no words"),
        (a_step(notices=(Notice("warnin", "scald", fragment()),)),  # type: ignore[arg-type]
         "7: unknown signal word 'warnin' in 'heat.on'; nearest known: warning"),
        (a_step(readings=(a_reading(target=1.5e5),)),
         "8: reading 'heat.on.pressure': the target 150000 is outside its limits 120000..140000 (SI)"),
        (a_step(readings=(a_reading(target=1.0e5, high=None),)),
         "8: reading 'heat.on.pressure': the target 100000 is outside its limits 120000.. (SI)"),
        (a_step(readings=(a_reading(low=1.5e5),)),
         "8: reading 'heat.on.pressure': the lower limit 150000 is above the upper 140000 (SI)"),
        (a_step(readings=(a_reading(outside=fragment("")),)),
         "8: reading 'heat.on.pressure' does not say what to do outside its limits"),
        (a_step(timers=(Timer("heat.on.t", "T", "", 9.0, 5.0),)),
         "7: timer 'heat.on.t' runs from 9 to 5 seconds; expected more than nothing, and the lower first"),
        (a_step(timers=(Timer("heat.on.t", "T", "", 5.0, 9.0, 120.0, 5, 4),)),
         "7: timer 'heat.on.t' expects 5 runs and stops at 4; expected the stop not to come first"),
        (Hold("heat.h", "H", "nobody", fragment()),  # type: ignore[arg-type]
         "7: unknown role 'nobody' in 'heat.h'; nearest known: builder, electrician, owner, planner, technician, "
         "water_expert"),
    ],
)  # fmt: skip
def test_a_seeded_fault(item: Any, wanted: str) -> None:
    assert faults(item) == [f"09-heat.md:{wanted}"]


def test_ids_are_unique() -> None:
    assert faults(a_step(), a_step(body=fragment(line=20))) == [
        "09-heat.md:20: 'heat.on' stands here again (first at 09-heat.md:7); expected each id once"
    ]


def test_holds_are_present_and_in_order() -> None:
    first = Hold("a.first", "F", "technician", fragment(line=1))
    second = Hold("a.second", "S", "technician", fragment(line=2))
    order = ("a.first", "a.second", "a.third")
    assert faults(second, first, holds=order) == [
        ".: the hold 'a.third' is missing; expected every guide to have it",
        "09-heat.md:2: the hold 'a.second' comes before 'a.first'; expected it after",
    ]
    assert faults(first, second, holds=order[:2]) == []


def test_no_heating_before_the_hold_before_heat() -> None:
    hold = Hold("bleed.before_heat", "B", "technician", fragment())
    before = {"heat": BEFORE_PART["heat"]}
    wanted = "09-heat.md:7: step 'heat.on' comes before the hold 'bleed.before_heat'; expected it after"
    assert faults(a_step(), hold, before=before) == [wanted]
    assert faults(hold, a_step(), before=before) == []


def test_electrical_work_is_confirmed_by_the_electrician() -> None:
    hold = Hold("heat.h", "H", "technician", fragment(line=30), guards=("heat.on",))
    assert faults(a_step(role="electrician"), hold) == [
        "09-heat.md:30: the hold 'heat.h' covers electrical work and is confirmed by 'technician'; expected the "
        "electrician"
    ]
    assert faults(a_step(role="electrician"), replace(hold, by="electrician")) == []
    assert faults(a_step(), hold) == []


def test_the_fixed_order_ends_cold_before_hot() -> None:
    order = list(HOLD_ORDER)
    assert order.index("water.cold_leak_check") < order.index("electrical.dead_tests")
    assert order.index("electrical.live_tests") < order.index("bleed.before_heat")
    assert order.index("bleed.before_heat") < order.index("heat.hot_leak_check")


def test_untested_branches(tmp_path: Path) -> None:
    log = BranchLog()
    body = "{% if has_site %}\na{% endif %}\n{% for g in machine.groups %}x{% endfor %}"
    render(tmp_path, part(body), branches=log)
    wanted = "01-a.md:2: no guide takes the branch 'if'; expected a profile or survey that does"
    assert said(check_coverage(log, tmp_path), tmp_path) == [wanted]
    assert said(check_coverage(log, tmp_path, empty_loops=True), tmp_path) == [
        wanted,
        "01-a.md:4: no guide takes the branch 'for nothing'; expected a profile or survey that does",
    ]
    render(tmp_path, part(body), branches=log, with_site=True)
    assert check_coverage(log, tmp_path) == []


def test_templates_are_looked_at_without_a_guide(tmp_path: Path) -> None:
    (tmp_path / "01-a.md").write_text(
        '{% part "a", title="A" %}\n{% if has_site %}Wait 5 min.{{ sit.x }}{% endif %}\n{% endpart %}'
    )
    faults = [replace(fault, level="check") for fault in templates_of(tmp_path).faults]
    assert said(faults, tmp_path) == [
        "01-a.md:2: '5 min' is typed; expected a figure from a filter, or literal and endliteral around it",
        "01-a.md:2: unknown name 'sit'; nearest known: site",
    ]


def finding(identifier: str, verdict: Any) -> Finding:
    return Finding(identifier, verdict, "T", (f"Because {identifier}.",), ("Do it.",), "builder", SOURCE)


def test_readiness_report() -> None:
    ready = replace(worksheet(finding("drain_fall", "pass")), guide="b")
    stopped = replace(worksheet(finding("reducer", "attention"), finding("drain_rise", "stop")), guide="a")
    report = readiness_report([ready, stopped])
    assert report.guides == (("a", "not_ready"), ("b", "ready"))
    assert report.not_ready == ("a",)
    assert [(line.guide, line.verdict, line.finding, line.reason, line.who) for line in report.of("a")] == [
        ("a", "stop", "drain_rise", "Because drain_rise.", "builder"),
        ("a", "attention", "reducer", "Because reducer.", "builder"),
    ]
    assert report.of("b") == ()


def test_every_code_of_the_checks_has_words() -> None:
    here = Path(__file__).parents[2] / "procgen"
    import re

    found: Callable[[Path], set[str]] = lambda path: set(  # noqa: E731
        re.findall(r'"((?:check|template)_[a-z_]+)"', path.read_text(encoding="utf-8"))
    )
    codes = set().union(
        *(found(p) for folder in ("checks", "procedure") for p in (here / folder).glob("*.py"))
    )
    assert len(codes) > 60
    assert [code for code in sorted(codes) if not words().has(f"diagnostics.{code}")] == []
    unused = [
        key
        for key in words().keys()  # noqa: SIM118
        if key.startswith(("diagnostics.check_", "diagnostics.template_"))
        and key.removeprefix("diagnostics.") not in codes
    ]
    assert unused == []
