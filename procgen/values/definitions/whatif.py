"""What if a reading differs from the survey: filling by the standing pressure, heating by the voltage."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from procgen.engineering.sources import ARITHMETIC
from procgen.engineering.sources_fluid import LUMPED_HEAT
from procgen.units.kinds import KINDS, to_si
from procgen.units.measure import Measure
from procgen.values.constants import IEC_60038, VOLTAGE_HIGH, VOLTAGE_LOW
from procgen.values.define import VALUES, UnavailableError
from procgen.values.leaves import Leaf
from procgen.values.reader import Evaluation, Facts, Reader
from procgen.values.sweep import MOST_ROWS, Row, pinned, round_rows, sweep
from procgen.values.worksheet import Series

#: steps between rows, in the unit the site reads its gauge in
PRESSURE_STEPS = {"metric": ("bar", (0.25, 0.5, 1.0, 2.0)), "us": ("psi", (5.0, 10.0, 20.0, 40.0))}
VOLTAGE_STEPS = (1.0, 2.0, 5.0, 10.0, 20.0)
#: the reading of the loaded voltage, as a leaf of its own
READING = "reading.voltage_loaded"

FILL_COLUMNS = (
    ("static_pressure", "pressure_gauge"),
    ("fill_time_low", "time"),
    ("fill_time_high", "time"),
    ("pump_runs_low", "count"),
    ("pump_runs_high", "count"),
    ("resets_low", "count"),
    ("resets_high", "count"),
    ("stop_and_check_runs", "count"),
    ("why", "text"),
)
HEAT_COLUMNS = (
    ("voltage_loaded", "voltage"),
    ("time_setpoint_low", "time"),
    ("time_setpoint_high", "time"),
    ("time_ready_low", "time"),
    ("time_ready_high", "time"),
    ("why", "text"),
)


def measured_leaf(facts: Facts, section: Any, field: str, design: str) -> Leaf:
    """The leaf a measurement comes from: the survey's, or the model's design figure."""
    if section is not None and getattr(section, field) is not None:
        return facts.leaves.leaf(section, field)
    return facts.leaves.leaf(facts.machine.design, design)


def mains_leaves(facts: Facts) -> tuple[Leaf, Leaf]:
    """Standing pressure, and the flowing reading at the test flow."""
    mains = facts.site.mains if facts.site else None
    flowing = mains.flowing if mains else None
    return (
        measured_leaf(facts, mains, "static_pressure", "mains_static"),
        measured_leaf(facts, flowing, "pressure", "mains_flowing"),
    )


def with_same_drop(facts: Facts, at: float, corner: Mapping[str, float]) -> dict[str, float]:
    """Standing pressure as read. The drop to the flowing reading is the pipe's own and stays as surveyed.

    Raises:
        UnavailableError: so little pressure cannot drive the flow at which the drop was read.
    """
    static, flowing = mains_leaves(facts)
    pressure = corner.get(flowing.name, flowing.measure.value) + at - static.measure.value
    if pressure < 0:
        raise UnavailableError("weaker_than_drop")
    return {static.name: at, flowing.name: min(pressure, at)}


@VALUES.value("fill.what_if", "series", source=ARITHMETIC, after=True)
def fill_what_if(r: Reader) -> Series:
    """Runs by the standing pressure read at the isolating valve."""
    facts = r.evaluation.facts
    r.value("fill.time")
    r.value("fill.pump_runs")
    static, _ = mains_leaves(facts)
    _check_test_flow(r)
    low, high = r.value("supply.window_low", "p_low"), r.value("supply.window_high", "p_high")
    reduced = facts.site is not None and facts.site.mains.reducer is not None
    r.constant(static, "p_static")
    readings = _pressures(facts, low, high, static.measure)

    def moves(at: float, corner: Mapping[str, float]) -> Mapping[str, float]:
        if at < low * (1 - 1e-9):
            raise UnavailableError("below_window")
        if at > high * (1 + 1e-9) and not reduced:
            raise UnavailableError("above_window")
        return with_same_drop(facts, at, corner)

    found = sweep(r.evaluation, readings, moves, ("fill.time", "fill.pump_runs"))
    return Series(FILL_COLUMNS, tuple(_fill_row(row) for row in found))


def _check_test_flow(r: Reader) -> None:
    """Where the line loses more than surveyed, taking the excess off the standing pressure is safe only up to
    the flow at which the drop was read."""
    flowing = r.site.mains.flowing if r.site else None
    test = measured_leaf(r.evaluation.facts, flowing, "flow", "mains_flowing_flow")
    r.constant(test, "Q_test")
    if r.evaluation.spans["fill.flow"].high > test.measure.low:
        raise UnavailableError("fills_faster_than_test")


def _pressures(facts: Facts, low: float, high: float, survey: Measure) -> list[float]:
    """From one step below the maker's window, which has no answer, to its end or the survey's."""
    symbol, steps = PRESSURE_STEPS["us" if facts.site and facts.site.units == "us" else "metric"]
    unit = to_si(KINDS["pressure_gauge"], symbol, 1.0) - to_si(KINDS["pressure_gauge"], symbol, 0.0)
    rows, step = round_rows(low, max(high, survey.high), unit, steps, MOST_ROWS - 1)
    return [max(0.0, low - step), *rows]


def _fill_row(row: Row) -> tuple[object, ...]:
    if row.gap is not None:
        return (row.at, *[None] * 7, row.gap)
    shortest, longest = row.spans["fill.time"]
    least, most = (round(end) for end in row.spans["fill.pump_runs"])
    return (row.at, shortest, longest, least, most, least - 1, most - 1, most + 1, None)


@VALUES.value("heat.what_if", "series", source=LUMPED_HEAT, after=True)
def heat_what_if(r: Reader) -> Series:
    """Minutes to set point and to ready by the voltage at the isolator with everything on."""
    nominal = r.evaluation
    r.value("heat.time_setpoint")
    r.value("heat.time_ready")
    rated = _rated(r)
    low = rated * r.constant(VOLTAGE_LOW, "k_low")
    high = rated * r.constant(VOLTAGE_HIGH, "k_high")
    for name in ("electrical.voltage", "electrical.voltage_loaded"):
        span = nominal.spans.get(name)
        if span is not None:
            low, high = min(low, span.low), max(high, span.high)
    readings, _ = round_rows(low, high, 1.0, VOLTAGE_STEPS)
    found = sweep(
        by_loaded_voltage(nominal, rated),
        readings,
        lambda at, _: {READING: at},
        ("heat.time_setpoint", "heat.time_ready"),
        corners=nominal,
        leaf=READING,
    )
    return Series(HEAT_COLUMNS, tuple(_heat_row(row) for row in found))


def by_loaded_voltage(nominal: Evaluation, at: float) -> Evaluation:
    """The same guide with the voltage under load read at the isolator: nothing more is lost on the way.

    ``at`` is where the reading stands as long as nothing moves it.
    """
    found = nominal.pinned.get(READING)
    if found is None:
        leaf = Leaf(READING, "procedure", IEC_60038.title, Measure("voltage", at, at, at, "", 1.0))
        pins: dict[str, Leaf | None] = {"electrical.voltage": leaf, "electrical.voltage_drop": None}
        found = nominal.pinned[READING] = pinned(nominal, pins)
    return found


def loaded_voltage(nominal: Evaluation) -> float | None:
    """Expected at the isolator with everything on; without a surveyed cable, the supply's voltage."""
    for name in ("electrical.voltage_loaded", "electrical.voltage"):
        try:
            return float(nominal.get(name))
        except UnavailableError:
            continue
    return None


def _rated(r: Reader) -> float:
    """The variant's voltage between the conductors at which the loaded voltage is read."""
    name = "line_to_neutral" if r.variant.line_to_neutral is not None else "line_to_line"
    return r.leaf(r.variant, name, "U_n")


def _heat_row(row: Row) -> tuple[object, ...]:
    if row.gap is not None:
        return (row.at, *[None] * 4, row.gap)
    return (row.at, *row.spans["heat.time_setpoint"], *row.spans["heat.time_ready"], None)
