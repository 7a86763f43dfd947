"""The water supply: pressures standing and flowing, reducer, treatment loss, flushing, test pressure."""

from __future__ import annotations

from procgen.engineering import hydraulics, supply
from procgen.engineering.fill_network import Hose
from procgen.engineering.kernel import Source
from procgen.engineering.sources import ARITHMETIC, COMMON_PRACTICE
from procgen.engineering.sources_fluid import DARCY_WEISBACH, QUADRATIC_SOURCE, TREATMENT_CURVE
from procgen.engineering.sources_general import EN_806_4, code_entry
from procgen.values.define import VALUES, UnavailableError
from procgen.values.definitions import network
from procgen.values.definitions.place import boiler_marks, brew_boiler
from procgen.values.reader import Facts, Reader


@VALUES.value("supply.temperature", "temperature", formula="T", source=ARITHMETIC, step=0.5)
def temperature(r: Reader) -> float:
    return network.water_temperature(r)


def _static_formula(facts: Facts) -> str:
    return "min(p_night, p_reducer)" if facts.site and facts.site.mains.reducer else "p_night"


@VALUES.value(
    "supply.static_maximum", "pressure_gauge", formula=_static_formula, source=ARITHMETIC, step=10_000.0
)
def static_maximum(r: Reader) -> float:
    """Highest pressure that stands on the machine: at night, behind the reducer where one is fitted."""
    site = r.site.mains if r.site else None
    if site is not None and site.night_pressure is not None:
        night = r.leaf(site, "night_pressure", "p_night")
    else:
        night = r.measured(site, "static_pressure", "mains_static", "p_night")
    fitted = network.reducer(r)
    return min(night, fitted.setting_gauge) if fitted else night


def _peak_formula(facts: Facts) -> str:
    extra = " + Q_cold" if facts.machine.hot_water.method not in {"none"} else ""
    return f"Q_fill + {len(facts.machine.groups)} * Q_brew{extra}"


@VALUES.value("supply.peak_flow", "flow", formula=_peak_formula, source=COMMON_PRACTICE, digits=2)
def peak_flow(r: Reader) -> float:
    """Steam boiler filling, every group brewing, hot water drawn: the most the machine asks at one moment."""
    flow = r.value("fill.flow", "Q_fill") + len(r.machine.groups) * r.leaf(
        r.machine.brewing, "flow_under_load", "Q_brew"
    )
    if r.machine.hot_water.method != "none":
        flow += r.value("hotwater.cold_flow", "Q_cold")
    return flow


def _treatment_formula(facts: Facts) -> str:
    points = len(facts.site.treatment.loss) if facts.site and facts.site.treatment else 0
    return "loss_curve(Q" + "".join(f", q{i}, d{i}" for i in range(1, points + 1)) + ")"


@VALUES.value(
    "supply.treatment_loss",
    "pressure_difference",
    formula=_treatment_formula,
    source=TREATMENT_CURVE,
    digits=2,
)
def treatment_loss(r: Reader) -> float:
    points = network.treatment_curve(r)
    if not points:
        raise UnavailableError("no_treatment")
    return hydraulics.treatment_loss(r.value("supply.peak_flow", "Q"), points)


def _hose_pieces(facts: Facts) -> list[str]:
    reader_hoses = {hose.mark: hose for hose in facts.machine.water.hoses}
    path = facts.machine.water.brew_feed
    unit = next((p for p in facts.machine.pumps.units if p.mark == path.source), None)
    marks = []
    for mark in path.hoses:
        marks.append(mark)
        if unit and unit.inlet_mark in reader_hoses[mark].end:
            break
    return marks


def _pipes(marks: list[str]) -> str:
    terms = ["pipe_loss(Q, d_line, L_line, 1.5e-6, T)"]
    for mark in marks:
        terms.append(f"pipe_loss(Q, {sym('d', mark)}, {sym('L', mark)}, 1.5e-6, T)")
        terms.append(f"fitting_loss(Q, {sym('d', mark)}, {sym('K', mark)}, T)")
    return " + ".join(terms)


def sym(letter: str, mark: str) -> str:
    """A symbol for a marked part."""
    return f"{letter}_{mark}"


@VALUES.value(
    "supply.hose_loss",
    "pressure_difference",
    formula=lambda facts: _pipes(_hose_pieces(facts)),
    source=DARCY_WEISBACH,
    digits=2,
)
def hose_loss(r: Reader) -> float:
    """Line and supply hoses up to the pump (or the machine) at peak flow."""
    return network.lost_in(r, r.value("supply.peak_flow", "Q"), r.part(_supply_hoses))


def _supply_hoses(r: Reader) -> list[Hose]:
    before, _ = network.hoses_of(r, r.machine.water.brew_feed)
    return [network.line_hose(r), *(network.hose(r, piece) for piece in before)]


def _inlet_formula(facts: Facts) -> str:
    main = network.supply_formula(facts, "Q")
    treated = " - dp_treatment" if facts.site and facts.site.treatment else ""
    return f"{main}{treated} - dp_hose"


@VALUES.value(
    "supply.inlet_pressure", "pressure_gauge", formula=_inlet_formula, source=QUADRATIC_SOURCE, step=10_000.0
)
def inlet_pressure(r: Reader) -> float:
    """Flowing pressure that is left at the pump's or machine's inlet at peak flow."""
    flow = r.value("supply.peak_flow", "Q")
    pressure = network.supply_pressure(r, flow)
    if r.site and r.site.treatment:
        pressure -= r.value("supply.treatment_loss", "dp_treatment")
    pressure -= r.value("supply.hose_loss", "dp_hose")
    return pressure


@VALUES.value(
    "supply.reducer_setting",
    "pressure_gauge",
    formula="(p_min + dp_hose + dp_treatment + p_max) / 2",
    source=COMMON_PRACTICE,
    step=10_000.0,
)
def reducer_setting(r: Reader) -> float:
    """Where a reducer is needed or fitted: midway between what flowing needs and what standing bears."""
    static = r.value("supply.static_maximum", "p_static_max")
    fitted = r.site is not None and r.site.mains.reducer is not None
    highest = r.machine.water.inlet_pressure.high
    code = r.site.codes.plumbing if r.site else "EN 806"
    if not fitted and static <= highest and not supply.reducer_needed(static, code, highest):
        raise UnavailableError("reducer_not_needed")
    losses = r.value("supply.hose_loss", "dp_hose")
    if r.site and r.site.treatment:
        losses += r.value("supply.treatment_loss", "dp_treatment")
    window = r.value("supply.window_low", "p_min"), r.value("supply.window_high", "p_max")
    return supply.reducer_setting(window[0], window[1], losses, 0.0)


@VALUES.value(
    "supply.window_low", "pressure_gauge", formula="p_low", source=ARITHMETIC, step=10_000.0, limit="at_least"
)
def window_low(r: Reader) -> float:
    """Lower end of the inlet pressure the maker allows."""
    return r.end(r.machine.water, "inlet_pressure", "p_low", high=False)


@VALUES.value(
    "supply.window_high",
    "pressure_gauge",
    formula="p_high",
    source=ARITHMETIC,
    step=10_000.0,
    limit="at_most",
)
def window_high(r: Reader) -> float:
    """Upper end of the inlet pressure the maker allows."""
    return r.end(r.machine.water, "inlet_pressure", "p_high", high=True)


def _test_source(facts: Facts) -> Source:
    """The rule of the declared code."""
    if facts.site is None:
        return EN_806_4
    return code_entry("pressure_test", supply.TEST_RULES, facts.site.codes.plumbing).source


@VALUES.value(
    "supply.test_pressure",
    "pressure_gauge",
    formula="test_pressure(p_static_max)",
    source=_test_source,
    step=10_000.0,
)
def test_pressure(r: Reader) -> float:
    """Pressure of the test on new pipework; machine and cartridge isolated."""
    if r.site is None:
        raise UnavailableError("needs_site")
    return supply.pressure_test(r.value("supply.static_maximum", "p_static_max"), r.site.codes.plumbing)


@VALUES.value(
    "flush.volume_line", "volume", formula="3 * pi / 4 * d_line^2 * L_line", source=COMMON_PRACTICE, digits=2
)
def volume_line(r: Reader) -> float:
    line = network.line_hose(r)
    return supply.flush_volume(line.bore, line.length)


@VALUES.value("flush.volume_cartridge", "volume", formula="V_cartridge", source=ARITHMETIC, digits=2)
def volume_cartridge(r: Reader) -> float:
    """The cartridge maker's flush volume."""
    treatment = r.site.treatment if r.site else None
    if r.site is not None and treatment is None:
        raise UnavailableError("no_treatment")
    return r.surveyed(treatment, "flush_volume", "V_cartridge")


def _outlets_formula(facts: Facts) -> str:
    return "V_steam + " + " + ".join(f"2 * V_{b.mark}" for b in facts.machine.brew_boilers)


@VALUES.value("flush.volume_outlets", "volume", formula=_outlets_formula, source=COMMON_PRACTICE, digits=2)
def volume_outlets(r: Reader) -> float:
    """Discarded after the first heat: the steam boiler's contents once, each brew boiler's twice."""
    total = r.leaf(r.machine.steam_boiler, "volume_to_probe", "V_steam")
    return total + sum(2 * r.leaf(brew_boiler(r, m), "volume", f"V_{m}") for m in boiler_marks(r))


def _flush_time_formula(facts: Facts) -> str:
    return "(V_line + V_cartridge) / Q_test" if facts.site and facts.site.treatment else "V_line / Q_test"


@VALUES.value("flush.time", "time", formula=_flush_time_formula, source=ARITHMETIC, digits=2)
def flush_time(r: Reader) -> float:
    """At the flow the mains were read at."""
    volume = r.value("flush.volume_line", "V_line")
    if r.site and r.site.treatment:
        volume += r.value("flush.volume_cartridge", "V_cartridge")
    return supply.flush_time(volume, network.mains(r).flow_measured)
