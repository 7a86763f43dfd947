"""How long a hot vessel takes to cool by itself."""

from __future__ import annotations

import math

from procgen.engineering import sources_general as s
from procgen.engineering.kernel import kernel
from procgen.engineering.sources_fluid import LUMPED_HEAT

_T = (233.15, 473.15)


@kernel(
    capacity="J/K", loss="W/K", start="K", end="K", room="K", returns="s", source=LUMPED_HEAT,
    valid={"capacity": (0, 1e7), "loss": (1e-3, 1e4), "start": _T, "end": _T, "room": _T},
)  # fmt: skip
def cooling_time(capacity: float, loss: float, start: float, end: float, room: float) -> float:
    """Time in which a vessel cools by what it loses to the room.

    Formula: C/UA ln((T_start - T_room)/(T_end - T_room))

    Args:
        capacity: heat capacity of contents and shell [J/K]
        loss: to the room, per kelvin of difference [W/K]
        start: temperature at first [K]
        end: temperature wanted [K]
        room: temperature of the room [K]
    Returns: time; nought where it is no warmer to begin with [s]
    Valid: the room colder than the temperature wanted
    Raises: OutOfRangeError outside these ranges
    Source: heat balance of a lumped mass
    """
    s.require("cooling_time", "room", room, (None, end - 0.1), "K")
    if start <= end:
        return 0.0
    return capacity / loss * math.log((start - room) / (end - room))
