"""Quantities as pages show them: a pair of units, rounded so that the pair agrees, and read back again."""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import Literal, NamedTuple

from procgen.units.kinds import KINDS, Kind, Preference, from_si, gauge_number, step_in, to_si
from procgen.units.measure import Measure

NBSP = "\u00a0"
MINUS = "\u2212"
DASH = "\u2013"

#: predicted ranges are rounded outward, permitted limits inward, single figures to the nearest
Rounding = Literal["nearest", "outward", "inward"]


class Shown(NamedTuple):
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
    exponent = math.floor(math.log10(abs(shown))) - digits + 1 if shown else -kind.decimals
    return step_of(kind, kind.metric, 10.0**exponent)


def _time_step(si: float, digits: int) -> float:
    """Durations step in seconds, five seconds, minutes, five minutes: what people read off a watch."""
    return _watch_step(max(abs(si) * 10.0 ** (1 - digits) / 2, 1.0))


def _watch_step(wanted: float) -> float:
    """The coarsest step of a watch that is not above the wanted one."""
    steps = (0.1, 1.0, 5.0, 10.0, 30.0, 60.0, 300.0, 600.0, 3600.0, 86400.0)
    return max((step for step in steps if step <= wanted), default=steps[0])


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
    direction = _direction(rounding, upward)
    if kind_name == "time":
        return Shown(duration_text(si, step, direction))
    kind = KINDS[kind_name]
    texts = [_one(kind, symbol, si, step, direction) for symbol in _symbols(kind, prefer, si)]
    return Shown(*texts)


def pair_range(
    kind_name: str,
    low: float,
    high: float,
    step: float,
    prefer: Preference = "metric",
    rounding: Rounding = "outward",
) -> Shown:
    """A range in both unit systems; one figure where both ends read the same in both."""
    down, up = _direction(rounding, False), _direction(rounding, True)
    if high - low < step * 1e-6:
        down = up = 0
    if kind_name == "time":
        first, last = duration_text(low, step, down), duration_text(high, step, up)
        return Shown(first if first == last else f"{first} {DASH} {last}")
    kind = KINDS[kind_name]
    return Shown(
        *(_range(kind, symbol, low, high, step, down, up) for symbol in _symbols(kind, prefer, low, high))
    )


def _symbols(kind: Kind, prefer: Preference, *figures: float) -> list[str]:
    """The units of a pair, the reader's own first; one where both systems write the same."""
    symbols = [kind.metric, kind.us] if prefer == "metric" else [kind.us, kind.metric]
    if kind.small and max(abs(figure) for figure in figures) < kind.small_below:
        symbols = [kind.small if symbol == kind.metric else symbol for symbol in symbols]
    return list(dict.fromkeys(symbols))


def _decimals(kind: Kind, symbol: str, step: float, *figures: float) -> int:
    """Decimals of one text of a pair, whichever of the two comes first.

    The unit that the step is a decade of keeps the step. The other one keeps the trade's digits, for
    ``2 bar`` typed without a decimal is 29 psi all the same; but no more than three significant ones, for
    2461.5 L is 650 gal and not 650.26 gal. Noughts stand in for digits only where the step is that coarse.
    """
    own = decimals_for(kind, symbol, step)
    native = _native(kind, step)
    if symbol == native or (symbol == kind.small and native == kind.metric):
        return own
    trade = min(step, step_of(kind, kind.metric, 10.0**-kind.decimals))
    return max(min(decimals_for(kind, symbol, trade), _enough(kind, symbol, figures)), min(own, 0))


@lru_cache(maxsize=4096)
def _native(kind: Kind, step: float) -> str:
    """The unit that a step was typed or reckoned in: the one that it is a power of ten of."""
    if kind.us != "AWG" and _is_decade(kind, kind.us, step) and not _is_decade(kind, kind.metric, step):
        return kind.us
    return kind.metric


def _is_decade(kind: Kind, symbol: str, step: float) -> bool:
    size = step_in(kind, symbol, step)
    return size > 0 and abs(math.log10(size) - round(math.log10(size))) < 1e-6


def _enough(kind: Kind, symbol: str, figures: tuple[float, ...]) -> int:
    """Decimals for three digits of each figure, and for two of a range, so that its ends stay apart."""
    shown = [from_si(kind, symbol, figure) for figure in figures]
    wanted = [2 - math.floor(math.log10(abs(figure))) for figure in shown if figure]
    width = abs(shown[-1] - shown[0])
    if width:
        wanted.append(1 - math.floor(math.log10(width)))
    # Digits of a temperature say nothing about its size: the scale has its nought elsewhere.
    return _ALL_DIGITS if kind.name == "temperature" else max(wanted, default=_ALL_DIGITS)


_ALL_DIGITS = 99


def measure_pair(measure: Measure, prefer: Preference = "metric") -> Shown:
    """A typed quantity at its nominal figure, with the trade figure its profile states."""
    shown = pair(measure.kind, measure.value, measure.step, prefer)
    if measure.trade is None:
        return shown
    kind = KINDS[measure.kind]
    trade = _with_unit(kind, measure.trade.symbol, number_text(measure.trade.value, measure.trade.decimals))
    if measure.trade.symbol == (kind.us if prefer == "metric" else kind.metric):
        return Shown(shown.primary, trade)
    return Shown(trade, shown.secondary)


@lru_cache(maxsize=4096)
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
    noise = min(1e-9 * max(1.0, abs(scaled)), 1e-3)
    if direction and abs(scaled - nearest) > noise:
        nearest = math.ceil(scaled) if direction > 0 else math.floor(scaled)
    return nearest / 10.0**decimals


def _one(kind: Kind, symbol: str, si: float, step: float, direction: int) -> str:
    return _with_unit(kind, symbol, _number(kind, symbol, si, _decimals(kind, symbol, step, si), direction))


def _number(kind: Kind, symbol: str, si: float, decimals: int, direction: int) -> str:
    if symbol == "AWG":  # the gauge number falls as the section grows
        return gauge_text(round(_round(from_si(kind, symbol, si), 0, -direction)))
    return number_text(_round(from_si(kind, symbol, si), decimals, direction), decimals)


def gauge_text(gauge: int) -> str:
    """A wire gauge as the trade writes it: above 1 come 1/0, 2/0, 3/0 and 4/0."""
    return str(gauge) if gauge > 0 else f"{1 - gauge}/0"


def _with_unit(kind: Kind, symbol: str, number: str) -> str:
    if not symbol:
        return number
    if symbol == "AWG":
        return f"AWG{NBSP}{number}"
    return f"{number}{NBSP}{symbol.replace(' ', NBSP)}{kind.suffix.replace(' ', NBSP)}"


def _range(kind: Kind, symbol: str, low: float, high: float, step: float, down: int, up: int) -> str:
    decimals = _decimals(kind, symbol, step, low, high)
    first, last = _number(kind, symbol, low, decimals, down), _number(kind, symbol, high, decimals, up)
    # A minus sign beside a dash reads as one; then the range is spelt with spaces.
    dash = f" {DASH} " if MINUS in first + last else DASH
    return _with_unit(kind, symbol, first if first == last else f"{first}{dash}{last}")


def duration_text(seconds: float, step: float, direction: int = 0) -> str:
    """``45 s``, ``4 min 24 s``, ``26 min``, ``1 h 32 min``, ``12 h``, ``17 days``."""
    if seconds < 0:
        return MINUS + duration_text(-seconds, step, -direction)
    step = _watch_step(_coarse_enough(seconds, step))
    if step < 1:
        return f"{number_text(_round(seconds, 1, direction), 1)}{NBSP}s"
    rounded = round(_round(seconds / step, 0, direction) * step)
    if step >= 86400 or rounded >= 3 * 86400:
        days = round(rounded / 86400)
        return f"{days}{NBSP}{'day' if days == 1 else 'days'}"
    hours, rest = divmod(rounded, 3600)
    minutes, secs = divmod(rest, 60)
    if hours:
        return f"{hours}{NBSP}h" + (f"{NBSP}{minutes}{NBSP}min" if minutes else "")
    if minutes:
        return f"{minutes}{NBSP}min" + (f"{NBSP}{secs}{NBSP}s" if secs else "")
    return f"{secs}{NBSP}s"


def _coarse_enough(seconds: float, step: float) -> float:
    """A step that the text can carry: from an hour on it has no seconds, from three days on no hours."""
    if seconds >= 3 * 86400:
        return max(step, 86400.0)
    return max(step, 60.0) if seconds >= 3600 else step


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
        gauges = [gauge_number(gauge.strip()) for gauge in text.removeprefix("AWG").split(DASH)]
        return [
            (to_si(kind, "AWG", g), abs(to_si(kind, "AWG", g - 0.5) - to_si(kind, "AWG", g))) for g in gauges
        ]
    symbol = next(
        (
            s
            for s in sorted({kind.metric, kind.us, kind.small}, key=len, reverse=True)
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


@lru_cache(maxsize=4096)
def step_of(kind: Kind, symbol: str, size: float) -> float:
    """SI size of a step given in a unit."""
    return abs(to_si(kind, symbol, size) - to_si(kind, symbol, 0.0))


def _read_duration(text: str) -> tuple[float, float]:
    plain = text.replace(NBSP, " ").strip()
    sign = -1 if plain.startswith(MINUS) else 1
    match = _DURATION.match(plain.removeprefix(MINUS))
    if not match or not any(match.groups()):
        raise ValueError(f"no duration in {text!r}")
    days, hours, minutes, seconds = match.groups()
    total = int(days or 0) * 86400 + int(hours or 0) * 3600 + int(minutes or 0) * 60 + float(seconds or 0)
    half = 0.5 if seconds else 30.0 if minutes else 1800.0 if hours else 43200.0
    return sign * total, half
