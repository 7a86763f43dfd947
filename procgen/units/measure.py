"""What a person types for a quantity, read into SI: ``11 L``, ``2.5..4 bar``, ``1:40``."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from procgen.units.kinds import KINDS, Kind, from_si, gauge_number, to_si

# Digits of other scripts are refused: a reader could not check them.
_NUMBER = r"[+\-−]?(?:[0-9]+(?:[\u00a0\u202f][0-9]{3})*(?:\.[0-9]+)?|\.[0-9]+)"
_QUANTITY = re.compile(rf"^\s*({_NUMBER}(?:\s*\.\.\s*{_NUMBER}){{0,2}})\s*(.*?)\s*$")
_FALL = re.compile(r"^\s*([+\-−]?1)\s*:\s*([0-9]+(?:\.[0-9]+)?)\s*$")
_TRADE = re.compile(r"^(.*\S)\s*\((.+?) to the nearest (.+?)\)\s*$")
_GAUGE = r"([1-9][0-9]?|0|[1-4]/0)"
_AWG = re.compile(rf"^\s*(?:AWG\s*{_GAUGE}|{_GAUGE}\s*AWG)\s*$")
_MARK = re.compile(r"^(.*?)\s*(?:\((g|a)\)|\s(gauge|abs|absolute))$")


class MeasureError(ValueError):
    """Something typed is not a quantity of the kind asked for. ``code`` names the words in messages."""

    def __init__(self, code: str, found: str, kind: Kind, **details: str) -> None:
        self.code = code
        self.found = found
        self.kind = kind
        self.details = details
        super().__init__(f"{code}: {found!r} ({kind.name})")


@dataclass(frozen=True, slots=True)
class TradeFigure:
    """A figure in the other unit system that the profile states, rounded by the trade."""

    value: float
    symbol: str
    decimals: int


@dataclass(frozen=True, slots=True)
class Measure:
    """A quantity in SI with its range, the text it was typed as, and the step its digits stand for."""

    kind: str
    low: float
    value: float
    high: float
    text: str
    step: float
    trade: TradeFigure | None = None

    @property
    def is_range(self) -> bool:
        """True where the quantity is an interval and not one figure."""
        return self.low != self.high


def parse(text: str, kind_name: str) -> Measure:
    """Read typed text as a quantity of a kind.

    Raises:
        MeasureError: no number, no unit, another dimension, a range upside down, below the physical floor.
    """
    kind = KINDS[kind_name]
    trade_match = _TRADE.match(text)
    main_text = trade_match.group(1) if trade_match else text
    measure = _parse_plain(main_text, kind)
    if trade_match is None:
        return measure
    trade = _trade_figure(text, trade_match.group(2), trade_match.group(3), measure, kind)
    return Measure(kind.name, measure.low, measure.value, measure.high, text.strip(), measure.step, trade)


def pattern(kind_name: str) -> str:
    """What ``parse`` takes for a kind, as a pattern that editors check with (ECMA 262 dialect)."""
    kind = KINDS[kind_name]
    number = _NUMBER.replace("(?:", "(")
    units = "|".join(re.sub(r"([/.()*+?|^$\[\]{}\\])", r"\\\1", unit) for unit in kind.typed if unit != "AWG")
    mark = {"gauge": r"(\s*\(g\)|\s+gauge)?", "absolute": r"(\s*\(a\)|\s+(abs|absolute))?"}.get(
        kind.reference or "", ""
    )
    forms = [rf"{number}(\s*\.\.\s*{number}){{0,2}}\s*" + (f"({units}){mark}" if units else "")]
    if kind_name == "fall":
        forms.append(r"[+\-−]?1\s*:\s*[0-9]+(\.[0-9]+)?")
    if kind_name == "area":
        forms += [rf"AWG\s*{_GAUGE}", rf"{_GAUGE}\s*AWG"]
    return rf"^\s*({'|'.join(forms)})(\s*\(.+ to the nearest .+\))?\s*$"


def _parse_plain(text: str, kind: Kind) -> Measure:
    fall = _FALL.match(text) if kind.name == "fall" else None
    if fall:
        run = float(fall.group(2))
        if run == 0:
            raise MeasureError("fall_of_zero_run", text, kind)
        ratio = _number(fall.group(1)) / run
        return Measure(kind.name, ratio, ratio, ratio, text.strip(), abs(ratio) / 100)
    gauge = _AWG.match(text) if kind.name == "area" else None
    if gauge:
        area = to_si(kind, "AWG", gauge_number(gauge.group(1) or gauge.group(2)))
        return Measure(kind.name, area, area, area, text.strip(), area / 100)
    match = _QUANTITY.match(text)
    if not match or (match.group(2) == "AWG" and kind.name == "area"):
        raise MeasureError("not_a_quantity", text, kind)
    numbers = [part.strip() for part in match.group(1).split("..")]
    symbol = _symbol(match.group(2), text, kind)
    values = [to_si(kind, symbol, _number(number)) for number in numbers]
    low, high = values[0], values[-1]
    value = values[1] if len(values) == 3 else (low + high) / 2
    if not low <= value <= high:
        raise MeasureError("range_upside_down", text, kind)
    if kind.floor is not None and low < kind.floor:
        raise MeasureError("below_floor", text, kind)
    step = _typed_step(kind, symbol, numbers, value)
    return Measure(kind.name, low, value, high, text.strip(), step)


def _typed_step(kind: Kind, symbol: str, numbers: list[str], value: float) -> float:
    """SI step of the last digit typed; of the third digit where pages show another unit."""
    decimals = max(len(number.partition(".")[2]) for number in numbers)
    step = _size(kind, symbol, 10.0**-decimals)
    unit = _size(kind, symbol, 1.0)
    shown = (_size(kind, own, 1.0) for own in (kind.metric, kind.us))
    if not value or any(math.isclose(unit, size, rel_tol=1e-9) for size in shown):
        return step
    # Digits of a unit that pages do not show say little about the digits of the one they do: three stand.
    figure = abs(from_si(kind, kind.metric, value)) or 1.0
    third = _size(kind, kind.metric, 10.0 ** (math.floor(math.log10(figure)) - 2))
    return min(third, 60.0) if kind.name == "time" else third


def _size(kind: Kind, symbol: str, number: float) -> float:
    """SI size of a difference of so many units."""
    return abs(to_si(kind, symbol, number) - to_si(kind, symbol, 0.0))


def _symbol(typed: str, text: str, kind: Kind) -> str:
    """The unit's symbol without its gauge or absolute mark, or an error that says what was expected."""
    mark = _MARK.match(typed) if kind.reference else None
    symbol = mark.group(1).strip() if mark else typed
    if not kind.typed:
        if symbol:
            raise MeasureError("unit_where_none", text, kind, unit=symbol)
        return ""
    if not symbol:
        raise MeasureError("missing_unit", text, kind)
    if symbol not in kind.typed:
        found_kind = next((other.name for other in KINDS.values() if symbol in other.typed), "")
        raise MeasureError(
            "wrong_dimension" if found_kind else "unknown_unit",
            text,
            kind,
            unit=symbol,
            found_kind=found_kind,
        )
    if mark:
        said = "gauge" if (mark.group(2) or mark.group(3)).startswith("g") else "absolute"
        if said != kind.reference:
            raise MeasureError("wrong_reference", text, kind, said=said, wanted=kind.reference or "")
    return symbol


def _trade_figure(text: str, figure: str, nearest: str, measure: Measure, kind: Kind) -> TradeFigure:
    """The stated trade figure, refused where it disagrees by more than half of its own rounding."""
    match, step = _QUANTITY.match(figure), _QUANTITY.match(nearest)
    if not match or not step or match.group(2) != step.group(2) or ".." in match.group(1) + step.group(1):
        raise MeasureError("trade_figure_unreadable", text, kind)
    symbol = _symbol(match.group(2), text, kind)
    if symbol not in {kind.metric, kind.us} or not symbol:
        raise MeasureError("trade_figure_unreadable", text, kind)
    stated = to_si(kind, symbol, _number(match.group(1)))
    rounding = _size(kind, symbol, _number(step.group(1)))
    if abs(stated - measure.value) > rounding / 2 + 1e-9:
        raise MeasureError("trade_figure_disagrees", text, kind, figure=figure, nearest=nearest)
    return TradeFigure(_number(match.group(1)), symbol, len(match.group(1).partition(".")[2]))


def _number(text: str) -> float:
    return float(re.sub("[\u00a0\u202f]", "", text).replace("−", "-"))
