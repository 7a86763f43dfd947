"""Every source that a formula of this floor names, in one place."""

from __future__ import annotations

from procgen.engineering.kernel import Source

ARITHMETIC = Source("arithmetic", "Arithmetic from the stated formula", kind="arithmetic")
COMMON_PRACTICE = Source("common-practice", "Common practice, no source", kind="common practice")
