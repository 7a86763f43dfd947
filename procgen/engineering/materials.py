"""Figures of the materials machines are made of."""

from __future__ import annotations

from collections.abc import Mapping

from procgen.engineering.kernel import Source

METALS = Source(
    "metals",
    "Handbook tables of specific heat near 50 °C",
    "copper 385, brass 380, stainless steel 500 J/(kg·K)",
    kind="handbook",
    from_memory=True,
)

#: Specific heat, J/(kg·K).
SPECIFIC_HEAT: Mapping[str, float] = {"copper": 385.0, "brass": 380.0, "stainless_steel": 500.0}
