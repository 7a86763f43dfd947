"""Every declared value, in the order of the guide."""

from __future__ import annotations

from procgen.values.define import VALUES, Definition, ordered
from procgen.values.definitions import (  # noqa: F401 -- importing declares
    drain,
    electrical,
    electrical_faults,
    electrical_tests,
    fastening,
    fill,
    handling,
    heat,
    held,
    hotwater,
    place,
    pump,
    supply,
    treatment,
    use,
    whatif,
)


def definitions() -> list[Definition]:
    """All definitions in order of declaration."""
    return ordered(VALUES.definitions)
