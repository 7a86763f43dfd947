"""The things outside the project that formulas are compared with, each named once."""

from __future__ import annotations

from procgen.engineering import sources_general as s

from .oracle import Outside, standard


def published(title: str) -> Outside:
    """A printed figure that was read."""
    return Outside(title)


def recalled(title: str) -> Outside:
    """A printed figure that was recalled and not read in the document itself."""
    return Outside(title, from_memory=True)


HAND = Outside("arithmetic by hand from the stated formula")
MILLMAN = Outside("Millman's theorem, by hand")

# Libraries that compute the same by other means
COOLPROP = Outside("CoolProp (IAPWS-95)", ("CoolProp",))
IAPWS = Outside("iapws (IAPWS-IF97, written by others)", ("iapws",))
FLUIDS = Outside("fluids (Manning's formula)", ("fluids",))
FLUIDS_MANNING = Outside("worked figure in the documentation of fluids", ("fluids",))
PHREEQC = Outside("PHREEQC, calcite index of the same water: another method", ("phreeqpython",))

# Solved again in the tests, by other means and with other properties
INTEGRATED = Outside("integration with scipy, properties by CoolProp", ("scipy", "CoolProp"))
NETWORK = Outside("network solved anew with scipy, properties by CoolProp", ("scipy", "CoolProp"))
GROUP_INTEGRATED = Outside("integration with scipy", ("scipy",))
EXPONENTIAL = Outside("matrix exponential with scipy", ("scipy",))
WHOLE_SITE = Outside("a whole site solved anew from its files, scipy and CoolProp", ("scipy", "CoolProp"))
CHAMBER = Outside("chamber solved anew with scipy, properties by CoolProp", ("scipy", "CoolProp"))
COLEBROOK = Outside("Colebrook's equation solved with scipy", ("scipy",))
CARBONATE = Outside("whole equilibrium of carbonate solved with scipy, constants from memory", ("scipy",))
QUADRATURE = Outside("integral with scipy", ("scipy",))
ROOT = Outside("root by scipy", ("scipy",))
MANNING_ROOT = Outside("root by scipy over Manning's formula by fluids", ("scipy", "fluids"))
NODAL = Outside("nodal analysis with numpy", ("numpy",))
SPRING = Outside("force balance of a spring bypass, written anew")

# Printed
IF97_TABLE_35 = published("IAPWS R7-97, table 35")
IF97_TABLE_36 = published("IAPWS R7-97, table 36")
VISCOSITY_TABLE_4 = published("IAPWS R12-08, table 4")
STEAM_TABLE = published("handbook steam table")
ISA_FORMULA = published("ISO 2533, the formula written out by hand")
US_1976 = recalled("US Standard Atmosphere 1976, table I")
ISA_AND_COOLPROP = Outside("ISO 2533 by hand, then CoolProp (IAPWS-95)", ("CoolProp",))
CRANE_7_1 = published("Crane TP-410, example 7.1")
SWAMEE_JAIN = published("Swamee and Jain's explicit formula")
HEAD = published("printed heads of water, bar a metre and psi a foot")
SEWER = published("published capacity of a 24 in sewer")
STORAGE_HEATER = published("published example, storage heater of 125 L")
KETTLE = published("published example, 20 L heated to boiling")
LANGELIER_EXAMPLE = published("published worked example of the Langelier index")
LARSON_EXAMPLE = published("published method of Larson and Skold, figure by hand")
MOLAR_MASSES = published("molar masses from standard atomic weights")
ION_CONDUCTANCES = published("CRC Handbook, limiting conductances of Ca and HCO3, from memory")
SM_2340B = published("Standard Methods 2340 B, by hand")
SM_1030E = recalled("Standard Methods 1030 E, sum of the ions")
MEMBRANE_EXAMPLE = published("published worked example, permeate of 400 g/m3 at 90 % rejection")
SPLIT = Outside("balance of flows in a split treatment, solved with numpy", ("numpy",))
RYZNAR_BANDS = published("published bands of the Ryznar index")
NEUTRAL_EXAMPLE = published("published example, neutral of 10, 15 and 20 A")
ANNEX_G = published("IEC 60364-5-52, Annex G, by hand")
IEC_60228 = published("IEC 60228, tables 1 to 3")
ISO_898_1 = published("ISO 898-1, proof loads of class 8.8")
BOLT_EXAMPLE = published("published torque of an M12 8.8 bolt")
NIOSH_EXAMPLE_4 = published("DHHS 94-110, example 4")
NIOSH_EXAMPLE_1 = recalled("DHHS 94-110, example 1")
NIOSH_FORMULA = published("DHHS 94-110, the equation by hand")
NIOSH_MULTIPLIERS = recalled("DHHS 94-110, printed multipliers of two decimals")
HSE_L23 = published("HSE L23, team handling")
PRACTICE = recalled("common practice, no source")

# Tables that differ by the declared code
AIR_GAPS = {
    "en": standard(s.EN_1717),
    "uk": standard(s.EN_1717),
    "ipc": standard(s.US_AIR_GAP),
    "upc": standard(s.US_AIR_GAP),
    "as_nzs_3500": standard(s.AS_NZS_AIR_GAP),
}
REDUCERS = {
    "ipc": standard(s.IPC_604_8),
    "upc": standard(s.UPC_608_2),
    "as_nzs_3500": standard(s.AS_NZS_3500_1),
    "en": standard(s.EN_806_2),
}
PRESSURE_TESTS = {
    "ipc": standard(s.IPC_312_5),
    "upc": standard(s.UPC_609),
    "as_nzs_3500": standard(s.AS_NZS_3500_1),
    "en": standard(s.EN_806_4),
    "uk": standard(s.UK_WATER_FITTINGS),
}


def by_code(table: dict[str, Outside], code: str) -> Outside:
    """The source of a table for a declared code, by its name or by its family's id."""
    return table[s.CODE_NAMES.get(code, code)]
