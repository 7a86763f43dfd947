"""Voltage left at the machine with three lines and a neutral: whole sites, solved anew with their cable."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest

from procgen.checks.formulas import check_formulas
from procgen.values.functions import functions
from tests.values import mutate
from tests.values.kit import GUIDES, SITES, figures, sheet

THREE_WITH_NEUTRAL = [name for name in SITES if GUIDES[name].variant.arrangement == "3N"]


@pytest.mark.parametrize("name", THREE_WITH_NEUTRAL)
def test_the_voltage_left_is_that_of_a_network_with_its_cable(name: str) -> None:
    """Nodes of three lines and a neutral behind the resistance of the cable, every load on."""
    entry, made = GUIDES[name], sheet(name)
    assert entry.site is not None
    cable = entry.site.data.electricity.cable
    U = figures(made.value("electrical.voltage"))[1]
    assert cable is not None
    ohm = 0.0225e-6 * cable.length.value / cable.section.value
    conductors = ["L1", "L2", "L3", "N"]
    angle = {"L1": 0.0, "L2": -120.0, "L3": 120.0}
    emf = [cmath.rect(U, math.radians(angle[c])) if c in angle else 0j for c in conductors]
    Y = np.eye(4, dtype=complex) / ohm
    rated = {e.mark: (e.rating.value, e.rated_voltage.value, 1.0) for e in entry.machine.data.elements}
    loads = [(c.terminals, *rated[c.element]) for c in entry.variant.connections]
    assert entry.variant.line_to_neutral is not None
    nominal = entry.variant.line_to_neutral.value
    loads += [(o.terminals, o.power.value, nominal, o.power_factor.value) for o in entry.variant.other_loads]
    for terminals, P, rated_voltage, factor in loads:
        a, b = map(conductors.index, terminals.split("-"))
        y = cmath.rect(P / factor / rated_voltage**2, -math.acos(factor))
        Y[[a, b], [a, b]] += y
        Y[[a, b], [b, a]] -= y
    at_machine = np.linalg.solve(Y, np.array(emf) / ohm)
    left = min(abs(at_machine[k] - at_machine[3]) for k in range(3))
    # Currents are taken at the full voltage, so the drop is high by no more than twice its own share.
    assert U - figures(made.value("electrical.voltage_loaded"))[1] == pytest.approx(U - left, rel=0.03)
    assert left >= figures(made.value("electrical.voltage_loaded"))[1]


def test_nothing_is_lost_on_a_line_that_the_others_lift() -> None:
    changes = {"machine:elements.0.rating": "9 kW"}
    made = mutate.worksheet("ellunby-bakery", changes)
    assert check_formulas(made.values, functions(mutate.guide("ellunby-bakery", changes))) == []
    lost = {path: figures(made.value(f"electrical.path_current[{path}]")) for path in ("L1-N", "L3-N")}
    assert lost["L3-N"] == (0.0, 0.0, 0.0)
    assert lost["L1-N"][0] > 60


def test_a_current_limit_bounds_what_flows_out_and_back() -> None:
    changes = {
        "machine:supply_variants.1.current_limit": "6 A",
        "machine:supply_variants.1.priority": ["J6", "J7", "J1", "J2", "J3"],
    }
    made = mutate.worksheet("calvessa-pass", changes)
    assert check_formulas(made.values, functions(mutate.guide("calvessa-pass", changes))) == []
    found = figures(made.value("electrical.path_current[L1-N]"))
    assert found == pytest.approx((12.0, 12.0, 12.0), rel=1e-9)
