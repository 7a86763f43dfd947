"""Losses of one part as a function of the flow alone, for solvers that ask for many flows."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

from procgen.engineering.hydraulics import (
    CurvePoints,
    _curve,
    _friction,
    _read_curve,
    fitting_loss,
    pipe_loss,
)
from procgen.engineering.water import density, viscosity


def fast_treatment_loss(points: CurvePoints) -> Callable[[float], float]:
    """treatment_loss of one curve as a function of a flow (m3/s) that is known to be within its range.

    Args:
        points: (flow m3/s, loss Pa), rising.
    Returns: function of the flow in m3/s that gives the loss in Pa.
    Valid: flow within curve_limit, which is not checked again.
    Raises: ValueError for a curve that does not rise.
    Source: as treatment_loss.
    """
    curve = _curve(points)
    return lambda flow: _read_curve(flow, curve) if flow > 0.0 else 0.0


@lru_cache(maxsize=1024)
def fast_hose_loss(d: float, L: float, roughness: float, K: float, T: float) -> Callable[[float], float]:
    """pipe_loss and fitting_loss of one hose as a function of the flow: properties are looked up once.

    Args:
        d: bore, m.
        L: length, m.
        roughness: absolute roughness of the wall, m.
        K: loss coefficient of its fittings.
        T: water temperature, K.
    Returns: function of the flow in m3/s that gives the loss in Pa.
    Valid: as pipe_loss and fitting_loss; the flow is not checked again.
    Raises: OutOfRangeError.
    Source: Darcy-Weisbach; Crane TP-410.
    """
    pipe_loss(1e-5, d, L, roughness, T)
    fitting_loss(1e-5, d, K, T)
    area, rho = math.pi * d * d / 4.0, density(T)
    per_flow = rho * d / (viscosity(T) * area)
    half, slender, rough = rho / (2.0 * area * area), L / d, roughness / d

    def loss(flow: float) -> float:
        if flow <= 0.0:
            return 0.0
        return (_friction(max(per_flow * flow, 1e-9), rough) * slender + K) * half * flow * flow

    return loss
