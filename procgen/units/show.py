"""Quantities as pages show them: a pair of units, rounded so that the pair agrees, and read back again."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Literal

from procgen.units.kinds import KINDS, Kind, Preference, from_si, step_in, to_si
from procgen.units.measure import Measure

NBSP = "\u00a0"
MINUS = "\u2212"
DASH = "\u2013"

#: predicted ranges are rounded outward, permitted limits inward, single figures to the nearest
Rounding = Literal["nearest", "outward", "inward"]


@dataclass(frozen=True, slots=True)
class Shown:
    """A quantity as text: ``93 °C (199 °F)``."""

    primary: str
    secondary: str = ""

    @property
    def text(self) -> str:
        """Both units, the reader's own first."""
        return f"{self.primary} ({self.secondary})" if self.secondary else self.primary


def step_for(si: float, kind_name: str, digits: int) -> float:
    """SI step of a figure shown with so many significant digits in its metric unit."""
    kind = KINDS[kind_name]
    if kind_name == "time":
        return _time_step(si, digits)
    shown = from_si(kind, kind.metric, si)
    if shown == 0:
        return abs(to_si(kind, kind.metric, 10.0**-kind.decimals) - to_si(kind, kind.metric, 0))
    exponent = math.floor(math.log10(abs(shown))) - digits + 1
    return abs(to_si(kind, kind.metric, 10.0**exponent) - to_si(kind, kind.metric, 0))


def _time_step(si: float, digits: int) -> float:
    """Durations step in seconds, five seconds, minutes, five minutes: what people read off a watch."""
    wanted = abs(si) * 10.0 ** (1 - digits) / 2
    steps = (0.1, 1.0, 5.0, 10.0, 30.0, 60.0, 300.0, 600.0, 3600.0, 86400.0)
    return max((step for step in steps if step <= max(wanted, 1.0)), default=1.0)


def pair(
    kind_name: str,
    si: float,
    step: float,
    prefer: Preference = "metric",
    rounding: Rounding = "nearest",
    upward: bool = True,
) -> Shown:
    """One figure in both unit systems.

    ``rounding`` "outward" rounds a predicted extreme away from its range and "inward" a limit into it;
    ``upward`` says which end of the range the figure is.
    """
    kind = KINDS[kind_name]
    first, second = (kind.metric, kind.us) if prefer == "metric" else (kind.us, kind.metric)
    direction = _direction(rounding, upward)
    primary = _one(kind, first, si, step, direction)
    if second == first or kind_name == "time":
        return Shown(primary)
    return Shown(primary, _one(kind, second, si, _second_step(kind, step), direction))


def pair_range(
    kind_name: str,
    low: float,
    high: float,
    step: float,
    prefer: Preference = "metric",
    rounding: Rounding = "outward",
) -> Shown:
    """A range in both unit systems; one figure where both ends read the same in both."""
    kind = KINDS[kind_name]
    first, second = (kind.metric, kind.us) if prefer == "metric" else (kind.us, kind.metric)
    down, up = _direction(rounding, False), _direction(rounding, True)
    if high - low < step * 1e-6:
        down = up = 0
    primary = _range(kind, first, low, high, step, down, up)
    if second == first or kind_name == "time":
        return Shown(primary)
    return Shown(primary, _range(kind, second, low, high, _second_step(kind, step), down, up))


def _second_step(kind: Kind, step: float) -> float:
    """``2 bar`` typed without a decimal is 29 psi all the same: the other unit keeps the trade's digits."""
    return min(step, abs(to_si(kind, kind.metric, 10.0**-kind.decimals) - to_si(kind, kind.metric, 0.0)))


def measure_pair(measure: Measure, prefer: Preference = "metric") -> Shown:
    """A typed quantity at its nominal figure, with the trade figure its profile states."""
    shown = pair(measure.kind, measure.value, measure.step, prefer)
    if measure.trade is None:
        return shown
    kind = KINDS[measure.kind]
    trade = f"{number_text(measure.trade.value, measure.trade.decimals)}{NBSP}{measure.trade.symbol}"
    if measure.trade.symbol == (kind.us if prefer == "metric" else kind.metric):
        return Shown(shown.primary, trade)
    return Shown(trade, shown.secondary)


def decimals_for(kind: Kind, symbol: str, step: float) -> int:
    """Decimals that show an SI step in a unit: the coarsest power of ten not above the step."""
    size = step_in(kind, symbol, step)
    return math.ceil(-math.log10(size) - 1e-9) if size > 0 else kind.decimals


def number_text(value: float, decimals: int) -> str:
    """A rounded figure with a true minus sign and thin groups of three from five digits on."""
    text = f"{abs(value):.{max(decimals, 0)}f}"
    whole, _, part = text.partition(".")
    if len(whole) > 4:
        groups = []
        while whole:
            groups.append(whole[-3:])
            whole = whole[:-3]
        whole = "\u202f".join(reversed(groups))
    sign = MINUS if value < 0 and float(text) != 0 else ""
    return sign + whole + (f".{part}" if part else "")


def _direction(rounding: Rounding, upward: bool) -> int:
    if rounding == "nearest":
        return 0
    return 1 if upward == (rounding == "outward") else -1


def _round(value: float, decimals: int, direction: int) -> float:
    scaled = value * 10.0**decimals
    # A figure that is a step to within float noise is that step, whichever way it is rounded.
    nearest = math.floor(scaled + 0.5)
    if direction and abs(scaled - nearest) > 1e-6 * max(1.0, abs(scaled)):
        nearest = math.ceil(scaled) if direction > 0 else math.floor(scaled)
    return nearest / 10.0**decimals


def _one(kind: Kind, symbol: str, si: float, step: float, direction: int) -> str:
    if kind.name == "time":
        return duration_text(si, step, direction)
    number = _number(kind, symbol, si, step, direction)
    return _with_unit(kind, symbol, number)


def _number(kind: Kind, symbol: str, si: float, step: float, direction: int) -> str:
    decimals = decimals_for(kind, symbol, step)
    return number_text(_round(from_si(kind, symbol, si), decimals, direction), decimals)


def _with_unit(kind: Kind, symbol: str, number: str) -> str:
    if not symbol:
        return number
    if symbol == "AWG":
        return f"AWG{NBSP}{number}"
    return f"{number}{NBSP}{symbol.replace(' ', NBSP)}{kind.suffix.replace(' ', NBSP)}"


def _range(kind: Kind, symbol: str, low: float, high: float, step: float, down: int, up: int) -> str:
    if kind.name == "time":
        first, last = duration_text(low, step, down), duration_text(high, step, up)
        return first if first == last else f"{first} {DASH} {last}"
    if symbol == "AWG":  # the gauge number falls as the section grows
        low, high, down, up = high, low, -up, -down
    first, last = _number(kind, symbol, low, step, down), _number(kind, symbol, high, step, up)
    # A minus sign beside a dash reads as one; then the range is spelt with spaces.
    dash = f" {DASH} " if MINUS in first + last else DASH
    return _with_unit(kind, symbol, first if first == last else f"{first}{dash}{last}")


def duration_text(seconds: float, step: float, direction: int = 0) -> str:
    """``45 s``, ``4 min 24 s``, ``26 min``, ``1 h 32 min``, ``17 days``."""
    if step < 1:
        return f"{number_text(_round(seconds, 1, direction), 1)}{NBSP}s"
    rounded = round(_round(seconds / step, 0, direction) * step)
    if step >= 86400 or rounded >= 3 * 86400:
        days = round(rounded / 86400)
        return f"{days}{NBSP}{'day' if days == 1 else 'days'}"
    hours, rest = divmod(rounded, 3600)
    minutes, secs = divmod(rest, 60)
    if hours:
        return f"{hours}{NBSP}h" + (f"{NBSP}{minutes}{NBSP}min" if minutes or step < 3600 else "")
    if minutes:
        return f"{minutes}{NBSP}min" + (f"{NBSP}{secs}{NBSP}s" if secs else "")
    return f"{secs}{NBSP}s"


_DURATION = re.compile(r"(?:(\d+)\s*days?)?\s*(?:(\d+)\s*h)?\s*(?:(\d+)\s*min)?\s*(?:([\d.]+)\s*s)?$")


def read_back(kind_name: str, text: str) -> list[tuple[float, float]]:
    """Read shown text again: SI figure and half its last digit, one for a figure and two for a range.

    Raises:
        ValueError: the text is no figure of this kind.
    """
    kind = KINDS[kind_name]
    text = text.strip()
    if kind_name == "time":
        return [_read_duration(part) for part in re.split(rf"\s{DASH}\s", text)]
    if text.startswith("AWG"):
        gauges = text.removeprefix("AWG").strip().split(DASH)
        return [
            (
                to_si(kind, "AWG", float(g)),
                abs(to_si(kind, "AWG", float(g) - 0.5) - to_si(kind, "AWG", float(g))),
            )
            for g in gauges
        ]
    symbol = next(
        (
            s
            for s in sorted({kind.metric, kind.us}, key=len, reverse=True)
            if s and text.replace(NBSP, " ").endswith(s + kind.suffix)
        ),
        "",
    )
    body = text.replace(NBSP, " ").removesuffix(kind.suffix).removesuffix(symbol) if symbol else text
    if not symbol and (kind.metric or kind.us):
        raise ValueError(f"no unit of {kind_name} in {text!r}")
    result = []
    for part in re.split(rf"\s?{DASH}\s?", body.strip()):
        plain = part.strip().replace("\u202f", "").replace(MINUS, "-")
        digits = len(plain.partition(".")[2])
        half = 0.5 * step_of(kind, symbol, 10.0**-digits)
        result.append((to_si(kind, symbol, float(plain)), half))
    return result


def step_of(kind: Kind, symbol: str, size: float) -> float:
    """SI size of a step given in a unit."""
    return abs(to_si(kind, symbol, size) - to_si(kind, symbol, 0.0))


def _read_duration(text: str) -> tuple[float, float]:
    match = _DURATION.match(text.replace(NBSP, " ").strip())
    if not match or not any(match.groups()):
        raise ValueError(f"no duration in {text!r}")
    days, hours, minutes, seconds = match.groups()
    total = int(days or 0) * 86400 + int(hours or 0) * 3600 + int(minutes or 0) * 60 + float(seconds or 0)
    half = 0.5 if seconds else 30.0 if minutes else 1800.0 if hours else 43200.0
    return total, half
