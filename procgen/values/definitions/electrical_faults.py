"""What a wrong or a lost conductor does."""

from __future__ import annotations

from procgen.engineering import electrical_network
from procgen.engineering.sources_general import MILLMAN, OHM
from procgen.values.define import VALUES, UnavailableError
from procgen.values.definitions.electrical import ANGLES, WITHOUT_NEUTRAL, element_terminals, network_loads
from procgen.values.reader import Facts, Reader


def _to_neutral(facts: Facts) -> list[tuple[str, str, str]]:
    """Admittance, lag and line of everything between a line and the neutral, as formula text."""
    loads = []
    for item in facts.machine.elements:
        terminals = element_terminals(facts, item.mark)
        if terminals.endswith("-N"):
            loads.append((f"P_{item.mark} * k_P / Ur_{item.mark}^2", "0", terminals))
    for i, load in enumerate(facts.variant.other_loads, 1):
        if load.terminals.endswith("-N"):
            loads.append((f"P_o{i} / (c_o{i} * U_n^2)", f"acos(c_o{i})", load.terminals))
    return loads


def _miswire_formula(facts: Facts) -> str:
    line = {"split": "2 * U"}.get(facts.variant.arrangement, "sqrt(3) * U")
    rated = [
        f"Ur_{e.mark}" for e in facts.machine.elements if element_terminals(facts, e.mark).endswith("-N")
    ]
    rated += ["U_n"] * any(load.terminals.endswith("-N") for load in facts.variant.other_loads)
    return f"max({', '.join(f'({line} / {r})^2' for r in rated)})" if rated else ""


def _lost_formula(facts: Facts) -> str:
    loads = _to_neutral(facts)
    angle = ANGLES[facts.variant.arrangement]
    top = " + ".join(f"phasor({size} * U, {angle[where]:g}, {lag})" for size, lag, where in loads)
    bottom = " + ".join(f"phasor({size}, 0, {lag})" for size, lag, _ in loads)
    lines = sorted({where for _, _, where in loads})
    across = ", ".join(f"abs(phasor(U, {angle[where]:g}, 0) - ({top}) / ({bottom}))" for where in lines)
    return f"max({across}, 0)" if loads else ""


@VALUES.value(
    "electrical.miswire_power_ratio",
    "number",
    formula=_miswire_formula,
    source=OHM,
    digits=2,
)
def miswire_power_ratio(r: Reader) -> float:
    """Highest power over rating of any element when a line sits in the neutral's place."""
    if r.variant.arrangement == "1N":
        raise UnavailableError("one_line_only")
    if r.variant.arrangement in WITHOUT_NEUTRAL:
        raise UnavailableError("no_miswire")
    cases = electrical_network.miswire(
        r.variant.arrangement, r.value("electrical.voltage", "U"), network_loads(r)
    )
    if not cases:
        raise UnavailableError("no_miswire")
    return max(case.power_ratio for case in cases)


@VALUES.value(
    "electrical.lost_neutral_voltage",
    "voltage",
    formula=_lost_formula,
    source=MILLMAN,
    step=1.0,
)
def lost_neutral_voltage(r: Reader) -> float:
    """Highest voltage across anything between line and neutral when the neutral is lost."""
    if r.variant.arrangement in WITHOUT_NEUTRAL | {"1N"}:
        raise UnavailableError("no_shared_neutral")
    lost = electrical_network.lost_neutral(
        r.variant.arrangement, r.value("electrical.voltage", "U"), network_loads(r)
    )
    to_neutral = [
        voltage
        for voltage, load in zip(lost.voltages, network_loads(r), strict=True)
        if "N" in load.terminals
    ]
    if not to_neutral:
        raise UnavailableError("no_shared_neutral")
    return max(to_neutral)
