"""Sources for water treatment, drain, electricity, fastening, handling, supply and use.

Also the two refusals those tables need beside the kernel's own: an entry that a table does not hold, and a
member of a sequence that lies outside its range.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TypeVar

from procgen.engineering.kernel import OutOfRangeError, Source
from procgen.engineering.sources import ARITHMETIC, COMMON_PRACTICE  # noqa: F401  (offered on)

K = TypeVar("K")
V = TypeVar("V")

#: Families of declared plumbing codes; every table keyed by code uses these ids.
CODES = ("ipc", "upc", "as_nzs_3500", "en", "uk")

#: The names a site may declare, and the family each belongs to.
CODE_NAMES = {
    "IPC": "ipc",
    "UPC": "upc",
    "AS/NZS 3500": "as_nzs_3500",
    "AS/NZS 3500.1": "as_nzs_3500",
    "AS/NZS 3500.2": "as_nzs_3500",
    "EN 806": "en",
    "EN 1717": "en",
    "EN 12056": "en",
}


class UnknownEntryError(ValueError):
    """A table holds no entry for what was asked; the caller words it and lists what is known."""

    def __init__(self, table: str, found: object, known: tuple[object, ...]) -> None:
        self.table = table
        self.found = found
        self.known = known
        super().__init__(f"{table}: no entry for {found!r}; known: {', '.join(map(repr, known))}")


def entry(table: str, entries: Mapping[K, V], found: K) -> V:
    """Return the entry of a table, or raise `UnknownEntryError` that names what the table holds."""
    if found not in entries:
        raise UnknownEntryError(table, found, tuple(entries))
    return entries[found]


def code_entry(table: str, entries: Mapping[str, V], code: str) -> V:
    """Return a table's entry for a declared code, by its name or by its family's id."""
    return entry(table, entries, CODE_NAMES.get(code, code))


Span = tuple[float | None, float | None]


def require(function: str, argument: str, found: float, span: Span, unit: str) -> None:
    """Raise `OutOfRangeError` where a figure that no kernel bound can see is outside its range."""
    low, high = span
    # Written so that NaN fails the comparison.
    if not ((low is None or found >= low) and (high is None or found <= high) and math.isfinite(found)):
        raise OutOfRangeError(function, argument, found, low, high, unit)


def same_length(function: str, first: str, a: int, second: str, b: int) -> None:
    """Raise ValueError where two sequences that belong together differ in length."""
    if a != b:
        raise ValueError(f"{function}: {first} has {a} entries, {second} has {b}")


# Water treatment
SM_2340B = Source("sm-2340b", "Standard Methods for the Examination of Water and Wastewater", "2340 B")
LANGELIER = Source(
    "langelier",
    "Langelier saturation index, closed form with A, B, C and D",
    "published worked example",
    "handbook",
)
RYZNAR = Source("ryznar", "Ryznar stability index and its bands", kind="handbook")
LARSON_SKOLD = Source(
    "larson-skold", "Larson and Skold, corrosion of mild steel in cold water", kind="handbook"
)
MOLAR_MASSES = Source("molar-masses", "Equivalent masses from standard atomic weights", kind="arithmetic")
USGS_HARDNESS = Source("usgs-hardness", "US Geological Survey, hardness of water classes", kind="handbook")
TDS_FACTOR = Source(
    "tds-factor", "Dissolved solids from conductivity by a factor", kind="common practice", from_memory=True
)

ION_CONDUCTANCE = Source(
    "ion-conductance",
    "Limiting conductances of ions at 25 degC, handbook tables",
    kind="handbook",
    from_memory=True,
)
MEMBRANE = Source(
    "membrane", "Salt rejection of a membrane, 1 - permeate/feed, and balance of a blend", kind="handbook"
)
SOLIDS = Source(
    "solids",
    "Standard Methods, dissolved solids by sum, bicarbonate weighed as carbonate",
    "1030 E",
    from_memory=True,
)
CARBONIC_ACID = Source(
    "carbonic-acid",
    "First dissociation of carbonic acid, pK1 = 6.35 at 25 degC",
    kind="handbook",
    from_memory=True,
)

# Drain
DECLARED = Source("declared", "What the site declares", kind="survey")
IPC_704_1 = Source("ipc-704-1", "International Plumbing Code", "704.1")
IPC_704_1_LARGE = Source(
    "ipc-704-1-large", "International Plumbing Code", "704.1, above 2 1/2 in", from_memory=True
)
UPC_708 = Source("upc-708", "Uniform Plumbing Code", "708.1", from_memory=True)
AS_NZS_3500_2 = Source("as-nzs-3500-2", "AS/NZS 3500.2, minimum grades of drains", "DN65")
AS_NZS_3500_2_LARGE = Source(
    "as-nzs-3500-2-large", "AS/NZS 3500.2, minimum grades of drains", "above DN65", from_memory=True
)
EN_12056_2 = Source("en-12056-2", "EN 12056-2, unventilated discharge branches, system I", from_memory=True)
UK_DOCUMENT_H = Source(
    "uk-document-h", "Approved Document H, branch discharge pipes", "table 2", from_memory=True
)
MANNING = Source("manning", "Manning's formula for a circular pipe", kind="handbook")
MANNING_ROUGHNESS = Source(
    "manning-roughness", "Manning's roughness of used pipes", kind="common practice", from_memory=True
)
EN_1717 = Source("en-1717", "EN 1717", from_memory=True)
US_AIR_GAP = Source("us-air-gap", "IPC and UPC air gap tables, ASME A112.1.2", from_memory=True)
AS_NZS_AIR_GAP = Source("as-nzs-air-gap", "AS/NZS 3500.1, air gaps", from_memory=True)
US_WASTE_TEMPERATURE = Source("us-waste-temperature", "IPC and UPC, waste at most 140 degF", from_memory=True)
PIPE_TEMPERATURE = Source(
    "pipe-temperature", "Waste pipe materials, continuous use", kind="common practice", from_memory=True
)
MIXING = Source(
    "mixing", "Energy balance of streams of one liquid with equal heat capacity", kind="arithmetic"
)

# Electricity
PHASORS = Source("phasors", "Kirchhoff's laws on complex phasors", kind="handbook")
MILLMAN = Source("millman", "Millman's theorem", kind="handbook")
OHM = Source("ohm", "Ohm's law and Joule's law", kind="handbook")
IEC_60364_5_52_G = Source("iec-60364-5-52-g", "IEC 60364-5-52", "Annex G")
IEC_60364_5_52_B = Source("iec-60364-5-52-b", "IEC 60364-5-52", "Annex B, method C, PVC", from_memory=True)
NEC_310 = Source("nec-310", "NFPA 70 (NEC)", "table 310.16, 60 degC; 310.15(C)(1)", from_memory=True)
IEC_60228 = Source("iec-60228", "IEC 60228", "tables 1 to 3")
IEC_60364_4_43 = Source("iec-60364-4-43", "IEC 60364-4-43", "433.1", from_memory=True)
NEC_210_20 = Source("nec-210-20", "NFPA 70 (NEC)", "210.20(A) and 240.6(A)", from_memory=True)
NEMA_MG1 = Source("nema-mg1", "NEMA MG 1, voltage unbalance", from_memory=True)
IEC_60335_1_13 = Source("iec-60335-1-13", "IEC 60335-1", "clause 13", from_memory=True)

# Earthing and verification
IEC_60364_4_41 = Source("iec-60364-4-41", "IEC 60364-4-41", "411.3.2 and 411.4.4", from_memory=True)
IEC_60898 = Source("iec-60898", "IEC 60898-1, instantaneous tripping", from_memory=True)
IEC_61008 = Source("iec-61008", "IEC 61008-1, break times", from_memory=True)
RCD_PRACTICE = Source(
    "rcd-practice",
    "Standing leakage at most 30 % of the rated residual current",
    kind="common practice",
    from_memory=True,
)
IEC_60364_6 = Source("iec-60364-6", "IEC 60364-6", "6.4.3", from_memory=True)
MEASURED_LOOP = Source("measured-loop", "IEC 60364-6 Annex D; BS 7671 guidance", from_memory=True)
MEASURED_LOOP_INSTEAD = Source(
    "measured-loop-instead",
    "IEC 60364-6 Annex D, in place of the declared code, whose own figure is not held here",
    from_memory=True,
)
IEC_60335_1_27 = Source("iec-60335-1-27", "IEC 60335-1", "27.5", from_memory=True)
IEC_60364_5_54 = Source("iec-60364-5-54", "IEC 60364-5-54", "table 54.2", from_memory=True)

# Fastening
NUT_FACTOR = Source("nut-factor", "Short form of the tightening torque, T = K d F", kind="handbook")
ISO_898_1 = Source("iso-898-1", "ISO 898-1", "proof loads and stresses")
ISO_898_1_MEMORY = Source("iso-898-1-memory", "ISO 898-1", "stress under proof load", from_memory=True)
ISO_261 = Source("iso-261", "ISO 261, coarse pitches", from_memory=True)
NUT_FACTOR_TABLE = Source(
    "nut-factor-table", "Nut factors by surface", kind="common practice", from_memory=True
)

# Handling
NIOSH = Source(
    "niosh", "Applications Manual for the Revised NIOSH Lifting Equation, DHHS 94-110", kind="handbook"
)
NIOSH_TABLES = Source(
    "niosh-tables", "DHHS 94-110, frequency and coupling tables", kind="handbook", from_memory=True
)
HSE_L23 = Source("hse-l23", "HSE L23, Manual handling, team handling", kind="handbook")
STEADYING = Source("steadying", "Common practice, no source", kind="common practice")
STATICS = Source("statics", "Equilibrium of forces", kind="arithmetic")

# Supply
HYDROSTATICS = Source("hydrostatics", "Hydrostatic pressure", kind="handbook")
UPC_608_2 = Source("upc-608-2", "Uniform Plumbing Code", "608.2")
IPC_604_8 = Source("ipc-604-8", "International Plumbing Code", "604.8", from_memory=True)
AS_NZS_3500_1 = Source("as-nzs-3500-1", "AS/NZS 3500.1", from_memory=True)
EN_806_2 = Source("en-806-2", "EN 806-2, static pressure at draw-off", from_memory=True)
UK_WATER_FITTINGS = Source(
    "uk-water-fittings",
    "UK water fittings regulations, interpretation by their approvers",
    "1.5 x working pressure",
)
EN_806_4 = Source("en-806-4", "EN 806-4 with EN 806-2", "6.1; 3.4.2")
IPC_312_5 = Source("ipc-312-5", "International Plumbing Code", "312.5", from_memory=True)
UPC_609 = Source("upc-609", "Uniform Plumbing Code", "609.4", from_memory=True)
JOUKOWSKY = Source("joukowsky", "Joukowsky surge; Michaud for slow closing", kind="handbook")
KORTEWEG = Source("korteweg", "Korteweg wave speed in an elastic pipe", kind="handbook")
EN_1717_CATEGORIES = Source("en-1717-categories", "EN 1717, fluid categories", from_memory=True)
US_DRINKS_MACHINE = Source("us-drinks-machine", "IPC 608.17.1 and UPC 603.5", from_memory=True)
