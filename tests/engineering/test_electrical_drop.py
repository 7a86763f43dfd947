"""Voltage lost in a cable with three lines and a neutral, against a network solved with its cable in it."""

from __future__ import annotations

import cmath
import math
from itertools import product

import numpy as np
import pytest

from procgen.engineering import electrical_network as n
from procgen.engineering.sources_general import UnknownEntryError
from tests.engineering import outside
from tests.engineering.oracle import agrees

ANGLE = {"L1": 0.0, "L2": -120.0, "L3": 120.0}
U = 230.0


def source(conductor: str) -> complex:
    return 0j if conductor == "N" else cmath.rect(U, math.radians(ANGLE[conductor]))


def loaded(loads: list[n.Load], ohm: float) -> dict[str, complex]:
    """Voltages at the machine's terminals: nodes behind a resistance each, the loads between them."""
    names = [*ANGLE, "N"]
    Y, J = np.zeros((4, 4), complex), np.zeros(4, complex)
    for k, name in enumerate(names):
        Y[k, k] += 1 / ohm
        J[k] += source(name) / ohm
    for load in loads:
        a, b = (names.index(terminal) for terminal in load.terminals)
        size = load.power / load.power_factor / load.rated_voltage**2
        y = cmath.rect(size, -math.acos(load.power_factor))
        Y[a, a] += y
        Y[b, b] += y
        Y[a, b] -= y
        Y[b, a] -= y
    return dict(zip(names, np.linalg.solve(Y, J), strict=True))


def star(*watts: float, factor: float = 1.0) -> list[n.Load]:
    return [n.Load(P, U, (line, "N"), factor) for line, P in zip(ANGLE, watts, strict=True) if P]


CASES = {
    "balanced": star(2000, 2000, 2000),
    "one line alone": star(3000, 0, 0),
    "two lines": star(3000, 3000, 0),
    "uneven": star(2400, 1800, 700),
    "with a motor": [*star(2400, 1800, 700), n.Load(450, U, ("L3", "N"), 0.74)],
    "between lines": [n.Load(3000, 400, ("L1", "L2")), *star(500, 0, 900)],
}


@pytest.mark.parametrize(("name", "path"), list(product(CASES, [("L1", "N"), ("L2", "N"), ("L3", "N")])))
def test_voltage_lost_to_the_neutral(name: str, path: tuple[str, str]) -> None:
    """With 0.02 ohm in each conductor what is of second order stays below a hundredth of a volt."""
    loads, ohm = CASES[name], 0.02
    at_machine = loaded(loads, ohm)
    lost = U - abs(at_machine[path[0]] - at_machine[path[1]])
    found = n.path_current("3N", n.solve("3N", U, loads).currents, path)
    agrees(n.path_current, found * ohm, lost, outside.NODAL, abs=0.01, unit="V")


@pytest.mark.parametrize("path", [("L1", "L2"), ("L2", "L3"), ("L3", "L1")])
def test_voltage_lost_between_lines(path: tuple[str, str]) -> None:
    loads, ohm = CASES["between lines"], 0.02
    at_machine = loaded(loads, ohm)
    share = 1 - abs(at_machine[path[0]] - at_machine[path[1]]) / (U * math.sqrt(3))
    found = n.path_current("3N", n.solve("3N", U, loads).currents, path)
    agrees(n.path_current, found * ohm / U, share, outside.NODAL, abs=4e-5, unit="")


def test_by_hand() -> None:
    """10 A, 10 A and none in phase: the neutral brings 10 A back at -60 degrees, half of it against L1."""
    currents = n.solve("3N", U, star(2300, 2300, 0)).currents
    agrees(n.path_current, n.path_current("3N", currents, ("L1", "N")), 15.0, outside.HAND, rel=1e-9)
    agrees(n.path_current, n.path_current("3N", currents, ("L3", "N")), -10.0, outside.HAND, rel=1e-9)
    balanced = n.solve("3N", U, star(2300, 2300, 2300)).currents
    agrees(n.path_current, n.path_current("3N", balanced, ("L2", "N")), 10.0, outside.HAND, rel=1e-9)
    # Without a neutral the declared voltage is that between lines; the current counts against its star.
    star_of = n.solve("3", U * math.sqrt(3), n.delta_loads(6900, U * math.sqrt(3))).currents
    agrees(n.path_current, n.path_current("3", star_of, ("L1", "L2")), 10.0, outside.HAND, rel=1e-9)
    alone = n.solve("1N", U, [n.Load(2300, U, ("L1", "N"))]).currents
    agrees(n.path_current, n.path_current("1N", alone, ("L1", "N")), 20.0, outside.HAND, rel=1e-9)


def test_a_conductor_that_the_supply_lacks() -> None:
    currents = n.solve("3N", U, CASES["uneven"]).currents
    with pytest.raises(UnknownEntryError):
        n.path_current("3N", currents, ("L1", "L4"))
