"""What a wrong or a lost conductor does."""

from __future__ import annotations

from procgen.engineering import electrical_network
from procgen.engineering.sources_general import MILLMAN, OHM
from procgen.values.define import VALUES, UnavailableError
from procgen.values.definitions.electrical import WITHOUT_NEUTRAL, element_terminals, network_loads
from procgen.values.reader import Facts, Reader


def _to_neutral(facts: Facts) -> dict[str, list[tuple[float, str]]]:
    """By line, size and formula text of the admittance of everything between it and the neutral."""
    loads: dict[str, list[tuple[float, str]]] = {}
    for item in facts.machine.elements:
        terminals = element_terminals(facts, item.mark)
        if terminals.endswith("-N"):
            text = f"phasor(P_{item.mark} * k_P / Ur_{item.mark}^2, 0, 0)"
            size = item.rating.value / item.rated_voltage.value**2
            loads.setdefault(terminals, []).append((size, text))
    nominal = facts.variant.line_to_neutral
    for i, load in enumerate(facts.variant.other_loads, 1):
        if load.terminals.endswith("-N") and nominal is not None:
            text = f"phasor(P_o{i} / (c_o{i} * U_n^2), 0, acos(c_o{i}))"
            size = load.power.value / load.power_factor.value / nominal.value**2
            loads.setdefault(load.terminals, []).append((size, text))
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
    line = {"split": "2 * U"}.get(facts.variant.arrangement, "sqrt(3) * U")
    shares = []
    for a in loads:
        _, alone = min(loads[a])
        for b in loads:
            if a != b:
                all_of_b = " + ".join(text for _, text in loads[b])
                shares.append(f"abs(({all_of_b}) / ({all_of_b} + {alone}))")
    return f"{line} * max({', '.join(shares)}, 0)" if shares else ""


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
    """Highest voltage across anything between line and neutral when the neutral is lost: a small load alone
    on its line, in series with all that another line has on."""
    if r.variant.arrangement in WITHOUT_NEUTRAL | {"1N"}:
        raise UnavailableError("no_shared_neutral")
    loads = network_loads(r)
    if len({load.terminals for load in loads if "N" in load.terminals}) < 2:
        raise UnavailableError("no_shared_neutral")
    return electrical_network.lost_neutral_worst(
        r.variant.arrangement, r.value("electrical.voltage", "U"), loads
    )
