"""A small machine and worksheet, and a folder of templates from a dictionary."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace as Thing
from typing import Any

import pytest

from procgen.engineering.kernel import Source
from procgen.messages.catalog import Messages, load
from procgen.messages.diagnostic import InputFaultsError
from procgen.procedure.branches import BranchLog
from procgen.procedure.model import Prose, Step
from procgen.procedure.render import render_procedure
from procgen.units.measure import parse
from procgen.values.worksheet import Finding, Series, Value, Worksheet

SOURCE = Source("test", "A source", kind="arithmetic")


def words() -> Messages:
    """The packaged words with one code and one noun that tests can rely on."""
    packaged = load()
    own = {"words.stainless_steel": "stainless steel", "counted.run.one": "{n} run"}
    return Messages({**{key: packaged.raw(key) for key in packaged.keys()}, **own})  # noqa: SIM118


def value(
    identifier: str, kind: str, bottom: float, nominal: float, top: float, step: float, **changes: Any
) -> Value:
    """An available worksheet value."""
    fields: dict[str, Any] = {
        "id": identifier,
        "kind": kind,
        "title": identifier,
        "status": "ok",
        "why": "",
        "value": nominal,
        "low": bottom,
        "high": top,
        "step": step,
        "series": None,
        "formula": "",
        "residual": "",
        "inputs": (),
        "source": SOURCE,
        "group": identifier.partition(".")[0],
    }
    return Value(**{**fields, **changes})


def worksheet(*findings: Finding, prefer: str = "metric") -> Worksheet:
    """A worksheet with one value of each sort."""
    gone = {"status": "unavailable", "why": "the machine has none", "value": None, "low": None, "high": None}
    values = [
        value("fill.time", "time", 201.0, 264.1, 299.0, 5.0),
        value("fill.pump_runs", "count", 3.0, 4.0, 5.0, 1.0),
        value("fill.resets", "count", 1.0, 1.0, 1.0, 1.0),
        value("supply.inlet_pressure", "pressure_gauge", 2.51e5, 3.14e5, 4.04e5, 1e4),
        value("drain.temperature_limit", "temperature", 333.15, 333.15, 333.15, 1.0),
        value("heat.time_brew[K1]", "time", 500.0, 600.0, 700.0, 60.0),
        value("hotwater.mix_temperature", "temperature", 0.0, 0.0, 0.0, 1.0, **gone),
        value("heat.curve", "series", 0.0, 0.0, 0.0, 1.0, series=Series((("t", "time"),), ((0.0,),))),
    ]
    return Worksheet("guide", "machine", None, prefer, {v.id: v for v in values}, findings)  # type: ignore[arg-type]


def machine() -> Any:
    """A machine with the parts that the look-ups know."""
    brew = Thing(mark="P1", feeds=["brew"])
    return Thing(
        name="Copper & *Sons* <b>",
        groups=[Thing(mark="G1"), Thing(mark="G2")],
        elements=[Thing(mark="E1", rating=parse("3 kW", "power"))],
        brew_boilers=[Thing(mark="K1", material="stainless_steel", volume=parse("0.4 L", "volume"))],
        steam_boiler=Thing(volume=parse("11 L", "volume"), fill_timeout=parse("120 s", "time")),
        pumps=Thing(units=[brew, Thing(mark="P2", feeds=["steam_fill", "cold_water"])]),
        water=Thing(
            hoses=[Thing(mark="H1", bore=parse("8 mm", "size"))],
            inlets=[Thing(mark="W1")],
            inlet_pressure=parse("1.83..6.07 bar", "pressure_gauge"),
        ),
        fittings=[Thing(mark="F1", torque=parse("12 N·m (106 lbf·in to the nearest 1 lbf·in)", "torque"))],
        supply_variants=[Thing(id="one", name="One"), Thing(id="two", name="Two")],
        options=Thing(cup_warmer=None, note="thread of 10 mm"),
    )


def site() -> Any:
    """A site that uses the second supply variant."""
    return Thing(name="A place", supply_variant="two", altitude=parse("430 m", "altitude"), mains=None)


def render(
    folder: Path,
    templates: dict[str, str],
    *findings: Finding,
    with_site: bool = False,
    branches: BranchLog | None = None,
    prefer: str = "metric",
) -> Any:
    """Write templates into a folder and render them."""
    for name, text in templates.items():
        (folder / name).write_text(text, encoding="utf-8")
    sheet = worksheet(*findings, prefer=prefer)
    return render_procedure(sheet, machine(), site() if with_site else None, folder, words(), branches)


def part(body: str) -> dict[str, str]:
    """One template with one part."""
    return {"01-a.md": '{% part "a", title="A" %}\n' + body + "\n{% endpart %}\n"}


def step(body: str, more: str = "") -> dict[str, str]:
    """One template with one step; the body starts on line 3."""
    return part(
        f'{{% step "one", title="One", role="technician", minutes=5{more} %}}\n{body}\n{{% endstep %}}'
    )


def the_step(folder: Path, body: str, more: str = "", **options: Any) -> Step:
    """The one step of a one-step guide."""
    (found,) = render(folder, step(body, more), **options).steps()
    return found


def html_of(folder: Path, body: str, **options: Any) -> str:
    """HTML of a piece of prose."""
    (item,) = render(folder, part(body), **options).parts[0].items
    assert isinstance(item, Prose)
    return item.body.html


def faults_of(folder: Path, templates: dict[str, str], **options: Any) -> list[str]:
    """The faults of templates as they are printed, paths relative to the folder."""
    with pytest.raises(InputFaultsError) as caught:
        render(folder, templates, **options)
    messages = words()
    return [messages.diagnostic(fault, folder) for fault in caught.value.faults]
