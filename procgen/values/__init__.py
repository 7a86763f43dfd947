"""The value graph of one guide: ranges, provenance, findings.

Lives here: which formula is fed from which profile leaf. May not live here: physics, words, pages.
"""

from procgen.values.evaluate import evaluate
from procgen.values.worksheet import Finding, Input, Series, Value, Worksheet

__all__ = ["Finding", "Input", "Series", "Value", "Worksheet", "evaluate"]
