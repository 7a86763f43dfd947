"""Filling a boiler: how long, how many runs of the pump, how much air stays, how the level rises."""

from __future__ import annotations

import math
from dataclasses import dataclass

from procgen.engineering.fill_network import (
    FillNetwork,
    FillResult,
    Hose,
    Mains,
    Orifice,
    Pump,
    Reducer,
    equilibrium_gauge,
    fill_residual,
    solve_fill_flow,
)
from procgen.engineering.kernel import OutOfRangeError, kernel
from procgen.engineering.sources_fluid import ARITHMETIC, IDEAL_GAS, STOP_AND_CHECK

__all__ = [
    "BrewFill",
    "FillNetwork",
    "FillResult",
    "Hose",
    "Mains",
    "Orifice",
    "Pump",
    "Reducer",
    "brew_fill_time",
    "closed_fill_time",
    "equilibrium_gauge",
    "fill_residual",
    "fill_time",
    "filled_share",
    "level_curve",
    "pump_runs",
    "resets",
    "solve_fill_flow",
    "stop_and_check_runs",
    "trapped_air_share",
]

#: Share of a run by which a computed time may miss a whole number of runs and still count as that number.
RUN_NOISE = 1e-9

TIME = (0.0, 1e7)
VOLUME = (0.0, 100.0)


@kernel(V="m**3", Q="m**3/s", returns="s", source=ARITHMETIC, valid={"V": VOLUME, "Q": (1e-9, 1.0)})
def fill_time(V: float, Q: float) -> float:
    """Time to fill a volume at a steady flow.

    Formula: t = V/Q.
    Args:
        V: volume, m3.
        Q: flow, m3/s.
    Returns: time, s.
    Valid: V 0..100 m3; Q 1e-9..1 m3/s.
    Raises: OutOfRangeError.
    Source: arithmetic.
    """
    return V / Q


@kernel(t="s", timeout="s", returns="", source=ARITHMETIC, valid={"t": TIME, "timeout": (1.0, 1e5)})
def pump_runs(t: float, timeout: float) -> int:
    """Runs of the pump that a fill takes when a safety time-out ends each run.

    Formula: runs = ⌈t/τ⌉, at least 1. A fill that ends exactly at the limit is one run: the level is reached
        as the timer ends; a miss of less than a billionth is rounding, not another run.
    Args:
        t: filling time of the pump, s.
        timeout: time-out of the automatic fill, s.
    Returns: number of runs.
    Valid: t 0..1e7 s; timeout 1..1e5 s.
    Raises: OutOfRangeError.
    Source: arithmetic.

    >>> pump_runs(264.0, 120.0), pump_runs(120.0, 120.0)
    (3, 1)
    """
    return max(1, math.ceil(t / timeout * (1.0 - RUN_NOISE)))


@kernel(t="s", timeout="s", returns="", source=ARITHMETIC, valid={"t": TIME, "timeout": (1.0, 1e5)})
def resets(t: float, timeout: float) -> int:
    """Times somebody has to reset the time-out during a fill.

    Formula: resets = runs − 1.
    Args:
        t: filling time of the pump, s.
        timeout: time-out of the automatic fill, s.
    Returns: number of resets.
    Valid: t 0..1e7 s; timeout 1..1e5 s.
    Raises: OutOfRangeError.
    Source: arithmetic.
    """
    return pump_runs(t, timeout) - 1


@kernel(worst_runs="", returns="", source=STOP_AND_CHECK, valid={"worst_runs": (1, 10000)})
def stop_and_check_runs(worst_runs: int) -> int:
    """Run after which filling is stopped and the cause looked for.

    Formula: one more than the highest predicted number of runs.
    Args:
        worst_runs: highest number of runs predicted over the range of the mains pressure.
    Returns: number of runs.
    Valid: worst_runs 1..10000.
    Raises: OutOfRangeError.
    Source: common practice, no source.
    """
    return worst_runs + 1


@kernel(
    fill_gauge="Pa",
    p_atm="Pa",
    returns="",
    source=IDEAL_GAS,
    valid={"fill_gauge": (0.0, 5e6), "p_atm": (3e4, 1.2e5)},
)
def trapped_air_share(fill_gauge: float, p_atm: float) -> float:
    """Share of a vessel that stays air when it is filled with its outlet closed.

    Formula: p_atm/(p_atm + p_g), isothermal.
    Args:
        fill_gauge: pressure to which it is filled, Pa gauge.
        p_atm: absolute pressure of the air, Pa.
    Returns: share of the volume, 0..1.
    Valid: fill_gauge 0..5 MPa; p_atm 30..120 kPa.
    Raises: OutOfRangeError.
    Source: Boyle.
    """
    return p_atm / (p_atm + fill_gauge)


@kernel(
    fill_gauge="Pa",
    p_atm="Pa",
    returns="",
    source=IDEAL_GAS,
    valid={"fill_gauge": (0.0, 5e6), "p_atm": (3e4, 1.2e5)},
)
def filled_share(fill_gauge: float, p_atm: float) -> float:
    """Share of a vessel that is water when it is filled with its outlet closed.

    Formula: 1 − p_atm/(p_atm + p_g), isothermal.
    Args:
        fill_gauge: pressure to which it is filled, Pa gauge.
        p_atm: absolute pressure of the air, Pa.
    Returns: share of the volume, 0..1.
    Valid: fill_gauge 0..5 MPa; p_atm 30..120 kPa.
    Raises: OutOfRangeError.
    Source: Boyle.
    """
    return 1.0 - p_atm / (p_atm + fill_gauge)


@dataclass(frozen=True)
class BrewFill:
    """Filling a brew boiler: times in s, volumes in m3."""

    time_closed: float
    time_solid: float
    time: float
    volume_closed: float
    trapped_air: float
    #: Water that leaves the group while the last bubbles are carried out.
    water_to_waste: float


@kernel(
    V="m**3",
    fill_flow="m**3/s",
    fill_gauge="Pa",
    p_atm="Pa",
    returns="s",
    source=IDEAL_GAS,
    valid={"V": VOLUME, "fill_flow": (1e-9, 1.0), "fill_gauge": (1.0, 5e6), "p_atm": (3e4, 1.2e5)},
)
def closed_fill_time(V: float, fill_flow: float, fill_gauge: float, p_atm: float) -> float:
    """Time until water has squeezed the air of a closed vessel to the pressure that fills it.

    Formula: dv/dt = Q0·√(1 − p(v)/p_g), p(v) = p_atm·v/(V − v), which gives
        t = √(p_g/(p_g + p_atm))·(√(v_e·V) + a·arsinh√(v_e/a))/Q0, v_e = V·p_g/(p_g + p_atm), a = V − v_e.
    Args:
        V: volume of the vessel, m3.
        fill_flow: flow into the vented vessel, m3/s.
        fill_gauge: pressure at no flow, Pa gauge.
        p_atm: absolute pressure of the air, Pa.
    Returns: time, s.
    Valid: V 0..100 m3; fill_flow 1e-9..1 m3/s; fill_gauge 1 Pa..5 MPa; p_atm 30..120 kPa; losses that grow
        with the square of the flow.
    Raises: OutOfRangeError.
    Source: Boyle and quadratic losses, integrated in closed form.
    """
    total = fill_gauge + p_atm
    water = V * fill_gauge / total
    air = V * p_atm / total
    integral = math.sqrt(water * V) + air * math.asinh(math.sqrt(fill_gauge / p_atm))
    return math.sqrt(fill_gauge / total) * integral / fill_flow


def brew_fill_time(
    V: float, fill_flow: float, run_flow: float, fill_gauge: float, p_atm: float, *, sweep: float = 1.0
) -> BrewFill:
    """Filling a brew boiler closed, then running its group until it is solid.

    Formula: closed phase by closed_fill_time; then the group is opened, the squeezed air a = V·p_atm/(p_atm +
        p_g) leaves and water takes its place, a/Q_run; then ``sweep`` boiler volumes are run to carry out
        bubbles and rinse, sweep·V/Q_run. Basis of the sweep: common practice, no source.
    Args:
        V: volume of the boiler, m3.
        fill_flow: flow into the vented boiler, m3/s.
        run_flow: flow with the group open, its restrictor in series, m3/s.
        fill_gauge: pressure at no flow, Pa gauge.
        p_atm: absolute pressure of the air, Pa.
        sweep: boiler volumes run after the last air pocket.
    Returns: BrewFill: times s, volumes m3.
    Valid: as closed_fill_time; run_flow 1e-9..1 m3/s; sweep 0..10.
    Raises: OutOfRangeError.
    Source: Boyle and continuity.
    """
    if not 0.0 <= sweep <= 10.0:
        raise OutOfRangeError("brew_fill_time", "sweep", sweep, 0.0, 10.0, "")
    closed = closed_fill_time(V, fill_flow, fill_gauge, p_atm)
    air = V * trapped_air_share(fill_gauge, p_atm)
    solid = closed + fill_time(air, run_flow)
    waste = sweep * V
    return BrewFill(closed, solid, solid + fill_time(waste, run_flow), V - air, air, waste)


def level_curve(
    V: float, Q: float, timeout: float, *, reset_pause: float = 0.0
) -> tuple[tuple[float, float], ...]:
    """Volume in the boiler over time, standing still while a time-out waits for its reset.

    Formula: V(t) = Q·(time of the pump), a pause of ``reset_pause`` after every full run but the last.
    Args:
        V: volume to the level probe, m3.
        Q: filling flow, m3/s.
        timeout: time-out of the automatic fill, s.
        reset_pause: time until somebody resets it, s.
    Returns: corner points (time s, volume m3).
    Valid: as fill_time and pump_runs; reset_pause 0..1e5 s.
    Raises: OutOfRangeError.
    Source: arithmetic.
    """
    if not 0.0 <= reset_pause <= 1e5:
        raise OutOfRangeError("level_curve", "reset_pause", reset_pause, 0.0, 1e5, "s")
    pumped = fill_time(V, Q)
    points = [(0.0, 0.0)]
    clock = 0.0
    for run in range(1, pump_runs(pumped, timeout)):
        clock += timeout
        points.append((clock, Q * timeout * run))
        if reset_pause > 0.0:
            clock += reset_pause
            points.append((clock, Q * timeout * run))
    points.append((clock + pumped - timeout * (pump_runs(pumped, timeout) - 1), V))
    return tuple(points)
