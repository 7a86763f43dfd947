# ruff: noqa: E501 -- the exact words of a fault stand on one line
"""Every tag: what it builds, and the exact words when it is used wrongly."""

from __future__ import annotations

from pathlib import Path

import pytest

from procgen.procedure.model import Hold, Prose, Section, Step, Symptom
from tests.procedure.kit import faults_of, part, render, step, the_step


def test_items_keep_the_order_of_the_text(tmp_path: Path) -> None:
    body = """
Before.
{% section "flush", title="Flush" %}
{% step "one", title="One", role="technician", minutes=5 %}x{% endstep %}
Between.
{% hold "tight", title="Tight", by="technician" %}y{% endhold %}
{% symptom "leak", title="Leak" %}z{% endsymptom %}
After."""
    items = render(tmp_path, part(body)).parts[0].items
    assert [type(item) for item in items] == [Prose, Section, Step, Prose, Hold, Symptom, Prose]
    assert [getattr(item, "id", item.body.text if isinstance(item, Prose) else "") for item in items] == [
        "Before.",
        "a.flush",
        "a.one",
        "Between.",
        "a.tight",
        "a.leak",
        "After.",
    ]


def test_step_with_everything(tmp_path: Path) -> None:
    found = the_step(
        tmp_path,
        """{% notice "warning", hazard="scald" %}Hot water.{% endnotice %}
  Open *slowly*.

  - first
  - second
  {% reading "static", label="Static pressure", kind="pressure_gauge", target=v("supply.inlet_pressure"),
     limits=machine.water.inlet_pressure %}Fit a reducer.{% endreading %}
  {% timer "fill", label="Filling", value=v("fill.time"), timeout=machine.steam_boiler.fill_timeout,
     expected=v("fill.pump_runs"), stop=v("fill.resets") %}
  {% figure "water-schematic" %}
  {% expect %}No drop.{% endexpect %}""",
        ', hazards=["scald"], mark="W1"',
    )
    assert (found.id, found.title, found.role, found.minutes, found.hazards, found.mark) == (
        "a.one[W1]",
        "One",
        "technician",
        5.0,
        ("scald",),
        "W1",
    )
    assert [(n.signal, n.hazard, n.body.text) for n in found.notices] == [("warning", "scald", "Hot water.")]
    assert found.body.html == ("<p>Open <em>slowly</em>.</p>\n<ul>\n<li>first</li>\n<li>second</li>\n</ul>")
    assert found.body.text == "Open slowly. first second"
    assert found.figures == ("water-schematic",)
    assert found.expected is not None and found.expected.text == "No drop."
    (reading,) = found.readings
    assert (reading.id, reading.label, reading.kind) == (
        "a.one.static[W1]",
        "Static pressure",
        "pressure_gauge",
    )
    assert (reading.target, reading.low, reading.high) == (3.14e5, 1.83e5, 6.07e5)
    assert (reading.value_id, reading.outside.text, reading.line) == (
        "supply.inlet_pressure",
        "Fit a reducer.",
        8,
    )
    assert 'data-show="limits"' in reading.limits_html and 'data-show="pair"' in reading.target_html
    (timer,) = found.timers
    assert (timer.id, timer.low, timer.high, timer.timeout) == ("a.one.fill[W1]", 201.0, 299.0, 120.0)
    assert (timer.runs_expected, timer.runs_stop, timer.value_id) == (5, 1, "fill.time")


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        ("high=machine.water.inlet_pressure", "at most 6.07 bar (88.0 psi)"),
        ("low=machine.water.inlet_pressure", "at least 1.83 bar (26.6 psi)"),
        (
            "low=v('supply.inlet_pressure'), high=machine.water.inlet_pressure",
            # A computed limit holds wherever it lies in its range: its upper end is the least that may pass.
            "4.04–6.07 bar (58.6–88.0 psi)",
        ),
        ("target=machine.water.inlet_pressure", ""),
    ],
)
def test_limits_of_a_reading(tmp_path: Path, words: str, wanted: str) -> None:
    from procgen.procedure.fragments import plain_text

    tag = f'{{% reading "r", label="R", kind="pressure_gauge", {words} %}}x{{% endreading %}}'
    (reading,) = the_step(tmp_path, tag).readings
    assert plain_text(reading.limits_html).replace("\u00a0", " ") == wanted


def test_a_notice_between_steps_goes_with_the_words_after_it(tmp_path: Path) -> None:
    body = 'One.\n{% notice "danger", hazard="electricity" %}Live.{% endnotice %}\nTwo.'
    first, second = render(tmp_path, part(body)).parts[0].items
    assert (first.body.text, first.notices) == ("One.", ())
    assert (second.body.text, [n.body.text for n in second.notices]) == ("Two.", ["Live."])


def test_guards_are_the_steps_since_the_last_hold_across_parts(tmp_path: Path) -> None:
    one = '{%% step "%s", title="T", role="technician", minutes=1 %%}x{%% endstep %%}'
    hold = '{%% hold "%s", title="T", by="technician" %%}x{%% endhold %%}'
    templates = {
        "01-a.md": '{% part "a", title="A" %}' + one % "s" + hold % "h" + one % "t" + "{% endpart %}",
        "02-b.md": '{% part "b", title="B" %}' + one % "s" + hold % "h" + "{% endpart %}",
    }
    assert [hold.guards for hold in render(tmp_path, templates).holds()] == [("a.s",), ("a.t", "b.s")]


def test_a_repeated_step_is_keyed_by_mark(tmp_path: Path) -> None:
    body = (
        "{% for g in machine.groups %}"
        '{% step "run", title="Run " ~ g.mark, role="technician", minutes=1, mark=g.mark %}x{% endstep %}'
        "{% endfor %}"
    )
    assert [(s.id, s.title) for s in render(tmp_path, part(body)).steps()] == [
        ("a.run[G1]", "Run G1"),
        ("a.run[G2]", "Run G2"),
    ]


def test_steps_from_a_macro_and_an_included_file(tmp_path: Path) -> None:
    templates = part('{% from "_m.md" import run %}{{ run("one") }}{% include "_i.md" %}')
    templates["_m.md"] = (
        "{% macro run(name) %}"
        '{% step name, title="T", role="technician", minutes=1 %}{{ v("fill.time") | pair }}{% endstep %}'
        "{% endmacro %}"
    )
    templates["_i.md"] = '{% step "two", title="T", role="technician", minutes=1 %}x{% endstep %}'
    assert [s.id for s in render(tmp_path, templates).steps()] == ["a.one", "a.two"]


def test_a_literal_is_marked_as_typed(tmp_path: Path) -> None:
    found = the_step(tmp_path, "Leave {% literal %}25 mm{% endliteral %} free.")
    assert found.body.html == '<p>Leave <span class="typed">25 mm</span> free.</p>'


def test_references_become_links_with_titles(tmp_path: Path) -> None:
    templates = {
        "01-a.md": '{% part "a", title="First" %}{{ ref("b.s") }}, {{ ref("b") }}, {{ ref("b.h") }}, '
        '{{ ref("b.f", "fault") }}{% endpart %}',
        "12-b.md": '{% part "b", title="Second *part*" %}'
        '{% step "s", title="Open & close", role="technician", minutes=1, mark="G2" %}x{% endstep %}'
        '{% hold "h", title="Tight", by="technician" %}x{% endhold %}'
        '{% symptom "f", title="Leak" %}x{% endsymptom %}{% endpart %}',
    }
    body = render(tmp_path, templates).parts[0].items[0].body
    assert body.html == (
        '<p><a class="ref" href="12-b.html#s-b-s-g2-">Open &#38; close</a>, '
        '<a class="ref" href="12-b.html">Second &#42;part&#42;</a>, '
        '<a class="ref" href="12-b.html#h-b-h">Tight</a>, '
        '<a class="ref" href="12-b.html#f-b-f">fault</a></p>'
    )
    assert body.text == "Open & close, Second *part*, Tight, fault"


def test_a_template_without_a_part_yields_none(tmp_path: Path) -> None:
    templates = {"01-a.md": '{% if has_site %}{% part "a", title="A" %}x{% endpart %}{% endif %}\n'}
    assert render(tmp_path, templates).parts == ()
    assert [p.id for p in render(tmp_path, templates, with_site=True).parts] == ["a"]


READING = '{%% reading "r", label="R", kind="%s"%s %%}x{%% endreading %%}'


def test_a_reading_names_its_table(tmp_path: Path) -> None:
    with_table = READING % ("time", ", target=v('fill.time'), what_if=v('heat.curve')")
    (reading,) = the_step(tmp_path, with_table).readings
    assert reading.what_if == "heat.curve"
    assert reading.table is not None
    (plain,) = the_step(tmp_path, READING % ("time", ", target=v('fill.time')")).readings
    assert (plain.what_if, plain.table) == (None, None)


@pytest.mark.parametrize(
    ("body", "wanted"),
    [
        ('{% step "b", title="B", role="technician", minutes=1 %}x{% endstep %}',
         "'step' stands in the wrong place; expected it outside step 'a.one'"),
        ('{% hold "b", title="B", by="technician" %}x{% endhold %}',
         "'hold' stands in the wrong place; expected it outside step 'a.one'"),
        ('{% part "b", title="B" %}x{% endpart %}',
         "'part' stands in the wrong place; expected it outside every other tag"),
        ('{% section "b", title="B" %}', "'section' stands in the wrong place; expected it inside a part"),
        ('{% notice "warnin", hazard="scald" %}x{% endnotice %}',
         "unknown signal 'warnin'; nearest known: warning"),
        ('{% notice "warning", hazard="scalt" %}x{% endnotice %}',
         "unknown hazard 'scalt'; nearest known: scald"),
        ("{% expect %}x{% endexpect %}{% expect %}y{% endexpect %}",
         "a second 'expect' in step 'a.one'; expected one"),
        (READING % ("presure_gauge", ", target=machine.water.inlet_pressure"),
         "unknown kind 'presure_gauge'; nearest known: pressure_gauge"),
        (READING % ("pressure_gauge", ""),
         "reading 'a.one.r' has no target and no limit; expected at least one of target, low, high, limits"),
        (READING % ("temperature", ", target=machine.water.inlet_pressure"),
         "'a.one.r' is given a figure of kind pressure_gauge; expected temperature"),
        (READING % ("pressure_gauge", ", low=machine.water.inlet_pressure, limits=machine.water.inlet_pressure"),
         "reading 'a.one.r' has 'limits' and 'low' or 'high'; expected one way of giving them"),
        (READING % ("pressure_gauge", ", low=machine.water.inlet_pressure, high=v('supply.inlet_pressure')") * 2,
         "'a.one.r' stands twice in one step; expected each id once"),
        (READING % ("time", ", target=v('fill.time'), what_if=v('fil.what_if')"),
         "unknown value 'fil.what_if'; nearest known: fill.time"),
        (READING % ("time", ", target=v('fill.time'), what_if=v('fill.time')"),
         "reading 'a.one.r': 'fill.time' is one figure; expected a value with a table for 'what_if'"),
        (READING % ("pressure_gauge", ", target=v('supply.inlet_pressure'), what_if=v('heat.curve')"),
         "'a.one.r' is given a figure of kind time; expected pressure_gauge"),
        (READING % ("time", ", target=v('fill.time'), what_if='fill.what_if'"),
         "'what_if' got fill.what_if; expected a worksheet value or a quantity of the profile"),
        ('{% timer "t", label="T", value=machine.steam_boiler.volume %}',
         "'a.one.t' is given a figure of kind volume; expected time"),
        ('{% figure "fill-chart" %}{% figure "fill-chart" %}', "figure 'fill-chart' stands here again (first at "
         "01-a.md:3); expected each figure once in a guide"),
        ('{% figure "fil-chart" %}', "unknown figure 'fil-chart'; nearest known: fill-chart"),
        ('{{ ref("a.two") }}', "a link to 'a.two', which this guide does not have; nearest known: a.one"),
        ('{{ pumps_for("brewing") }}', "unknown duty 'brewing'; nearest known: brew"),
        ('{{ element("E7").rating | pair }}', "no element is marked 'E7'; nearest known: E1"),
        ('{{ v("fill.tme") | pair }}', "unknown value 'fill.tme'; nearest known: fill.time"),
    ],
)  # fmt: skip
def test_faults_inside_a_step(tmp_path: Path, body: str, wanted: str) -> None:
    assert faults_of(tmp_path, step(body)) == [f"01-a.md:3: {wanted}"]


@pytest.mark.parametrize(
    ("body", "wanted"),
    [
        ("{% expect %}x{% endexpect %}", "'expect' stands in the wrong place; expected it inside a step"),
        ('{% figure "f" %}', "'figure' stands in the wrong place; expected it inside a step"),
        ('{% step "b", title="B", role="technican", minutes=1 %}x{% endstep %}',
         "unknown role 'technican'; nearest known: technician"),
        ('{% step "b", title="B", role="technician", minutes="5" %}x{% endstep %}',
         "minutes=5; expected planned minutes, zero or more"),
        ('{% step "b", title="B", role="technician", minutes=1, hazards=["scalding"] %}x{% endstep %}',
         "unknown hazard 'scalding'; nearest known: scald"),
        ('{% step "B 1", title="B", role="technician", minutes=1 %}x{% endstep %}',
         "'B 1' is no id; expected small letters, digits and underscores, a letter first"),
        ('{% step "b", title="", role="technician", minutes=1 %}x{% endstep %}',
         "step 'a.b' has an empty title; expected words"),
        ('{% hold "b", title="B", by="tecnician" %}x{% endhold %}',
         "unknown role 'tecnician'; nearest known: technician"),
        ('{% step "b", titel="B", role="technician", minutes=1 %}x{% endstep %}',
         "'step' takes no 'titel'; nearest known: title"),
        ('{% step "b", title="B", minutes=1 %}x{% endstep %}', "'step' lacks role"),
        ('{% step title="B", role="technician", minutes=1 %}x{% endstep %}', "'step' lacks its id"),
        ('{% figure "b", "c" %}', "'figure' has more texts than it takes; expected 1 before the named ones"),
        ("{% expect now=1 %}x{% endexpect %}", "'expect' takes no 'now'; nearest known: nothing"),
        ('{% stp "b" %}', "unknown tag 'stp'; nearest known: step"),
        ("{% set x %}{% section 's', title='S' %}{% endset %}",
         "'a.s' was built but its place in the text was lost; expected the tag in the text itself"),
        ('{% section "s", title="S" %}{% section "s", title="S" %}',
         "section 'a.s' stands here again (first at 01-a.md:2); expected each id once, a repeated step with its "
         "mark"),
    ],
)  # fmt: skip
def test_faults_inside_a_part(tmp_path: Path, body: str, wanted: str) -> None:
    assert faults_of(tmp_path, part(body)) == [f"01-a.md:2: {wanted}"]


def test_faults_of_whole_templates(tmp_path: Path) -> None:
    whole = '{%% part "%s", title="T" %%}x{%% endpart %%}\n'
    templates = {
        "01-a.md": whole % "a" + "stray",
        "02-b.md": whole % "b" + whole % "c",
        "03-d.md": whole % "a",
        "four.md": whole % "e",
    }
    assert faults_of(tmp_path, templates) == [
        "01-a.md:1: text outside the part: 'stray'; expected everything between part and endpart",
        "02-b.md:1: a second part 'c' in one template; expected one part for each file",
        "03-d.md:1: part 'a' stands here again (first at 01-a.md:1); expected each id once, a repeated step with "
        "its mark",
        "four.md:1: 'four.md' is no template name; expected NN-name.md, or a leading underscore for one that "
        "others include",
    ]
