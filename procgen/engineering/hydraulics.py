"""Losses on the way of the water: pipes, fittings, restrictors, cartridges, reducers, the mains."""

from __future__ import annotations

import itertools
import math
from functools import lru_cache

from fluids.friction import friction_factor as library_friction_factor

from procgen.engineering.kernel import OutOfRangeError, kernel
from procgen.engineering.sources_fluid import (
    DARCY_WEISBACH,
    HYDROSTATICS,
    LOSS_COEFFICIENT,
    ORIFICE,
    QUADRATIC_SOURCE,
    REDUCER,
    TREATMENT_CURVE,
)
from procgen.engineering.water import LIQUID_T, density, viscosity

#: Standard acceleration of free fall, m/s2.
GRAVITY = 9.80665
#: A treatment curve may be read up to this multiple of its last measured flow.
CURVE_REACH = 1.5
#: Between these Reynolds numbers the flow may be laminar or turbulent.
LAMINAR_END, TURBULENT_START = 2000.0, 4000.0

FLOW = (0.0, 1.0)
BORE = (1e-5, 1.0)
PRESSURE = (0.0, 2e7)

CurvePoints = tuple[tuple[float, float], ...]


@kernel(Q="m**3/s", d="m", returns="m/s", source=DARCY_WEISBACH, valid={"Q": FLOW, "d": BORE})
def velocity(Q: float, d: float) -> float:
    """Mean velocity in a round bore.

    Formula: v = 4·Q/(π·d²).
    Args:
        Q: flow, m3/s.
        d: bore, m.
    Returns: velocity, m/s.
    Valid: Q 0..1 m3/s; d 0.01 mm..1 m.
    Raises: OutOfRangeError.
    Source: continuity.
    """
    return 4.0 * Q / (math.pi * d * d)


@kernel(
    Q="m**3/s", d="m", T="K", returns="", source=DARCY_WEISBACH, valid={"Q": FLOW, "d": BORE, "T": LIQUID_T}
)
def reynolds(Q: float, d: float, T: float) -> float:
    """Reynolds number of water in a round bore.

    Formula: Re = ρ·v·d/μ.
    Args:
        Q: flow, m3/s.
        d: bore, m.
        T: water temperature, K.
    Returns: Reynolds number.
    Valid: Q 0..1 m3/s; d 0.01 mm..1 m; T 273.15..623.15 K.
    Raises: OutOfRangeError.
    Source: definition; properties by IAPWS.
    """
    return 4.0 * Q * density(T) / (math.pi * d * viscosity(T))


@lru_cache(maxsize=1024)
def _turbulent_start(rel_roughness: float) -> float:
    return float(library_friction_factor(Re=TURBULENT_START, eD=rel_roughness))


@kernel(
    Re="",
    rel_roughness="",
    returns="",
    source=DARCY_WEISBACH,
    valid={"Re": (1e-9, 1e8), "rel_roughness": (0.0, 0.05)},
)
def friction_factor(Re: float, rel_roughness: float) -> float:
    """Darcy friction factor.

    Formula: 64/Re up to Re 2000; Colebrook (solved by Clamond) from Re 4000; a straight line between the two,
        so that loss rises with flow without a jump (network programs for water mains bridge the same span).
    Args:
        Re: Reynolds number.
        rel_roughness: roughness over bore.
    Returns: Darcy friction factor.
    Valid: Re 1e-9..1e8; rel_roughness 0..0.05.
    Raises: OutOfRangeError.
    Source: Colebrook, by the library fluids; the example is from its documentation.

    >>> round(friction_factor(1e5, 1e-4), 9)
    0.018513866
    """
    return _friction(Re, rel_roughness)


def _friction(Re: float, rel_roughness: float) -> float:
    if Re <= LAMINAR_END:
        return 64.0 / Re
    if Re >= TURBULENT_START:
        return float(library_friction_factor(Re=Re, eD=rel_roughness))
    laminar = 64.0 / LAMINAR_END
    share = (Re - LAMINAR_END) / (TURBULENT_START - LAMINAR_END)
    return laminar + share * (_turbulent_start(rel_roughness) - laminar)


@kernel(
    Q="m**3/s",
    d="m",
    L="m",
    roughness="m",
    T="K",
    returns="Pa",
    source=DARCY_WEISBACH,
    valid={"Q": FLOW, "d": BORE, "L": (0.0, 1e4), "roughness": (0.0, 0.01), "T": LIQUID_T},
)
def pipe_loss(Q: float, d: float, L: float, roughness: float, T: float) -> float:
    """Pressure lost in a straight run of pipe or hose.

    Formula: Δp = f·(L/d)·ρ·v²/2.
    Args:
        Q: flow, m3/s.
        d: bore, m.
        L: length, m.
        roughness: absolute roughness of the wall, m.
        T: water temperature, K.
    Returns: pressure loss, Pa.
    Valid: Q 0..1 m3/s; d 0.01 mm..1 m; L 0..10 km; roughness 0..10 mm and at most 5 % of d; T 273.15..623.15
        K.
    Raises: OutOfRangeError.
    Source: Darcy-Weisbach.
    """
    if Q == 0.0:
        return 0.0
    rho = density(T)
    v = 4.0 * Q / (math.pi * d * d)
    Re = max(rho * v * d / viscosity(T), 1e-9)
    return friction_factor(Re, roughness / d) * (L / d) * rho * v * v / 2.0


@kernel(
    Q="m**3/s",
    d="m",
    K="",
    T="K",
    returns="Pa",
    source=LOSS_COEFFICIENT,
    valid={"Q": FLOW, "d": BORE, "K": (0.0, 1e6), "T": LIQUID_T},
)
def fitting_loss(Q: float, d: float, K: float, T: float) -> float:
    """Pressure lost in a fitting.

    Formula: Δp = K·ρ·v²/2, v in the bore d.
    Args:
        Q: flow, m3/s.
        d: bore to which K refers, m.
        K: loss coefficient.
        T: water temperature, K.
    Returns: pressure loss, Pa.
    Valid: Q 0..1 m3/s; d 0.01 mm..1 m; K 0..1e6; T 273.15..623.15 K.
    Raises: OutOfRangeError.
    Source: Crane TP-410.
    """
    v = 4.0 * Q / (math.pi * d * d)
    return K * density(T) * v * v / 2.0


@kernel(
    dp="Pa",
    d="m",
    Cd="",
    T="K",
    returns="m**3/s",
    source=ORIFICE,
    valid={"dp": PRESSURE, "d": BORE, "Cd": (0.1, 1.0), "T": LIQUID_T},
)
def orifice_flow(dp: float, d: float, Cd: float, T: float) -> float:
    """Flow of water through a small orifice or restrictor.

    Formula: Q = Cd·(π/4)·d²·√(2·Δp/ρ).
    Args:
        dp: pressure difference across it, Pa.
        d: bore, m.
        Cd: discharge coefficient (sharp edge about 0.62; a drilled, thick-edged restrictor 0.7..0.85, from
            memory).
        T: water temperature, K.
    Returns: flow, m3/s.
    Valid: dp 0..20 MPa; d 0.01 mm..1 m; Cd 0.1..1; T 273.15..623.15 K; no cavitation or flashing in the bore.
    Raises: OutOfRangeError.
    Source: textbook; ISO 5167-2 starts at 12.5 mm and does not cover these bores.

    >>> round(orifice_flow(7e5, 0.8e-3, 0.62, 288.15) * 1e6, 3)
    11.666
    """
    return Cd * math.pi / 4.0 * d * d * math.sqrt(2.0 * dp / density(T))


@kernel(
    Q="m**3/s",
    d="m",
    Cd="",
    T="K",
    returns="Pa",
    source=ORIFICE,
    valid={"Q": FLOW, "d": BORE, "Cd": (0.1, 1.0), "T": LIQUID_T},
)
def orifice_loss(Q: float, d: float, Cd: float, T: float) -> float:
    """Pressure difference that drives a flow through a small orifice or restrictor.

    Formula: Δp = (ρ/2)·(4·Q/(Cd·π·d²))².
    Args:
        Q: flow, m3/s.
        d: bore, m.
        Cd: discharge coefficient.
        T: water temperature, K.
    Returns: pressure difference, Pa.
    Valid: Q 0..1 m3/s; d 0.01 mm..1 m; Cd 0.1..1; T 273.15..623.15 K.
    Raises: OutOfRangeError.
    Source: textbook, the inverse of orifice_flow.
    """
    jet = 4.0 * Q / (Cd * math.pi * d * d)
    return density(T) / 2.0 * jet * jet


@kernel(
    height="m", T="K", returns="Pa", source=HYDROSTATICS, valid={"height": (-1000.0, 1000.0), "T": LIQUID_T}
)
def static_head(height: float, T: float) -> float:
    """Pressure of a column of water.

    Formula: Δp = ρ·g·h, g = 9.80665 m/s2.
    Args:
        height: height of the column, m; negative below the reference.
        T: water temperature, K.
    Returns: pressure difference, Pa (about 0.0979 bar a metre).
    Valid: height −1000..1000 m; T 273.15..623.15 K.
    Raises: OutOfRangeError.
    Source: hydrostatics.
    """
    return density(T) * GRAVITY * height


@lru_cache(maxsize=256)
def _curve(points: CurvePoints) -> CurvePoints:
    kept = tuple((float(q), float(loss)) for q, loss in points if (q, loss) != (0.0, 0.0))
    if not kept:
        raise ValueError("a treatment curve needs at least one point besides (0, 0)")
    low = (0.0, 0.0)
    for point in kept:
        if not (point[0] > low[0] and point[1] > low[1] and math.isfinite(point[0] + point[1])):
            raise ValueError(f"the points of a treatment curve rise in flow and loss; {point} does not")
        low = point
    return kept


def curve_limit(points: CurvePoints) -> float:
    """Largest flow at which a treatment curve may be read.

    Formula: 1.5 × the last flow.
    Args:
        points: (flow m3/s, loss Pa), rising.
    Returns: flow, m3/s.
    Valid: at least one point besides (0, 0); flow and loss rise strictly.
    Raises: ValueError for another curve.
    Source: own convention: what a maker did not measure is not stretched far.
    """
    return CURVE_REACH * _curve(points)[-1][0]


def _exponent(a: tuple[float, float], b: tuple[float, float]) -> float:
    return math.log(b[1] / a[1]) / math.log(b[0] / a[0])


@kernel(Q="m**3/s", points="m**3/s, Pa", returns="Pa", source=TREATMENT_CURVE, valid={"Q": FLOW})
def treatment_loss(Q: float, points: CurvePoints) -> float:
    """Pressure lost in a filter head and cartridge, read from the maker's curve.

    Formula: between two points Δp = Δp1·(Q/Q1)^n, n through both; below the first and beyond the last the
        exponent of the nearest segment, held within 1 (laminar) and 2 (turbulent); a single point is read
        with n = 2. Exact at every point, 0 at no flow, rising throughout.
    Args:
        Q: flow, m3/s.
        points: (flow m3/s, loss Pa) of the curve, rising; (0, 0) may be among them.
    Returns: pressure loss, Pa.
    Valid: Q 0..1.5 × the last flow of the curve.
    Raises: OutOfRangeError beyond that; ValueError for a curve that does not rise.
    Source: the maker's data sheet, as typed in the profile.
    """
    curve = _curve(points)
    limit = CURVE_REACH * curve[-1][0]
    if limit * (1.0 + 1e-12) < Q:
        raise OutOfRangeError("treatment_loss", "Q", Q, 0.0, limit, "m**3/s")
    if Q == 0.0:
        return 0.0
    return _read_curve(Q, curve)


def _read_curve(Q: float, curve: CurvePoints) -> float:
    if len(curve) == 1:
        return curve[0][1] * (Q / curve[0][0]) ** 2
    if curve[0][0] >= Q:
        n = min(max(_exponent(curve[0], curve[1]), 1.0), 2.0)
        return curve[0][1] * (Q / curve[0][0]) ** n
    for a, b in itertools.pairwise(curve):
        if b[0] == Q:
            return b[1]
        if b[0] > Q:
            return a[1] * (Q / a[0]) ** _exponent(a, b)
    n = min(max(_exponent(curve[-2], curve[-1]), 1.0), 2.0)
    return curve[-1][1] * (Q / curve[-1][0]) ** n


def source_pressure_gauge(Q: float, static_gauge: float, flow_measured: float, flowing_gauge: float) -> float:
    """The quadratic source curve without its end: negative where the main cannot deliver the flow."""
    return static_gauge - (static_gauge - flowing_gauge) * (Q / flow_measured) ** 2


@kernel(
    Q="m**3/s",
    static_gauge="Pa",
    flow_measured="m**3/s",
    flowing_gauge="Pa",
    returns="Pa",
    source=QUADRATIC_SOURCE,
    valid={"Q": FLOW, "static_gauge": PRESSURE, "flow_measured": (1e-9, 1.0), "flowing_gauge": PRESSURE},
)
def flowing_supply_pressure_gauge(
    Q: float, static_gauge: float, flow_measured: float, flowing_gauge: float
) -> float:
    """Pressure left in the supply at a flow, from a static and one flowing reading.

    Formula: p(Q) = p_static − (p_static − p_flowing)·(Q/Q_measured)².
    Args:
        Q: flow, m3/s.
        static_gauge: reading without flow, Pa gauge.
        flow_measured: flow of the test, m3/s.
        flowing_gauge: reading at that flow, Pa gauge; not above static_gauge.
    Returns: pressure, Pa gauge.
    Valid: Q from 0 to the flow at which nothing is left; pressures 0..20 MPa; flow_measured 1e-9..1 m3/s.
    Raises: OutOfRangeError.
    Source: the hydrant-flow-test relation with a turbulent (quadratic) loss; fire practice uses an exponent
        of 1.85 to 2 (from memory).
    """
    if flowing_gauge > static_gauge:
        raise OutOfRangeError(
            "flowing_supply_pressure_gauge", "flowing_gauge", flowing_gauge, 0.0, static_gauge, "Pa"
        )
    left = source_pressure_gauge(Q, static_gauge, flow_measured, flowing_gauge)
    if left < 0.0:
        end = flow_measured * math.sqrt(static_gauge / (static_gauge - flowing_gauge))
        raise OutOfRangeError("flowing_supply_pressure_gauge", "Q", Q, 0.0, end, "m**3/s")
    return left


@kernel(
    p_in_gauge="Pa",
    setting_gauge="Pa",
    Q="m**3/s",
    nominal_flow="m**3/s",
    droop_fraction="",
    open_loss="Pa",
    returns="Pa",
    source=REDUCER,
    valid={
        "p_in_gauge": (-1e5, 2e7),
        "setting_gauge": PRESSURE,
        "Q": FLOW,
        "nominal_flow": (0.0, 1.0),
        "droop_fraction": (0.0, 0.9),
        "open_loss": PRESSURE,
    },
)
def reducer_outlet(
    p_in_gauge: float,
    setting_gauge: float,
    Q: float = 0.0,
    nominal_flow: float = 0.0,
    droop_fraction: float = 0.0,
    open_loss: float = 0.0,
) -> float:
    """Pressure behind a pressure-reducing valve.

    Formula: p_out = min(p_set·max(0, 1 − s·Q/Q_n), p_in − Δp_open·(Q/Q_n)²). The setting is the outlet at no
        flow. Creep of a worn seat and the effect of the inlet on an unbalanced reducer are not in it.
    Args:
        p_in_gauge: pressure before it, Pa gauge.
        setting_gauge: outlet pressure at no flow, Pa gauge.
        Q: flow, m3/s.
        nominal_flow: flow at which droop and open loss are stated, m3/s; not needed where both are 0.
        droop_fraction: fall of the outlet at nominal flow, as a share of the setting.
        open_loss: loss through the fully open valve at nominal flow, Pa.
    Returns: pressure, Pa gauge.
    Valid: p_in_gauge −0.1..20 MPa; setting_gauge, open_loss 0..20 MPa; Q 0..1 m3/s; nominal_flow 1e-9..1
        m3/s; droop_fraction 0..0.9.
    Raises: OutOfRangeError.
    Source: the maker's droop and loss figures.
    """
    if droop_fraction == 0.0 and open_loss == 0.0:
        return min(setting_gauge, p_in_gauge)
    if nominal_flow < 1e-9:
        raise OutOfRangeError("reducer_outlet", "nominal_flow", nominal_flow, 1e-9, 1.0, "m**3/s")
    share = Q / nominal_flow
    return min(setting_gauge * max(0.0, 1.0 - droop_fraction * share), p_in_gauge - open_loss * share * share)
