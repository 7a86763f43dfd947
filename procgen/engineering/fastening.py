"""Tightening torque where a bolt carries load; a hose nut's figure is the maker's, never computed."""

from __future__ import annotations

import math

from procgen.engineering import sources_general as s
from procgen.engineering.kernel import kernel

#: Coarse pitch by nominal diameter, both in m, keyed by the thread's name.
COARSE: dict[str, tuple[float, float]] = {
    "M4": (0.004, 0.0007),
    "M5": (0.005, 0.0008),
    "M6": (0.006, 0.0010),
    "M8": (0.008, 0.00125),
    "M10": (0.010, 0.0015),
    "M12": (0.012, 0.00175),
    "M16": (0.016, 0.0020),
}

#: Stress under proof load in Pa, up to 16 mm; the stainless class is its 0.2 % proof stress (ISO 3506-1).
PROOF_STRESS: dict[str, float] = {
    "4.6": 225e6,
    "5.8": 380e6,
    "8.8": 580e6,
    "10.9": 830e6,
    "12.9": 970e6,
    "A2-70": 450e6,
}

#: Proof loads in N as the standard prints them, rounded from stress and area.
PROOF_LOADS: dict[tuple[str, str], float] = {
    ("M5", "8.8"): 8230.0,
    ("M6", "8.8"): 11_600.0,
    ("M8", "8.8"): 21_200.0,
    ("M10", "8.8"): 33_700.0,
    ("M12", "8.8"): 48_900.0,
}

#: Nut factor by state of the surface.
NUT_FACTORS = {"dry": 0.20, "oiled": 0.15, "waxed": 0.12}

_D = (0.001, 0.1)


@kernel(
    K="", d="m", F="N", returns="N*m", source=s.NUT_FACTOR, valid={"K": (0.05, 0.5), "d": _D, "F": (0, 1e7)}
)
def torque_from_preload(K: float, d: float, F: float) -> float:
    """Torque that brings a bolt to a preload.

    Formula: T = K d F

    Args:
        K: nut factor []
        d: nominal diameter [m]
        F: preload [N]
    Returns: torque [N*m]
    Valid: K 0.05 to 0.5; d 1 to 100 mm; F 0 to 1e7 N
    Raises: OutOfRangeError outside these ranges
    Source: short form of the tightening torque

    >>> round(torque_from_preload(0.2, 0.012, 34_000.0), 1)
    81.6
    """
    return K * d * F


@kernel(
    torque="N*m", K="", d="m", returns="N", source=s.NUT_FACTOR,
    valid={"torque": (0, 1e5), "K": (0.05, 0.5), "d": _D},
)  # fmt: skip
def preload_from_torque(torque: float, K: float, d: float) -> float:
    """Preload that a torque brings about.

    Formula: F = T/(K d)

    Args:
        torque: applied [N*m]
        K: nut factor []
        d: nominal diameter [m]
    Returns: preload [N]
    Valid: torque 0 to 1e5 N*m; K 0.05 to 0.5; d 1 to 100 mm
    Raises: OutOfRangeError outside these ranges
    Source: short form of the tightening torque
    """
    return torque / (K * d)


@kernel(d="m", P="m", returns="m**2", source=s.ISO_898_1, valid={"d": _D, "P": (1e-4, 0.01)})
def stress_area(d: float, P: float) -> float:
    """Stress area of a metric thread.

    Formula: A_s = pi/4 (d - 0.938194 P)^2

    Args:
        d: nominal diameter [m]
        P: pitch [m]
    Returns: area [m**2]
    Valid: d 1 to 100 mm; P 0.1 to 10 mm and below half of d
    Raises: OutOfRangeError outside these ranges
    Source: ISO 898-1
    """
    s.require("stress_area", "P", P, (None, d / 2.0), "m")
    return math.pi / 4.0 * (d - 0.938194 * P) ** 2


@kernel(property_class="", returns="Pa", source=s.ISO_898_1_MEMORY)
def proof_stress(property_class: str) -> float:
    """Stress under proof load of a class, threads up to 16 mm.

    Formula: table by class

    Args:
        property_class: "8.8", "A2-70" ... []
    Returns: stress [Pa]
    Valid: classes of the table
    Raises: UnknownEntryError for another class
    Source: ISO 898-1 and ISO 3506-1, from memory
    """
    return s.entry("proof_stress", PROOF_STRESS, property_class)


@kernel(thread="", property_class="", returns="N", source=s.ISO_898_1)
def proof_load(thread: str, property_class: str) -> float:
    """Proof load of a bolt with coarse thread: as the standard prints it, else stress times area.

    Formula: table; else S_p A_s

    Args:
        thread: "M5" ... "M16" []
        property_class: "8.8", "A2-70" ... []
    Returns: load [N]
    Valid: threads and classes of the tables
    Raises: UnknownEntryError for others
    Source: ISO 898-1; stresses from memory

    >>> proof_load("M6", "8.8")
    11600.0
    """
    d, pitch = s.entry("thread", COARSE, thread)
    stress = proof_stress(property_class)
    return PROOF_LOADS.get((thread, property_class), stress * stress_area(d, pitch))


@kernel(proof="N", share="", returns="N", source=s.ARITHMETIC, valid={"proof": (0, 1e7), "share": (0, 0.9)})
def preload_for_share(proof: float, share: float) -> float:
    """Preload at a share of the proof load; 0.75 is usual where the joint is taken apart again.

    Formula: F = share F_p

    Args:
        proof: proof load [N]
        share: of it []
    Returns: preload [N]
    Valid: proof 0 to 1e7 N; share 0 to 0.9
    Raises: OutOfRangeError outside these ranges
    Source: arithmetic
    """
    return share * proof


@kernel(surface="", returns="", source=s.NUT_FACTOR_TABLE)
def nut_factor(surface: str) -> float:
    """Nut factor by the state of the surface, where the maker gives none.

    Formula: table: dry 0.20, oiled 0.15, waxed 0.12

    Args:
        surface: "dry", "oiled" or "waxed" []
    Returns: factor []
    Valid: entries of the table
    Raises: UnknownEntryError for another state
    Source: common practice, from memory
    """
    return s.entry("nut_factor", NUT_FACTORS, surface)


@kernel(
    d="m", proof="N", K="", share="", returns="N*m", source=s.NUT_FACTOR,
    valid={"d": _D, "proof": (0, 1e7), "K": (0.05, 0.5), "share": (0, 0.9)},
)  # fmt: skip
def torque_for_share(d: float, proof: float, K: float, share: float) -> float:
    """Torque for a share of the proof load; with the lowest K and the highest share, the limit not to pass.

    Formula: T = K d share F_p

    Args:
        d: nominal diameter [m]
        proof: proof load [N]
        K: nut factor []
        share: of the proof load []
    Returns: torque [N*m]
    Valid: d 1 to 100 mm; proof 0 to 1e7 N; K 0.05 to 0.5; share 0 to 0.9
    Raises: OutOfRangeError outside these ranges
    Source: short form of the tightening torque
    """
    return torque_from_preload(K, d, preload_for_share(proof, share))


def torque_limits(torque: float, tolerance: float) -> tuple[float, float]:
    """Lowest and highest torque that pass.

    Formula: T (1 - tolerance), T (1 + tolerance)

    Args:
        torque: nominal [N*m]
        tolerance: share to either side, as the maker or the tool states it []
    Returns: low and high [N*m]
    Valid: torque 0 to 1e5 N*m; tolerance 0 to 0.5
    Raises: OutOfRangeError outside these ranges
    Source: arithmetic
    """
    s.require("torque_limits", "torque", torque, (0.0, 1e5), "N*m")
    s.require("torque_limits", "tolerance", tolerance, (0.0, 0.5), "")
    return torque * (1.0 - tolerance), torque * (1.0 + tolerance)
