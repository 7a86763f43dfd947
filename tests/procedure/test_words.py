"""Typed quantities in templates, Markdown fragments, anchors."""

from __future__ import annotations

from pathlib import Path

import pytest

from procgen.procedure.anchors import anchor, part_page, slug, value_href
from procgen.procedure.fragments import convert, dedent, plain_text
from procgen.procedure.typed import typed_quantities
from tests.procedure.kit import faults_of, html_of, part, render


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("Wait 5 minutes.", "5 minutes"),
        ("Leave 25 mm free.", "25 mm"),
        ("at 93 °C", "93 °C"),
        ("at 93\u00a0°C", "93 °C"),
        ("set 4.2 bar", "4.2 bar"),
        ("set 60psi", "60psi"),
        ("about 1.5 L of water", "1.5 L"),
        ("40 mL", "40 mL"),
        ("for 30 s", "30 s"),
        ("230 V between", "230 V"),
        ("a 16 A device", "16 A"),
        ("3.5 kW", "3.5 kW"),
        ("12 N·m", "12 N·m"),
        ("12 Nm", "12 Nm"),
        ("80 %", "80 %"),
        ("30 kg", "30 kg"),
        ("2–3 litres", "2–3 litres"),
        ("2 to 3 seconds", "2 to 3 seconds"),
        ("a fall of 1:40", "1:40"),
        ("450 µS/cm", "450 µS/cm"),
        ("two minutes", "two minutes"),
        ("a few seconds", "a few seconds"),
        ("half a litre", "half a litre"),
        ("twenty degrees Celsius", "twenty degrees Celsius"),
        ("AWG 12", "AWG 12"),
        ("a 30-second run", "30-second"),
    ],
)
def test_typed_quantity_is_found(tmp_path: Path, words: str, found: str) -> None:
    assert faults_of(tmp_path, part(f"One.\n{words}")) == [
        f"01-a.md:3: '{found}' is typed; expected a figure from a filter, or literal and endliteral around it"
    ]


@pytest.mark.parametrize(
    "words",
    [
        "Run group 2 in the order shown.",
        "Step 3 and 4.",
        "See clause 5.2.1.",
        "EN 1717 and ISO 3864-2",
        "the 3 groups",
        "one person",
        "switch to position 2",
        "L1, L2 and N",
        "every day",
    ],
)
def test_words_that_are_no_quantity(words: str) -> None:
    assert [m.group() for m in typed_quantities(words, words=True)] == []


def test_titles_are_looked_at_and_literals_are_not(tmp_path: Path) -> None:
    body = (
        '{% step "s", title="Wait 5 min", role="technician", minutes=1 %}'
        "{% literal %}25 mm{% endliteral %}{# 30 s #}{% endstep %}"
    )
    assert faults_of(tmp_path, part(body)) == [
        "01-a.md:2: '5 min' is typed; expected a figure from a filter, or literal and endliteral around it"
    ]


def test_dedent_keeps_what_is_indented_further() -> None:
    assert dedent("\n    - a\n      more\n    - b\n") == "- a\n  more\n- b"
    assert dedent("first\n    second\n      third") == "first\nsecond\n  third"


def test_indented_words_are_no_code(tmp_path: Path) -> None:
    assert html_of(tmp_path, "\n        Deeply indented.\n") == "<p>Deeply indented.</p>"


def test_tables_lists_and_definitions(tmp_path: Path) -> None:
    body = html_of(
        tmp_path,
        '| a | b |\n| --- | --- |\n| {{ v("fill.time") | pair }} | {{ "x|y" }} |\n\nTerm\n:   Meaning\n',
    )
    assert "<td>x&#124;y</td>" in body
    assert "<dt>Term</dt>" in body and "<dd>Meaning</dd>" in body
    assert body.count("<td>") == 2


def test_the_same_words_are_converted_once(tmp_path: Path) -> None:
    render(tmp_path, part('It takes {{ v("fill.time") | pair }} at {{ machine.name }}.'))
    before = convert.cache_info()
    render(tmp_path, part('It takes {{ v("heat.time_brew", "K1") | pair }} at {{ prefer }}.'))
    after = convert.cache_info()
    assert (after.hits - before.hits, after.misses) == (1, before.misses)


def test_plain_text() -> None:
    assert plain_text("<p>a&#42;<b>b</b></p><ul><li>c</li></ul>") == "a*b c"


def test_anchors() -> None:
    assert anchor("value", "heat.time_brew[K2]") == "v-heat-time_brew-k2-"
    assert anchor("step", "fill.bleed[Δ1]") == "s-fill-bleed-x3b41-"
    assert slug("a[Δ1]") != slug("a[Ω1]")
    assert slug("a[A+]") != slug("a[A-]")
    assert value_href("fill.time") == "figures.html#v-fill-time"
    assert part_page(4, "water") == "04-water.html"
