"""Filling and heating solved once more, from the YAML files alone: nothing of the package is used here."""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import yaml
from CoolProp.CoolProp import PropsSI
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

#: Factor and offset of every unit these files use.
UNITS = {
    "": (1.0, 0.0),
    "bar": (1e5, 0.0),
    "psi": (6894.757293168, 0.0),
    "L/min": (1e-3 / 60, 0.0),
    "L/h": (1e-3 / 3600, 0.0),
    "gal/min": (3.785411784e-3 / 60, 0.0),
    "L": (1e-3, 0.0),
    "gal": (3.785411784e-3, 0.0),
    "mm": (1e-3, 0.0),
    "m": (1.0, 0.0),
    "in": (0.0254, 0.0),
    "ft": (0.3048, 0.0),
    "kg": (1.0, 0.0),
    "lb": (0.45359237, 0.0),
    "W": (1.0, 0.0),
    "kW": (1e3, 0.0),
    "W/K": (1.0, 0.0),
    "°C": (1.0, 273.15),
    "°F": (5 / 9, 459.67 * 5 / 9),
    "K": (1.0, 0.0),
    "V": (1.0, 0.0),
    "A": (1.0, 0.0),
    "s": (1.0, 0.0),
    "mm²": (1e-6, 0.0),
    "%": (1e-2, 0.0),
}
#: Specific heat near 50 °C, J/(kg·K): handbook tables, from memory.
METAL = {"copper": 385.0, "brass": 380.0, "stainless_steel": 500.0}
ANGLE = {
    "1N": {"L1": 0.0},
    "3N": {"L1": 0.0, "L2": -120.0, "L3": 120.0},
    "3": {"L1": 0.0, "L2": -120.0, "L3": 120.0},
    "split": {"L1": 0.0, "L2": 180.0},
    "two_legs": {"L1": 0.0, "L2": -120.0},
}


def read(path: Path) -> Any:
    """A file with every scalar as text."""
    return yaml.load(path.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)


def si(text: str) -> float:
    """Nominal figure of typed text, in SI: the middle one of three, the mean of two."""
    match = re.fullmatch(r"\s*([-\d.]+(?:\.\.[-\d.]+)*)\s*([^()]*?)\s*(?:\(.*\))?", text)
    assert match, text
    if match.group(2).startswith("AWG"):
        raise ValueError(text)
    numbers = [float(part) for part in match.group(1).split("..")]
    factor, offset = UNITS[match.group(2)]
    middle = numbers[1] if len(numbers) == 3 else sum(numbers) / len(numbers)
    return middle * factor + offset


def section_of(text: str) -> float:
    """A conductor's section, m²; AWG by its definition."""
    if text.startswith("AWG"):
        diameter = 0.127e-3 * 92 ** ((36 - float(text.split()[1])) / 39)
        return math.pi / 4 * diameter**2
    return si(text)


def colebrook(Re: float, rough: float) -> float:
    """Darcy friction factor, with a straight line between Reynolds numbers 2000 and 4000."""

    def turbulent(Re: float) -> float:
        def zero(x: float) -> float:
            return x + 2 * math.log10(rough / 3.7 + 2.51 * x / Re)

        return float(brentq(zero, 1.0, 20.0, xtol=1e-13)) ** -2

    if Re <= 2000:
        return 64 / Re
    if Re >= 4000:
        return turbulent(Re)
    return 64 / 2000 + (Re - 2000) / 2000 * (turbulent(4000.0) - 64 / 2000)


def curve_loss(points: list[tuple[float, float]]) -> Callable[[float], float]:
    """A maker's curve, straight in logarithms; outside its points by an exponent of 1 to 2."""

    def loss(Q: float) -> float:
        x, y = np.log([q for q, _ in points]), np.log([d for _, d in points])
        before = math.log(Q) < x[0]
        if before or math.log(Q) > x[-1]:
            i, j = (0, (0, 1)) if before else (-1, (-2, -1))
            n = min(max((y[j[1]] - y[j[0]]) / (x[j[1]] - x[j[0]]), 1.0), 2.0) if len(points) > 1 else 2.0
            return float(points[i][1] * (Q / points[i][0]) ** n)
        return float(np.exp(np.interp(math.log(Q), x, y)))

    return loss


def fill_time(machine: Any, site: Any) -> float:
    """Seconds of pump time until the steam boiler's probe, by the balance of pressures."""
    T = si(site["mains"]["water_temperature"])
    rho, mu = (PropsSI(name, "T", T, "P", 101325.0, "Water") for name in ("D", "V"))
    mains, path = site["mains"], machine["water"]["fill"]
    static, flowing = si(mains["static_pressure"]), mains["flowing"]
    hoses = {h["mark"]: h for h in machine["water"]["hoses"]}
    pieces = [(si(mains["line"]["bore"]), si(mains["line"]["length"]), 0.0)]
    pieces += [
        (si(hoses[m]["bore"]), si(hoses[m]["length"]), si(hoses[m]["fittings_loss"])) for m in path["hoses"]
    ]
    treatment = (
        curve_loss([(si(p["flow"]), si(p["loss"])) for p in site["treatment"]["loss"]])
        if "treatment" in site
        else lambda Q: 0.0
    )
    bore, Cd = si(path["orifice_bore"]), si(path["orifice_discharge"])
    rise: Callable[[float], float] = lambda Q: 0.0  # noqa: E731 -- replaced below
    if path["source"] != "mains":
        rise = pump_rise(next(p for p in machine["pumps"]["units"] if p["mark"] == path["source"]))

    def left(Q: float) -> float:
        pressure = static - (static - si(flowing["pressure"])) * (Q / si(flowing["flow"])) ** 2
        if "reducer" in mains:
            pressure = min(pressure, si(mains["reducer"]["setting"]))
        pressure -= treatment(Q)
        for d, length, K in pieces:
            v = Q / (math.pi / 4 * d * d)
            f = colebrook(rho * v * d / mu, 1.5e-6 / d)
            pressure -= (f * length / d + K) * rho * v * v / 2
        pressure += rise(Q) - rho * 9.80665 * si(path["lift"]) - si(path["check_valve_opens"])
        return pressure - rho / 2 * (Q / (Cd * math.pi / 4 * bore * bore)) ** 2

    Q = brentq(left, 1e-8, 1e-4, xtol=1e-16, rtol=1e-12)
    return si(machine["steam_boiler"]["volume_to_probe"]) / Q


def pump_rise(pump: Any) -> Callable[[float], float]:
    """A vane pump at its factory setting: its bypass, or less where its slip leaves too little."""
    first, last = pump["curve"][0], pump["curve"][-1]
    slip = (si(first["flow"]) - si(last["flow"])) / (si(last["pressure"]) - si(first["pressure"]))
    most = si(first["flow"]) + slip * si(first["pressure"])
    bypass = si(pump["factory_outlet"]) - si(pump["factory_inlet"])
    return lambda Q: min(bypass, (most - Q) / slip)


class Heating:
    """The machine from cold to ready, by scipy's integrator with an event at each set point."""

    def __init__(self, machine: Any, site: Any) -> None:
        self.machine, self.site = machine, site
        self.variant = next(v for v in machine["supply_variants"] if v["id"] == site["supply_variant"])
        self.T_amb, self.T_cold = (
            si(site["ambient"]["temperature"]),
            si(site["mains"]["water_temperature"]),
        )
        self.arrangement = self.variant["arrangement"]
        to_neutral = self.arrangement != "3"
        self.U = si(site["electricity"]["line_to_neutral" if to_neutral else "line_to_line"])
        limit = self.variant.get("current_limit")
        self.limit = math.inf if limit is None else si(limit)
        share = (1 - self._voltage_drop()) ** 2
        ratings = {e["mark"]: (si(e["rating"]), si(e["rated_voltage"])) for e in machine["elements"]}
        across = {c["element"]: self._across(c["terminals"]) for c in self.variant["connections"]}
        self.power = {m: P * (across[m] / U) ** 2 * share for m, (P, U) in ratings.items()}
        self._boilers()

    def _phasor(self, conductor: str) -> complex:
        if conductor == "N":
            return 0j
        star = self.U / math.sqrt(3) if self.arrangement == "3" else self.U
        return cmath.rect(star, math.radians(ANGLE[self.arrangement][conductor]))

    def _across(self, terminals: str) -> float:
        a, b = terminals.split("-")
        return abs(self._phasor(a) - self._phasor(b))

    def _voltage_drop(self) -> float:
        cable = self.site["electricity"].get("cable")
        if cable is None:
            return 0.0
        currents = dict.fromkeys(ANGLE[self.arrangement], 0j)
        loads = []
        for c in self.variant["connections"]:
            e = next(e for e in self.machine["elements"] if e["mark"] == c["element"])
            loads.append((si(e["rating"]), si(e["rated_voltage"]), 1.0, c["terminals"]))
        for x in self.variant.get("other_loads", []):
            name = "line_to_neutral" if x["terminals"].endswith("-N") else "line_to_line"
            loads.append((si(x["power"]), si(self.variant[name]), float(x["power_factor"]), x["terminals"]))
        for P, U, factor, terminals in loads:
            a, b = terminals.split("-")
            Y = cmath.rect(P / factor / U**2, -math.acos(factor))
            current = (self._phasor(a) - self._phasor(b)) * Y
            if a in currents:
                currents[a] += current
            if b in currents:
                currents[b] -= current
        ohm = 0.0225e-6 * si(cable["length"]) / section_of(cable["section"])
        if self.arrangement == "3N":
            neutral = -sum(currents.values())
            left = [abs(self._phasor(n) - ohm * (i - neutral)) for n, i in currents.items()]
            return (self.U - min(left)) / self.U
        highest = max(min(abs(i), self.limit) for i in currents.values())
        three = self.arrangement == "3"
        base = {"3": self.U / math.sqrt(3), "split": 2 * self.U, "two_legs": math.sqrt(3) * self.U}
        return (1 if three else 2) * ohm * highest / base.get(self.arrangement, self.U)

    def _boilers(self) -> None:
        steam, m = self.machine["steam_boiler"], self.machine
        rho = PropsSI("D", "T", self.T_cold, "P", 101325.0, "Water")
        order = self.variant.get("priority", [])
        rank = {e: i for i, e in enumerate(order)}
        self.boilers = []
        for b in [steam, *m["brew_boilers"]]:
            groups = [g for g in m["groups"] if g["brew_boiler"] == b["mark"]]
            volume = si(b["volume_to_probe" if b is steam else "volume"])
            self.boilers.append(
                {
                    "m": volume * rho,
                    "C": si(b["shell_mass"]) * METAL[b["material"]],
                    "UA": si(b["loss"]),
                    "set": self._set_point(b),
                    "elements": sorted(b["elements"], key=lambda e: rank.get(e, 99)),
                    "C_g": sum(si(g["head_mass"]) * METAL[g["head_material"]] for g in groups),
                    "UA_g": sum(si(g["head_coupling"]) for g in groups),
                    "UA_r": sum(si(g["head_loss"]) for g in groups),
                }
            )
        self.boilers.sort(key=lambda b: min(rank.get(e, 99) for e in b["elements"]))
        lines = {"1N": 1.0, "split": 2.0, "two_legs": 3**0.5, "3N": 3.0, "3": 3**0.5}[self.arrangement]
        # The line with most other loads on it is full first.
        taken = dict.fromkeys(ANGLE[self.arrangement], 0.0)
        for x in self.variant.get("other_loads", []):
            rated = si(self.variant["line_to_neutral" if "N" in x["terminals"] else "line_to_line"])
            for n in x["terminals"].split("-"):
                if n != "N":
                    taken[n] += si(x["power"]) / float(x["power_factor"]) / rated
        self.budget = (self.limit - max(taken.values())) * self.U * lines

    def _set_point(self, boiler: Any) -> float:
        if boiler.get("holds", "temperature") == "temperature":
            return si(boiler["set_temperature"])
        z = si(self.site["altitude"])
        H = 6356766.0 * z / (6356766.0 + z)
        p_atm = 101325.0 * (1 - 0.0065 * H / 288.15) ** 5.25588
        return float(PropsSI("T", "P", si(boiler["set_pressure"]) + p_atm, "Q", 0, "Water"))

    def _switched(self, busy: float, held: list[bool]) -> list[float]:
        left, given = self.budget - busy, []
        for b, done in zip(self.boilers, held, strict=True):
            given.append(0.0 if done else self._fitting(b, left))
            left -= given[-1]
        return given

    def _fitting(self, boiler: Any, left: float) -> float:
        """Power of the elements that are switched on one after the other."""
        on = 0.0
        for e in boiler["elements"]:
            on += self.power[e] if on + self.power[e] <= left else 0.0
        return on

    def _rates(self, y: Any, held: list[bool]) -> list[float]:
        n = len(self.boilers)
        loss = [
            b["UA"] * (y[i] - self.T_amb) + b["UA_g"] * (y[i] - y[n + i]) for i, b in enumerate(self.boilers)
        ]
        full = [self._fitting(b, self.budget) for b in self.boilers]
        powers = self._switched(0.0, held)
        keeping = [i for i in range(n) if held[i]]
        if keeping:
            duty = min(1.0, sum(loss[i] / full[i] for i in keeping))
            beside = self._switched(max(full[i] for i in keeping), held)
            powers = [(1 - duty) * a + duty * b for a, b in zip(powers, beside, strict=True)]
        rates = []
        for i, b in enumerate(self.boilers):
            rates.append(0.0 if held[i] else (powers[i] - loss[i]) / (b["m"] * heat(y[i]) + b["C"]))
        for i, b in enumerate(self.boilers):
            warming = b["UA_g"] * (y[i] - y[n + i]) - b["UA_r"] * (y[n + i] - self.T_amb)
            rates.append(warming / b["C_g"] if b["UA_g"] else 0.0)
        return rates

    def ready(self) -> float:
        """Seconds until every boiler is at set point and every group within 2 K of its final temperature."""
        n = len(self.boilers)
        y = np.array([self.T_cold] * n + [self.T_amb] * n)
        held, clock, ready = [False] * n, 0.0, [0.0] * n
        while not all(held):
            events = [self._event(i) for i in range(n) if not held[i]]
            run = solve_ivp(
                lambda t, y, held=tuple(held): self._rates(y, list(held)),
                (clock, clock + 4e4),
                y,
                events=events,
                rtol=1e-8,
                atol=1e-8,
                max_step=20.0,
            )
            assert run.status == 1, "a set point is never reached"
            clock, y = run.t[-1], run.y[:, -1]
            for i, b in enumerate(self.boilers):
                if not held[i] and y[i] >= b["set"] - 1e-6:
                    held[i], ready[i] = True, clock
                    if b["UA_g"]:
                        total = b["UA_g"] + b["UA_r"]
                        final = (b["UA_g"] * b["set"] + b["UA_r"] * self.T_amb) / total
                        gap = final - y[n + i]
                        ready[i] += b["C_g"] / total * math.log(gap / 2.0) if gap > 2.0 else 0.0
        return max(ready)

    def _event(self, i: int) -> Callable[[float, Any], float]:
        def reached(t: float, y: Any) -> float:
            return float(y[i] - self.boilers[i]["set"])

        reached.terminal = True  # type: ignore[attr-defined]
        return reached


_GRID = np.linspace(274.0, 430.0, 79)
_HEAT = np.array(
    [
        PropsSI("C", "T", T, "P", max(101325.0, PropsSI("P", "T", T, "Q", 0, "Water") * 1.0001), "Water")
        for T in _GRID
    ]
)


def heat(T: float) -> float:
    """Specific heat of liquid water, J/(kg·K)."""
    return float(np.interp(T, _GRID, _HEAT))
