"""The pint registry of the project, with the trade's units that pint lacks or reads otherwise."""

from __future__ import annotations

from functools import lru_cache

import pint

# Hardness is a dimension of its own: pint reads dH and fH as henries, and hardness "as CaCO3" is not
# a mass concentration that may be mixed with one. Base unit: 1 mmol/L of alkaline-earth ions.
# Factors from the molar masses CaCO3 100.0869 and CaO 56.0774 g/mol (IUPAC 2021 abridged weights):
# 1 °dH = 10 mg/L CaO, 1 °fH = 10 mg/L CaCO3, 1 °e = 1 grain per imperial gallon,
# 1 gpg = 1 grain per US gallon.
_DEFINITIONS = """
hardness_mmol_per_liter = [hardness] = mmolHard
hardness_caco3 = hardness_mmol_per_liter / 100.0869 = mgCaCO3
hardness_dH = 17.84799 * hardness_caco3 = degdH
hardness_fH = 10 * hardness_caco3 = degfH
hardness_e = 14.25377 * hardness_caco3 = dege
hardness_gpg = 17.11806 * hardness_caco3 = grainpergallon
hardness_gram = 1000 * hardness_caco3 * liter = gramCaCO3
"""


@lru_cache(maxsize=1)
def registry() -> pint.UnitRegistry:
    """Return the one registry (built at first use: it costs a good part of start-up)."""
    # cache_folder stays unset: a cache outside the project would be one more thing that can go stale.
    ureg: pint.UnitRegistry = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    for line in _DEFINITIONS.strip().splitlines():
        ureg.define(line)
    return ureg
