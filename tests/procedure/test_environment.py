# ruff: noqa: E501 -- the exact words of a fault stand on one line
"""The sandbox: what is unknown or forbidden is told with its place, and data never becomes markup."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace as Thing

import pytest

from procgen.procedure.environment import templates_of
from tests.procedure import kit
from tests.procedure.kit import faults_of, html_of, part, render, step


@pytest.mark.parametrize(
    ("body", "wanted"),
    [
        ("{{ machne.name }}", "unknown name 'machne'; nearest known: machine"),
        ("{% if false %}{{ sit.name }}{% endif %}", "unknown name 'sit'; nearest known: site"),
        ("{{ machine.nam }}", "unknown field 'machine.nam'; nearest known: name"),
        ("{% set q = machine.steam_boiler.volum %}", "unknown field 'machine.steam_boiler.volum'; nearest known: "
         "volume"),
        ('{{ machine["groups"][0].marc }}', "unknown field 'machine.groups[0].marc'; nearest known: mark"),
        ("{{ machine.groups[7].mark }}", "item 7 of a list of 2; expected one that exists"),
        ("{{ site.altitude }}", "'altitude' is asked of something that is empty here; expected a test for it "
         "first, such as 'if site.altitude'"),
        ("{{ machine.name | upperr }}", "unknown filter 'upperr'; nearest known: upper"),
        ("{{ 1 is evn }}", "unknown test 'evn'; nearest known: even"),
        ("{{ 1 / 0 }}", "the template cannot be rendered: division by zero"),
        ('{{ "a" % 3 }}', "the template cannot be rendered: '%' takes numbers; use ~ for texts"),
        ("{{ machine.steam_boiler.volume > 3 }}",
         "the template cannot be rendered: '>' not supported between instances of 'View' and 'int'"),
        ("{% for i in range(10000000) %}{% endfor %}", "the template cannot be rendered: Range too big. The "
         "sandbox blocks ranges larger than MAX_RANGE (100000)."),
        ("{% macro m() %}{{ m() }}{% endmacro %}{{ m() }}", "the template calls itself without end"),
        ('{% include "_none.md" %}', "no template '_none.md' in the procedure folder"),
        ("{{ machine.groups }}", "a tuple cannot be printed; expected a text, or a quantity with a filter such as "
         "'| pair'"),
        ("{{ site }}", "nothing (the field is empty here) cannot be printed; expected a text, or a quantity with "
         "a filter such as '| pair'"),
        ("{{ has_site }}", "the answer False cannot be printed; expected a text, or a quantity with a filter such "
         "as '| pair'"),
        ("{{ (1).real.__class__ }}", "unknown field '__class__'; nearest known: as_integer_ratio, bit_count, "
         "bit_length, conjugate, denominator, from_bytes, …"),
        ("{{ machine.name. }}", "not a template: expected name or number"),
    ],
)  # fmt: skip
def test_faults_have_their_line_and_the_nearest_known(tmp_path: Path, body: str, wanted: str) -> None:
    assert faults_of(tmp_path, part("Words.\n" + body)) == [f"01-a.md:3: {wanted}"]


def test_a_block_left_open(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, part("{% if has_site %}"))
    assert fault.startswith(
        "01-a.md:3: not a template: Encountered unknown tag 'endpart'. You probably made a"
    )
    assert fault.endswith("The innermost block that needs to be closed is 'if'.")


def test_a_fault_in_a_macro_is_told_at_the_macro(tmp_path: Path) -> None:
    templates = part('{% from "_m.md" import m %}\n{{ m() }}')
    templates["_m.md"] = "{% macro m() %}\n\n{{ machine.nme }}\n{% endmacro %}"
    assert faults_of(tmp_path, templates) == ["_m.md:3: unknown field 'machine.nme'; nearest known: name"]


def test_every_fault_of_every_template_is_told(tmp_path: Path) -> None:
    bad = '{% step "x", title="X", role="technician", minutes=1 %}{{ machine.nme }}{% endstep %}\n'
    templates = {
        "01-a.md": '{% part "a", title="A" %}\n' + bad + bad.replace('"x"', '"y"') + "{% endpart %}",
        "02-b.md": '{% part "b" %}{% endpart %}',
        "03-c.md": '{% part "c", title="C" %}{{ machine.tools }}{% endpart %}',
    }
    assert faults_of(tmp_path, templates) == [
        "01-a.md:2: unknown field 'machine.nme'; nearest known: name",
        "01-a.md:3: unknown field 'machine.nme'; nearest known: name",
        "02-b.md:1: 'part' lacks title",
        "03-c.md:1: unknown field 'machine.tools'; nearest known: options",
    ]


def test_a_file_that_is_not_text(tmp_path: Path) -> None:
    (tmp_path / "01-a.md").write_bytes(b"\xff\xfe")
    (fault,) = faults_of(tmp_path, {})
    assert fault.startswith("01-a.md: the file cannot be read: 'utf-8' codec can't decode byte 0xff")


def test_a_reserved_character(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, part("\ue000"))
    assert fault == "01-a.md:2: the character U+E000 is kept for the program; expected text without it"


HOSTILE = [
    "Copper & *Sons* <b>",
    "# 1. [x](http://a) `y` |",
    "<script>alert(1)</script>",
    "{{ 7*7 }} {% x %}",
]


@pytest.mark.parametrize("name", HOSTILE)
@pytest.mark.parametrize(
    "body",
    [
        "{{ machine.name }}",
        '{{ "" ~ machine.name }}',
        '{{ machine.name ~ "" }}',
        '{% macro m(x) %}{{ x }}{% endmacro %}{{ m(machine.name) ~ "" }}',
        "{% macro m() %}{% endmacro %}{{ m() ~ machine.name }}",
        "{% macro m() %}{% endmacro %}{{ m() + machine.name }}",
        "{{ [machine.name] | listing }}",
        "{{ [machine.name] | join }}",
        "{{ machine.name | trim }}",
        "{% set x %}{{ machine.name }}{% endset %}{{ x }}",
    ],
)
def test_data_is_never_markup(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, body: str) -> None:
    changed = kit.machine()
    changed.name = name
    monkeypatch.setattr(kit, "machine", lambda: changed)
    item = render(tmp_path, part(body)).parts[0].items[0]
    assert item.body.text == name
    assert item.body.html.count("<") == 2  # the paragraph and nothing else


def test_data_inside_an_attribute_stays_inside_it(tmp_path: Path) -> None:
    body = html_of(tmp_path, '<span title="{{ machine.name }}">x</span>')
    assert body == '<p><span title="Copper &#38; &#42;Sons&#42; &#60;b&#62;">x</span></p>'


def test_data_with_a_quantity_in_it_is_marked_as_typed(tmp_path: Path) -> None:
    assert (
        html_of(tmp_path, "{{ machine.options.note }}") == '<p><span class="typed">thread of 10 mm</span></p>'
    )


def test_objects_cannot_be_changed(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, part("{{ [1].append(2) }}"))
    assert fault.startswith("01-a.md:2: ")


def test_marks_of_a_look_up_are_compared_as_text(tmp_path: Path) -> None:
    body = '{% if element("E1") == machine.elements[0] and pump("P2").mark == "P2" %}same{% endif %}'
    assert html_of(tmp_path, body) == "<p>same</p>"


def test_look_ups_and_context(tmp_path: Path) -> None:
    body = (
        '{{ variant.name }} {{ prefer }} {{ readiness }} {{ inlet("W1").mark }} {{ why("fill.time") }}'
        '{{ why("hotwater.mix_temperature") }} {{ pumps_for("cold_water") | map(attribute="mark") | listing }}'
        '{% if available("fill.time") and not available("hotwater.mix_temperature") %} yes{% endif %}'
    )
    wanted = "<p>{} metric ready W1 the machine has none P2 yes</p>"
    assert html_of(tmp_path, body) == wanted.format("One")
    assert html_of(tmp_path, body, with_site=True) == wanted.format("Two")


def test_templates_are_compiled_once_for_the_same_content(tmp_path: Path) -> None:
    (tmp_path / "01-a.md").write_text('{% part "a", title="A" %}x{% endpart %}')
    first = templates_of(tmp_path)
    assert templates_of(tmp_path) is first
    (tmp_path / "01-a.md").write_text('{% part "a", title="A" %}y{% endpart %}')
    assert templates_of(tmp_path) is not first


def test_the_same_input_gives_the_same_procedure(tmp_path: Path) -> None:
    templates = step('{{ v("fill.time") | span }} {{ machine.name }}')
    assert render(tmp_path, templates) == render(tmp_path, templates)


def test_a_thing_has_no_private_names(tmp_path: Path) -> None:
    from procgen.procedure.views import View

    assert View(Thing(a=1, _b=2), "thing").names() == ["a"]
