"""Exercises: seeded, graded, and each answer found again by ``procgen values`` on files written for it."""

from __future__ import annotations

import json
import shutil
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml
from bs4 import Tag
from click.testing import CliRunner

from procgen.cli import main
from procgen.messages.catalog import load
from procgen.publish.printing.documents import Press, about_of
from procgen.publish.printing.exercises import LEVELS, Exercise, Lesson, lesson_of
from procgen.publish.printing.tasks import TASKS
from procgen.publish.words import Words
from procgen.units.show import read_back
from tests.conftest import ROOT
from tests.print.test_documents import EDITION, content, guide, page, texts

#: a metric site, a site in US units, a model without a site
CASES = ("ellunby-bakery", "tibbenrow-plaza", "umberlode-two")
SEED = 12


@cache
def lesson(name: str, seed: int | None = SEED, edition: str = EDITION) -> Lesson:
    return lesson_of(about_of(guide(name), Press(load(ROOT), "training", seed=seed), edition))


def values(exercise: Exercise, name: str, folder: Path) -> Any:
    """``procgen values`` on the profile and the changed survey, both as files."""
    base = folder / "machine_profiles"
    for kind in ("models", "sites"):
        (base / kind).mkdir(parents=True)
    machine = guide(name).machine.path
    shutil.copy(machine, base / "models" / machine.name)
    survey = exercise.survey.document.data
    text = yaml.safe_dump(survey, allow_unicode=True)
    (base / "sites" / f"{survey['id']}.yml").write_text(text, encoding="utf-8")
    result = CliRunner().invoke(main, ["values", survey["id"], "--format", "json", "-C", str(folder)])
    assert result.exit_code == 0, result.stderr
    return json.loads(result.stdout)


@pytest.mark.parametrize("name", CASES)
def test_the_answer_key_is_what_procgen_values_says(name: str, tmp_path: Path) -> None:
    key, exercises = page(name, "answers", seed=SEED).select(".task"), lesson(name).exercises
    assert len(key) == len(exercises) >= 9
    for printed, exercise in zip(key, exercises, strict=True):
        found = values(exercise, name, tmp_path / str(exercise.number))
        _figures_agree(printed, {value["id"]: value for value in found["values"]}, exercise)
        _verdicts_agree(printed, {one["id"]: one for one in found["findings"]}, exercise)


def _figures_agree(printed: Tag, values: dict[str, Any], exercise: Exercise) -> None:
    figures = printed.select("[data-value]")
    assert [str(figure["data-value"]) for figure in figures] == [value.id for value in exercise.asked]
    for figure, asked in zip(figures, exercise.asked, strict=True):
        value = values[str(figure["data-value"])]
        ((shown, half),) = read_back(value["kind"], _first(figure, ".key__right"))
        # Steps of a watch, and noughts that stand in for digits: coarser than the last digit shows.
        half = max(half, asked.step / 2)
        assert abs(shown - value["value"]) <= half * 1.0001, value["id"]
        if not figure.select(".key__accepted"):
            assert abs(value["high"] - value["low"]) <= 2 * half, value["id"]
            continue
        ends = read_back(value["kind"], _first(figure, ".key__accepted"))
        # The worksheet's own range lies inside what is accepted, and little more does: a last digit each way.
        digit = 2 * max(half, *(half for _, half in ends))
        assert ends[0][0] <= value["low"] + digit * 1e-6, value["id"]
        assert value["high"] <= ends[-1][0] + digit * 1e-6, value["id"]
        assert value["low"] - ends[0][0] <= 1.6 * digit, value["id"]
        assert ends[-1][0] - value["high"] <= 1.6 * digit, value["id"]


def _first(figure: Tag, css: str) -> str:
    """The first unit of a pair."""
    found = figure.select_one(css)
    assert found is not None
    return found.get_text().partition(" (")[0]


def _verdicts_agree(printed: Tag, findings: dict[str, Any], exercise: Exercise) -> None:
    verdicts = {
        str(one["data-finding"]): str(one["data-verdict"]) for one in printed.select("[data-finding]")
    }
    assert {name: findings[name]["verdict"] for name in verdicts} == verdicts
    for name, text in zip(verdicts, texts(printed, "[data-finding]"), strict=True):
        assert " ".join(findings[name]["reason"].split()) in text
    if exercise.task.id == "stops":
        stops = {name for name, one in findings.items() if one["verdict"] == "stop"}
        assert stops
        assert stops == {name for name, verdict in verdicts.items() if verdict == "stop"}


@pytest.mark.parametrize("name", CASES)
def test_a_set_is_graded_and_no_task_comes_twice(name: str) -> None:
    exercises = lesson(name).exercises
    levels = [one.task.level for one in exercises]
    assert levels == sorted(levels)
    assert set(levels) == set(LEVELS)
    assert [one.number for one in exercises] == list(range(1, len(exercises) + 1))
    assert len({one.task.id for one in exercises}) == len(exercises)


def test_same_seed_same_sheets_other_seed_other_exercises() -> None:
    first, again, other = (content("ellunby-bakery", "training", seed=seed) for seed in (12, 12, 13))
    assert first == again
    assert first != other
    told = [
        [(one.task.id, one.changes) for one in lesson("ellunby-bakery", seed).exercises] for seed in (12, 13)
    ]
    assert told[0] != told[1]


def test_the_set_follows_from_guide_and_edition_and_can_be_asked_for_again() -> None:
    sets = {
        lesson(name, None, edition).seed
        for name in ("ellunby-bakery", "tibbenrow-plaza")
        for edition in (EDITION, "fedcba987654")
    }
    assert len(sets) == 4
    by_itself = lesson("ellunby-bakery", None)
    by_number = lesson("ellunby-bakery", by_itself.seed)
    assert [one.changes for one in by_itself.exercises] == [one.changes for one in by_number.exercises]
    label = Words(load(ROOT))("print.training.set", seed=by_itself.seed)
    for document in ("training", "answers"):
        assert label in texts(page("ellunby-bakery", document), ".lesson__set")[0]


def test_what_changed_is_told_in_the_trade_s_words_and_the_site_s_units() -> None:
    for name in CASES:
        told = texts(page(name, "training", seed=SEED), ".task__change")
        assert len(told) == sum(len(one.changes) for one in lesson(name).exercises)
        assert not [text for text in told if "_" in text]
    altitudes = [
        text
        for text in texts(page("tibbenrow-plaza", "training", seed=SEED), ".task__change")
        if text.startswith("Altitude")
    ]
    assert altitudes
    assert all(
        text.partition(": ")[2].split("(")[0].replace("\u00a0", " ").rstrip().endswith("ft")
        for text in altitudes
    )


def test_exercises_give_no_answers_away() -> None:
    soup = page("ellunby-bakery", "training", seed=SEED)
    assert not soup.select(".key, [data-value], [data-verdict]")
    for printed, exercise in zip(soup.select(".task"), lesson("ellunby-bakery").exercises, strict=True):
        given = {item.name for item in exercise.given}
        assert not given & {value.id for value in (*exercise.asked, *exercise.way)}
        assert bool(printed.select(".task__figure")) == (exercise.task.level < 3 and bool(given))
        assert bool(printed.select(".task__formula")) == (exercise.task.level == 1)
        boxes = len(exercise.asked) + bool(exercise.findings and exercise.asked) or 1
        assert len(printed.select(".task__answers > div")) == boxes


def test_the_surveyed_site_is_left_as_it_is() -> None:
    site = guide("ellunby-bakery").site
    assert site is not None
    before = json.dumps(site.document.data)
    lesson("ellunby-bakery", 99)
    assert json.dumps(site.document.data) == before


def test_every_task_is_drawn_somewhere_and_has_words() -> None:
    words = Words(load(ROOT))
    drawn = {one.task.id for name in CASES for seed in (1, 2, SEED) for one in lesson(name, seed).exercises}
    assert drawn == {task.id for task in TASKS}
    assert all(words(f"print.training.task.{task.id}.{part}") for task in TASKS for part in ("title", "ask"))
