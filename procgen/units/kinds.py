"""The kinds of quantity the trade writes down: their SI unit, the units people type, the units pages show."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Literal

from procgen.units.registry import registry

Preference = Literal["metric", "us"]
Reference = Literal["gauge", "absolute", "difference"]


@dataclass(frozen=True, eq=False)
class Kind:
    """One kind of quantity: what a field asks for and how a page shows it. There is one object of each."""

    name: str
    #: pint name of the coherent SI unit that values of this kind are kept in.
    si: str
    #: what people may type, as symbol -> pint name.
    typed: Mapping[str, str]
    #: symbols shown first for a metric and for a US reader; equal when the trade uses one unit only.
    metric: str
    us: str
    example: str
    reference: Reference | None = None
    #: lowest value physics allows, in SI.
    floor: float | None = None
    #: decimals in the metric unit when nothing better is known.
    decimals: int = 1
    #: what pages write after a pressure's unit, e.g. " abs".
    suffix: str = ""
    names: Mapping[str, str] = field(default_factory=dict)
    #: unit for small figures in the place of the metric one, and the figure in SI below which it stands
    small: str = ""
    small_below: float = 0.0


_PRESSURE = {"bar": "bar", "mbar": "mbar", "kPa": "kPa", "MPa": "MPa", "Pa": "Pa", "psi": "psi"}
_LENGTH = {"m": "m", "cm": "cm", "mm": "mm", "ft": "foot", "in": "inch"}
_HARDNESS = {
    "°dH": "degdH",
    "°fH": "degfH",
    "°e": "dege",
    "gpg": "grainpergallon",
    "mg/L CaCO3": "mgCaCO3",
    "mg/L as CaCO3": "mgCaCO3",
    "ppm CaCO3": "mgCaCO3",
    "mmol/L": "mmolHard",
}

_KINDS = [
    Kind(
        "temperature",
        "K",
        {"°C": "degC", "°F": "degF", "K": "kelvin", "degC": "degC", "degF": "degF"},
        "°C",
        "°F",
        "93 °C",
        floor=0.0,
        decimals=0,
    ),
    Kind(
        "temperature_difference",
        "K",
        {"K": "kelvin", "°C": "delta_degC", "°F": "delta_degF"},
        "K",
        "°F",
        "2 K",
        decimals=1,
    ),
    Kind("pressure_gauge", "Pa", _PRESSURE, "bar", "psi", "4.2 bar", "gauge", floor=-101325.0),
    Kind(
        "pressure_absolute",
        "Pa",
        _PRESSURE,
        "bar",
        "psi",
        "1.013 bar(a)",
        "absolute",
        floor=0.0,
        decimals=2,
        suffix=" abs",
    ),
    Kind("pressure_difference", "Pa", _PRESSURE, "bar", "psi", "0.3 bar", "difference"),
    Kind(
        "volume",
        "m^3",
        {"L": "L", "mL": "mL", "m³": "m^3", "gal": "gallon", "US gal": "gallon"},
        "L",
        "gal",
        "11 L",
        floor=0.0,
    ),
    Kind(
        "small_volume",
        "m^3",
        {"L": "L", "mL": "mL", "fl oz": "US_fluid_ounce"},
        "mL",
        "fl oz",
        "40 mL",
        floor=0.0,
        decimals=0,
    ),
    Kind(
        "flow",
        "m^3/s",
        {
            "L/min": "L/min",
            "L/h": "L/hour",
            "mL/s": "mL/s",
            "L/s": "L/s",
            "m³/h": "m^3/hour",
            "gal/min": "gallon/min",
        },
        "L/min",
        "gal/min",
        "2.5 L/min",
        floor=0.0,
    ),
    Kind(
        "drain_flow",
        "m^3/s",
        {"L/s": "L/s", "L/min": "L/min", "gal/min": "gallon/min"},
        "L/s",
        "gal/min",
        "0.4 L/s",
        floor=0.0,
        decimals=2,
    ),
    Kind(
        "time",
        "s",
        {"s": "s", "min": "min", "h": "hour", "d": "day", "days": "day"},
        "s",
        "s",
        "120 s",
        floor=0.0,
        decimals=0,
    ),
    Kind(
        "mass",
        "kg",
        {"kg": "kg", "g": "g", "lb": "lb", "oz": "oz"},
        "kg",
        "lb",
        "62 kg",
        floor=0.0,
        decimals=0,
    ),
    Kind("altitude", "m", {"m": "m", "ft": "foot"}, "m", "ft", "430 m", decimals=0),
    Kind("length", "m", _LENGTH, "m", "ft", "1.5 m", floor=0.0),
    Kind("size", "m", _LENGTH, "mm", "in", "8 mm", floor=0.0, decimals=0),
    Kind("level", "m", _LENGTH, "mm", "in", "850 mm", decimals=0),
    Kind("area", "m^2", {"mm²": "mm^2", "mm2": "mm^2", "AWG": ""}, "mm²", "AWG", "2.5 mm²", floor=0.0),
    Kind(
        "power",
        "W",
        {"kW": "kW", "W": "W", "BTU/h": "Btu/hour"},
        "kW",
        "kW",
        "3.5 kW",
        floor=0.0,
        decimals=2,
        small="W",
        small_below=1000.0,
    ),
    Kind(
        "heat_flow",
        "W",
        {"kW": "kW", "W": "W", "BTU/h": "Btu/hour"},
        "kW",
        "BTU/h",
        "0.8 kW",
        floor=0.0,
        decimals=2,
        small="W",
        small_below=1000.0,
    ),
    Kind(
        "energy", "J", {"kWh": "kWh", "kJ": "kJ", "MJ": "MJ"}, "kWh", "kWh", "1.9 kWh", floor=0.0, decimals=2
    ),
    Kind("voltage", "V", {"V": "V", "mV": "mV"}, "V", "V", "230 V", floor=0.0, decimals=0),
    Kind("current", "A", {"A": "A", "mA": "mA"}, "A", "A", "16 A", floor=0.0, decimals=1),
    Kind("small_current", "A", {"mA": "mA", "A": "A"}, "mA", "mA", "30 mA", floor=0.0, decimals=1),
    Kind(
        "resistance",
        "ohm",
        {"Ω": "ohm", "mΩ": "milliohm", "MΩ": "megaohm", "kΩ": "kiloohm"},
        "Ω",
        "Ω",
        "0.4 Ω",
        floor=0.0,
        decimals=2,
    ),
    Kind("insulation", "ohm", {"MΩ": "megaohm"}, "MΩ", "MΩ", "1 MΩ", floor=0.0),
    Kind(
        "conductivity",
        "S/m",
        {"µS/cm": "uS/cm", "mS/m": "mS/m", "uS/cm": "uS/cm"},
        "µS/cm",
        "µS/cm",
        "450 µS/cm",
        floor=0.0,
        decimals=0,
    ),
    # Kept as mg/L CaCO3, the unit of the methods' formulas.
    Kind("hardness", "mgCaCO3", _HARDNESS, "mg/L as CaCO3", "gpg", "12 °dH", floor=0.0, decimals=0),
    # Ions are kept in mg/L for the same reason; g/m^3 is the same number.
    Kind(
        "concentration",
        "g/m^3",
        {"mg/L": "mg/L", "ppm": "mg/L"},
        "mg/L",
        "mg/L",
        "50 mg/L",
        floor=0.0,
        decimals=0,
    ),
    Kind(
        "capacity",
        "mgCaCO3*L",
        {
            "°dH·L": "degdH*L",
            "°fH·L": "degfH*L",
            "g CaCO3": "gramCaCO3",
            "grains": "grainpergallon*gallon",
        },
        "g CaCO3",
        "grains",
        "10000 °dH·L",
        floor=0.0,
        decimals=0,
    ),
    Kind(
        "torque",
        "N*m",
        {
            "N·m": "N*m",
            "Nm": "N*m",
            "N m": "N*m",
            "lbf·ft": "lbf*ft",
            "lbf·in": "lbf*inch",
            "ft·lbf": "lbf*ft",
            "in·lbf": "lbf*inch",
        },
        "N·m",
        "lbf·in",
        "12 N·m",
        floor=0.0,
    ),
    Kind("force", "N", {"N": "N", "kN": "kN", "lbf": "lbf"}, "N", "lbf", "900 N", floor=0.0, decimals=0),
    Kind(
        "pressure_on_counter",
        "Pa",
        {"kPa": "kPa", "psi": "psi"},
        "kPa",
        "psi",
        "80 kPa",
        floor=0.0,
        decimals=0,
    ),
    Kind(
        "stress",
        "Pa",
        {"MPa": "MPa", "N/mm²": "N/mm^2", "ksi": "ksi"},
        "MPa",
        "ksi",
        "640 MPa",
        floor=0.0,
        decimals=0,
    ),
    Kind(
        "mass_flow",
        "kg/s",
        {"kg/min": "kg/min", "kg/s": "kg/s", "lb/min": "lb/min"},
        "kg/min",
        "lb/min",
        "2.5 kg/min",
        floor=0.0,
    ),
    Kind(
        "specific_heat",
        "J/(kg*K)",
        {"J/(kg·K)": "J/(kg*K)", "BTU/(lb·°F)": "Btu/(lb*delta_degF)"},
        "J/(kg·K)",
        "BTU/(lb·°F)",
        "385 J/(kg·K)",
        floor=0.0,
    ),
    Kind(
        "heat_capacity",
        "J/K",
        {"kJ/K": "kJ/K", "J/K": "J/K", "BTU/°F": "Btu/delta_degF"},
        "kJ/K",
        "BTU/°F",
        "1.8 kJ/K",
        floor=0.0,
    ),
    Kind(
        "fall",
        "",
        {"%": "percent", "mm/m": "mm/m", "in/ft": "inch/foot"},
        "mm/m",
        "in/ft",
        "1:40",
        decimals=0,
    ),
    Kind("ratio", "", {"%": "percent"}, "%", "%", "30 %", decimals=0),
    Kind("conductance", "W/K", {"W/K": "W/K"}, "W/K", "W/K", "2.5 W/K", floor=0.0),
    Kind("frequency", "Hz", {"Hz": "Hz"}, "Hz", "Hz", "50 Hz", floor=0.0, decimals=0),
    Kind("speed", "m/s", {"m/s": "m/s", "ft/s": "foot/s"}, "m/s", "ft/s", "1.2 m/s"),
    Kind("number", "", {}, "", "", "7.5", decimals=2),
    Kind("count", "", {}, "", "", "3", decimals=0),
]

KINDS: Mapping[str, Kind] = {kind.name: kind for kind in _KINDS}

_AWG_BASE = 0.127e-3  # AWG 36 is 0.005 in = 0.127 mm in diameter (ASTM B258)


def awg_to_area(gauge: float) -> float:
    """Cross-section in m² of an American wire gauge number (ASTM B258: d = 0.127 mm · 92^((36 − n)/39))."""
    diameter = _AWG_BASE * 92 ** ((36 - gauge) / 39)
    return math.pi / 4 * diameter * diameter


def gauge_number(text: str) -> float:
    """The number of a gauge as typed: ``12``, or ``2/0``, which counts as −1 (1/0 is the gauge above 1)."""
    noughts, slash, _ = text.partition("/")
    return 1.0 - float(noughts) if slash else float(noughts)


def area_to_awg(area: float) -> float:
    """American wire gauge number (not rounded) of a cross-section in m²."""
    diameter = math.sqrt(4 * area / math.pi)
    return 36 - 39 * math.log(diameter / _AWG_BASE) / math.log(92)


@lru_cache(maxsize=256)
def _scale(pint_name: str, si: str) -> tuple[float, float]:
    """Factor and offset to SI, asked of pint once: si = value * factor + offset."""
    ureg = registry()
    target = si or "dimensionless"
    zero = ureg.Quantity(0.0, pint_name).to(target).magnitude
    one = ureg.Quantity(1.0, pint_name).to(target).magnitude
    if pint_name in {"degC", "degF"}:
        # One degree from zero carries the offset's rounding; a hundred degrees carry a hundredth of it.
        hundred = ureg.Quantity(100.0, pint_name).to(target).magnitude
        return (hundred - zero) / 100, zero
    return one - zero, zero


def factors(kind: Kind, symbol: str) -> tuple[float, float]:
    """Factor and offset of a linear unit: si = value * factor + offset."""
    return _scale(kind.typed[symbol], kind.si) if symbol else (1.0, 0.0)


def to_si(kind: Kind, symbol: str, value: float) -> float:
    """Convert a typed or shown figure to the kind's SI unit."""
    if not symbol:
        return value
    if symbol == "AWG":
        return awg_to_area(value)
    factor, offset = _scale(kind.typed[symbol], kind.si)
    return value * factor + offset


def from_si(kind: Kind, symbol: str, si: float) -> float:
    """Convert from the kind's SI unit to a typed or shown unit."""
    if not symbol:
        return si
    if symbol == "AWG":
        return area_to_awg(si)
    factor, offset = _scale(kind.typed[symbol], kind.si)
    return (si - offset) / factor


def step_in(kind: Kind, symbol: str, si_step: float) -> float:
    """Size of a small SI step in a unit (offsets do not matter to a step)."""
    if not symbol:
        return si_step
    if symbol == "AWG":
        return 1.0
    return si_step / _scale(kind.typed[symbol], kind.si)[0]
