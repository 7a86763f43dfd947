"""A small guide made by hand: enough of a procedure and a worksheet to build a whole site from."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from procgen.engineering.kernel import Source
from procgen.figures import Drawing
from procgen.messages.catalog import Messages, load
from procgen.procedure.fragments import plain_text
from procgen.procedure.model import (
    Fragment,
    Hold,
    Notice,
    Part,
    Procedure,
    Prose,
    Reading,
    Section,
    Step,
    Symptom,
    Timer,
)
from procgen.profiles.loader import Loaded
from procgen.profiles.machine import Machine
from procgen.profiles.site import Site
from procgen.profiles.workspace import Workspace, read_workspace
from procgen.values.figure import Figure
from procgen.values.worksheet import Finding, Input, Series, Value, Worksheet

ROOT = Path(__file__).parents[2]
TEMPLATE = "docs_src/procedure/05-fill.md"
ARITHMETIC = Source("arithmetic", "Arithmetic from the stated formula", kind="arithmetic")
STEAM = Source("iapws-if97", "IAPWS-IF97, saturation line", "region 4", from_memory=True)


@lru_cache(maxsize=1)
def workspace() -> Workspace:
    return read_workspace(ROOT)


@lru_cache(maxsize=1)
def messages() -> Messages:
    return load()


def fragment(html: str, *values: str, line: int = 1) -> Fragment:
    return Fragment(html, plain_text(html), values, TEMPLATE, line)


def q(value_id: str, primary: str, secondary: str = "") -> str:
    anchor = value_id.replace(".", "-").lower()
    more = f' (<span class="q2">{secondary}</span>)' if secondary else ""
    return f'<a class="q" href="figures.html#v-{anchor}"><span class="q1">{primary}</span>{more}</a>'


def value(
    identifier: str,
    kind: str,
    title: str,
    figure: float,
    low: float,
    high: float,
    step: float,
    **more: object,
) -> Value:
    plain = Value(
        identifier,
        kind,
        title,
        "ok",
        "",
        figure,
        low,
        high,
        step,
        None,
        "",
        "",
        (),
        ARITHMETIC,
        identifier.partition(".")[0],
    )
    return plain._replace(**more)  # type: ignore[arg-type]


def unavailable(identifier: str, kind: str, title: str, why: str) -> Value:
    return value(identifier, kind, title, 0, 0, 0, 1)._replace(
        status="unavailable",
        why=why,
        value=None,
        low=None,
        high=None,
    )


def values() -> dict[str, Value]:
    leaf = Input(
        "machine.steam_boiler.volume",
        "profile",
        "machine_profiles/models/pippetree-one.yml:61",
        "volume",
        0.011,
        0.011,
        0.011,
        1e-4,
        "V",
        "11 L",
    )
    flow = Input("fill.flow", "value", "", "flow", 2.5 / 6e4, 2.1 / 6e4, 2.8 / 6e4, 1e-6, "Q")
    design = Input(
        "machine.design.mains_flowing",
        "design",
        "machine_profiles/models/pippetree-one.yml:208",
        "pressure_gauge",
        3e5,
        2.5e5,
        4e5,
        1e4,
        "p",
        "2.5..4 bar",
    )
    table = Series(
        (("Adjuster", "count"), ("Water", "temperature"), ("Flow", "flow"), ("Note", "text")),
        tuple((n, 363.15 - 3 * n, (1 + n / 10) / 6e4, "usual" if n == 3 else "") for n in range(6)),
    )
    found = [
        value(
            "steam.saturation_pressure",
            "pressure_gauge",
            "Steam boiler pressure at its set point",
            1.31e5,
            1.29e5,
            1.33e5,
            1e3,
            source=STEAM,
            formula="p_sat(T) - p_atm",
        ),
        value(
            "brew.set_temperature[K1]",
            "temperature",
            "Brew boiler K1, set temperature",
            366.15,
            366.15,
            366.15,
            1.0,
        ),
        value("brew.set_temperature", "temperature", "Brew set temperature", 366.15, 366.15, 366.15, 1.0),
        value(
            "supply.inlet_pressure",
            "pressure_gauge",
            "Pressure at the machine's inlet, flowing",
            2.8e5,
            2.3e5,
            3.4e5,
            1e4,
            inputs=(design,),
            formula="p - dp",
        ),
        value("fill.flow", "flow", "Fill flow", 2.5 / 6e4, 2.1 / 6e4, 2.8 / 6e4, 1e-6, inputs=(design,)),
        value(
            "fill.time",
            "time",
            "Time to fill the steam boiler",
            264.0,
            236.0,
            314.0,
            1.0,
            inputs=(leaf, flow),
            formula="V / Q",
        ),
        value("fill.pump_runs", "count", "Pump runs until the level is reached", 3, 2, 3, 1),
        value("fill.stop_and_check_runs", "count", "Pump runs at which to stop and check", 5, 5, 5, 1),
        value("heat.time_ready", "time", "Time until the machine is ready", 1560.0, 1380.0, 1800.0, 60.0),
        value("pump.brew_setting", "pressure_gauge", "Brew pressure setting under load", 9e5, 9e5, 9e5, 1e4),
        unavailable(
            "hotwater.mix_temperature",
            "temperature",
            "Hot water temperature",
            "This machine has no hot-water mixing.",
        ),
        value("hotwater.table", "series", "Hot water by adjuster step", 0, 0, 0, 1)._replace(
            value=None,
            low=None,
            high=None,
            series=table,
        ),
        value("electrical.current_L1", "current", "Current in L1", 21.3, 19.8, 23.4, 0.1),
        value("electrical.current_L2", "current", "Current in L2", 16.3, 15.0, 18.0, 0.1),
        value("drain.fall_worst", "fall", "Least fall of the drain", 0.025, 0.025, 0.025, 1e-3),
        unavailable("drain.fall_required", "fall", "Fall asked for", "The survey declares no drainage code."),
    ]
    return {item.id: item for item in found}


def findings() -> tuple[Finding, ...]:
    pressure = Figure("pressure_gauge", 6.8e5, 6.8e5, 6.8e5, 1e4, "pair", "site.mains.night_pressure", True)
    inlet = Figure("pressure_gauge", 2.8e5, 2.3e5, 3.4e5, 1e4, "span", "supply.inlet_pressure")
    return (
        Finding(
            "night_pressure",
            "stop",
            "Night pressure",
            ("The mains reach ", pressure, " at night."),
            ("Fit a pressure reducer.",),
            "builder",
            ARITHMETIC,
            ("supply.inlet_pressure",),
        ),
        Finding(
            "drain_fall",
            "attention",
            "Drain fall",
            ("The fall is not declared.",),
            ("Declare the code.",),
            "planner",
            ARITHMETIC,
        ),
        Finding(
            "mains_low",
            "pass",
            "Mains not too low",
            ("The inlet sees ", inlet, "."),
            (),
            "technician",
            ARITHMETIC,
        ),
    )


def notice(signal: str, hazard: str, html: str) -> Notice:
    return Notice(signal, hazard, fragment(html))  # type: ignore[arg-type]


def procedure(guide: str) -> Procedure:
    water = Part(
        "water",
        "Water & <drain>",
        1,
        (
            Prose(fragment("<p>The drain comes first, so that flushing has somewhere to go.</p>")),
            Section("drain", "Drain"),
            Step(
                "water.pour",
                "Pour test",
                "technician",
                10,
                ("slipping",),
                (
                    notice(
                        "caution",
                        "slipping",
                        "<p>Water on the floor makes you slip. Wipe it up before you go on.</p>",
                    ),
                ),
                fragment(
                    "<ol><li>Pour a bucket of water into the tundish.</li><li>Look along the whole route: "
                    "no joint may drip.</li></ol><p>Part AB-12-345 holds the hose.</p>"
                ),
                fragment("<p>The water is gone in less than a minute.</p>"),
                (),
                (),
                (),
            ),
            Hold(
                "water.drain_proved",
                "Drain proved",
                "technician",
                fragment("<p>The drain takes the flow without backing up.</p>"),
                ("water.pour",),
            ),
        ),
        "docs_src/procedure/01-water.md",
    )
    electricity = Part(
        "electricity",
        "Electricity",
        2,
        (
            Step(
                "electricity.dead",
                "Prove dead",
                "electrician",
                20,
                ("electricity",),
                (
                    notice(
                        "danger",
                        "electricity",
                        "<p>Touching a live terminal kills. Lock off all poles and prove dead "
                        "before you open the terminal cover.</p>",
                    ),
                    notice(
                        "notice",
                        "damage",
                        "<p>The controller is damaged by the insulation test. Join the live conductors "
                        "to each other first.</p>",
                    ),
                ),
                fragment("<p>Lock off the isolator and prove dead at the terminal block.</p>"),
                None,
                (
                    Reading(
                        "electricity.dead.insulation",
                        "Insulation resistance",
                        "insulation",
                        None,
                        1e6,
                        None,
                        "",
                        fragment("<p>Dry the elements and measure again.</p>"),
                        "",
                        "at least 1 MΩ",
                        1,
                        TEMPLATE,
                    ),
                ),
                (),
                (),
            ),
            Hold(
                "electricity.dead_done",
                "Dead tests passed",
                "electrician",
                fragment("<p>Every dead test is within its limit and written down.</p>"),
                ("electricity.dead",),
            ),
        ),
        "docs_src/procedure/02-electricity.md",
    )
    fill = Part(
        "fill",
        "Filling",
        3,
        (
            Step(
                "fill.steam",
                "Fill the steam boiler",
                "technician",
                15,
                ("automatic_start", "scald"),
                (
                    notice(
                        "warning",
                        "automatic_start",
                        "<p>The pump starts by itself. Keep fingers out of its coupling.</p>",
                    ),
                    notice(
                        "warning",
                        "scald",
                        "<p>Hot water and steam burn at once. Wait until the boiler is cold.</p>",
                    ),
                ),
                fragment(
                    f"<p>Allow automatic fill. It takes {q('fill.time', '4 min 24 s')} at "
                    f"{q('supply.inlet_pressure', '2.8 bar', '41 psi')}.</p>",
                    "fill.time",
                    "supply.inlet_pressure",
                ),
                fragment("<p>The level lamp goes out.</p>"),
                (
                    Reading(
                        "fill.steam.inlet",
                        "Inlet pressure while filling",
                        "pressure_gauge",
                        2.8e5,
                        2e5,
                        5e5,
                        "supply.inlet_pressure",
                        fragment("<p>Close the valve and call the water expert.</p>"),
                        q("supply.inlet_pressure", "2.8 bar", "41 psi"),
                        "2.0–5.0 bar (30–72 psi)",
                        9,
                        TEMPLATE,
                    ),
                ),
                (Timer("fill.steam.fill", "Filling", "fill.time", 236, 314, 120, 3, 5),),
                ("water-schematic",),
            ),
            Step(
                "fill.bleed[G2]",
                "Run group G2 until solid",
                "technician",
                3,
                (),
                (),
                fragment("<p>Run the group until no air comes.</p>"),
                None,
                (),
                (),
                (),
                "G2",
            ),
            Hold(
                "fill.before_heat",
                "Before heat",
                "technician",
                fragment("<p>Level proved and every boiler solid.</p>"),
                ("fill.steam", "fill.bleed[G2]"),
            ),
            Symptom(
                "fill.no_fill",
                "The pump runs, no water comes",
                fragment("<ol><li>Isolating valve closed.</li><li>Cartridge blocked.</li></ol>"),
            ),
        ),
        "docs_src/procedure/03-fill.md",
    )
    return Procedure(guide, (water, electricity, fill))


@dataclass(frozen=True)
class FakeJob:
    guide: str
    machine: Loaded[Machine]
    site: Loaded[Site] | None
    worksheet: Worksheet
    procedure: Procedure


def job(guide: str = "ellunby-bakery", prefer: str = "metric") -> FakeJob:
    found = next(item for item in workspace().guides() if item.guide == guide)
    worksheet = Worksheet(
        guide,
        found.machine.id,
        found.site.id if found.site else None,
        prefer,
        values(),
        findings(),  # type: ignore[arg-type]
    )
    return FakeJob(guide, found.machine, found.site, worksheet, procedure(guide))


def draw(name: str) -> Drawing | None:
    if name != "water-schematic":
        return None
    svg = (
        '<svg viewBox="0 0 900 120" width="900" height="120" role="img"><title>Water way</title>'
        '<path d="M10 60h880" stroke="#17312f" stroke-width="6"/><text x="20" y="40">Mains</text></svg>'
    )
    table = "<table><caption>Water way</caption><tbody><tr><th>Mains</th><td>in</td></tr></tbody></table>"
    return Drawing(name, svg, "Water way", "From the main.", table, "From the main.")


def draw_for(_job: object) -> object:
    return draw
