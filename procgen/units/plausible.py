"""What a reading on site can be at all: outside this a figure is questioned before it is kept.

Wide on purpose: a true reading of a faulty installation must pass. Common practice, no source, except the
floors of ``KINDS``, which physics sets: no pressure below vacuum, no temperature below absolute zero.
"""

from __future__ import annotations

from procgen.units.kinds import KINDS
from procgen.units.measure import parse

#: lowest and highest figure that instruments on such a job show; "" where there is no sensible end
_TYPED: dict[str, tuple[str, str]] = {
    "temperature": ("-30 °C", "250 °C"),
    "temperature_difference": ("-200 K", "200 K"),
    "pressure_gauge": ("-1 bar", "60 bar"),
    "pressure_absolute": ("0 bar(a)", "61 bar(a)"),
    "pressure_difference": ("-60 bar", "60 bar"),
    "volume": ("0 L", "2000 L"),
    "small_volume": ("0 mL", "20000 mL"),
    "flow": ("0 L/min", "200 L/min"),
    "drain_flow": ("0 L/s", "20 L/s"),
    "time": ("0 s", "24 h"),
    "mass": ("0 kg", "1000 kg"),
    "altitude": ("-450 m", "6000 m"),
    "length": ("0 m", "200 m"),
    "size": ("0 mm", "10000 mm"),
    "level": ("-10000 mm", "10000 mm"),
    "voltage": ("0 V", "1000 V"),
    "current": ("0 A", "250 A"),
    "small_current": ("0 mA", "1000 mA"),
    "resistance": ("0 Ω", "10000 Ω"),
    "insulation": ("0 MΩ", ""),
    "conductivity": ("0 µS/cm", "20000 µS/cm"),
    "hardness": ("0 °dH", "150 °dH"),
    "concentration": ("0 mg/L", "20000 mg/L"),
    "torque": ("0 N·m", "500 N·m"),
    "power": ("0 kW", "100 kW"),
    "energy": ("0 kWh", "1000 kWh"),
    "fall": ("-100 %", "100 %"),
    "frequency": ("0 Hz", "500 Hz"),
    "speed": ("0 m/s", "50 m/s"),
    "number": ("-10", "1000"),
    "count": ("0", "1000"),
}


def plausible(kind_name: str) -> tuple[float | None, float | None]:
    """Lowest and highest plausible figure of a kind, in SI; None where there is no such end."""
    floor = KINDS[kind_name].floor
    low, high = _TYPED.get(kind_name, ("", ""))
    lowest = parse(low, kind_name).value if low else floor
    if lowest is not None and floor is not None:
        lowest = max(lowest, floor)
    return lowest, parse(high, kind_name).value if high else None
