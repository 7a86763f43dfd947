"""Electricity: currents, voltage under load, device and cable as guidance for the licensed electrician."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator

from procgen.engineering import electrical_cable, electrical_network
from procgen.engineering.kernel import Source
from procgen.engineering.sources_general import (
    IEC_60364_4_43,
    IEC_60364_5_52_B,
    IEC_60364_5_52_G,
    NEC_210_20,
    NEC_310,
    OHM,
    PHASORS,
)
from procgen.profiles.boilers import Element
from procgen.profiles.power import Load
from procgen.values.constants import ELEMENT_TOLERANCE
from procgen.values.define import VALUES, UnavailableError
from procgen.values.reader import Facts, Reader

WITHOUT_NEUTRAL = {"3", "3_delta_208"}
THREE_PHASE = {"3N", "3", "3_delta_208"}
#: Angle of the voltage between two conductors against L1's, degrees.
ANGLES = {
    "1N": {"L1-N": 0.0},
    "3N": {"L1-N": 0.0, "L2-N": -120.0, "L3-N": 120.0, "L1-L2": 30.0, "L2-L3": -90.0, "L3-L1": 150.0},
    "3": {"L1-L2": 30.0, "L2-L3": -90.0, "L3-L1": 150.0},
    "3_delta_208": {"L1-L2": 30.0, "L2-L3": -90.0, "L3-L1": 150.0},
    "split": {"L1-N": 0.0, "L2-N": 180.0, "L1-L2": 0.0},
    "two_legs": {"L1-N": 0.0, "L2-N": -120.0, "L1-L2": 30.0},
}


def element(r: Reader, mark: str) -> Element:
    """An element by its mark."""
    for item in r.machine.elements:
        if item.mark == mark:
            return item
    raise KeyError(mark)


def element_marks(r: Reader) -> list[str]:
    """Marks of the elements."""
    return [item.mark for item in r.machine.elements]


def _terminals(r: Reader, mark: str) -> str:
    return next(c.terminals for c in r.variant.connections if c.element == mark)


def supply_voltage(r: Reader, to_neutral: bool) -> float:
    """Voltage at the isolator: measured, or the variant's nominal over the model's design range."""
    name, symbol = ("line_to_neutral", "U_LN") if to_neutral else ("line_to_line", "U_LL")
    site = r.site.electricity if r.site else None
    if site is not None and getattr(site, name) is not None:
        return r.leaf(site, name, symbol)
    nominal = r.leaf(r.variant, name, f"{symbol}_nominal")
    if site is not None and site.arrangement == r.variant.arrangement:
        other = "line_to_line" if to_neutral else "line_to_neutral"
        if getattr(site, other) is not None and getattr(r.variant, other) is not None:
            return nominal * r.leaf(site, other, "U_other") / r.leaf(r.variant, other, "U_other_nominal")
    return nominal * r.leaf(r.machine.design, "voltage_share", "k_U")


def _voltage_formula(facts: Facts, to_neutral: bool) -> str:
    """The formula text that goes with ``supply_voltage``."""
    name, symbol = ("line_to_neutral", "U_LN") if to_neutral else ("line_to_line", "U_LL")
    site = facts.site.electricity if facts.site else None
    if site is not None and getattr(site, name) is not None:
        return symbol
    if site is not None and site.arrangement == facts.variant.arrangement:
        other = "line_to_line" if to_neutral else "line_to_neutral"
        if getattr(site, other) is not None and getattr(facts.variant, other) is not None:
            return f"{symbol}_nominal * U_other / U_other_nominal"
    return f"{symbol}_nominal * k_U"


def has_neutral(facts: Facts) -> bool:
    return facts.variant.arrangement not in WITHOUT_NEUTRAL


@VALUES.value(
    "electrical.voltage",
    "voltage",
    formula=lambda f: _voltage_formula(f, has_neutral(f)),
    source=OHM,
    step=1.0,
)
def voltage(r: Reader) -> float:
    """Line to neutral; line to line where there is no neutral."""
    return supply_voltage(r, r.variant.arrangement not in WITHOUT_NEUTRAL)


def _ratio(arrangement: str) -> float:
    return {"3N": 3**0.5, "two_legs": 3**0.5, "split": 2.0}.get(arrangement, 1.0)


def between(facts: Facts, terminals: str) -> str:
    """Voltage between two conductors as text, from ``U``."""
    if terminals.endswith("-N") or not has_neutral(facts):
        return "U"
    return {"split": "2 * U"}.get(facts.variant.arrangement, "sqrt(3) * U")


def element_terminals(facts: Facts, mark: str) -> str:
    return next(c.terminals for c in facts.variant.connections if c.element == mark)


@VALUES.value(
    "electrical.element_current",
    "current",
    source=OHM,
    digits=3,
    keys=element_marks,
    formula="P * k_P * U_el / U_r^2",
)
def element_current(r: Reader, mark: str) -> float:
    """Current of one element at the supply's voltage; its power by tolerance and by the square of voltage."""
    item = element(r, mark)
    across = r.value(f"electrical.element_voltage[{mark}]", "U_el")
    rating, rated = r.leaf(item, "rating", "P"), r.leaf(item, "rated_voltage", "U_r")
    return rating * r.constant(ELEMENT_TOLERANCE, "k_P") * across / rated**2


@VALUES.value(
    "electrical.element_voltage",
    "voltage",
    source=OHM,
    step=1.0,
    keys=element_marks,
    formula=lambda facts, mark: between(facts, element_terminals(facts, mark)),
)
def element_voltage(r: Reader, mark: str) -> float:
    """Voltage between the conductors the element is connected to."""
    line = not _terminals(r, mark).endswith("-N") and r.variant.arrangement not in WITHOUT_NEUTRAL
    return r.value("electrical.voltage", "U") * (_ratio(r.variant.arrangement) if line else 1.0)


def network_loads(r: Reader) -> list[electrical_network.Load]:
    """Every element that may be on at once and every other load."""
    tolerance = r.constant(ELEMENT_TOLERANCE, "k_P")
    loads = [
        electrical_network.Load(
            r.leaf(item, "rating", f"P_{item.mark}") * tolerance,
            r.leaf(item, "rated_voltage", f"Ur_{item.mark}"),
            _pair(_terminals(r, item.mark)),
        )
        for item in (element(r, mark) for mark in element_marks(r))
    ]
    return loads + [_other(r, load, i) for i, load in enumerate(r.variant.other_loads, 1)]


def _pair(terminals: str) -> tuple[str, str]:
    first, second = terminals.split("-")
    return first, second


def _other(r: Reader, load: Load, index: int) -> electrical_network.Load:
    nominal = r.variant.line_to_neutral if load.terminals.endswith("-N") else r.variant.line_to_line
    assert nominal is not None  # a schema rule
    name = "line_to_neutral" if load.terminals.endswith("-N") else "line_to_line"
    return electrical_network.Load(
        r.leaf(load, "power", f"P_o{index}"),
        r.leaf(r.variant, name, "U_n" if name == "line_to_neutral" else "U_nn"),
        _pair(load.terminals),
        r.leaf(load, "power_factor", f"c_o{index}"),
    )


def solve(r: Reader) -> electrical_network.Solution:
    """Everything on at once (before any current limit)."""
    found: electrical_network.Solution = r.part(_solve)
    return found


def _solve(r: Reader) -> electrical_network.Solution:
    return electrical_network.solve(
        r.variant.arrangement, r.value("electrical.voltage", "U"), network_loads(r)
    )


def _limit(r: Reader, current: float) -> float:
    """The control never lets a line pass its limit."""
    if r.variant.current_limit is None:
        return current
    return min(current, r.leaf(r.variant, "current_limit", "I_limit"))


def _load_terms(facts: Facts) -> Iterator[tuple[str, str, str]]:
    """Of every load the size of its current as text, its conductors, and how far it lags."""
    for item in facts.machine.elements:
        terminals = element_terminals(facts, item.mark)
        yield f"P_{item.mark} * k_P / Ur_{item.mark}^2 * {between(facts, terminals)}", terminals, "0"
    for i, load in enumerate(facts.variant.other_loads, 1):
        rated = "U_n" if load.terminals.endswith("-N") else "U_nn"
        size = f"P_o{i} / (c_o{i} * {rated}^2) * {between(facts, load.terminals)}"
        yield size, load.terminals, f"acos(c_o{i})"


def _current_terms(facts: Facts, conductor: str) -> str:
    """The conductor's current as a sum of phasors."""
    terms = []
    for size, terminals, lag in _load_terms(facts):
        first, second = terminals.split("-")
        if conductor in (first, second):
            angle = ANGLES[facts.variant.arrangement][terminals] + (180.0 if conductor == second else 0.0)
            terms.append(f"phasor({size}, {angle:g}, {lag})")
    return f"abs({' + '.join(terms)})" if terms else "0"


def _is_limited(arrangement: str, conductor: str) -> bool:
    """The control limits lines; on a single phase the neutral carries the line's current back."""
    return conductor != "N" or arrangement == "1N"


def _limited_formula(conductor: str):  # type: ignore[no-untyped-def]
    def formula(facts: Facts) -> str:
        limited = facts.variant.current_limit is not None and _is_limited(
            facts.variant.arrangement, conductor
        )
        return "min(I_all, I_limit)" if limited else "I_all"

    return formula


def _conductor(conductor: str) -> None:
    def present(r: Reader) -> None:
        if conductor not in electrical_network.supply_phasors(r.variant.arrangement, 230.0):
            raise UnavailableError("no_conductor", conductor=conductor)

    @VALUES.value(
        f"electrical.demand_{conductor}",
        "current",
        formula=lambda facts: _current_terms(facts, conductor),
        source=PHASORS,
        digits=3,
    )
    def demand(r: Reader) -> float:
        present(r)
        return solve(r).magnitude(conductor)

    @VALUES.value(
        f"electrical.current_{conductor}",
        "current",
        formula=_limited_formula(conductor),
        source=PHASORS,
        digits=3,
    )
    def current(r: Reader) -> float:
        present(r)
        everything = float(r.value(f"electrical.demand_{conductor}", "I_all"))
        return _limit(r, everything) if _is_limited(r.variant.arrangement, conductor) else everything


for _name in ("L1", "L2", "L3", "N"):
    _conductor(_name)


@VALUES.value(
    "electrical.current_highest",
    "current",
    formula=lambda facts: f"max({', '.join(f'I_{n}' for n in _lines(facts.variant.arrangement))})",
    source=PHASORS,
    digits=3,
)
def current_highest(r: Reader) -> float:
    """The line that carries most: what device and cable are judged by."""
    lines = _lines(r.variant.arrangement)
    return max(r.value(f"electrical.current_{name}", f"I_{name}") for name in lines)


def _lines(arrangement: str) -> list[str]:
    return [name for name in electrical_network.supply_phasors(arrangement, 230.0) if name != "N"]


def _power_formula(facts: Facts) -> str:
    terms = [
        f"P_{e.mark} * k_P * ({between(facts, element_terminals(facts, e.mark))} / Ur_{e.mark})^2"
        for e in facts.machine.elements
    ]
    for i, load in enumerate(facts.variant.other_loads, 1):
        rated = "U_n" if load.terminals.endswith("-N") else "U_nn"
        terms.append(f"P_o{i} * ({between(facts, load.terminals)} / {rated})^2")
    return " + ".join(terms)


@VALUES.value("electrical.power", "power", formula=_power_formula, source=OHM, digits=3)
def power(r: Reader) -> float:
    """Everything on at once, whatever a current limit then allows."""
    return solve(r).power


def _paths(facts: Facts | Reader) -> list[str]:
    """Between which conductors the loads of a supply with three lines and a neutral lie."""
    variant = facts.variant
    if variant.arrangement != "3N":
        return []
    connected = [c.terminals for c in variant.connections] + [load.terminals for load in variant.other_loads]
    return sorted(dict.fromkeys(connected))


def _path_formula(facts: Facts, path: str) -> str:
    a, b = path.split("-")
    angles, terms = ANGLES["3N"], []
    for size, terminals, lag in _load_terms(facts):
        p, q = terminals.split("-")
        times = (p == a) - (q == a) - (p == b) + (q == b)
        if times:
            angle = (angles[terminals] - angles[path] + 180.0) % 360.0 - 180.0
            terms.append(f"{'' if times == 1 else f'{times} * '}phasor({size}, {angle:g}, {lag})")
    flowing = f"real({' + '.join(terms)})" + ("" if b == "N" else " / sqrt(3)")
    limited = f"min({flowing}, 2 * I_limit)" if facts.variant.current_limit is not None else flowing
    return f"max(0, {limited})"


@VALUES.value(
    "electrical.path_current", "current", formula=_path_formula, source=PHASORS, digits=3, keys=_paths
)
def path_current(r: Reader, path: str) -> float:
    """Current that counts for the voltage lost on the way out and back: the neutral's share with the line's.
    Where the others' return lifts a line's voltage, nothing is lost on it. A limit keeps each line's current
    down, so that no more than twice that flows out and back."""
    found = max(0.0, electrical_network.path_current("3N", solve(r).currents, _pair(path)))
    return found if r.variant.current_limit is None else min(found, 2.0 * _limit(r, math.inf))


def _drop_formula(facts: Facts) -> str:
    if _paths(facts):
        return f"voltage_drop(max({', '.join(f'I_{path}' for path in _paths(facts))}), L, S, 1, 3) / U"
    base = "U" if has_neutral(facts) else "U / sqrt(3)"
    phases = 3 if facts.variant.arrangement in THREE_PHASE else 1
    if facts.variant.arrangement in {"split", "two_legs"}:
        base = "2 * U" if facts.variant.arrangement == "split" else "sqrt(3) * U"
    return f"voltage_drop(I, L, S, 1, {phases}) / ({base})"


@VALUES.value("electrical.voltage_drop", "ratio", formula=_drop_formula, source=IEC_60364_5_52_G, digits=2)
def voltage_drop(r: Reader) -> float:
    """In the fixed cable from board to isolator, everything on: at the current of the line that carries most;
    with three lines and a neutral on the worst way out through a line and back."""
    cable = r.site.electricity.cable if r.site else None
    if _paths(r):
        current = max(r.value(f"electrical.path_current[{path}]", f"I_{path}") for path in _paths(r))
    else:
        current = r.value("electrical.current_highest", "I")
    length, section = r.surveyed(cable, "length", "L"), r.surveyed(cable, "section", "S")
    arrangement = r.variant.arrangement
    phases = 3 if arrangement in THREE_PHASE else 1
    lost = electrical_cable.voltage_drop(current, length, section, 1.0, phases)
    U = r.value("electrical.voltage", "U")
    base = U / 3**0.5 if arrangement in WITHOUT_NEUTRAL else U
    if arrangement in {"split", "two_legs"}:
        base = U * _ratio(arrangement)
    if lost >= base:
        raise UnavailableError("cable_takes_all")
    return lost / base


@VALUES.value(
    "electrical.voltage_loaded", "voltage", formula="U * (1 - u)", source=IEC_60364_5_52_G, step=1.0
)
def voltage_loaded(r: Reader) -> float:
    """What should be left at the isolator with everything on; a lower reading shows a loose connection."""
    return r.value("electrical.voltage", "U") * (1 - r.value("electrical.voltage_drop", "u"))


def _by_nec(facts: Facts) -> bool:
    return facts.site is not None and facts.site.codes.electrical == "NEC"


def _device_source(facts: Facts) -> Source:
    return NEC_210_20 if _by_nec(facts) else IEC_60364_4_43


def _cable_source(facts: Facts) -> Source:
    return NEC_310 if _by_nec(facts) else IEC_60364_5_52_B


@VALUES.value(
    "electrical.device_minimum", "current", formula="device_minimum(I)", source=_device_source, step=1.0
)
def device_minimum(r: Reader) -> float:
    """Least standard rating for the line that carries most; the licensed electrician decides."""
    return electrical_cable.device_minimum(r.value("electrical.current_highest", "I"), _code(r))


def _code(r: Reader) -> str:
    return r.site.codes.electrical if r.site else "IEC 60364"


def _loaded(r: Reader) -> int:
    return 3 if r.variant.arrangement in THREE_PHASE else 2


@VALUES.value(
    "electrical.cable_derating",
    "ratio",
    formula="ambient_factor(T) * grouping_factor(n)",
    source=_cable_source,
    digits=2,
)
def cable_derating(r: Reader) -> float:
    cable = r.site.electricity.cable if r.site else None
    ambient = r.surveyed(cable, "ambient", "T")
    assert cable is not None
    circuits = r.table("survey.grouped_circuits", float(cable.grouped_circuits), "count", "n", "site survey")
    return electrical_cable.ambient_factor(ambient, _code(r)) * electrical_cable.grouping_factor(
        round(circuits)
    )


@VALUES.value("electrical.cable_capacity", "current", formula="I_table * k", source=_cable_source, digits=2)
def cable_capacity(r: Reader) -> float:
    """What the fixed cable carries where it lies."""
    return r.value("electrical.cable_table", "I_table") * r.value("electrical.cable_derating", "k")


@VALUES.value("electrical.cable_table", "current", formula="cable_table(S)", source=_cable_source, digits=2)
def cable_table(r: Reader) -> float:
    """What the cable carries alone in air of the table's temperature."""
    cable = r.site.electricity.cable if r.site else None
    return electrical_cable.cable_capacity(r.surveyed(cable, "section", "S"), _loaded(r), _code(r))


def phasor(size: float, angle: float, lag: float = 0.0) -> complex:
    """A phasor by size, angle in degrees and lag in radians (the formulas' notation)."""
    return cmath.rect(size, cmath.pi * angle / 180 - lag)
