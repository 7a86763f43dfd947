"""Published figures that several formulas meet in, and the behaviour of parts that a handbook describes."""

from __future__ import annotations

import math

import pytest
from CoolProp.CoolProp import PropsSI
from fluids.core import K_from_f
from fluids.flow_meter import dP_orifice
from hypothesis import given
from hypothesis import strategies as st
from phreeqpython import PhreeqPython

from procgen.engineering import (
    atmosphere,
    drain,
    electrical,
    electrical_cable,
    heating,
    hydraulics,
    pump,
    treatment,
)
from procgen.engineering import fill_network as net
from procgen.engineering.filling import solve_fill_flow

BAR, LPM, C = 1e5, 1e-3 / 60, 273.15


def test_air_density_at_5000_m() -> None:
    # fluids' documentation of the US Standard Atmosphere 1976: 54 048.286 Pa and 0.736 428 42 kg/m³.
    H = 6356766 * 5000 / (6356766 + 5000)
    T = 288.15 - 0.0065 * H
    found = atmosphere.pressure_at_altitude(5000.0) / (287.05287 * T)
    assert found == pytest.approx(0.73642842, rel=2e-6)


def test_permanent_loss_of_a_metering_orifice() -> None:
    # fluids' documentation: 9069.4747 Pa. Nothing here is a metering orifice (ISO 5167-2 starts at 12.5 mm):
    # a drilled restrictor loses the whole difference, so ours must lie above what a meter gives back.
    D, d, p1, p2, coefficient = 0.07366, 0.05, 2e5, 1.83e5, 0.61512
    permanent = float(dP_orifice(D=D, Do=d, P1=p1, P2=p2, C=coefficient))
    assert permanent == pytest.approx(9069.4747, abs=1e-3)
    flow = hydraulics.orifice_flow(p1 - p2, d, coefficient, 288.15)
    assert hydraulics.orifice_loss(flow, d, coefficient, 288.15) == pytest.approx(p1 - p2)
    assert p1 - p2 > permanent


def test_crane_example_7_1_to_its_end() -> None:
    # Crane TP-410, 7.1 (worked in fluids' documentation): 30 °C, 50 mm smooth pipe, 200 L/min; Re 100 600
    # and f 0.0179 are printed.
    Re = hydraulics.reynolds(200 * LPM, 0.05, 30 + C)
    # The book rounds viscosity to two digits: its Reynolds number stands 5 % above the exact one.
    assert pytest.approx(100_600, rel=0.06) == Re
    assert hydraulics.friction_factor(100_600, 0.0) == pytest.approx(0.0179, abs=1e-4)
    f = hydraulics.friction_factor(Re, 0.0)
    rho = PropsSI("D", "T", 30 + C, "P", 101325, "Water")
    v = 200 * LPM / (math.pi / 4 * 0.05**2)
    expected = K_from_f(f, 10.0, 0.05) * rho * v * v / 2
    assert hydraulics.pipe_loss(200 * LPM, 0.05, 10.0, 0.0, 30 + C) == pytest.approx(expected, rel=1e-3)


def test_voltage_drop_as_a_share_of_either_nominal() -> None:
    # IEC 60364-5-52 Annex G by arithmetic: 2.811 V is 1.217 % of 400/√3 V and 1.222 % of 230 V.
    drop = electrical_cable.voltage_drop(100.0, 50.0, 35e-6, 0.8, 3)
    assert drop / (400 / math.sqrt(3)) == pytest.approx(0.01217, abs=5e-6)
    assert drop / 230 == pytest.approx(0.01222, abs=5e-6)


def test_two_legs_of_a_208_volt_supply() -> None:
    # 10/10 A line to neutral on two legs of 208Y/120 V: 10 A in the neutral; in split phase none. Arithmetic.
    loads = [electrical.Load(1200.0, 120.0, (line, "N"), 1.0) for line in ("L1", "L2")]
    legs = electrical.solve("two_legs", 120.0, loads)
    split = electrical.solve("split", 120.0, loads)
    assert abs(legs.currents["N"]) == pytest.approx(10.0)
    assert abs(split.currents["N"]) == pytest.approx(0.0, abs=1e-9)
    for solved in (legs, split):
        assert abs(solved.currents["L1"]) == pytest.approx(10.0)


def test_open_delta_of_a_208_volt_supply() -> None:
    # 3 + 3 + 0 kW on 208 V delta: 14.42 / 24.98 / 14.42 A. Arithmetic.
    loads = [
        electrical.Load(3000.0, 208.0, ("L1", "L2"), 1.0),
        electrical.Load(3000.0, 208.0, ("L2", "L3"), 1.0),
    ]
    found = electrical.solve("3_delta_208", 208.0, loads).currents
    assert [abs(found[line]) for line in ("L1", "L2", "L3")] == pytest.approx([14.42, 24.98, 14.42], abs=5e-3)


# The reducer: handbook behaviour of a spring-loaded pressure-reducing valve.
GAUGE = st.floats(0.5, 10.0)


@given(GAUGE, st.floats(0.0, 30.0), st.floats(0.0, 30.0), st.floats(0.01, 0.5))
def test_a_reducer_droops_with_flow_and_rises_when_it_stops(
    bar: float, a: float, b: float, droop: float
) -> None:
    setting, inlet = bar * BAR, (bar + 3) * BAR
    little, much = sorted((a * LPM, b * LPM))
    outlets = [
        hydraulics.reducer_outlet(inlet, setting, flow, nominal_flow=15 * LPM, droop_fraction=droop)
        for flow in (0.0, little, much)
    ]
    # Static pressure is the highest the machine ever sees; it rises back to the setting when flow stops.
    assert outlets[0] == pytest.approx(setting)
    assert outlets[0] >= outlets[1] >= outlets[2] >= 0
    at_nominal = hydraulics.reducer_outlet(
        inlet, setting, 15 * LPM, nominal_flow=15 * LPM, droop_fraction=droop
    )
    assert outlets[0] - at_nominal == pytest.approx(droop * setting)


@given(GAUGE, GAUGE, st.floats(0.0, 14.0))
def test_a_reducer_never_lifts_pressure(inlet: float, setting: float, flow: float) -> None:
    found = hydraulics.reducer_outlet(
        inlet * BAR, setting * BAR, flow * LPM, nominal_flow=15 * LPM, droop_fraction=0.2
    )
    assert found <= min(inlet, setting) * BAR * (1 + 1e-12)


def _network(**changes: object) -> net.FillNetwork:
    fields: dict[str, object] = {
        "mains": net.Mains(3.5e5, 20 * LPM, 2.5e5), "T": 15 + C, "reducer": None, "treatment": (),
        "hoses": (net.Hose(0.01, 2.0, 1.5e-6),), "pump": None, "check_valve_cracking": 0.0,
        "orifices": (net.Orifice(1e-3, 0.75),), "elevation": 0.0,
    }  # fmt: skip
    return net.FillNetwork(**{**fields, **changes})  # type: ignore[arg-type]


@given(st.floats(0.0, 3.0), st.floats(0.0, 3.0))
def test_a_stiffer_check_valve_never_lets_more_through(a: float, b: float) -> None:
    soft, stiff = sorted((a * BAR, b * BAR))
    flows = [solve_fill_flow(_network(check_valve_cracking=p)).flow for p in (soft, stiff)]
    assert flows[1] <= flows[0] * (1 + 1e-9)


def test_a_check_valve_takes_its_cracking_pressure_off() -> None:
    # By arithmetic through a bare orifice on a stiff main: flow goes with the root of what is left.
    stiff = {"mains": net.Mains(3e5, 20 * LPM, 3e5), "hoses": ()}
    free = solve_fill_flow(_network(**stiff)).flow
    held = solve_fill_flow(_network(check_valve_cracking=0.75e5, **stiff)).flow
    assert held / free == pytest.approx(math.sqrt(2.25 / 3.0), rel=1e-6)
    # Shut against more than the main has.
    closed = solve_fill_flow(_network(check_valve_cracking=3.01e5, **stiff))
    assert (closed.flow, closed.limited_by) == (0.0, "none")


@given(st.floats(0.5, 6.0), st.floats(0.5, 6.0), st.floats(6.5, 12.0))
def test_a_vane_pump_rides_on_its_inlet(set_at: float, now: float, outlet: float) -> None:
    """A bypass spring holds a difference: a bar more at the inlet is a bar more at the outlet (handbooks)."""
    found = pump.outlet_pressure_gauge(now * BAR, outlet * BAR, set_at * BAR)
    assert found - outlet * BAR == pytest.approx((now - set_at) * BAR, abs=1e-6)


@pytest.mark.parametrize(("cold", "share"), [(20.0, 0.03627), (15.0, 0.03720)])
def test_what_drips_from_the_expansion_valve(cold: float, share: float) -> None:
    # By CoolProp, per litre of brew boiler heated closed to 93 °C: 36.3 and 37.2 mL.
    rho_cold, rho_hot = (PropsSI("D", "T", t + C, "P", 101325, "Water") for t in (cold, 93.0))
    assert rho_cold / rho_hot - 1 == pytest.approx(share, abs=2e-5)
    assert heating.expansion_volume(1e-3, cold + C, 93 + C) == pytest.approx(share * 1e-3, rel=1e-3)


def test_a_storage_heater_expands_by_almost_half_a_gallon() -> None:
    # Published: 40 US gal from 90 to 140 °F, "almost one-half gallon".
    gallons = heating.expansion_volume(40 * 3.785411784e-3, 305.372, 333.15) / 3.785411784e-3
    assert 0.35 < gallons < 0.5


@pytest.mark.parametrize("celsius", [20.0, 40.0, 60.0, 80.0])
@pytest.mark.parametrize("calcium", [20.0, 61.0, 120.0])
def test_langelier_moves_as_phreeqc_does(celsius: float, calcium: float) -> None:
    """Another method for the same water: same direction with heat and hardness, within 0.35 of each other."""

    def phreeqc(t: float, ca: float) -> float:
        solution = PhreeqPython().add_solution(
            {"units": "mg/l", "temp": t, "pH": 7.5, "Ca": ca, "Alkalinity": "100 as CaCO3", "Na": 60.0,
             "Cl": "30 charge"}
        )  # fmt: skip
        return float(solution.si("Calcite"))

    def ours(t: float, ca: float) -> float:
        return treatment.langelier(7.5, 270.0, 2.497 * ca, 100.0, t + C)

    assert ours(celsius, calcium) == pytest.approx(phreeqc(celsius, calcium), abs=0.35)
    assert (ours(celsius + 5, calcium) > ours(celsius, calcium)) == (
        phreeqc(celsius + 5, calcium) > phreeqc(celsius, calcium)
    )
    assert (ours(celsius, calcium * 1.2) > ours(celsius, calcium)) == (
        phreeqc(celsius, calcium * 1.2) > phreeqc(celsius, calcium)
    )


def test_fall_of_a_quarter_inch_a_foot() -> None:
    # IPC 704.1: ¼ in per ft is 20.8 mm/m, a little less than the 1:40 of AS/NZS 3500.2 for DN65.
    assert drain.required_fall(0.040, "IPC") == pytest.approx(1 / 48)
    assert drain.required_fall(0.065, "AS/NZS 3500.2") == pytest.approx(1 / 40)
