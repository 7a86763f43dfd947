# ruff: noqa: E501 -- the exact words of a fault stand on one line
"""Quantities without origin, pairs that disagree, figures that are not the worksheet's."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from procgen.checks.figures import check_figures
from procgen.checks.quantities import check_quantities
from procgen.procedure.filters import extreme, nominal, permitted_limits, predicted_span
from procgen.units.kinds import KINDS
from procgen.units.measure import parse
from tests.checks.kit import said, site
from tests.procedure.kit import value, worksheet

NB = "\u00a0"


def q(first: str, second: str = "", kind: str = "pressure_gauge", show: str = "pair", **data: Any) -> str:
    """One figure's markup."""
    more = "".join(f' data-{name}="{figure}"' for name, figure in data.items())
    pair = f' (<span class="q2">{second}</span>)' if second else ""
    return f'<p><a class="q" data-kind="{kind}" data-show="{show}"{more}><span class="q1">{first}</span>{pair}</a></p>'


@pytest.mark.parametrize(
    ("body", "found", "text"),
    [
        ("<p>Wait 5 minutes.</p>", "5 minutes", "Wait 5 minutes."),
        ("<p>Set <b>9</b> bar now.</p>", "9 bar", "Set 9 bar now."),
        ("<svg><text>25&nbsp;mm</text></svg>", "25 mm", "25 mm"),
        ("<table><tr><td>93 °C</td></tr></table>", "93 °C", "93 °C"),
    ],
)
def test_a_quantity_without_origin(tmp_path: Path, body: str, found: str, text: str) -> None:
    site(tmp_path, index=body)
    assert said(check_quantities(tmp_path), tmp_path) == [
        f"index.html: '{found}' in '{text}' has no origin; expected a figure from a filter, or class typed"
    ]


@pytest.mark.parametrize(
    "body",
    [
        '<p>Thread <span class="typed">of 10 mm</span>.</p>',
        "<code>11 L</code>",
        "<p>Turn 3</p><p>bar</p>",
        q(f"3.1{NB}bar", f"46{NB}psi", si=3.14e5),
        q(f"3.1{NB}bar", f"46{NB}psi", si=3.14e5, low=1e5, high=9e5),
        q(f"2.5–4.1{NB}bar", f"36–59{NB}psi", show="span", si=3.14e5, low=2.51e5, high=4.04e5),
        q(f"2.6–4.0{NB}bar", f"37–58{NB}psi", show="limits", si=3.14e5, low=2.51e5, high=4.04e5),
        q(f"4.1{NB}bar", f"59{NB}psi", show="upper", si=3.14e5, low=2.51e5, high=4.04e5),
        q(f"4.0{NB}bar", f"58{NB}psi", show="at_most", si=4.04e5),
        q("3 to 5 runs", kind="count", show="count_span", si=4, low=3, high=5),
        q(f"−3{NB}°C", f"27{NB}°F", kind="temperature", si=270.15),
        q(f"12{NB}N·m", f"105{NB}lbf·in", kind="torque", si=12, trade=0.5649),
    ],
)
def test_sound_quantities(tmp_path: Path, body: str) -> None:
    site(tmp_path, index=body)
    assert said(check_quantities(tmp_path), tmp_path) == []


@pytest.mark.parametrize(
    ("body", "wanted"),
    [
        (q(f"3.1{NB}bar", f"64{NB}psi", si=3.14e5),
         ["'3.1 bar' and '64 psi' are not the same quantity", "'64 psi' is no rounding of 314000 (SI)"]),
        (q(f"3.2{NB}bar", f"46{NB}psi", si=3.14e5), ["'3.2 bar' is no rounding of 314000 (SI)"]),
        (q(f"2.6–4.1{NB}bar", show="span", si=3.14e5, low=2.51e5, high=4.04e5),
         ["'2.6–4.1 bar' is no rounding of 251000 (SI)"]),
        (q(f"2.6–4.1{NB}bar", show="limits", si=3.14e5, low=2.51e5, high=4.04e5),
         ["'2.6–4.1 bar' is no rounding of 404000 (SI)"]),
        (q(f"3.1{NB}bar"), ["'3.1 bar' does not say the figure it was made from"]),
        (q("3.1", si=3.14e5), ["'3.1' cannot be read back: no unit of pressure_gauge in '3.1'"]),
        (q(f"3.1{NB}bar", kind="presure", si=1), ["'3.1 bar' cannot be read back: data-kind='presure'"]),
        (q("some runs", kind="count", show="count", si=4), ["'some runs' cannot be read back: no count in "
                                                           "'some runs'"]),
        (q("6 runs", kind="count", show="count", si=4), ["'6 runs' is no rounding of 4 (SI)"]),
    ],
)  # fmt: skip
def test_faulty_quantities(tmp_path: Path, body: str, wanted: list[str]) -> None:
    site(tmp_path, index=body)
    assert said(check_quantities(tmp_path), tmp_path) == [f"index.html: {fault}" for fault in wanted]


def test_conversion_is_checked_by_pint_itself(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from procgen.checks import reading_back

    reading_back.read.cache_clear()
    monkeypatch.setattr(reading_back, "read_back", lambda _kind, _text: [(3.0e5, 5e3)])
    site(tmp_path, index=q(f"3.1{NB}bar", si=3.14e5))
    try:
        assert said(check_quantities(tmp_path), tmp_path) == [
            "index.html: '3.1 bar' cannot be read back: '3.1\\xa0bar' is 310000 by pint and 300000 by the tables"
        ]
    finally:
        reading_back.read.cache_clear()


@pytest.mark.parametrize("kind", sorted(set(KINDS) - {"area"}))
@pytest.mark.parametrize("prefer", ["metric", "us"])
def test_what_the_filters_write_is_sound_for_every_kind(tmp_path: Path, kind: str, prefer: Any) -> None:
    bottom, top = parse(KINDS[kind].example, kind), parse(KINDS[kind].example, kind)
    low, high = bottom.value * 0.83, top.value * 1.27
    sheet = {"x": value("x", kind, low, bottom.value, high, abs(bottom.value) / 90)}
    written = [
        nominal(sheet["x"], prefer),
        predicted_span(sheet["x"], prefer),
        permitted_limits(sheet["x"], prefer),
        *(
            extreme(sheet["x"], prefer, "upper", True, False),
            extreme(sheet["x"], prefer, "lower", False, False),
        ),
        *(
            extreme(sheet["x"], prefer, "at_most", True, True),
            extreme(sheet["x"], prefer, "at_least", False, True),
        ),
    ]
    site(tmp_path, index="".join(f"<p>{token.html}</p>" for token in written))
    assert said(check_quantities(tmp_path), tmp_path) == []
    assert said(check_figures(tmp_path, sheet), tmp_path) == []


def test_the_same_with_a_wire_section(tmp_path: Path) -> None:
    token = nominal(parse("AWG 12", "area"), "us")
    site(tmp_path, index=f"<p>{token.html}</p>")
    assert "AWG" in token.text
    assert said(check_quantities(tmp_path), tmp_path) == []


@pytest.mark.parametrize(
    ("body", "wanted"),
    [
        (q(f"3.1{NB}bar", value="supply.inlet", si=3.14e5),
         "a figure of 'supply.inlet', which is no value of this guide"),
        (q(f"3.1{NB}bar", value="hotwater.mix_temperature", si=3.14e5),
         "'3.1 bar' is printed for 'hotwater.mix_temperature', which is unavailable here"),
        (q(f"3.1{NB}bar", kind="pressure_difference", value="supply.inlet_pressure", si=3.14e5),
         "'supply.inlet_pressure' is printed as pressure_difference; the worksheet says pressure_gauge"),
        (q(f"3.2{NB}bar", value="supply.inlet_pressure", si=3.2e5),
         "'supply.inlet_pressure' is printed from 320000; the worksheet says 314000 (SI)"),
        (q(f"2.5–4.2{NB}bar", show="span", value="supply.inlet_pressure", si=3.14e5, low=2.51e5, high=4.2e5),
         "'supply.inlet_pressure' is printed from 251000 to 420000; the worksheet says 251000 to 404000 (SI)"),
        (q(f"2.6–4.1{NB}bar", show="span", value="supply.inlet_pressure", si=3.14e5, low=2.51e5, high=4.04e5),
         "'2.6–4.1 bar' for 'supply.inlet_pressure' is not on the safe side of 251000 (SI)"),
        (q(f"4.0{NB}bar", show="at_most", value="supply.inlet_pressure", si=4.04e5),
         "'supply.inlet_pressure' is printed from 404000; the worksheet says 251000 (SI)"),
        (q(f"2.6{NB}bar", show="at_most", value="supply.inlet_pressure", si=2.51e5),
         "'2.6 bar' for 'supply.inlet_pressure' is not on the safe side of 251000 (SI)"),
        (q(f"3.2{NB}bar", value="supply.inlet_pressure", si=3.14e5),
         "'3.2 bar' for 'supply.inlet_pressure' is not on the safe side of 314000 (SI)"),
    ],
)  # fmt: skip
def test_figures_that_are_not_the_worksheets(tmp_path: Path, body: str, wanted: str) -> None:
    site(tmp_path, index=body)
    assert said(check_figures(tmp_path, worksheet().values), tmp_path) == [f"index.html: {wanted}"]
