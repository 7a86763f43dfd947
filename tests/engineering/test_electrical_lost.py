"""The worst of a lost neutral: against every combination of what may be on."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from itertools import combinations

import pytest

from procgen.engineering import electrical as e
from procgen.engineering.kernel import OutOfRangeError
from tests.engineering import outside
from tests.engineering.oracle import agrees

LOADS = [
    e.Load(2500.0, 230.0, ("L1", "N")),
    e.Load(2500.0, 230.0, ("L2", "N")),
    e.Load(1400.0, 230.0, ("L3", "N")),
    e.Load(420.0, 230.0, ("L3", "N"), 0.72),
    e.Load(45.0, 230.0, ("L3", "N"), 0.9),
]


ANGLES = {"3N": (0.0, -120.0, 120.0), "split": (0.0, 180.0), "two_legs": (0.0, -120.0)}


def across(arrangement: str, volts: float, loads: Sequence[e.Load]) -> list[float]:
    """Voltages on loads whose neutral is joined to nothing: the currents into it sum to nought."""
    lines = [cmath.rect(volts, math.radians(angle)) for angle in ANGLES[arrangement]]
    to = [lines[int(load.terminals[0][1]) - 1] for load in loads]
    y = [
        load.power / load.power_factor / load.rated_voltage**2
        * cmath.exp(-1j * math.acos(load.power_factor))
        for load in loads
    ]  # fmt: skip
    star = sum(u * g for u, g in zip(to, y, strict=True)) / sum(y)
    return [abs(u - star) for u in to]


def test_a_small_load_alone_on_its_line() -> None:
    # 48.4 ohm on L1 in series with 1058 ohm on L2 between 400 V: the small load takes 1058/1106.4 of it.
    loads = [e.Load(1092.97, 230.0, ("L1", "N")), e.Load(50.0, 230.0, ("L2", "N"))]
    got = e.lost_neutral_worst("3N", 400 / 3**0.5, loads)
    agrees(e.lost_neutral_worst, got, 400 * 1058 / 1106.4, outside.HAND, rel=1e-5)


def test_no_combination_of_loads_is_worse() -> None:
    """Millman's theorem on every set of loads that may be on together."""
    highest = 0.0
    for size in range(2, len(LOADS) + 1):
        for chosen in combinations(LOADS, size):
            highest = max(highest, *across("3N", 224.0, chosen))
    agrees(e.lost_neutral_worst, e.lost_neutral_worst("3N", 224.0, LOADS), highest, outside.MILLMAN, rel=1e-9)
    everything_on = max(across("3N", 224.0, LOADS))
    assert everything_on < 250.0
    assert 370.0 < highest < 224.0 * 3**0.5


@pytest.mark.parametrize("arrangement", ["split", "two_legs"])
def test_two_loads_stand_in_series(arrangement: str) -> None:
    """With one load a line there is one combination only."""
    loads = [e.Load(60.0, 120.0, ("L1", "N"), 0.9), e.Load(380.0, 120.0, ("L2", "N"), 0.7)]
    want = max(across(arrangement, 119.0, loads))
    got = e.lost_neutral_worst(arrangement, 119.0, loads)
    agrees(e.lost_neutral_worst, got, want, outside.MILLMAN, rel=1e-9)


def test_nothing_to_share() -> None:
    with pytest.raises(OutOfRangeError):
        e.lost_neutral_worst("3N", 230.0, LOADS[:1])
    with pytest.raises(OutOfRangeError):
        e.lost_neutral_worst("split", 120.0, [e.Load(900.0, 240.0, ("L1", "L2"))])


def test_what_does_not_hang_on_the_neutral_does_not_count() -> None:
    """A load between two lines, one that draws nothing, and which way round a load is written."""
    pair = [e.Load(1000.0, 230.0, ("L1", "N")), e.Load(60.0, 230.0, ("L2", "N"))]
    want = e.lost_neutral_worst("3N", 230.0, pair)
    idle = [e.Load(3000.0, 400.0, ("L1", "L2")), e.Load(0.0, 230.0, ("L3", "N"))]
    assert e.lost_neutral_worst("3N", 230.0, [*pair, *idle]) == want
    assert e.lost_neutral_worst("3N", 230.0, [pair[0], e.Load(60.0, 230.0, ("N", "L2"))]) == want
    # The least load takes nearly the whole of the voltage between two lines.
    least = e.lost_neutral_worst("3N", 230.0, [pair[0], e.Load(0.01, 230.0, ("L2", "N"))])
    agrees(e.lost_neutral_worst, least, 230.0 * 3**0.5 * 1000.0 / 1000.01, outside.HAND, rel=1e-9)


def test_two_lines_at_least_share_a_neutral() -> None:
    with pytest.raises(OutOfRangeError) as caught:
        e.lost_neutral_worst("3N", 230.0, LOADS[:1])
    assert (caught.value.found, caught.value.low, caught.value.high) == (1, 2, None)
