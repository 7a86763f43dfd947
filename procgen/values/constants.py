"""Figures of standards that have a range of their own and so take part in the ranges of values."""

from __future__ import annotations

from procgen.engineering.kernel import Source
from procgen.units.measure import parse
from procgen.values.leaves import Leaf

#: Deviation of an element's power from its rating: −10 %, +5 % (IEC 60335-1, rated input; from memory).
ELEMENT_TOLERANCE = Leaf(
    "standard.element_tolerance",
    "standard",
    "IEC 60335-1, rated input (from memory)",
    parse("90..100..105 %", "ratio"),
)
#: What a coffee takes from the brew boilers with its rinse, and a milk drink from the steam boiler.
WATER_PER_COFFEE = Leaf(
    "practice.water_per_coffee",
    "standard",
    "common practice, no source",
    parse("100..150..200 mL", "small_volume"),
)
STEAM_PER_MILK_DRINK = Leaf(
    "practice.steam_per_milk_drink", "standard", "common practice, no source", parse("20..30..40 g", "mass")
)
#: Height of a counter that nobody measured.
COUNTER_HEIGHT = Leaf(
    "practice.counter_height", "standard", "common practice, no source", parse("850..900..950 mm", "size")
)
#: Water that may run over a hand (common practice, no source).
HAND_WARM = Leaf(
    "practice.hand_warm", "standard", "common practice, no source", parse("43 °C", "temperature")
)
#: Voltage of a public supply.
IEC_60038 = Source("iec-60038", "IEC 60038, supply voltage ±10 %", from_memory=True)
VOLTAGE_LOW = Leaf(
    "standard.voltage_low", "standard", f"{IEC_60038.title} (from memory)", parse("90 %", "ratio")
)
VOLTAGE_HIGH = Leaf(
    "standard.voltage_high", "standard", f"{IEC_60038.title} (from memory)", parse("110 %", "ratio")
)
