"""Why a value cannot be had, in words: what a formula calls its argument becomes what the trade calls it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from procgen.engineering.kernel import OutOfRangeError
from procgen.messages.catalog import Messages
from procgen.units.kinds import Preference
from procgen.units.show import pair, step_for
from procgen.values.define import UnavailableError

#: reasons that lie in a figure and not in what the machine or the survey has
OF_FIGURES = frozenset(
    {
        "out_of_range",
        "no_solution",
        "no_table_entry",
        "cable_takes_all",
        "cold_not_below_limit",
        "room_hotter",
    }
)

#: kind of quantity that shows a formula's unit
_KINDS: Mapping[str, str] = {
    "": "number",
    "A": "current",
    "J": "energy",
    "J/K": "heat_capacity",
    "K": "temperature",
    "N": "force",
    "N*m": "torque",
    "Pa": "pressure_difference",
    "S/m": "conductivity",
    "V": "voltage",
    "W": "power",
    "W/K": "conductance",
    "kg": "mass",
    "kg/s": "mass_flow",
    "m": "size",
    "m**2": "area",
    "m**3": "volume",
    "m**3/s": "flow",
    "m/s": "speed",
    "mg/L": "concentration",
    "mgCaCO3": "hardness",
    "mgCaCO3*L": "capacity",
    "ohm": "resistance",
    "s": "time",
}
#: arguments that another kind shows better than their unit's usual one
_OF_ARGUMENT: Mapping[str, str] = {
    "L": "length",
    "difference": "temperature_difference",
    "end_height": "level",
    "height": "level",
    "length": "length",
    "p_atm": "pressure_absolute",
    "start_height": "level",
    "V": "level",
    "z": "altitude",
}


def reason_text(error: UnavailableError, messages: Messages, prefer: Preference = "metric") -> str:
    """Why a value cannot be had, in words."""
    params: dict[str, Any] = {name: given for name, given in error.params.items() if name != "edge"}
    out_of_range = params.pop("error", None)
    if out_of_range is not None:
        return _out_of_range(out_of_range, messages, prefer)
    if "field" in params:
        params["field"] = str(params["field"]).replace("_", " ")
    return messages.text(f"values.why.{error.reason}", **params)


def _out_of_range(error: OutOfRangeError, messages: Messages, prefer: Preference) -> str:
    kind = _kind(error)
    known = f"values.arguments.{error.argument}"
    what = messages.raw(known if messages.has(known) else f"values.arguments_of.{kind or 'other'}")
    texts: dict[str, Any] = {"found": _figure(kind, error.found, prefer, messages), "what": what}
    sides = []
    for name, bound in (("low", error.low), ("high", error.high)):
        if bound is not None:
            sides.append(name)
            texts[name] = _figure(kind, bound, prefer, messages)
    return messages.text(f"values.why.out_of_range_{'_'.join(sides) or 'none'}", **texts)


def _kind(error: OutOfRangeError) -> str:
    """The kind that shows the argument; none for units that no reader knows."""
    if error.argument.endswith("_gauge"):
        return "pressure_gauge"
    if error.argument == "V" and error.unit != "m":
        return "volume"
    if error.argument == "L" and error.unit != "m":
        return ""
    return _OF_ARGUMENT.get(error.argument) or _KINDS.get(error.unit, "")


def _figure(kind: str, found: float, prefer: Preference, messages: Messages) -> str:
    if not math.isfinite(found):
        return messages.raw("values.without_end")
    kind = kind or "number"
    return pair(kind, found, step_for(found, kind, 3), prefer).text
