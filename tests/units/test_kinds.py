"""Every unit people may type converts as published; pint is asked in one place only.

NIST: Guide for the Use of the SI, SP 811 (2008), Appendix B, from memory. "BTU" is the International Table
one (1055.056 J), which is pint's.
"""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from procgen.units.kinds import KINDS, area_to_awg, awg_to_area, from_si, gauge_number, step_in, to_si
from procgen.units.registry import registry

#: kind, unit, one of it (or the figure given) in the kind's SI unit
EXACT = [
    ("pressure_gauge", "bar", 1, 1e5),
    ("pressure_gauge", "mbar", 1, 100),
    ("pressure_gauge", "kPa", 1, 1e3),
    ("pressure_gauge", "MPa", 1, 1e6),
    ("pressure_gauge", "Pa", 1, 1),
    ("pressure_gauge", "psi", 1, 6894.757),
    ("pressure_on_counter", "psi", 1, 6894.757),
    ("pressure_on_counter", "kPa", 80, 80e3),
    ("temperature", "°C", 93, 366.15),
    ("temperature", "degC", 0, 273.15),
    ("temperature", "°F", 212, 373.15),
    ("temperature", "degF", -40, 233.15),
    ("temperature", "K", 300, 300),
    ("temperature_difference", "K", 2, 2),
    ("temperature_difference", "°C", 2, 2),
    ("temperature_difference", "°F", 9, 5),
    ("volume", "L", 1, 1e-3),
    ("volume", "mL", 1, 1e-6),
    ("volume", "m³", 1, 1),
    ("volume", "gal", 1, 3.785412e-3),
    ("volume", "US gal", 1, 3.785412e-3),
    ("small_volume", "fl oz", 1, 2.957353e-5),
    ("small_volume", "L", 1, 1e-3),
    ("small_volume", "mL", 40, 4e-5),
    ("flow", "L/min", 60, 1e-3),
    ("flow", "L/h", 3600, 1e-3),
    ("flow", "mL/s", 1, 1e-6),
    ("flow", "L/s", 1, 1e-3),
    ("flow", "m³/h", 3600, 1),
    ("flow", "gal/min", 1, 6.309020e-5),
    ("drain_flow", "L/s", 1, 1e-3),
    ("drain_flow", "L/min", 60, 1e-3),
    ("drain_flow", "gal/min", 1, 6.309020e-5),
    ("time", "s", 1, 1),
    ("time", "min", 1, 60),
    ("time", "h", 1, 3600),
    ("time", "d", 1, 86400),
    ("time", "days", 2, 172800),
    ("mass", "kg", 1, 1),
    ("mass", "g", 1, 1e-3),
    ("mass", "lb", 1, 0.45359237),
    ("mass", "oz", 1, 2.834952e-2),
    ("altitude", "m", 1, 1),
    ("altitude", "ft", 1, 0.3048),
    *[
        (kind, unit, 1, metres)
        for kind in ("length", "size", "level")
        for unit, metres in (("m", 1), ("cm", 0.01), ("mm", 0.001), ("ft", 0.3048), ("in", 0.0254))
    ],
    ("area", "mm²", 1, 1e-6),
    ("area", "mm2", 1, 1e-6),
    ("power", "kW", 1, 1e3),
    ("power", "W", 1, 1),
    ("power", "BTU/h", 1, 0.2930711),
    ("heat_flow", "kW", 1, 1e3),
    ("heat_flow", "W", 1, 1),
    ("heat_flow", "BTU/h", 1, 0.2930711),
    ("energy", "kWh", 1, 3.6e6),
    ("energy", "kJ", 1, 1e3),
    ("energy", "MJ", 1, 1e6),
    ("voltage", "V", 1, 1),
    ("voltage", "mV", 1, 1e-3),
    ("current", "A", 1, 1),
    ("current", "mA", 1, 1e-3),
    ("small_current", "A", 1, 1),
    ("small_current", "mA", 1, 1e-3),
    ("resistance", "Ω", 1, 1),
    ("resistance", "mΩ", 1, 1e-3),
    ("resistance", "kΩ", 1, 1e3),
    ("resistance", "MΩ", 1, 1e6),
    ("insulation", "MΩ", 1, 1e6),
    ("conductivity", "µS/cm", 1, 1e-4),
    ("conductivity", "uS/cm", 1, 1e-4),
    ("conductivity", "mS/m", 1, 1e-3),
    ("concentration", "mg/L", 1, 1),
    ("concentration", "ppm", 1, 1),
    # g/mol: CaCO3 100.0869, CaO 56.0774; grain 64.79891 mg; imperial gallon 4.54609 L
    ("hardness", "°dH", 1, 17.848),
    ("hardness", "°fH", 1, 10),
    ("hardness", "gpg", 1, 17.118),
    ("hardness", "°e", 1, 14.254),
    ("hardness", "mmol/L", 1, 100.087),
    ("hardness", "mg/L CaCO3", 1, 1),
    ("hardness", "mg/L as CaCO3", 1, 1),
    ("hardness", "ppm CaCO3", 1, 1),
    # kept as mg of CaCO3
    ("capacity", "°dH·L", 1, 17.848),
    ("capacity", "°fH·L", 1, 10),
    ("capacity", "g CaCO3", 1, 1000),
    ("capacity", "grains", 1, 64.79891),
    ("torque", "N·m", 1, 1),
    ("torque", "Nm", 1, 1),
    ("torque", "N m", 1, 1),
    ("torque", "lbf·ft", 1, 1.355818),
    ("torque", "ft·lbf", 1, 1.355818),
    ("torque", "lbf·in", 1, 0.1129848),
    ("torque", "in·lbf", 1, 0.1129848),
    ("force", "N", 1, 1),
    ("force", "kN", 1, 1e3),
    ("force", "lbf", 1, 4.448222),
    ("stress", "MPa", 1, 1e6),
    ("stress", "N/mm²", 1, 1e6),
    ("stress", "ksi", 1, 6.894757e6),
    ("mass_flow", "kg/s", 1, 1),
    ("mass_flow", "kg/min", 60, 1),
    ("mass_flow", "lb/min", 1, 7.559873e-3),
    # 4186.8 exactly (International Table)
    ("specific_heat", "J/(kg·K)", 1, 1),
    ("specific_heat", "BTU/(lb·°F)", 1, 4186.8),
    ("heat_capacity", "J/K", 1, 1),
    ("heat_capacity", "kJ/K", 1, 1e3),
    ("heat_capacity", "BTU/°F", 1, 1.899101e3),
    ("fall", "%", 1, 0.01),
    ("fall", "mm/m", 1, 0.001),
    ("fall", "in/ft", 0.25, 1 / 48),
    ("ratio", "%", 30, 0.3),
    ("conductance", "W/K", 1, 1),
    ("frequency", "Hz", 50, 50),
    ("speed", "m/s", 1, 1),
    ("speed", "ft/s", 1, 0.3048),
]
EXACT += [(f"pressure_{r}", unit, n, si) for r in ("absolute", "difference") for _, unit, n, si in EXACT[:6]]


@pytest.mark.parametrize(("kind", "unit", "figure", "si"), EXACT)
def test_units_convert_as_published(kind: str, unit: str, figure: float, si: float) -> None:
    # Published factors carry seven digits; those of hardness five.
    tolerance = 3e-5 if kind in {"hardness", "capacity"} else 5e-7
    assert to_si(KINDS[kind], unit, figure) == pytest.approx(si, rel=tolerance)
    assert from_si(KINDS[kind], unit, to_si(KINDS[kind], unit, figure)) == pytest.approx(figure, rel=1e-12)


def test_every_typed_unit_of_every_kind_stands_in_the_table() -> None:
    tested = {(kind, unit) for kind, unit, _, _ in EXACT} | {("area", "AWG")}
    assert {(kind.name, unit) for kind in KINDS.values() for unit in kind.typed} == tested


def test_one_water_in_six_units() -> None:
    """10 °dH = 178.48 mg/L as CaCO3 = 17.848 °fH = 10.426 gpg = 12.522 °e = 1.7832 mmol/L (molar masses)."""
    hardness = KINDS["hardness"]
    si = to_si(hardness, "°dH", 10)
    shown = {unit: round(from_si(hardness, unit, si), 4) for unit in ("°fH", "gpg", "°e", "mmol/L")}
    assert round(si, 2) == 178.48
    assert shown == pytest.approx({"°fH": 17.848, "gpg": 10.426, "°e": 12.522, "mmol/L": 1.7832}, abs=6e-4)


def test_hardness_is_no_inductance_and_no_concentration() -> None:
    """pint reads dH and fH as henries; here they are hardness, and mg/L of an ion is none."""
    ureg = registry()
    assert ureg.Quantity(1, "degdH").dimensionality == {"[hardness]": 1}
    assert not ureg.Quantity(1, "degdH").is_compatible_with("mg/L")


# ASTM B258 nominal sections in mm², table as printed in handbooks (from memory).
GAUGES = [("18", 0.823), ("16", 1.31), ("14", 2.08), ("12", 3.31), ("10", 5.26), ("8", 8.37), ("6", 13.3)]
GAUGES += [("4", 21.2), ("2", 33.6), ("1/0", 53.5), ("2/0", 67.4), ("3/0", 85.0), ("4/0", 107.2)]


@pytest.mark.parametrize(("gauge", "section"), GAUGES)
def test_wire_gauges(gauge: str, section: float) -> None:
    area = awg_to_area(gauge_number(gauge))
    assert area * 1e6 == pytest.approx(section, rel=4e-3)
    assert area_to_awg(area) == pytest.approx(gauge_number(gauge), abs=1e-9)


def test_offsets_do_not_matter_to_a_step() -> None:
    assert step_in(KINDS["temperature"], "°F", 1.0) == pytest.approx(1.8)
    assert step_in(KINDS["temperature"], "°C", 1.0) == pytest.approx(1.0)


def test_the_units_shown_can_be_typed() -> None:
    for kind in KINDS.values():
        for unit in {kind.metric, kind.us} - {""}:
            assert unit in kind.typed, (kind.name, unit)
        assert bool(kind.typed) == bool(kind.metric)


def test_the_registry_is_built_once_and_in_one_place(root: Path) -> None:
    assert registry() is registry()
    found = [
        path.relative_to(root).as_posix()
        for path in sorted((root / "procgen").rglob("*.py"))
        if any(_builds_registry(node) for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))))
    ]
    assert found == ["procgen/units/registry.py"]


def _builds_registry(node: ast.AST) -> bool:
    names = {"UnitRegistry", "get_application_registry", "LazyRegistry", "set_application_registry"}
    if isinstance(node, ast.Attribute):
        return node.attr in names
    return isinstance(node, ast.ImportFrom) and any(alias.name in names for alias in node.names)
