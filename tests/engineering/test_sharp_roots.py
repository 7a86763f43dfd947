"""Where functions with known zeros are zero."""

from __future__ import annotations

import inspect
import math

import pytest

from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.roots import crossing


def test_known_zeros() -> None:
    """sqrt(2); cos x = x at 0.7390851332151607 (Dottie's number); the ends themselves."""
    assert crossing(lambda x: x * x - 2.0, 0.0, 2.0) == pytest.approx(math.sqrt(2.0), rel=1e-14)
    assert crossing(lambda x: math.cos(x) - x, -1.0, 1.0) == pytest.approx(0.7390851332151607, rel=1e-14)
    assert crossing(lambda x: x - 1.0, 1.0, 2.0) == 1.0
    assert crossing(lambda x: x - 2.0, 1.0, 2.0) == 2.0
    assert crossing(lambda x: 0.1 - x, 0.0, 0.2) == pytest.approx(0.1, rel=1e-14)
    # A narrow span wants a fine answer.
    assert crossing(lambda x: x**3 - 1.00000005**3, 1.0, 1.0000001) == pytest.approx(1.00000005, rel=2e-15)
    assert inspect.signature(crossing).parameters["tolerance"].default == 1e-12


def test_the_tolerance_is_a_share_of_the_span() -> None:
    """Half a span of a thousandth: any figure between the ends will do, and few are tried."""
    tried: list[float] = []

    def watched(x: float) -> float:
        tried.append(x)
        return (x - 5.0003) ** 3

    assert crossing(watched, 5.0, 5.001, tolerance=0.5) == pytest.approx(5.0003, abs=0.5e-3)
    assert len(tried) <= 6
    # A thousandth of it is a millionth, wherever the span lies.
    assert crossing(watched, 5.0, 5.001, tolerance=1e-3) == pytest.approx(5.0003, abs=3e-6)
    tried.clear()
    assert crossing(watched, 0.0, 1000.0, tolerance=1e-9) == pytest.approx(5.0003, abs=1e-6)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_no_change_of_sign(sign: float) -> None:
    """Even where both ends are near zero (0.1 x 0.1 = 0.01)."""
    with pytest.raises(OutOfRangeError) as caught:
        crossing(lambda x: sign * (0.1 + x * 0.0), 0.0, 1.0)
    assert (caught.value.low, caught.value.high) == (None, 0.0)
    assert caught.value.found == pytest.approx(sign * 0.1)
