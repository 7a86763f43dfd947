"""How figures of a worksheet read: predicted ranges outward, permitted limits inward, alike everywhere."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from procgen.checks.figures import page_faults
from procgen.checks.html import Page
from procgen.cli import main
from procgen.procedure.filters import extreme
from procgen.publish.quantities import value_text
from procgen.units.kinds import Preference
from procgen.units.show import Shown, read_back
from procgen.values import Value
from procgen.values.shown import shown_pair, shown_span
from tests.conftest import ROOT
from tests.values.kit import GUIDES, sheet

#: what may not be passed, and on which side: the trade's own sense of each
AT_MOST = {
    "steam.set_maximum",
    "brew.temperature_limit",
    "supply.window_high",
    "electrical.loop_impedance_maximum",
    "electrical.continuity_maximum",
    "electrical.trip_time_maximum",
    "electrical.voltage_high",
    "electrical.voltage_line_high",
    "drain.temperature_limit",
    "handling.weight_limit",
}
AT_LEAST = {
    "supply.window_low",
    "electrical.insulation_minimum",
    "electrical.voltage_low",
    "electrical.voltage_line_low",
    "drain.fall_required",
    "drain.air_gap",
}
BOTH: list[Preference] = ["metric", "us"]


def figures_of(name: str) -> list[Value]:
    return [value for value in sheet(name).values.values() if value.ok and value.value is not None]


def ends(value: Value, shown: Shown) -> list[tuple[float, float]]:
    """Lowest and highest of each text, read back."""
    texts = [text for text in (shown.primary, shown.secondary) if text]
    found = [[si for si, _ in read_back(value.kind, text)] for text in texts]
    return [(min(one), max(one)) for one in found]


@pytest.mark.parametrize("name", GUIDES)
def test_every_figure_errs_to_the_safe_side(name: str) -> None:
    for value in figures_of(name):
        low, high = value.low, value.high
        assert low is not None
        assert high is not None
        # Float noise, and the conversion of what was typed.
        noise = 1e-9 * max(abs(low), abs(high), 1e-3)
        base = value.id.partition("[")[0]
        assert (value.limit == "at_most") == (base in AT_MOST), value.id
        assert (value.limit == "at_least") == (base in AT_LEAST), value.id
        for prefer in BOTH:
            for least, most in ends(value, shown_span(value, prefer)):
                if value.limit == "at_most":
                    assert most <= low + noise, value.id
                elif value.limit == "at_least":
                    assert least >= high - noise, value.id
                elif high - low > value.step * 1e-6 and value.kind != "area":
                    assert least <= low + noise, value.id
                    assert most >= high - noise, value.id


@pytest.mark.parametrize("name", ["ellunby-bakery", "wexlode-corner", "umberlode-two"])
def test_the_table_says_what_pages_say(name: str) -> None:
    """``procgen values`` against the figure of a step, of a finding and of the calculation's page."""
    made = sheet(name)
    told = CliRunner().invoke(main, ["values", name, "--workspace", str(ROOT)]).stdout.splitlines()
    lines = {" ".join(line.split()) for line in told}
    limits = [value for value in figures_of(name) if value.limit]
    assert len(limits) >= 8
    for value in figures_of(name):
        line = f"{value.id} {shown_span(value, made.prefer).text}"
        assert " ".join(line.split()) in lines, value.id
    for value in limits:
        assert value.limit is not None
        high = value.limit == "at_most"
        in_step = extreme(value, made.prefer, value.limit, high, permitted=True).text
        assert shown_span(value, made.prefer).text == in_step, value.id
        if value.low == value.high:
            assert shown_pair(value, made.prefer).text == in_step, value.id


@pytest.mark.parametrize("name", ["ellunby-bakery", "umberlode-two"])
def test_figures_of_a_calculation_pass_the_checks_of_pages(tmp_path: Path, name: str) -> None:
    made = sheet(name)
    shown = [
        str(value_text(value, made.prefer, show)) for value in figures_of(name) for show in ("pair", "span")
    ]
    path = tmp_path / "figures.html"
    path.write_text(f"<html><body>{' '.join(shown)}</body></html>", encoding="utf-8")
    assert [fault.params for fault in page_faults(Page(path), made.values)] == []
