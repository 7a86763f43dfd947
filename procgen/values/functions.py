"""The functions that formulas on pages call by name, on flat SI arguments.

A formula such as ``saturation_pressure(T) - p_atm`` is shown as it stands and evaluated again by the checks;
what it names is found here and nowhere else.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from procgen.engineering import (
    atmosphere,
    cooling,
    drain,
    earthing,
    electrical,
    electrical_cable,
    fastening,
    filling,
    handling,
    heating,
    heating_machine,
    hydraulics,
    mixing,
    supply,
    treatment,
    water,
)
from procgen.profiles.workspace import GuideInput
from procgen.values.definitions.drain import DEPTH_RATIO
from procgen.values.definitions.electrical import THREE_PHASE, phasor
from procgen.values.definitions.electrical_tests import FLEXIBLE
from procgen.values.definitions.handling import GRIP
from procgen.values.definitions.heat import SOAK_DIFFERENCE


def _loss_curve(flow: float, *flat: float) -> float:
    return hydraulics.treatment_loss(flow, tuple(zip(flat[::2], flat[1::2], strict=True)))


def _mixed(pressure: float, bore: float, *rest: float) -> float:
    C_c, d_h, C_h, d_out, C_out, T_h, T_c, p_atm = rest
    chamber = mixing.MixingChamber(d_h, C_h, bore, C_c, d_out, C_out)
    return mixing.chamber_state(chamber, pressure, T_h, T_c, p_atm).temperature


def _below(wanted: float, *bores: float) -> float:
    return max((bore for bore in sorted(bores)[:-1] if bore <= wanted), default=min(bores))


def _above(wanted: float, *bores: float) -> float:
    ordered = sorted(bores)
    return ordered[ordered.index(_below(wanted, *bores)) + 1]


def _team(mass: float, limit: float, stairs: bool) -> float:
    return float(handling.people_needed(mass, limit, stairs).count or handling.people_at_aid(mass))


def _soak(C: float, UA_g: float, UA_room: float, *temperatures: float) -> float:
    T_set, T_room, T_group = temperatures
    return heating.time_soak(C, UA_g, UA_room, T_set, T_room, T_group, SOAK_DIFFERENCE)


def _half_full(bore: float, fall: float, n: float) -> float:
    return drain.capacity_part_full(bore, fall, n, DEPTH_RATIO)


def _limit(reach: float, grip: float, travel: float) -> float:
    return handling.rwl(H=reach, V=grip, D=travel, CM=handling.coupling_multiplier(GRIP, grip))


#: Functions that mean the same on every guide.
PHYSICS: Mapping[str, Callable[..., Any]] = {
    "min": lambda *a: min(a),
    "max": lambda *a: max(a),
    "acos": math.acos,
    "ln": math.log,
    "nearest": lambda wanted, *a: 1.0 + min(range(len(a)), key=lambda i: abs(a[i] - wanted)),
    "isa_pressure": atmosphere.pressure_at_altitude,
    "saturation_temperature": water.saturation_temperature,
    "saturation_pressure": water.saturation_pressure,
    "flash_fraction": water.flash_fraction,
    "density": water.density,
    "enthalpy": water.enthalpy_liquid,
    "latent": water.enthalpy_vaporisation,
    "expansion": water.expansion_ratio,
    "loss_curve": _loss_curve,
    "pipe_loss": hydraulics.pipe_loss,
    "fitting_loss": hydraulics.fitting_loss,
    "orifice_loss": hydraulics.orifice_loss,
    "orifice_flow": hydraulics.orifice_flow,
    "closed_fill_time": filling.closed_fill_time,
    "soak_time": _soak,
    "fitting": lambda left, *powers: heating_machine.fitting(powers, left),
    "mix_temperature": mixing.mix_temperature,
    "mixed_temperature": _mixed,
    "bore_below": _below,
    "bore_above": _above,
    "duty_for": mixing.duty_for,
    "diluted_temperature": mixing.diluted_temperature,
    "cooling_time": cooling.cooling_time,
    "treated_pH": treatment.treated_pH,
    "decarbonised": treatment.decarbonised_conductivity,
    "langelier": treatment.langelier,
    "ryznar": treatment.ryznar,
    "larson_skold": treatment.larson_skold,
    "bicarbonate": treatment.alkalinity_to_bicarbonate,
    "manning_half_full": _half_full,
    "phasor": phasor,
    "real": lambda z: complex(z).real,
    "voltage_drop": electrical_cable.voltage_drop,
    "insulation_minimum": earthing.insulation_minimum,
    "continuity_maximum": earthing.continuity_maximum,
    "conductor": lambda L, S: earthing.protective_conductor_resistance(L, S, FLEXIBLE),
    "leakage": electrical.expected_leakage,
    "stress_area": fastening.stress_area,
    "niosh_limit": _limit,
    "team_people": lambda m, limit: _team(m, limit, False),
    "team_people_stairs": lambda m, limit: _team(m, limit, True),
    "team_aid": lambda m, limit: float(handling.people_needed(m, limit).lifting_aid),
}


def functions(guide: GuideInput) -> dict[str, Callable[..., Any]]:
    """All functions, those that follow the site's declared codes and the supply variant included."""
    site = guide.site.data if guide.site else None
    plumbing = site.codes.plumbing if site else "EN 806"
    drainage = site.codes.drainage if site else "EN 12056"
    electric = site.codes.electrical if site else "IEC 60364"
    loaded = 3 if guide.variant.arrangement in THREE_PHASE else 2
    device = site.electricity.device if site else None
    curve = device.curve if device and device.curve else "B"
    return {
        **PHYSICS,
        "test_pressure": lambda p: supply.pressure_test(p, plumbing),
        "required_fall": lambda d: drain.required_fall(d, drainage),
        "waste_limit": lambda: drain.waste_temperature_limit(drainage),
        "air_gap": lambda d: drain.air_gap(d, drainage),
        "device_minimum": lambda current: electrical_cable.device_minimum(current, electric),
        "cable_table": lambda S: electrical_cable.cable_capacity(S, loaded, electric),
        "ambient_factor": lambda T: electrical_cable.ambient_factor(T, electric),
        "grouping_factor": electrical_cable.grouping_factor,
        "loop_impedance": lambda rating, volts: earthing.loop_impedance_maximum(rating, curve, volts),
    }
