"""Torques: the maker's figure with its limits, or from the preload of a bolt that carries load."""

from __future__ import annotations

from procgen.engineering import fastening
from procgen.engineering.sources_general import ISO_898_1, NUT_FACTOR
from procgen.profiles.machine import Bolt, Fitting
from procgen.values.define import VALUES, UnavailableError
from procgen.values.reader import Facts, Reader


def fitting_marks(r: Reader) -> list[str]:
    """Marks of the fittings."""
    return [fitting.mark for fitting in r.machine.fittings]


def fitting(r: Reader, mark: str) -> Fitting:
    """A fitting by its mark."""
    return next(item for item in r.machine.fittings if item.mark == mark)


def _bolt(r: Reader, mark: str) -> Bolt:
    bolt = fitting(r, mark).bolt
    if bolt is None:
        raise UnavailableError("torque_by_maker")
    return bolt


@VALUES.value(
    "fastening.preload",
    "force",
    formula="share * S_proof * stress_area(d, P)",
    source=ISO_898_1,
    digits=3,
    keys=fitting_marks,
)
def preload(r: Reader, mark: str) -> float:
    """Share of the proof load that the profile asks for."""
    bolt = _bolt(r, mark)
    area = fastening.stress_area(r.leaf(bolt, "diameter", "d"), r.leaf(bolt, "pitch", "P"))
    stress = r.value(f"fastening.proof_stress[{mark}]", "S_proof")
    return r.leaf(bolt, "proof_share", "share") * stress * area


@VALUES.value(
    "fastening.proof_stress",
    "stress",
    formula="S_table",
    source=ISO_898_1,
    digits=3,
    keys=fitting_marks,
)
def proof_stress(r: Reader, mark: str) -> float:
    """Stress under proof load of the bolt's property class."""
    grade = _bolt(r, mark).property_class
    stress = fastening.proof_stress(grade)
    standard = "ISO 3506-1" if grade.startswith("A") else "ISO 898-1"
    return r.table(f"{standard}.{grade}", stress, "stress", "S_table", f"{standard}, proof stress")


def _torque_formula(facts: Facts, mark: str) -> str:
    item = next(f for f in facts.machine.fittings if f.mark == mark)
    return "T_maker" if item.maker_torque is not None else "K * d * F"


@VALUES.value(
    "fastening.torque", "torque", formula=_torque_formula, source=NUT_FACTOR, digits=2, keys=fitting_marks
)
def torque(r: Reader, mark: str) -> float:
    """A hose nut's torque is its maker's, never computed; a bolt's follows from its preload."""
    item = fitting(r, mark)
    if item.maker_torque is not None:
        return r.leaf(item, "maker_torque", "T_maker")
    bolt = _bolt(r, mark)
    return fastening.torque_from_preload(
        r.leaf(bolt, "nut_factor", "K"),
        r.leaf(bolt, "diameter", "d"),
        r.value(f"fastening.preload[{mark}]", "F"),
    )
