"""Hot water by this machine's adjuster: as it stands, setting for the target, table, correction."""

from __future__ import annotations

from collections.abc import Callable

from procgen.engineering import fill_network as net
from procgen.engineering import hydraulics, mixing, water
from procgen.engineering.sources_fluid import ENTHALPY_BALANCE, ORIFICE
from procgen.profiles.waterside import NoHotWater, RestrictorHotWater
from procgen.units.kinds import KINDS, from_si, to_si
from procgen.values.define import VALUES, UnavailableError
from procgen.values.definitions import network
from procgen.values.reader import Facts, Reader
from procgen.values.worksheet import Series

#: One step of each adjuster for the printed correction.
PRESSURE_STEP = 1e5
DUTY_STEP = 0.05
#: A thermostatic valve wants both sides at similar pressure (common practice, no source).
VALVE_PRESSURE_RATIO = 10.0


def machine_hot_water(r: Reader):  # type: ignore[no-untyped-def]
    """The hot-water section; unavailable on a machine without any."""
    hot = r.machine.hot_water
    if isinstance(hot, NoHotWater):
        raise UnavailableError("no_hot_water")
    return hot


def _cold_bore(r: Reader) -> float:
    hot = machine_hot_water(r)
    if isinstance(hot, RestrictorHotWater):
        middle = hot.positions[(len(hot.positions) - 1) // 2]
        return r.leaf(middle, "bore", "d_c")
    return r.leaf(hot, "cold_bore", "d_c")


def _cold_source(r: Reader) -> str:
    hot = machine_hot_water(r)
    return hot.pump if hot.method == "pump_setting" else hot.source


@VALUES.value(
    "hotwater.cold_flow",
    "flow",
    residual=lambda facts: "".join(_cold_residual(facts)),
    source=ORIFICE,
    digits=2,
)
def cold_flow(r: Reader) -> float:
    """Cold water into the mixing point against no pressure: main or pump against its restrictor."""
    hot = machine_hot_water(r)
    unit = network.source_pump(r, _cold_source(r))
    way = net.FillNetwork(
        mains=network.mains(r),
        T=network.water_temperature(r),
        reducer=network.reducer(r),
        treatment=network.treatment_curve(r),
        hoses=(network.line_hose(r),),
        pump=network.network_pump(r, unit) if unit else None,
        orifices=(net.Orifice(_cold_bore(r), r.leaf(hot, "cold_discharge", "C_c")),),
    )
    return network.flow_of(way).flow


def _cold_residual(facts: Facts) -> str:
    terms = network.supply_formula(facts, "result")
    if facts.site and facts.site.treatment:
        points = len(facts.site.treatment.loss)
        terms += " - loss_curve(result" + "".join(f", q{i}, d{i}" for i in range(1, points + 1)) + ")"
    terms += " - pipe_loss(result, d_line, L_line, 1.5e-6, T)"
    inlet = terms
    hot = facts.machine.hot_water
    source = hot.pump if hot.method == "pump_setting" else getattr(hot, "source", "mains")
    if source != "mains":
        slip = "((Q_1 - Q_2) / (dp_2 - dp_1))"
        terms += f" + min(p_factory - p_factory_in, (Q_1 + {slip} * dp_1 - result) / {slip})"
    balance = terms + " - orifice_loss(result, d_c, C_c, T)"
    # A pump that would pull its inlet below the atmosphere is starved: then it is the inlet that is at zero.
    return balance if source == "mains" else f"min({balance}, {inlet})"


@VALUES.value(
    "hotwater.cold_pressure",
    "pressure_gauge",
    formula="orifice_loss(Q, d_c, C_c, T)",
    source=ORIFICE,
    digits=2,
)
def cold_pressure(r: Reader) -> float:
    """Pressure before the cold restrictor while it flows."""
    hot = machine_hot_water(r)
    flow = r.value("hotwater.cold_flow", "Q")
    bore, discharge = _cold_bore(r), r.leaf(hot, "cold_discharge", "C_c")
    return hydraulics.orifice_loss(flow, bore, discharge, network.water_temperature(r))


def _chamber(r: Reader, bore: float) -> mixing.MixingChamber:
    hot = machine_hot_water(r)
    return mixing.MixingChamber(
        r.leaf(hot, "hot_bore", "d_h"),
        r.leaf(hot, "hot_discharge", "C_h"),
        bore,
        r.leaf(hot, "cold_discharge", "C_c"),
        r.leaf(hot, "outlet_bore", "d_out"),
        r.leaf(hot, "outlet_discharge", "C_out"),
    )


def _state(r: Reader, bore: float, pressure: float) -> mixing.MixState:
    return mixing.chamber_state(
        _chamber(r, bore),
        pressure,
        r.value("steam.set_temperature", "T_h"),
        network.water_temperature(r, "T_c"),
        r.value("site.atmospheric_pressure", "p_atm"),
    )


@VALUES.value(
    "hotwater.chamber_pressure",
    "pressure_gauge",
    residual="density(T_h) * orifice_flow(max(0, saturation_pressure(T_h) - p_atm - result), d_h, C_h, T_h)"
    " + density(T_c) * orifice_flow(max(0, p_c - result), d_c, C_c, T_c)"
    " - density({hotwater.mix_open}) * orifice_flow(result, d_out, C_out, {hotwater.mix_open})",
    source=ORIFICE,
    digits=3,
)
def chamber_pressure(r: Reader) -> float:
    """Pressure at the mixing point with both ways open and the adjuster as it stands."""
    return _state(r, _cold_bore(r), r.value("hotwater.cold_pressure", "p_c")).chamber_gauge


@VALUES.value(
    "hotwater.mix_open",
    "temperature",
    formula="mix_temperature(x, T_h, T_c, p_atm)",
    source=ENTHALPY_BALANCE,
    step=1.0,
)
def mix_open(r: Reader) -> float:
    """Outlet temperature with the cold water open all the time and the adjuster as it stands."""
    share = r.value("hotwater.hot_share", "x")
    return mixing.mix_temperature(
        share,
        r.value("steam.set_temperature", "T_h"),
        network.water_temperature(r, "T_c"),
        r.value("site.atmospheric_pressure", "p_atm"),
    )


@VALUES.value(
    "hotwater.hot_share",
    "ratio",
    formula="rho_h * Q_h / (rho_h * Q_h + rho_c * Q_c)".replace("rho_h", "density(T_h)")
    .replace("rho_c", "density(T_c)")
    .replace("Q_h", "orifice_flow(max(0, saturation_pressure(T_h) - p_atm - p_m), d_h, C_h, T_h)")
    .replace("Q_c", "orifice_flow(max(0, p_c - p_m), d_c, C_c, T_c)"),
    source=ENTHALPY_BALANCE,
    digits=3,
)
def hot_share(r: Reader) -> float:
    """Share of boiler water in the mixture, by mass."""
    r.value("hotwater.chamber_pressure", "p_m")
    return _state(r, _cold_bore(r), r.value("hotwater.cold_pressure", "p_c")).x_hot


def _mix_formula(facts: Facts) -> str:
    method = facts.machine.hot_water.method
    if method == "thermostatic_valve":
        return "min(T_target, T_boil)"
    return "T_open" if method != "timed_dilution" else "min(T_target, T_boil)"


@VALUES.value(
    "hotwater.mix_temperature", "temperature", formula=_mix_formula, source=ENTHALPY_BALANCE, step=1.0
)
def mix_temperature(r: Reader) -> float:
    """What comes out before anything is adjusted; at the target where the adjuster holds a temperature."""
    hot = machine_hot_water(r)
    if hot.method in {"pump_setting", "restrictor"}:
        return float(r.value("hotwater.mix_open", "T_open"))
    target = r.leaf(hot, "target", "T_target")
    return min(target, r.value("water.boiling_point_site", "T_boil"))


def _kind(facts: Facts) -> str:
    return {
        "pump_setting": "pressure_gauge",
        "restrictor": "size",
        "thermostatic_valve": "temperature",
        "timed_dilution": "ratio",
    }.get(facts.machine.hot_water.method, "temperature")


def _setting_residual(facts: Facts) -> str:
    at = {"pump_setting": "result, d_c", "restrictor": "p_c, result"}.get(facts.machine.hot_water.method)
    return f"mixed_temperature({at}, C_c, d_h, C_h, d_out, C_out, T_h, T_c, p_atm) - T_target" if at else ""


def _setting_formula(facts: Facts) -> str:
    return {
        "thermostatic_valve": "T_target",
        "timed_dilution": "duty_for(T_target, m_h, m_c, T_h, T_c, p_atm)",
    }.get(facts.machine.hot_water.method, "")


@VALUES.value(
    "hotwater.setting_wanted",
    _kind,
    formula=_setting_formula,
    residual=_setting_residual,
    source=ENTHALPY_BALANCE,
    digits=2,
)
def setting_wanted(r: Reader) -> float:
    """What the adjuster would have to be set to for the target, whatever it reaches."""
    hot = machine_hot_water(r)
    target = r.leaf(hot, "target", "T_target")
    T_h, T_c = r.value("steam.set_temperature", "T_h"), network.water_temperature(r, "T_c")
    p_atm = r.value("site.atmospheric_pressure", "p_atm")
    if hot.method == "pump_setting":
        return mixing.wanted_cold_pressure(target, _chamber(r, _cold_bore(r)), T_h, T_c, p_atm)
    if hot.method == "restrictor":
        pressure = r.value("hotwater.cold_pressure", "p_c")
        return mixing.wanted_cold_bore(target, _chamber(r, _cold_bore(r)), pressure, T_h, T_c, p_atm)
    if hot.method == "thermostatic_valve":
        return _valve_setting(r, target, T_h, T_c)
    return mixing.duty_for(
        target,
        r.value("hotwater.hot_flow", "m_h"),
        r.value("hotwater.cold_mass_flow", "m_c"),
        T_h,
        T_c,
        p_atm,
    )


@VALUES.value("hotwater.setting_for_target", _kind, formula="s_wanted", source=ENTHALPY_BALANCE, digits=2)
def setting_for_target(r: Reader) -> float:
    """What the adjuster must be set to for the target; unavailable beyond what it reaches."""
    hot = machine_hot_water(r)
    wanted = float(r.value("hotwater.setting_wanted", "s_wanted"))
    if hot.method == "pump_setting":
        r.leaf(hot, "setting_range", "p_range")
        low, high = hot.setting_range.low, hot.setting_range.high
    elif hot.method == "restrictor":
        bores = [r.leaf(position, "bore", f"d_{i}") for i, position in enumerate(hot.positions, 1)]
        low, high = min(bores), max(bores)
    else:
        return wanted
    # A higher setting lets more cold water in.
    if wanted < low:
        raise UnavailableError("hotwater.target_above_range", edge=low)
    if wanted > high:
        raise UnavailableError("hotwater.target_below_range", edge=high)
    return wanted


def _valve_setting(r: Reader, target: float, T_h: float, T_c: float) -> float:
    hot = machine_hot_water(r)
    r.leaf(hot, "scale", "T_scale")
    valve = mixing.ThermostaticValve(
        hot.scale.low, hot.scale.high, r.leaf(hot, "hot_margin", "dT_hot"), VALVE_PRESSURE_RATIO
    )
    return mixing.thermostatic_temperature(
        valve,
        target,
        T_h,
        r.value("steam.saturation_pressure", "p_s"),
        r.value("hotwater.cold_pressure", "p_c"),
        T_c,
        r.value("site.atmospheric_pressure", "p_atm"),
    )


@VALUES.value(
    "hotwater.hot_flow",
    "mass_flow",
    source=ORIFICE,
    digits=3,
    formula="density(T_h) * orifice_flow(max(0, saturation_pressure(T_h) - p_atm - p_m), d_h, C_h, T_h)",
)
def hot_flow(r: Reader) -> float:
    """Boiler water into the mixing point with the cold water open."""
    r.value("hotwater.chamber_pressure", "p_m")
    return _state(r, _cold_bore(r), r.value("hotwater.cold_pressure", "p_c")).hot_mass_flow


@VALUES.value(
    "hotwater.cold_mass_flow",
    "mass_flow",
    source=ORIFICE,
    digits=3,
    formula="density(T_c) * orifice_flow(max(0, p_c - p_m), d_c, C_c, T_c)",
)
def cold_mass_flow(r: Reader) -> float:
    """Cold water into the mixing point while its valve is open."""
    r.value("hotwater.chamber_pressure", "p_m")
    return _state(r, _cold_bore(r), r.value("hotwater.cold_pressure", "p_c")).cold_mass_flow


def _temperature_at(r: Reader) -> tuple[Callable[[float], float], list[float], list[str]]:
    """Outlet temperature as a function of the setting, the settings of the table, and their names."""
    hot = machine_hot_water(r)
    T_h, T_c = r.value("steam.set_temperature", "T_h"), network.water_temperature(r, "T_c")
    p_atm = r.value("site.atmospheric_pressure", "p_atm")
    bore = _cold_bore(r)
    if hot.method == "pump_setting":
        lowest = water.saturation_pressure(T_h) - p_atm
        r.leaf(hot, "setting_range", "p_range")
        settings = _round_steps(max(hot.setting_range.low, lowest * 1.02), hot.setting_range.high)
        return (lambda p: _state(r, bore, p).temperature), settings, []
    if hot.method == "restrictor":
        pressure = r.value("hotwater.cold_pressure", "p_c")
        bores = [r.leaf(position, "bore", f"d_{i}") for i, position in enumerate(hot.positions, 1)]
        names = [position.position for position in hot.positions]
        return (lambda d: _state(r, d, pressure).temperature), bores, names
    if hot.method == "thermostatic_valve":
        r.leaf(hot, "scale", "T_scale")
        kind = KINDS["temperature"]
        low, high = (from_si(kind, "°C", t) for t in (hot.scale.low, hot.scale.high))
        marks = [to_si(kind, "°C", t) for t in range(int(-(-low // 5) * 5), int(high) + 1, 5)]
        boil = r.value("water.boiling_point_site", "T_boil")
        return (lambda T: min(T, boil)), marks, []
    m_h, m_c = r.value("hotwater.hot_flow", "m_h"), r.value("hotwater.cold_mass_flow", "m_c")
    duties = [k / 10 for k in range(11)]
    return (lambda duty: mixing.diluted_temperature(duty, m_h, m_c, T_h, T_c, p_atm)), duties, []


def _round_steps(low: float, high: float) -> list[float]:
    """Half-bar steps inside a pressure range."""
    first = -(-low // 5e4)
    return [5e4 * k for k in range(int(first), int(high // 5e4) + 1)]


@VALUES.value("hotwater.table", "series", source=ENTHALPY_BALANCE)
def table(r: Reader) -> Series:
    """Outlet temperature for each setting."""
    temperature, settings, names = _temperature_at(r)
    kind = {"pump_setting": "pressure_gauge", "restrictor": "size", "thermostatic_valve": "temperature"}.get(
        r.machine.hot_water.method, "ratio"
    )
    if names:
        rows = tuple((name, s, temperature(s)) for name, s in zip(names, settings, strict=True))
        return Series((("position", "text"), ("setting", kind), ("temperature", "temperature")), rows)
    return Series(
        (("setting", kind), ("temperature", "temperature")), tuple((s, temperature(s)) for s in settings)
    )


@VALUES.value(
    "hotwater.correction",
    "temperature_difference",
    formula="T_after - T_before",
    source=ENTHALPY_BALANCE,
    digits=2,
)
def correction(r: Reader) -> float:
    """Change of the outlet temperature for one step of the adjuster, near the target."""
    return float(r.value("hotwater.after_step", "T_after")) - float(
        r.value("hotwater.before_step", "T_before")
    )


def _neighbours(r: Reader) -> tuple[float, float]:
    """Two settings one step of the adjuster apart, around the target."""
    hot = machine_hot_water(r)
    if hot.method == "thermostatic_valve":
        raise UnavailableError("valve_holds_itself")
    if hot.method == "restrictor":
        # The positions on both sides of the bore wanted at nominal inputs: where the technician stands.
        bores = sorted(r.leaf(position, "bore", f"d_{i}") for i, position in enumerate(hot.positions, 1))
        wanted = r.nominal("hotwater.setting_for_target", "d_target")
        index = max((i for i, bore in enumerate(bores[:-1]) if bore <= wanted), default=0)
        return bores[index], bores[index + 1]
    step = PRESSURE_STEP if hot.method == "pump_setting" else DUTY_STEP
    r.nominal("hotwater.setting_for_target")
    middle = r.value("hotwater.setting_wanted", "s_target")
    return middle - step / 2, middle + step / 2


def _step_formula(after: bool):  # type: ignore[no-untyped-def]
    def formula(facts: Facts) -> str:
        sign = "+" if after else "-"
        return {
            "pump_setting": f"mixed_temperature(s_target {sign} 5e4, d_c"
            ", C_c, d_h, C_h, d_out, C_out, T_h, T_c, p_atm)",
            "restrictor": "mixed_temperature(p_c, "
            + ("bore_above" if after else "bore_below")
            + "(d_target"
            + "".join(
                f", d_{i}" for i in range(1, 1 + len(getattr(facts.machine.hot_water, "positions", [])))
            )
            + "), C_c, d_h, C_h, d_out, C_out, T_h, T_c, p_atm)",
            "timed_dilution": f"diluted_temperature(s_target {sign} 0.025, m_h, m_c, T_h, T_c, p_atm)",
        }.get(facts.machine.hot_water.method, "")

    return formula


@VALUES.value(
    "hotwater.before_step", "temperature", formula=_step_formula(False), source=ENTHALPY_BALANCE, step=0.1
)
def before_step(r: Reader) -> float:
    """Outlet temperature half a step (or one position) below the target's setting."""
    low, _ = _neighbours(r)
    return _temperature_at(r)[0](low)


@VALUES.value(
    "hotwater.after_step", "temperature", formula=_step_formula(True), source=ENTHALPY_BALANCE, step=0.1
)
def after_step(r: Reader) -> float:
    """Outlet temperature half a step (or one position) above the target's setting."""
    _, high = _neighbours(r)
    return _temperature_at(r)[0](high)


def _position_formula(facts: Facts) -> str:
    count = len(getattr(facts.machine.hot_water, "positions", []))
    temperatures = "".join(
        f", mixed_temperature(p_c, d_{i}, C_c, d_h, C_h, d_out, C_out, T_h, T_c, p_atm)"
        for i in range(1, count + 1)
    )
    return f"nearest(T_target{temperatures})"


@VALUES.value("hotwater.best_position", "count", formula=_position_formula, source=ENTHALPY_BALANCE, step=1.0)
def best_position(r: Reader) -> int:
    """Number of the restrictor position whose temperature comes nearest to the target."""
    hot = machine_hot_water(r)
    if not isinstance(hot, RestrictorHotWater):
        raise UnavailableError("no_positions")
    target = r.leaf(hot, "target", "T_target")
    # Not in the formula: it says at which corners of the inputs' ranges to look.
    r.value("hotwater.setting_wanted")
    temperature, settings, _ = _temperature_at(r)
    return 1 + min(range(len(settings)), key=lambda i: abs(temperature(settings[i]) - target))
