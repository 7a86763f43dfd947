"""A workspace: the folder with profiles, surveys and templates, read as a whole."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from procgen.messages.diagnostic import Diagnostic, InputFaultsError
from procgen.profiles.loader import Loaded, load
from procgen.profiles.machine import Machine
from procgen.profiles.machine_rules import MACHINE_RULES
from procgen.profiles.power import SupplyVariant
from procgen.profiles.site import Site
from procgen.profiles.site_rules import SITE_RULES


@dataclass(frozen=True)
class GuideInput:
    """What one guide is made from: a model, and a site unless it is the model's own guide."""

    guide: str
    machine: Loaded[Machine]
    site: Loaded[Site] | None

    @property
    def variant(self) -> SupplyVariant:
        """The supply variant in use: the site's, or the first of the model."""
        variants = self.machine.data.supply_variants
        if self.site is None:
            return variants[0]
        wanted = self.site.data.supply_variant
        return next(variant for variant in variants if variant.id == wanted)


@dataclass
class Workspace:
    """Everything people typed, validated."""

    root: Path
    machines: dict[str, Loaded[Machine]] = field(default_factory=dict)
    sites: dict[str, Loaded[Site]] = field(default_factory=dict)

    @property
    def templates(self) -> Path:
        """Folder of the procedure templates."""
        return self.root / "docs_src" / "procedure"

    def guides(self) -> list[GuideInput]:
        """One guide a site and one a model, sites first, each by id."""
        with_site = [
            GuideInput(site.id, self.machines[site.data.machine], site)
            for _, site in sorted(self.sites.items())
        ]
        return with_site + [
            GuideInput(machine.id, machine, None) for _, machine in sorted(self.machines.items())
        ]


def read_workspace(root: Path, *folders: str) -> Workspace:
    """Read all profiles and surveys of a workspace.

    Raises:
        InputFaultsError: everything that is wrong, reported together.
    """
    workspace = Workspace(root)
    faults: list[Diagnostic] = []
    broken: set[str] = set()
    for folder in folders or ("machine_profiles",):
        base = root / folder
        for path in _yaml_files(base / "models"):
            machine, found = load(path, root, Machine, MACHINE_RULES)
            faults += found
            if machine is not None:
                workspace.machines[machine.id] = machine
            else:
                broken.add(path.stem)
        for path in _yaml_files(base / "sites"):
            site, found = load(path, root, Site, SITE_RULES)
            faults += found
            if site is not None:
                workspace.sites[site.id] = site
    if not workspace.machines and not faults:
        faults.append(
            Diagnostic("no_models", root / (folders[0] if folders else "machine_profiles") / "models")
        )
    faults += [fault for site in workspace.sites.values() for fault in _site_faults(workspace, site, broken)]
    if faults:
        raise InputFaultsError(faults)
    return workspace


def _yaml_files(folder: Path) -> Iterable[Path]:
    return sorted(path for path in folder.glob("*") if path.suffix in {".yml", ".yaml"} and path.is_file())


def _site_faults(workspace: Workspace, site: Loaded[Site], broken: set[str]) -> list[Diagnostic]:
    machine = workspace.machines.get(site.data.machine)
    if machine is None:
        if site.data.machine in broken:
            return []  # its own faults are reported already
        return [_unknown(site, "machine", site.data.machine, list(workspace.machines), "unknown_model")]
    variants = [variant.id for variant in machine.data.supply_variants]
    faults = []
    if site.data.supply_variant not in variants:
        faults.append(_unknown(site, "supply_variant", site.data.supply_variant, variants, "unknown_variant"))
    if site.id in workspace.machines:
        line, column = site.document.mark(("id",))
        faults.append(
            Diagnostic("id_used_twice", site.path, line, column, params={"field": "id", "found": site.id})
        )
    return faults


def _unknown(site: Loaded[Site], name: str, found: str, known: list[str], code: str) -> Diagnostic:
    line, column = site.document.mark((name,))
    near = difflib.get_close_matches(found, known, 1)
    params = {"field": name, "found": found, "nearest": near[0] if near else ", ".join(known)}
    return Diagnostic(code, site.path, line, column, params=params)
