"""One flow through everything in series from the main to the boiler, and what sets it."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache
from typing import NamedTuple

from fluids.numerics import brenth

from procgen.engineering.fast_losses import fast_hose_loss, fast_treatment_loss
from procgen.engineering.hydraulics import (
    CurvePoints,
    curve_limit,
    orifice_loss,
    reducer_outlet,
    source_pressure_gauge,
    static_head,
    treatment_loss,
)
from procgen.engineering.kernel import OutOfRangeError
from procgen.engineering.ranges import within
from procgen.engineering.unavailable import UnavailableError

#: Share of the square of the flow at which the search for it stops.
FLOW_TOLERANCE = 1e-10


class Mains(NamedTuple):
    """Water main by one flow test: pressures in Pa gauge, flow in m3/s."""

    static_gauge: float
    flow_measured: float
    flowing_gauge: float


class Reducer(NamedTuple):
    """Pressure-reducing valve, see hydraulics.reducer_outlet (Pa gauge, m3/s, share, Pa)."""

    setting_gauge: float
    #: Needed where droop or open loss is given.
    nominal_flow: float = 0.0
    droop_fraction: float = 0.0
    open_loss: float = 0.0


class Hose(NamedTuple):
    """Hose or pipe: bore, length and wall roughness in m; K of its ends and valves."""

    bore: float
    length: float
    roughness: float = 1.5e-6
    K: float = 0.0


class Pump(NamedTuple):
    """Vane pump: bypass rise in Pa at flow_at_setting, displacement in m3/s, slip in m3/(s·Pa)."""

    rise: float
    displacement_flow: float
    slip: float = 0.0
    bypass_slope: float = 0.0
    flow_at_setting: float = 0.0
    #: Inlet pressure below which the pump starves and would cavitate, Pa gauge.
    minimum_inlet_gauge: float = 0.0


class Orifice(NamedTuple):
    """Restrictor: bore in m, discharge coefficient."""

    d: float
    Cd: float


class FillNetwork(NamedTuple):
    """Everything in series from the main to the boiler, in the order of the flow."""

    mains: Mains
    T: float
    reducer: Reducer | None = None
    treatment: CurvePoints = ()
    hoses: tuple[Hose, ...] = ()
    pump: Pump | None = None
    check_valve_cracking: float = 0.0
    orifices: tuple[Orifice, ...] = ()
    #: Boiler inlet above the place where the mains pressure was read, m.
    elevation: float = 0.0


class FillResult(NamedTuple):
    """Flow in m3/s, pressures in Pa gauge after each element, and what sets the flow."""

    flow: float
    nodes: tuple[tuple[str, float], ...]
    #: "orifice", "mains" (supply, treatment, hoses), "pump" (its delivery), "starved" (pump inlet at its
    #: minimum) or "none" (no flow).
    limited_by: str
    #: Supply less demand of pressure at this flow, Pa; 0 unless "starved", or "none", or a pump without slip.
    residual: float
    pump_inlet_gauge: float | None


class _Way:
    """A network made ready for many flows: what does not change with them is computed and checked once."""

    def __init__(self, network: FillNetwork) -> None:
        self.network = network
        self.treatment = fast_treatment_loss(network.treatment) if network.treatment else None
        self.hoses = tuple(
            fast_hose_loss(h.bore, h.length, h.roughness, h.K, network.T) for h in network.hoses
        )
        self.head = static_head(network.elevation, network.T)
        #: Loss of all orifices over the square of the flow.
        self.orifices = sum(orifice_loss(1.0, o.d, o.Cd, network.T) for o in network.orifices)
        #: Pressure at the pump's inlet while nothing flows.
        self.still = self.inlet(0.0)

    def nodes(self, flow: float) -> list[tuple[str, float]]:
        """Pressures from the main to the pump's inlet; the lift counts at the end of the hoses."""
        main = self.network.mains
        pressure = source_pressure_gauge(flow, main.static_gauge, main.flow_measured, main.flowing_gauge)
        nodes = [("mains", pressure)]
        if self.network.reducer is not None:
            pressure = _reduced(self.network.reducer, pressure, flow)
            nodes.append(("reducer", pressure))
        if self.treatment is not None:
            pressure -= self.treatment(flow)
            nodes.append(("treatment", pressure))
        for hose in self.hoses:
            pressure -= hose(flow)
            nodes.append(("hose", pressure))
        nodes.append(("inlet", pressure - self.head))
        return nodes

    def inlet(self, flow: float) -> float:
        """Pressure at the pump's inlet: the last of ``nodes``."""
        main = self.network.mains
        pressure = source_pressure_gauge(flow, main.static_gauge, main.flow_measured, main.flowing_gauge)
        if self.network.reducer is not None:
            pressure = _reduced(self.network.reducer, pressure, flow)
        if self.treatment is not None:
            pressure -= self.treatment(flow)
        for hose in self.hoses:
            pressure -= hose(flow)
        return pressure - self.head

    def residual(self, flow: float, back_gauge: float) -> float:
        """Pressure left over at a flow."""
        return self.left(self.inlet(flow), flow, back_gauge)

    def left(self, inlet: float, flow: float, back_gauge: float) -> float:
        """The same where the pressure at the pump's inlet is known."""
        supplied = inlet
        if self.network.pump is not None:
            supplied += _pump_rise(self.network.pump, flow)
        return supplied - self.demand(flow, back_gauge)

    def more_than(self, at_rest: float) -> float:
        """No less than what flows: what the pressure left at rest drives through orifices and main alone.

        Where neither has a loss, anywhere to begin the search.
        """
        main = self.network.mains
        loss = self.orifices
        if self.network.reducer is None:
            loss += (main.static_gauge - main.flowing_gauge) / main.flow_measured**2
        return math.sqrt(at_rest / loss) if loss > 0.0 else 1e-4

    def demand(self, flow: float, back_gauge: float) -> float:
        """Pressure needed behind the pump for a flow into the boiler."""
        return back_gauge + self.network.check_valve_cracking + self.orifices * flow * flow


def _reduced(r: Reducer, pressure: float, flow: float) -> float:
    # The quadratic supply may run far below zero while the flow is searched for; the reducer may not.
    return reducer_outlet(
        max(pressure, -1e5),
        r.setting_gauge,
        flow,
        nominal_flow=r.nominal_flow,
        droop_fraction=r.droop_fraction,
        open_loss=r.open_loss,
    ) + min(0.0, pressure + 1e5)


def _pump_rise(pump: Pump, flow: float) -> float:
    """Bypass pressure, or less where displacement less slip cannot keep the bypass open."""
    bypass = max(0.0, pump.rise + pump.bypass_slope * (pump.flow_at_setting - flow))
    if pump.slip == 0.0:
        return bypass
    return min(bypass, (pump.displacement_flow - flow) / pump.slip)


def fill_residual(network: FillNetwork, flow: float, back_gauge: float = 0.0) -> float:
    """Pressure that is left over at a flow.

    Formula: p_mains(Q) − losses(Q) − ρ·g·z + pump rise(Q) − cracking pressure − orifice losses(Q) − back
        pressure.
    Args:
        network: everything between main and boiler.
        flow: flow, m3/s.
        back_gauge: pressure in the boiler, Pa gauge (0 while it is vented).
    Returns: pressure, Pa; 0 at the flow that establishes itself, falling with flow.
    Valid: flow within the treatment curve; each element within its own range.
    Raises: OutOfRangeError.
    Source: continuity and the losses of the elements.
    """
    within("fill_residual", "flow", flow, 0.0, 1.0, "m**3/s")
    if network.treatment:
        treatment_loss(flow, network.treatment)
    return _Way(network).residual(flow, back_gauge)


def _check(network: FillNetwork, back_gauge: float) -> None:
    """Refuse what the kernels of the elements do not see: supply, pump, check valve, boiler."""
    m = network.mains
    checks = [
        ("static_gauge", m.static_gauge, 0.0, 2e7, "Pa"),
        ("flow_measured", m.flow_measured, 1e-9, 1.0, "m**3/s"),
        ("flowing_gauge", m.flowing_gauge, 0.0, m.static_gauge, "Pa"),
        ("check_valve_cracking", network.check_valve_cracking, 0.0, 1e6, "Pa"),
        ("back_gauge", back_gauge, -1e5, 2e7, "Pa"),
    ]
    if network.pump is not None:
        p = network.pump
        checks += [
            ("rise", p.rise, 0.0, 5e6, "Pa"),
            ("displacement_flow", p.displacement_flow, 1e-9, 1e-2, "m**3/s"),
            ("slip", p.slip, 0.0, 1e-6, "m**3/(s*Pa)"),
            ("bypass_slope", p.bypass_slope, 0.0, 1e12, "Pa*s/m**3"),
            ("flow_at_setting", p.flow_at_setting, 0.0, 1e-2, "m**3/s"),
            ("minimum_inlet_gauge", p.minimum_inlet_gauge, -1e5, 5e6, "Pa"),
        ]
    for name, found, low, high, unit in checks:
        within("solve_fill_flow", name, found, low, high, unit)


def equilibrium_gauge(network: FillNetwork) -> float:
    """Pressure to which a closed boiler is filled: that of no flow.

    Formula: fill_residual at no flow and no back pressure.
    Args:
        network: everything between main and boiler.
    Returns: pressure, Pa gauge; 0 where nothing would flow.
    Valid: as fill_residual.
    Raises: OutOfRangeError.
    Source: continuity.
    """
    _check(network, 0.0)
    return max(0.0, fill_residual(network, 0.0))


def _root(function: Callable[[float], float], high: float, first: float, last: float) -> float:
    """Zero between no flow and ``high``, sought in its square: the losses are nearly straight in it."""

    def of_square(square: float) -> float:
        return function(math.sqrt(square))

    root = brenth(of_square, 0.0, high * high, xtol=1e-30, rtol=FLOW_TOLERANCE, fa=first, fb=last)
    return math.sqrt(root)


def _bracket(function: Callable[[float], float], first: float, limit: float) -> tuple[float, float]:
    """A flow from ``first`` on at which ``function`` is not positive, or ``limit``; and what it is there."""
    flow = min(first, limit)
    found = function(flow)
    while found > 0.0 and flow < limit:
        flow = min(2.0 * flow, limit)
        found = function(flow)
    return flow, found


@lru_cache(maxsize=4096)
def solve_fill_flow(network: FillNetwork, back_gauge: float = 0.0) -> FillResult:
    """Flow that establishes itself from the main into the boiler, and what sets it.

    Formula: fill_residual(Q) = 0, bracketed. A pump whose inlet would fall below its minimum starves: then
        the flow is that which leaves the minimum at the inlet. A pump without slip passes its displacement at
        most. "pump": it no longer holds its bypass pressure; else the larger of the orifices' share
        ("orifice") and all other losses ("mains").
    Args:
        network: everything between main and boiler.
        back_gauge: pressure in the boiler, Pa gauge (0 while it is vented).
    Returns: FillResult: flow m3/s, pressures Pa gauge.
    Valid: flow within 1.5 × the last point of the treatment curve and 1 m3/s; elements within their own
        ranges.
    Raises: OutOfRangeError; UnavailableError("fill.nothing_limits") where no element has a loss.
    Source: continuity and the losses of the elements.
    """

    _check(network, back_gauge)
    way = _Way(network)

    def residual(flow: float) -> float:
        return way.residual(flow, back_gauge)

    at_rest = way.left(way.still, 0.0, back_gauge)
    if at_rest <= 0.0:
        return _result(way, 0.0, back_gauge, "none")
    pump = network.pump
    reach = curve_limit(network.treatment) if network.treatment else 1.0
    limit = min(reach, pump.displacement_flow) if pump and pump.slip == 0.0 else reach
    high, left = _bracket(residual, way.more_than(at_rest), limit)
    flow = high if left > 0.0 else _root(residual, high, at_rest, left)
    starved_at = _starving_flow(way, flow)
    if starved_at is not None:
        return _result(way, starved_at, back_gauge, "starved")
    if left > 0.0:
        if limit == reach:
            if not network.treatment:
                raise UnavailableError("fill.nothing_limits", flow=high)
            raise OutOfRangeError("solve_fill_flow", "flow", high, 0.0, reach, "m**3/s")
        return _result(way, high, back_gauge, "pump")
    return _result(way, flow, back_gauge)


def _starving_flow(way: _Way, high: float) -> float | None:
    """Flow at which the pump's inlet is at its minimum, where that lies below ``high``."""
    pump = way.network.pump
    if pump is None:
        return None

    def margin(flow: float) -> float:
        return way.inlet(flow) - pump.minimum_inlet_gauge

    left = margin(high)
    if left >= 0.0:
        return None
    at_rest = way.still - pump.minimum_inlet_gauge
    return _root(margin, high, at_rest, left) if at_rest > 0.0 else 0.0


def _limiter(way: _Way, flow: float, inlet: float) -> str:
    pump = way.network.pump
    if pump is not None:
        bypass = max(0.0, pump.rise + pump.bypass_slope * (pump.flow_at_setting - flow))
        if _pump_rise(pump, flow) < bypass * (1.0 - 1e-9):
            return "pump"
    orifices = way.orifices * flow * flow
    others = way.still - inlet
    return "orifice" if orifices >= others else "mains"


def _result(way: _Way, flow: float, back_gauge: float, limited_by: str = "") -> FillResult:
    """The way at a flow; what sets it, where that is not known, is the larger share of the losses."""
    network = way.network
    nodes = way.nodes(flow)
    pressure = inlet = nodes[-1][1]
    limited_by = limited_by or _limiter(way, flow, inlet)
    spare = way.left(inlet, flow, back_gauge)
    if network.pump is not None:
        # A starved or displacement-limited pump adds only what the rest of the way takes.
        pressure += _pump_rise(network.pump, flow) - (spare if limited_by in ("pump", "starved") else 0.0)
        nodes.append(("pump", pressure))
    pressure -= network.check_valve_cracking
    nodes.append(("check_valve", pressure))
    for orifice in network.orifices:
        pressure -= orifice_loss(flow, orifice.d, orifice.Cd, network.T)
        nodes.append(("orifice", pressure))
    return FillResult(flow, tuple(nodes), limited_by, spare, inlet if network.pump is not None else None)
