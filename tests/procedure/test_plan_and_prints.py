"""The plan of the visit, the fingerprints of steps, the log of branches."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from procgen.procedure.branches import Branch, BranchLog
from procgen.procedure.fingerprint import fingerprints, step_fingerprint
from procgen.procedure.plan import plan
from tests.procedure.kit import part, render, step, the_step

STEP = '{%% step "%s", title="T", role="%s", minutes=%s %%}%s{%% endstep %%}'
TIMER = '{% timer "t", label="T", value=v("fill.time") %}'


def test_plan_adds_minutes_and_the_high_end_of_waits(tmp_path: Path) -> None:
    body = STEP % ("one", "technician", 5, TIMER) + STEP % ("two", "electrician", 2.5, "x")
    body += STEP % ("three", "technician", 1, "x")
    found = plan(render(tmp_path, part(body)))
    assert found.total_s == 8.5 * 60 + 299.0
    assert found.by_role == {"technician": 6 * 60 + 299.0, "electrician": 150.0}
    assert found.waits == {"a.one": 299.0}
    assert [(row.part, row.step, row.work_s, row.wait_s) for row in found.rows] == [
        ("a", "a.one", 300.0, 299.0),
        ("a", "a.two", 150.0, 0.0),
        ("a", "a.three", 60.0, 0.0),
    ]


def test_what_passed_in_an_earlier_step_is_not_waited_for_twice(tmp_path: Path) -> None:
    """700 s of which 299 s lie behind are 401 s; what is over already is no wait, nor a gain."""
    later = '{% timer "t", label="T", value=v("heat.time_brew[K1]"), passed=v("fill.time") %}'
    over = '{% timer "t", label="T", value=v("fill.time"), passed=v("heat.time_brew[K1]") %}'
    body = "".join(STEP % (name, "technician", 1, timer) for name, timer in (("b", later), ("c", over)))
    assert plan(render(tmp_path, part(STEP % ("a", "technician", 1, TIMER) + body))).waits == {
        "a.a": 299.0,
        "a.b": 401.0,
    }


def test_fingerprint_is_of_what_the_reader_meets(tmp_path: Path) -> None:
    before = the_step(tmp_path, 'Open it. {{ v("fill.time") | pair }}')
    moved = the_step(tmp_path, '\n\n\nOpen it. {{ v("fill.time") | pair }}')
    assert before.body.line == moved.body.line
    lower = replace(before, body=replace(before.body, line=99, template="09-z.md"))
    assert step_fingerprint(before) == step_fingerprint(moved) == step_fingerprint(lower)


def test_fingerprint_follows_words_figures_limits_and_notices(tmp_path: Path) -> None:
    reading = '{%% reading "r", label="R", kind="pressure_gauge", %s %%}Stop.{%% endreading %%}'
    bodies = [
        "Open it.",
        "Open it slowly.",
        'Open it.{% figure "timeline" %}',
        'Open it.{% notice "warning", hazard="scald" %}Hot.{% endnotice %}',
        'Open it.{% notice "danger", hazard="scald" %}Hot.{% endnotice %}',
        "Open it." + reading % "high=machine.water.inlet_pressure",
        "Open it." + reading % "limits=machine.water.inlet_pressure",
        "Open it." + reading % "limits=v('supply.inlet_pressure')",
        "Open it.{% expect %}Dry.{% endexpect %}",
        "Open it." + TIMER,
    ]
    prints = [step_fingerprint(the_step(tmp_path, body)) for body in bodies]
    assert len(set(prints)) == len(bodies)


def test_a_hold_changes_with_the_steps_it_guards(tmp_path: Path) -> None:
    hold = '{% hold "h", title="H", by="technician" %}ok{% endhold %}'
    first = fingerprints(render(tmp_path, part(STEP % ("one", "technician", 1, "x") + hold)))
    second = fingerprints(render(tmp_path, part(STEP % ("one", "technician", 1, "y") + hold)))
    assert set(first) == {"a.one", "a.h"}
    assert first["a.h"] != second["a.h"]
    assert fingerprints(render(tmp_path, part(STEP % ("one", "technician", 7, "x") + hold))) == first


def test_branches_of_statements_and_inline_conditions(tmp_path: Path) -> None:
    body = (
        "{% if has_site %}a{% elif available('fill.time') %}b{% else %}c{% endif %}\n"
        "{% for g in machine.groups %}x{% else %}none{% endfor %}\n"
        "{{ 'p' if has_site else 'q' }} {{ 'r' if prefer == 'us' }}\n"
        "{% for g in machine.elements %}x{% endfor %}"
    )
    log = BranchLog()
    render(tmp_path, part(body), branches=log)
    assert [(b.line, b.label) for b in sorted(log.all)] == [
        (2, "elif"),
        (2, "else"),
        (2, "if"),
        (3, "for"),
        (3, "for nothing"),
        (4, "inline else"),
        (4, "inline else #2"),
        (4, "inline if"),
        (4, "inline if #2"),
        (5, "for"),
        (5, "for nothing"),
    ]
    taken = {(b.line, b.label) for b in log.taken}
    assert taken == {(2, "elif"), (3, "for"), (4, "inline else"), (4, "inline else #2"), (5, "for")}
    render(tmp_path, part(body), branches=log, with_site=True, prefer="us")
    assert log.untaken == [
        Branch("01-a.md", 2, "else"),
        Branch("01-a.md", 3, "for nothing"),
        Branch("01-a.md", 5, "for nothing"),
    ]
    assert [b.implied for b in log.untaken] == [False, False, True]


def test_a_branch_with_steps_still_builds_them(tmp_path: Path) -> None:
    found = the_step(tmp_path, "{% if not has_site %}No site.{% endif %}")
    assert found.body.text == "No site."
    assert [s.id for s in render(tmp_path, step("x")).steps()] == ["a.one"]
