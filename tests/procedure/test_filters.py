# ruff: noqa: E501 -- the exact words of a fault stand on one line
"""Every filter: what it prints, what its markup says, what it refuses."""

from __future__ import annotations

from pathlib import Path

import pytest

from procgen.values.figure import Figure
from procgen.values.worksheet import Finding
from tests.procedure.kit import SOURCE, faults_of, html_of, part, render


def text_of(folder: Path, body: str, **options: object) -> str:
    return render(folder, part(body), **options).parts[0].items[0].body.text.replace("\u00a0", " ")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("body", "wanted"),
    [
        ('{{ v("fill.time") | pair }}', "4 min 25 s"),
        ('{{ v("supply.inlet_pressure") | pair }}', "3.1 bar (46 psi)"),
        ('{{ hose("H1").bore | pair }}', "8 mm (0.31 in)"),
        ('{{ fitting("F1").torque | pair }}', "12 N·m (106 lbf·in)"),
        ('{{ v("heat.time_brew", "K1") | pair }}', "10 min"),
        ('{{ v("fill.time") | span }}', "3 min 20 s – 5 min"),
        ('{{ v("drain.temperature_limit") | span }}', "60 °C (140 °F)"),
        ('{{ v("supply.inlet_pressure") | upper }}', "4.1 bar (59 psi)"),
        ('{{ v("supply.inlet_pressure") | lower }}', "2.5 bar (36 psi)"),
        ('{{ v("supply.inlet_pressure") | at_most }}', "2.5 bar (36 psi)"),
        ('{{ v("supply.inlet_pressure") | at_least }}', "4.1 bar (59 psi)"),
        ('{{ v("fill.pump_runs") | count("run") }}', "4 runs"),
        ('{{ v("fill.resets") | count("run") }}', "1 run"),
        ('{{ 1 | count("run") }}', "1 run"),
        ('{{ machine.groups | length | count("group") }}', "2 groups"),
        ('{{ v("fill.pump_runs") | count_span("run") }}', "3 to 5 runs"),
        ('{{ v("fill.resets") | count_span("run") }}', "1 run"),
        ('{{ brew_boiler("K1").material | word }}', "stainless steel"),
        ('{{ ["A", "B", "C"] | listing }}', "A, B and C"),
        ('{{ machine.groups | map(attribute="mark") | listing }}', "G1 and G2"),
        ('{{ ["A", "B"] | join("/") }}', "A/B"),
        ('{{ "one word" | sentence }}', "One word"),
        ('{{ "Tamper" | lower }}', "tamper"),
    ],
)
def test_filter_text(tmp_path: Path, body: str, wanted: str) -> None:
    assert text_of(tmp_path, body) == wanted


def test_us_reader_sees_the_other_unit_first(tmp_path: Path) -> None:
    assert text_of(tmp_path, '{{ v("supply.inlet_pressure") | pair }}', prefer="us") == "46 psi (3.1 bar)"


def test_limits_are_rounded_inward(tmp_path: Path) -> None:
    # 1.83 to 6.07 bar is 26.5 to 88.04 psi
    assert text_of(tmp_path, "{{ machine.water.inlet_pressure | limits }}") == "1.83–6.07 bar (26.6–88.0 psi)"


def test_limits_closer_than_their_step_get_more_digits(tmp_path: Path) -> None:
    from procgen.procedure.filters import inward_range

    shown, _ = inward_range("pressure_gauge", 1.02e5, 1.08e5, 1e4, "metric")
    assert shown.primary.replace("\u00a0", " ") == "1.02–1.08 bar"


def test_markup_of_a_worksheet_figure(tmp_path: Path) -> None:
    assert html_of(tmp_path, '{{ v("fill.time") | span }}') == (
        '<p><a class="q" href="figures.html#v-fill-time" data-value="fill.time" data-kind="time" '
        'data-si="264.1" data-low="201.0" data-high="299.0" data-step="5.0" data-show="span">'
        '<span class="q1">3\u00a0min\u00a020\u00a0s – 5\u00a0min</span></a></p>'
    )


def test_markup_of_a_typed_quantity(tmp_path: Path) -> None:
    assert html_of(tmp_path, '{{ hose("H1").bore | pair }}') == (
        '<p><span class="q" data-leaf="hose(H1).bore" data-kind="size" data-si="0.008" data-step="0.001" '
        'data-show="pair"><span class="q1">8\u00a0mm</span> (<span class="q2">0.31\u00a0in</span>)</span></p>'
    )


def test_a_trade_figure_carries_its_rounding(tmp_path: Path) -> None:
    assert 'data-trade="0.11298' in html_of(tmp_path, '{{ fitting("F1").torque | pair }}')


def test_a_count_of_days_is_marked_as_typed(tmp_path: Path) -> None:
    body = html_of(tmp_path, '{{ 30 | count("day") }} {{ 3 | count("run") }}')
    assert body == '<p><span class="typed">30 days</span> 3 runs</p>'


def test_value_ids_are_collected(tmp_path: Path) -> None:
    body = '{{ v("fill.time") | pair }} {{ v("fill.resets") | count("run") }} {{ v("fill.time") | span }}'
    procedure = render(tmp_path, part(body))
    assert procedure.parts[0].items[0].body.values == ("fill.time", "fill.resets")
    assert procedure.values == ("fill.time", "fill.resets")


@pytest.mark.parametrize(
    ("body", "wanted"),
    [
        (
            '{{ v("heat.curve") | pair }}',
            "'heat.curve' is a curve or table and 'pair' prints one figure; expected a figure tag",
        ),
        (
            '{{ v("hotwater.mix_temperature") | pair }}',
            "'hotwater.mix_temperature' is unavailable here (the machine has none); expected a test with "
            "available('hotwater.mix_temperature') first",
        ),
        (
            "{{ machine.name | pair }}",
            "'pair' got the text 'Copper & *Sons* <b>'; expected a worksheet value or a quantity of the profile",
        ),
        (
            "{{ 3.5 | span }}",
            "'span' got the bare number 3.5; expected a worksheet value or a quantity of the profile",
        ),
        (
            "{{ machine.options.cup_warmer | pair }}",
            "'pair' got nothing (the field is empty here); expected a worksheet value or a quantity of the "
            "profile",
        ),
        (
            '{{ v("fill.time") | count("run") }}',
            "'count' got fill.time; expected a value that counts something",
        ),
        (
            '{{ v("fill.pump_runs") | count("runn") }}',
            "no counted noun 'runn'; nearest known: run",
        ),
        (
            '{{ "stainless_stel" | word }}',
            "no word for the code 'stainless_stel'; nearest known: stainless_steel",
        ),
        (
            "{{ machine.steam_boiler.volume }}",
            "machine.steam_boiler.volume cannot be printed; expected a text, or a quantity with a filter such "
            "as '| pair'",
        ),
        (
            "{{ 3.5 }}",
            "the bare number 3.5 cannot be printed; expected a text, or a quantity with a filter such as '| pair'",
        ),
    ],
)
def test_filter_faults(tmp_path: Path, body: str, wanted: str) -> None:
    assert faults_of(tmp_path, part(body)) == [f"01-a.md:2: {wanted}"]


@pytest.mark.parametrize("code", ["safe", "tojson", "replace", "round", "default", "escape"])
def test_filters_that_would_make_markup_or_bare_figures_are_not_there(tmp_path: Path, code: str) -> None:
    (fault,) = faults_of(tmp_path, part(f"{{{{ machine.name | {code} }}}}"))
    assert fault.startswith(f"01-a.md:2: unknown filter '{code}'; nearest known: ")


def test_figures_inside_a_finding_keep_their_origin(tmp_path: Path) -> None:
    figure = Figure("pressure_gauge", 3.14e5, 2.51e5, 4.04e5, 1e4, "upper", "supply.inlet_pressure")
    finding = Finding("mains_high", "stop", "T", ("Up to ", figure, "."), ("Fit it.",), "builder", SOURCE)
    procedure = render(tmp_path, part("{{ findings[0].reason }} {{ findings[0].remedy }}"), finding)
    body = procedure.parts[0].items[0].body
    assert body.text.replace("\u00a0", " ") == "Up to 4.1 bar (59 psi). Fit it."
    assert body.values == ("supply.inlet_pressure",)
    assert 'data-show="upper"' in body.html
