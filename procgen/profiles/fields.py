"""Field types of the schema: quantities with a unit, marks, identifiers, plain text."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, GetJsonSchemaHandler, WithJsonSchema
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from procgen.units.kinds import KINDS
from procgen.units.measure import Measure, MeasureError, parse, pattern


class QuantityOf:
    """Annotation of a field that holds a quantity: its kind and the span a reader would believe."""

    def __init__(self, kind: str, low: str | None = None, high: str | None = None) -> None:
        self.kind = kind
        self.low = low
        self.high = high

    def __get_pydantic_core_schema__(self, _source: Any, _handler: Any) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self._validate)

    def _validate(self, given: Any) -> Measure:
        if isinstance(given, Measure):
            return given
        if not isinstance(given, str):
            raise PydanticCustomError("quantity", "not_text", {"found": given, "kind": self.kind})
        try:
            measure = parse(given, self.kind)
            for bound, below in ((self.low, True), (self.high, False)):
                if bound is None:
                    continue
                limit = parse(bound, self.kind).value
                if (measure.low < limit - 1e-12) if below else (measure.high > limit + 1e-12):
                    raise MeasureError(
                        "outside_believable",
                        given,
                        KINDS[self.kind],
                        low=self.low or "",
                        high=self.high or "",
                    )
        except MeasureError as error:
            context: Mapping[str, str] = {
                "code": error.code,
                "found": error.found,
                "kind": error.kind.name,
                **error.details,
            }
            raise PydanticCustomError("quantity", "quantity", dict(context)) from None
        return measure

    def __get_pydantic_json_schema__(
        self, _schema: CoreSchema, _handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        kind = KINDS[self.kind]
        units = ", ".join(kind.typed) or "no unit"
        span = f" Between {self.low} and {self.high}." if self.low and self.high else ""
        reference = f" {kind.reference.capitalize()} pressure." if kind.reference else ""
        return {
            "type": "string" if kind.typed or kind.name == "fall" else ["string", "number"],
            "description": f"{kind.name.replace('_', ' ').capitalize()} with its unit ({units});"
            f" a range is written low..high.{reference}{span}",
            "examples": [kind.example],
            "pattern": pattern(self.kind),
        }


_TEXT_LIMIT = 600


def _plain_text(given: Any) -> Any:
    if isinstance(given, str):
        text = given.strip()
        if not text:
            raise PydanticCustomError("text", "empty_text", {"found": given})
        if any(ord(character) < 32 and character not in "\n\t" for character in text):
            raise PydanticCustomError("text", "control_character", {"found": repr(given)})
        if len(text) > _TEXT_LIMIT:
            raise PydanticCustomError("long_text", "too_long", {"length": len(text), "limit": _TEXT_LIMIT})
        return text
    return given


def _mark(given: Any) -> Any:
    if isinstance(given, str):
        given = given.strip()
        if not given or len(given) > 24 or any(c in given for c in "[]{}<>\"'`\\/\n\t"):
            raise PydanticCustomError("mark", "not_a_mark", {"found": given})
    return given


def _identifier(given: Any) -> Any:
    if isinstance(given, str):
        given = given.strip()
        if (
            not given
            or not all(c.isascii() and (c.islower() or c.isdigit() or c == "-") for c in given)
            or (given[0] == "-" or given[-1] == "-" or len(given) > 60)
        ):
            raise PydanticCustomError("identifier", "not_an_identifier", {"found": given})
    return given


_DAYS_IN_MONTH = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def _date(given: Any) -> Any:
    parts = given.split("-") if isinstance(given, str) else []
    if (
        [len(part) for part in parts] != [4, 2, 2]
        or not all(part.isascii() and part.isdigit() for part in parts)
        or not (1 <= int(parts[1]) <= 12 and 1 <= int(parts[2]) <= _DAYS_IN_MONTH[int(parts[1]) - 1])
    ):
        raise PydanticCustomError("date", "not_a_date", {"found": str(given)})
    return given


def _yes_no(given: Any) -> Any:
    if isinstance(given, str):
        if given in {"yes", "true"}:
            return True
        if given in {"no", "false"}:
            return False
        raise PydanticCustomError("yes_no", "not_yes_or_no", {"found": given})
    return given


def _whole(given: Any) -> Any:
    if isinstance(given, str):
        if (
            not (given.isascii() and given.isdigit())
            or len(given) > 9
            or (len(given) > 1 and given[0] == "0")
        ):
            raise PydanticCustomError("whole", "not_a_whole_number", {"found": given})
        return int(given)
    return given


# What editors are told. They read YAML 1.2, where 4 and 2.0 are numbers and yes is text; we read text only.
_NAME = r"^[^\[\]{}<>\"'`\\/\n\t]+$"
Text = Annotated[
    str,
    BeforeValidator(_plain_text),
    WithJsonSchema({"type": ["string", "number"], "minLength": 1, "maxLength": _TEXT_LIMIT}),
]
Mark = Annotated[
    str,
    BeforeValidator(_mark),
    WithJsonSchema({"type": ["string", "number"], "pattern": _NAME, "maxLength": 24}),
]
Identifier = Annotated[
    str,
    BeforeValidator(_identifier),
    WithJsonSchema({"type": "string", "pattern": "^[a-z0-9]([a-z0-9-]*[a-z0-9])?$", "maxLength": 60}),
]
Date = Annotated[
    str,
    BeforeValidator(_date),
    WithJsonSchema({"type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$", "examples": ["2026-03-31"]}),
]
YesNo = Annotated[
    bool,
    BeforeValidator(_yes_no),
    WithJsonSchema({"enum": ["yes", "no", True, False], "description": "yes or no"}),
]
Whole = Annotated[
    int,
    BeforeValidator(_whole),
    WithJsonSchema({"type": "integer", "minimum": 0, "maximum": 999_999_999}),
]

# Kinds as fields. The spans are what a reader would believe, wide of every real machine.
BoilerTemperature = Annotated[Measure, QuantityOf("temperature", "30 °C", "150 °C")]
Temperature = Annotated[Measure, QuantityOf("temperature", "-40 °C", "150 °C")]
RoomTemperature = Annotated[Measure, QuantityOf("temperature", "-30 °C", "60 °C")]
WaterTemperature = Annotated[Measure, QuantityOf("temperature", "0.5 °C", "60 °C")]
TemperatureDifference = Annotated[Measure, QuantityOf("temperature_difference", "0 K", "60 K")]
Gauge = Annotated[Measure, QuantityOf("pressure_gauge", "0 bar", "40 bar")]
Difference = Annotated[Measure, QuantityOf("pressure_difference", "0 bar", "25 bar")]
Volume = Annotated[Measure, QuantityOf("volume", "0.05 L", "100 L")]
SmallVolume = Annotated[Measure, QuantityOf("small_volume", "1 mL", "5000 mL")]
FlowRate = Annotated[Measure, QuantityOf("flow", "0.01 L/min", "200 L/min")]
Duration = Annotated[Measure, QuantityOf("time", "1 s", "24 h")]
Mass = Annotated[Measure, QuantityOf("mass", "0.05 kg", "600 kg")]
Altitude = Annotated[Measure, QuantityOf("altitude", "-430 m", "5000 m")]
Length = Annotated[Measure, QuantityOf("length", "0.05 m", "500 m")]
Size = Annotated[Measure, QuantityOf("size", "0.1 mm", "5000 mm")]
Level = Annotated[Measure, QuantityOf("level", "-20 m", "20 m")]
CrossSection = Annotated[Measure, QuantityOf("area", "0.5 mm²", "95 mm²")]
Power = Annotated[Measure, QuantityOf("power", "1 W", "40 kW")]
Voltage = Annotated[Measure, QuantityOf("voltage", "90 V", "480 V")]
Current = Annotated[Measure, QuantityOf("current", "0.1 A", "200 A")]
ResidualCurrent = Annotated[Measure, QuantityOf("small_current", "1 mA", "1 A")]
Resistance = Annotated[Measure, QuantityOf("resistance", "0 Ω", "2000 Ω")]
Conductivity = Annotated[Measure, QuantityOf("conductivity", "0.05 µS/cm", "10000 µS/cm")]
Hardness = Annotated[Measure, QuantityOf("hardness", "0 mg/L CaCO3", "1500 mg/L CaCO3")]
Concentration = Annotated[Measure, QuantityOf("concentration", "0 mg/L", "5000 mg/L")]
Capacity = Annotated[Measure, QuantityOf("capacity", "1 °dH·L", "1000000 °dH·L")]
Torque = Annotated[Measure, QuantityOf("torque", "0.1 N·m", "200 N·m")]
Force = Annotated[Measure, QuantityOf("force", "1 N", "50 kN")]
Fall = Annotated[Measure, QuantityOf("fall", "0.1 %", "100 %")]
Ratio = Annotated[Measure, QuantityOf("ratio", "0 %", "100 %")]
Share = Annotated[Measure, QuantityOf("ratio", "50 %", "150 %")]
Conductance = Annotated[Measure, QuantityOf("conductance", "0.05 W/K", "60 W/K")]
PowerFactor = Annotated[Measure, QuantityOf("number", "0.1", "1")]
Frequency = Annotated[Measure, QuantityOf("frequency", "45 Hz", "65 Hz")]
PhValue = Annotated[Measure, QuantityOf("number", "3", "12")]
Coefficient = Annotated[Measure, QuantityOf("number", "0.1", "100")]


class Section(BaseModel):
    """A group of fields: unknown keys are refused, and what was read does not change."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)
