"""How long the steam boiler must stand before its first water is let go."""

from __future__ import annotations

from procgen.engineering import cooling
from procgen.engineering.sources_fluid import LUMPED_HEAT
from procgen.units.measure import parse
from procgen.values.define import VALUES, UnavailableError
from procgen.values.definitions.heat import ambient
from procgen.values.leaves import Leaf
from procgen.values.reader import Reader

#: Water that may run over a hand (common practice, no source).
HAND_WARM = Leaf(
    "practice.hand_warm", "standard", "common practice, no source", parse("43 °C", "temperature")
)
#: Specific heat of water between hand-warm and boiling, within a hundredth, J/(kg K).
WATER = 4190.0


@VALUES.value(
    "flush.cooling",
    "time",
    formula="cooling_time(m_w * 4190 + m_s * c_s, UA, T_boil, T_warm, T_room)",
    source=LUMPED_HEAT,
    digits=1,
)
def time_to_cool(r: Reader) -> float:
    """From boiling without pressure to hand-warm, left alone."""
    steam = r.machine.steam_boiler
    room, warm = ambient(r), r.constant(HAND_WARM, "T_warm")
    if room > warm - 1.0:
        raise UnavailableError("room_too_warm")
    capacity = r.value(f"heat.water_mass[{steam.mark}]", "m_w") * WATER + r.leaf(
        steam, "shell_mass", "m_s"
    ) * r.value(f"heat.shell_heat[{steam.mark}]", "c_s")
    boiling = r.value("water.boiling_point_site", "T_boil")
    return cooling.cooling_time(capacity, r.leaf(steam, "loss", "UA"), boiling, warm, room)
