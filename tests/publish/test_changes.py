"""What a build says of an edit: which steps and figures, in which guides."""

from __future__ import annotations

import json
from pathlib import Path

from procgen.messages.catalog import Messages
from procgen.publish.changes import MOST_LINES, Edition, change_lines, compare, read_editions


def edition(name: str, steps: dict[str, str], figures: dict[str, str] | None = None) -> Edition:
    return Edition(
        name,
        {step: (step.title(), content) for step, content in steps.items()},
        {figure: (figure.title(), shown) for figure, shown in (figures or {}).items()},
    )


BEFORE = {
    "one": edition("1a", {"pour": "x", "look": "y"}, {"time": "4 min"}),
    "two": edition("2a", {"pour": "x", "look": "y"}, {"time": "5 min"}),
    "three": edition("3a", {"pour": "x"}, {"time": "6 min"}),
}


def test_nothing_to_compare_with_is_nothing_to_say(messages: Messages) -> None:
    assert change_lines(compare({}, BEFORE), messages) == []


def test_the_same_says_so(messages: Messages) -> None:
    assert change_lines(compare(BEFORE, dict(BEFORE)), messages) == ["Every guide says what was published."]


def test_a_step_names_the_guides_in_which_it_changed(messages: Messages) -> None:
    after = {
        **BEFORE,
        "one": edition("1b", {"pour": "x", "look": "new"}, {"time": "4 min"}),
        "two": edition("2b", {"pour": "x", "look": "new"}, {"time": "5 min"}),
    }
    assert change_lines(compare(BEFORE, after), messages) == [
        "Compared with what was published:",
        "  step look (Look) says something else: one, two",
    ]


def test_all_guides_are_counted_not_listed(messages: Messages) -> None:
    after = {
        name: edition(name, {**{s: c for s, (_, c) in one.steps.items()}, "pour": "new"}, {"time": "4 min"})
        for name, one in BEFORE.items()
    }
    said = change_lines(compare(BEFORE, after), messages)
    assert "  step pour (Pour) says something else: all 3 guides" in said
    assert "  figure time (Time) is another: two, three" in said


def test_one_guide_s_figure_is_told_before_and_now(messages: Messages) -> None:
    after = {**BEFORE, "two": edition("2b", {"pour": "x", "look": "y"}, {"time": "7 min"})}
    assert change_lines(compare(BEFORE, after), messages)[1:] == [
        "  figure time (Time), 5 min before, 7 min now: two"
    ]


def test_what_came_and_what_went(messages: Messages) -> None:
    after = {
        "one": edition("1b", {"pour": "x", "wipe": "z"}, {"cost": "9"}),
        "two": BEFORE["two"],
        "four": BEFORE["one"],
    }
    assert change_lines(compare(BEFORE, after), messages)[1:] == [
        "  step wipe (Wipe) is new: one",
        "  step look (Look) is gone: one",
        "  figure cost (Cost) is new: one",
        "  figure time (Time) is gone: one",
        "  guides that were not there before: four",
        "  guides that are no longer there: three",
    ]


def test_an_edition_without_another_step_or_figure_is_told_too(messages: Messages) -> None:
    after = {**BEFORE, "three": edition("3b", {"pour": "x"}, {"time": "6 min"})}
    assert change_lines(compare(BEFORE, after), messages)[1:] == [
        "  only looks, drawings or how figures are computed: three"
    ]


def test_a_long_list_is_cut_and_counted(messages: Messages) -> None:
    many = {f"step{n}": "x" for n in range(MOST_LINES + 3)}
    changed = dict.fromkeys(many, "new")
    after = {"one": edition("b", changed)}
    said = change_lines(compare({"one": edition("a", many)}, after), messages)
    assert len(said) == MOST_LINES + 2
    assert said[-1] == "  and 3 steps more"


def test_a_file_that_cannot_be_read_counts_as_not_there(tmp_path: Path) -> None:
    good = {
        "schema": 1,
        "edition": "e1",
        "parts": [{"steps": [{"id": "pour", "title": "Pour", "print": "p"}]}],
        "values": [{"id": "time", "title": "Time", "shown": "4 min"}],
    }
    contents = ["{broken", json.dumps({**good, "schema": 2}), json.dumps({"schema": 1}), "[]"]
    for name, content in zip("abcd", contents, strict=True):
        (tmp_path / name).mkdir()
        (tmp_path / name / "edition.json").write_text(content, encoding="utf-8")
    (tmp_path / "good").mkdir()
    (tmp_path / "good" / "edition.json").write_text(json.dumps(good), encoding="utf-8")
    assert read_editions(tmp_path) == {
        "good": Edition("e1", {"pour": ("Pour", "p")}, {"time": ("Time", "4 min")})
    }
    assert read_editions(tmp_path / "nowhere") == {}
