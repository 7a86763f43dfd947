"""Which input moves a figure most, as one plain sentence each, from the same evaluations as the ranges."""

from __future__ import annotations

from typing import Any

from procgen.messages.catalog import Messages
from procgen.units.kinds import KINDS, to_si
from procgen.units.show import step_for
from procgen.values.define import UnavailableError
from procgen.values.definitions.whatif import (
    READING,
    by_loaded_voltage,
    loaded_voltage,
    mains_leaves,
    with_same_drop,
)
from procgen.values.figure import Figure, Quoted
from procgen.values.leaves import Leaf
from procgen.values.reader import Evaluation
from procgen.values.rules import sentence_parts
from procgen.values.worksheet import Effect, Worksheet

#: what "less pressure" means, in the unit of the site's gauge
LESS_PRESSURE = {"metric": ("bar", 0.5), "us": ("psi", 5.0)}
#: what "less voltage" means, on a supply of some 230 V and on one of some 120 V
LESS_VOLTAGE, LESS_LOW_VOLTAGE = 10.0, 5.0
#: a change of the time to ready that nobody notices
NOTICED = 30.0


def effects(nominal: Evaluation, worksheet: Worksheet, messages: Messages) -> tuple[Effect, ...]:
    """The sentences of a guide; none about a figure that it does not have."""
    says = _Says(nominal, worksheet, messages)
    found: list[Effect] = []
    if {"fill.time", "fill.pump_runs"} <= nominal.spans.keys():
        found += [says.most_fill(), says.less_pressure()]
    if "heat.time_ready" in nominal.spans:
        found += [says.most_heat(), *says.less_voltage()]
    return tuple(found)


class _Says:
    def __init__(self, nominal: Evaluation, worksheet: Worksheet, messages: Messages) -> None:
        self.nominal = nominal
        self.prefer = worksheet.prefer
        self.messages = messages

    def sentence(self, identifier: str, about: str, variant: str, **params: Any) -> Effect:
        parts = sentence_parts(
            self.messages.raw(f"sensitivity.{identifier}.{variant}"), params, self.messages
        )
        return Effect(identifier, about, parts, self.prefer)

    def _most(self, name: str, then: str = "") -> tuple[Leaf, float, float] | None:
        """The leaf that alone moves a value furthest, and the value at the leaf's two ends.

        Where several move it equally far (a count does), the one that moves another value furthest.
        """
        ends = self.nominal.spans[name].ends
        second = self.nominal.spans[then].ends if then else {}
        moving = {leaf: abs(high - low) for leaf, (low, high) in ends.items() if low != high}
        if not moving:
            return None
        leaf = max(sorted(moving), key=lambda each: (moving[each], abs(_between(second.get(each)))))
        return self.nominal.all_leaves[leaf], min(ends[leaf]), max(ends[leaf])

    def _input(self, leaf: Leaf) -> dict[str, Any]:
        section, _, last = leaf.name.rpartition(".")
        key = f"sensitivity.inputs.{section.rpartition('.')[2].partition('[')[0]}.{last}"
        m = leaf.measure
        return {
            "input": key if self.messages.has(key) else Quoted(leaf.name),
            "range": Figure(m.kind, m.value, m.low, m.high, m.step, "span", leaf.name, is_leaf=True),
        }

    def most_fill(self) -> Effect:
        """Runs where an input alone changes their number; else the filling time, and that none does."""
        runs, time = self._most("fill.pump_runs", "fill.time"), self._most("fill.time")
        if runs is not None:
            leaf, low, high = runs
            return self.sentence(
                "fill.most",
                "fill.pump_runs",
                "runs",
                **self._input(leaf),
                runs=_span("count", low, high, 1.0),
            )
        if time is None:
            return self.sentence("fill.most", "fill.pump_runs", "none")
        leaf, low, high = time
        return self.sentence(
            "fill.most", "fill.pump_runs", "time", **self._input(leaf), times=_times(low, high)
        )

    def less_pressure(self) -> Effect:
        """What a little less standing pressure costs, everything else as expected."""
        symbol, size = LESS_PRESSURE[self.prefer]
        kind = KINDS["pressure_difference"]
        less, step = to_si(kind, symbol, size), to_si(kind, symbol, 1.0 if size > 1 else 0.1)
        static, _ = mains_leaves(self.nominal.facts)
        given = {"less": Figure(kind.name, less, less, less, step, name="effect.less", is_leaf=True)}
        try:
            moved = self.nominal.moved_by(with_same_drop(self.nominal.facts, static.measure.value - less, {}))
            more = int(moved.get("fill.resets")) - int(self.nominal.get("fill.resets"))
            longer = float(moved.get("fill.time")) - float(self.nominal.get("fill.time"))
        except UnavailableError:
            return self.sentence("fill.less", "fill.pump_runs", "nothing", **given)
        variant = {0: "none" if longer >= 2.0 else "little", 1: "one"}.get(more, "other")
        return self.sentence(
            "fill.less",
            "fill.pump_runs",
            variant,
            **given,
            resets=_span("count", float(more), float(more), 1.0),
            longer=_times(longer, longer),
        )

    def most_heat(self) -> Effect:
        """What moves the time to ready."""
        most = self._most("heat.time_ready")
        if most is None:
            return self.sentence("heat.most", "heat.time_ready", "none")
        leaf, low, high = most
        return self.sentence(
            "heat.most", "heat.time_ready", "time", **self._input(leaf), times=_times(low, high)
        )

    def less_voltage(self) -> list[Effect]:
        """What a few volts less under load cost, everything else as expected."""
        volts = loaded_voltage(self.nominal)
        if volts is None:
            return []
        less = LESS_VOLTAGE if volts > 150.0 else LESS_LOW_VOLTAGE
        given = {"less": Figure("voltage", less, less, less, 1.0, name="effect.less", is_leaf=True)}
        by_reading = by_loaded_voltage(self.nominal, volts)
        try:
            later = _ready(by_reading, volts - less) - _ready(by_reading, volts)
        except UnavailableError:
            return [self.sentence("heat.less", "heat.time_ready", "nothing", **given)]
        variant = "later" if later >= NOTICED else "sooner" if later <= -NOTICED else "none"
        change = _times(abs(later), abs(later))
        return [self.sentence("heat.less", "heat.time_ready", variant, **given, change=change)]


def _between(ends: tuple[float, float] | None) -> float:
    return ends[1] - ends[0] if ends else 0.0


def _ready(by_reading: Evaluation, volts: float) -> float:
    return float(by_reading.moved_by({READING: volts}).get("heat.time_ready"))


def _span(kind: str, low: float, high: float, step: float, name: str = "effect.count") -> Figure:
    return Figure(kind, high, low, high, step, "span", name, is_leaf=True)


def _times(low: float, high: float) -> Figure:
    return _span("time", low, high, step_for(high, "time", 2), "effect.time")
