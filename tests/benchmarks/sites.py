"""Synthetic sites: the demo surveys varied by seeded chance, each written and read as a person's file is.

Every measured figure is moved within what such a place could have; what was not surveyed stays so. A variant
that the program refuses is drawn again, so that all are valid.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml

from procgen.profiles.loader import Loaded, load
from procgen.profiles.site import Site
from procgen.profiles.site_rules import SITE_RULES
from procgen.profiles.workspace import GuideInput, read_workspace

#: Figures at the front of a quantity: one, or a range of them.
_FIGURES = re.compile(r"^\s*(-?[0-9.]+?(?:\s*\.\.\s*-?[0-9.]+?)*)(?=\s|$|[^0-9.])(.*)$")
#: Share by which the figures under a path may move; those with the same name move together, so that pressures
#: stay in order, an analysis stays balanced and a drain's segments stay joined.
SPREADS: tuple[tuple[str, str, float], ...] = (
    ("altitude", "altitude", 0.6),
    ("ambient.temperature", "", 0.15),
    ("mains.static_pressure", "pressure", 0.2),
    ("mains.night_pressure", "pressure", 0.2),
    ("mains.flowing.pressure", "pressure", 0.2),
    ("mains.flowing.flow", "", 0.25),
    ("mains.water_temperature", "", 0.25),
    ("mains.line.length", "", 0.4),
    ("water.ph", "", 0.03),
    ("water.", "analysis", 0.4),
    ("treatment.loss.", "loss", 0.2),
    ("treatment.capacity", "", 0.3),
    ("treatment.filtered_hardness", "", 0.3),
    ("treatment.flush_volume", "", 0.3),
    ("electricity.line_to_", "voltage", 0.02),
    ("electricity.cable.length", "", 0.5),
    ("electricity.cable.ambient", "", 0.1),
    ("electricity.loop_impedance", "", 0.4),
    ("drain.segments.", "drain", 0.15),
    ("counter.width", "", 0.2),
    ("counter.permitted_load", "", 0.2),
    ("access.distance", "", 0.5),
    ("use.coffees", "", 0.4),
    ("use.milk_drinks", "", 0.4),
    ("use.hot_water", "", 0.4),
)
#: Of a drain only lengths along the floor move: heights are joined to what stands there.
_STILL = ("start_height", "end_height", "bore")
_WHOLE = ("coffees", "milk_drinks")
MOST_DRAWS = 20


def guides(root: Path, count: int, into: Path, seed: str = "sites") -> Iterator[GuideInput]:
    """Guides of ``count`` synthetic sites; their surveys are written below ``into``."""
    workspace = read_workspace(root)
    bases = sorted((root / "machine_profiles" / "sites").glob("*.yml"))
    folder = into / "machine_profiles" / "sites"
    folder.mkdir(parents=True, exist_ok=True)
    chance = random.Random(seed)
    for number in range(count):
        base = bases[number % len(bases)]
        site = _valid(base, f"site-{number:04}", folder, into, chance)
        yield GuideInput(site.id, workspace.machines[site.data.machine], site)


def _valid(base: Path, identifier: str, folder: Path, root: Path, chance: random.Random) -> Loaded[Site]:
    survey = yaml.load(base.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
    path = folder / f"{identifier}.yml"
    found: Any = []
    for _ in range(MOST_DRAWS):
        varied = _varied(survey, "", chance, {}) | {"id": identifier, "name": f"Synthetic {identifier}"}
        path.write_text(yaml.safe_dump(varied, allow_unicode=True, sort_keys=False), encoding="utf-8")
        site, found = load(path, root, Site, SITE_RULES)
        if site is not None:
            return site
    raise ValueError(f"no valid variant of {base.name}: {found}")


def _varied(node: Any, path: str, chance: random.Random, together: dict[str, float]) -> Any:
    if isinstance(node, dict):
        return {k: _varied(v, f"{path}.{k}" if path else k, chance, together) for k, v in node.items()}
    if isinstance(node, list):
        return [_varied(v, f"{path}.{k}", chance, together) for k, v in enumerate(node)]
    name = path.rpartition(".")[2]
    for prefix, group, spread in SPREADS:
        if path.startswith(prefix) and name not in _STILL and name != "sampled":
            factor = 1.0 + chance.uniform(-spread, spread)
            if group:
                factor = together.setdefault(group, factor)
            return _scaled(str(node), factor, name in _WHOLE)
    return node


def _scaled(text: str, factor: float, whole: bool) -> str:
    """The figures at the front of a quantity times a factor, to three digits."""
    match = _FIGURES.match(text)
    if match is None:
        return text
    numbers = [float(part) * factor for part in match.group(1).split("..")]
    return "..".join(str(round(n)) if whole else _typed(n) for n in numbers) + match.group(2)


def _typed(number: float) -> str:
    """As a person types it: no exponent."""
    return f"{float(f'{number:.3g}'):f}".rstrip("0").rstrip(".")
