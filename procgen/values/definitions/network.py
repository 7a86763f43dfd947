"""The water's way from the main into the machine, as the formulas of the hydraulics floor want it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from procgen.engineering import fill_network as net
from procgen.engineering import hydraulics
from procgen.engineering.filling import solve_fill_flow
from procgen.profiles.waterside import BrewFeed, FillPath, Hose, Pump
from procgen.values.define import UnavailableError
from procgen.values.leaves import Leaf
from procgen.values.ranges import jumps
from procgen.values.reader import Evaluation, Facts, Moved, Reader, part_name

#: Wall of a new plastic or stainless braided hose (handbooks: drawn tubing 0.0015 mm).
HOSE_ROUGHNESS = 1.5e-6


class Bypass(NamedTuple):
    """A pump as its curve and its bypass describe it."""

    displacement: float
    slip: float


def pump(r: Reader, mark: str) -> Pump:
    """A pump by its mark."""
    return next(unit for unit in r.machine.pumps.units if unit.mark == mark)


def brew_pump(facts: Reader | Facts) -> Pump | None:
    """The pump that feeds the groups."""
    return next((unit for unit in facts.machine.pumps.units if "brew" in unit.feeds), None)


def source_pump(r: Reader, source: str) -> Pump | None:
    """The pump a path starts at; None from the main."""
    return None if source == "mains" else pump(r, source)


def hoses_of(r: Reader, path: FillPath | BrewFeed) -> tuple[list[Hose], list[Hose]]:
    """Hoses before and after the pump; where none ends at the pump, it stands behind the machine's inlet."""
    by_mark = {hose.mark: hose for hose in r.machine.water.hoses}
    hoses = [by_mark[mark] for mark in path.hoses]
    unit = source_pump(r, path.source)
    if unit is None:
        return hoses, []
    for index, hose in enumerate(hoses):
        if unit.inlet_mark in hose.end:
            return hoses[: index + 1], hoses[index + 1 :]
    return hoses, []


def _mains(r: Reader) -> net.Mains:
    site = r.site.mains if r.site else None
    flowing = site.flowing if site else None
    static = r.measured(site, "static_pressure", "mains_static", "p_static")
    flow = r.measured(flowing, "flow", "mains_flowing_flow", "Q_test")
    pressure = r.measured(flowing, "pressure", "mains_flowing", "p_test")
    # A range of readings may overlap; flowing is never above static.
    return net.Mains(static, flow, min(pressure, static))


def mains(r: Reader) -> net.Mains:
    """The main by its static pressure and one flowing reading."""
    found: net.Mains = r.part(_mains)
    return found


@jumps("supply.", "fill.", "pump.", "hotwater.", "drain.", on=f"{__name__}._mains[]")
def no_drop(evaluation: Evaluation | Moved, leaf: str, ends: tuple[float, float]) -> list[float]:
    """Where ranges of the standing and the flowing reading overlap, the main is strongest with both equal."""
    reads = evaluation.origin.records[part_name(_mains, "")].reads
    names = {symbol: name for (symbol, name), read in reads.items() if isinstance(read, Leaf)}
    other = {names["p_static"]: names["p_test"], names["p_test"]: names["p_static"]}.get(leaf)
    if other is None:
        return []
    at = evaluation.moved.get(other, evaluation.origin.all_leaves[other].measure.value)
    return [at] if ends[0] < at < ends[1] else []


def _reducer(r: Reader) -> net.Reducer | None:
    fitted = r.site.mains.reducer if r.site else None
    if fitted is None:
        return None
    setting = r.leaf(fitted, "setting", "p_reducer")
    if fitted.droop is None:
        return net.Reducer(setting)
    return net.Reducer(
        setting,
        nominal_flow=r.leaf(fitted, "nominal_flow", "Q_reducer"),
        droop_fraction=r.leaf(fitted, "droop", "s_reducer"),
    )


def reducer(r: Reader) -> net.Reducer | None:
    """The reducer in place."""
    found: net.Reducer | None = r.part(_reducer)
    return found


def supply_pressure(r: Reader, flow: float) -> float:
    """What the main, behind the reducer where one is fitted, still has at a flow."""
    main, fitted = mains(r), reducer(r)
    pressure = hydraulics.source_pressure_gauge(
        flow, main.static_gauge, main.flow_measured, main.flowing_gauge
    )
    if fitted is None:
        return pressure
    return min(
        pressure,
        hydraulics.reducer_outlet(
            fitted.setting_gauge,
            fitted.setting_gauge,
            flow,
            nominal_flow=fitted.nominal_flow,
            droop_fraction=fitted.droop_fraction,
        ),
    )


def supply_formula(facts: Facts, flow: str) -> str:
    """The same as text."""
    main = f"p_static - (p_static - p_test) * ({flow} / Q_test)^2"
    fitted = facts.site.mains.reducer if facts.site else None
    if fitted is None:
        return main
    setting = "p_reducer" if fitted.droop is None else f"p_reducer * (1 - s_reducer * {flow} / Q_reducer)"
    return f"min({main}, {setting})"


def _treatment_curve(r: Reader) -> tuple[tuple[float, float], ...]:
    treatment = r.site.treatment if r.site else None
    if treatment is None:
        return ()
    return tuple(
        (r.leaf(point, "flow", f"q{i}"), r.leaf(point, "loss", f"d{i}"))
        for i, point in enumerate(treatment.loss, 1)
    )


def treatment_curve(r: Reader) -> tuple[tuple[float, float], ...]:
    """The cartridge's curve; none without a treatment."""
    found: tuple[tuple[float, float], ...] = r.part(_treatment_curve)
    return found


def _line_hose(r: Reader) -> net.Hose:
    line = r.site.mains.line if r.site else None
    bore = r.measured(line, "bore", "line_bore", "d_line")
    return net.Hose(bore, r.measured(line, "length", "line_length", "L_line"), HOSE_ROUGHNESS)


def line_hose(r: Reader) -> net.Hose:
    """The pipe from isolating valve to treatment, as long as surveyed or as the model is designed for."""
    found: net.Hose = r.part(_line_hose)
    return found


def hose(r: Reader, piece: Hose) -> net.Hose:
    """A hose with the loss of its fittings."""
    return net.Hose(
        r.leaf(piece, "bore", f"d_{piece.mark}"),
        r.leaf(piece, "length", f"L_{piece.mark}"),
        HOSE_ROUGHNESS,
        r.leaf(piece, "fittings_loss", f"K_{piece.mark}"),
    )


def lost_in(r: Reader, flow: float, hoses: Iterable[net.Hose]) -> float:
    """Pressure that a flow loses in hoses and their fittings."""
    T = water_temperature(r)
    return sum(
        [
            hydraulics.pipe_loss(flow, h.bore, h.length, h.roughness, T)
            + hydraulics.fitting_loss(flow, h.bore, h.K, T)
            for h in hoses
        ]
    )


def water_temperature(r: Reader, symbol: str = "T") -> float:
    """Temperature of the cold water."""
    return r.measured(r.site.mains if r.site else None, "water_temperature", "water_temperature", symbol)


def bypass(r: Reader, unit: Pump) -> Bypass:
    """Displacement and slip by the ends of the maker's curve."""
    first, last = unit.curve[0], unit.curve[-1]
    q1, q2 = r.leaf(first, "flow", "Q_1"), r.leaf(last, "flow", "Q_2")
    p1, p2 = r.leaf(first, "pressure", "dp_1"), r.leaf(last, "pressure", "dp_2")
    slip = (q1 - q2) / (p2 - p1)
    return Bypass(q1 + slip * p1, slip)


def factory_rise(r: Reader, unit: Pump) -> float:
    """What the pump adds at its factory setting; it is set on site only after the first heat."""
    return r.leaf(unit, "factory_outlet", "p_factory") - r.leaf(unit, "factory_inlet", "p_factory_in")


def network_pump(r: Reader, unit: Pump) -> net.Pump:
    """A pump at its factory setting."""
    by = bypass(r, unit)
    return net.Pump(factory_rise(r, unit), by.displacement, by.slip)


def _way_of(r: Reader, path: FillPath | BrewFeed) -> tuple[net.Hose, ...]:
    """Pipe and hoses from the isolating valve to the boilers."""
    before, after = hoses_of(r, path)
    return (line_hose(r), *(hose(r, piece) for piece in (*before, *after)))


def _fill_hoses(r: Reader) -> tuple[net.Hose, ...]:
    return _way_of(r, r.machine.water.fill)


def fill_hoses(r: Reader) -> tuple[net.Hose, ...]:
    """Pipe and hoses from the isolating valve to the steam boiler."""
    found: tuple[net.Hose, ...] = r.part(_fill_hoses)
    return found


def _brew_hoses(r: Reader) -> tuple[net.Hose, ...]:
    return _way_of(r, r.machine.water.brew_feed)


def _fill_pump(r: Reader) -> net.Pump | None:
    unit = source_pump(r, r.machine.water.fill.source)
    return network_pump(r, unit) if unit else None


def _fill_network(r: Reader) -> net.FillNetwork:
    path = r.machine.water.fill
    return net.FillNetwork(
        mains=mains(r),
        T=water_temperature(r),
        reducer=reducer(r),
        treatment=treatment_curve(r),
        hoses=fill_hoses(r),
        pump=r.part(_fill_pump),
        check_valve_cracking=r.leaf(path, "check_valve_opens", "p_check"),
        orifices=(
            net.Orifice(r.leaf(path, "orifice_bore", "d_o"), r.leaf(path, "orifice_discharge", "C_d")),
        ),
        elevation=r.leaf(path, "lift", "z"),
    )


def fill_network(r: Reader) -> net.FillNetwork:
    """Everything in series from the main into the vented steam boiler."""
    found: net.FillNetwork = r.part(_fill_network)
    return found


def brew_network(r: Reader, restrictor: tuple[float, float] | None = None) -> net.FillNetwork:
    """Everything in series from the main, pumps standing still, into a brew boiler or out of a group."""
    path = r.machine.water.brew_feed
    return net.FillNetwork(
        mains=mains(r),
        T=water_temperature(r),
        reducer=reducer(r),
        treatment=treatment_curve(r),
        hoses=r.part(_brew_hoses),
        check_valve_cracking=r.leaf(path, "check_valve_opens", "p_check"),
        orifices=(net.Orifice(*restrictor),) if restrictor else (),
    )


def flow_of(network: net.FillNetwork) -> net.FillResult:
    """The flow that establishes itself; unavailable where none does."""
    result = solve_fill_flow(network)
    if result.limited_by == "none" or result.flow <= 0:
        raise UnavailableError("no_flow")
    return result
