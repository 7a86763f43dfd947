"""An edition changes with what its reader meets, and with nothing else."""

from __future__ import annotations

from dataclasses import replace

import pytest

from procgen.procedure.model import Procedure, Step
from procgen.publish.guide_pages import guide_site
from tests.publish import fakes


def edition(job: fakes.FakeJob, draw: object = fakes.draw) -> str:
    return guide_site(job, fakes.messages(), draw).edition  # type: ignore[arg-type]


def with_step(job: fakes.FakeJob, **fields: object) -> fakes.FakeJob:
    part = job.procedure.parts[2]
    step = next(part.steps())
    changed = replace(part, items=(replace(step, **fields), *part.items[1:]))  # type: ignore[arg-type]
    return replace(job, procedure=Procedure(job.guide, (*job.procedure.parts[:2], changed)))


def first_step(job: fakes.FakeJob) -> Step:
    return next(job.procedure.parts[2].steps())


def test_same_job_same_edition() -> None:
    assert edition(fakes.job()) == edition(fakes.job())


def test_a_template_line_does_not_count() -> None:
    job = fakes.job()
    step = first_step(job)
    moved = with_step(
        job, body=replace(step.body, line=99), readings=tuple(replace(r, line=8) for r in step.readings)
    )
    assert edition(moved) == edition(job)


@pytest.mark.parametrize(
    "fields",
    [
        {"title": "Another title"},
        {"minutes": 16.0},
        {"role": "electrician"},
        {"body": fakes.fragment("<p>Other words.</p>")},
        {"notices": ()},
        {"readings": ()},
        {"timers": ()},
        {"expected": None},
    ],
)
def test_what_a_step_shows_counts(fields: dict[str, object]) -> None:
    assert edition(with_step(fakes.job(), **fields)) != edition(fakes.job())


def test_a_figure_of_the_worksheet_counts() -> None:
    job = fakes.job()
    values = {**fakes.values(), "fill.time": fakes.values()["fill.time"]._replace(high=315.0)}
    assert edition(replace(job, worksheet=replace(job.worksheet, values=values))) != edition(job)


def test_a_finding_and_a_revision_count() -> None:
    job = fakes.job()
    assert edition(replace(job, worksheet=replace(job.worksheet, findings=()))) != edition(job)
    machine = replace(job.machine, data=job.machine.data.model_copy(update={"revision": "5"}))
    assert edition(replace(job, machine=machine)) != edition(job)


def test_a_drawing_counts() -> None:
    drawn = fakes.draw("water-schematic")
    assert drawn is not None
    for changed in (
        replace(drawn, svg=drawn.svg.replace("M10 60h880", "M10 60h870")),
        replace(drawn, caption="Other words."),
        replace(drawn, left_out=("The drain is not surveyed.",)),
        replace(drawn, table_html=drawn.table_html.replace("in", "out")),
    ):
        assert edition(fakes.job(), {"water-schematic": changed}.get) != edition(fakes.job())
    assert edition(fakes.job(), lambda _name: None) != edition(fakes.job())


def test_the_shown_unit_counts() -> None:
    assert edition(fakes.job(prefer="us")) != edition(fakes.job())
