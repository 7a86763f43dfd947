"""A demo survey with some fields changed, read as the program reads it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import yaml

from procgen.profiles.workspace import GuideInput, read_workspace
from procgen.values import Finding, Worksheet, evaluate
from tests.conftest import ROOT
from tests.values.kit import words

Changes = Mapping[str, Any]


@cache
def _typed(kind: str, name: str) -> str:
    return (ROOT / "machine_profiles" / kind / f"{name}.yml").read_text(encoding="utf-8")


def _set(data: Any, path: str, value: Any) -> None:
    """Set, add or (with None) take out what a dotted path names; list items by number."""
    *way, last = path.split(".")
    for part in way:
        data = data[int(part)] if isinstance(data, list) else data.setdefault(part, {})
    key: Any = int(last) if isinstance(data, list) else last
    if value is None:
        del data[key]
    else:
        data[key] = value


def guide(site: str, changes: Changes) -> GuideInput:
    """The guide of a site; changes to its model's profile start with ``machine:``."""
    survey = yaml.load(_typed("sites", site), Loader=yaml.BaseLoader)
    profile = yaml.load(_typed("models", survey["machine"]), Loader=yaml.BaseLoader)
    for path, value in changes.items():
        target = profile if path.startswith("machine:") else survey
        _set(target, path.removeprefix("machine:"), value)
    with TemporaryDirectory() as folder:
        for kind, name, data in (("models", survey["machine"], profile), ("sites", site, survey)):
            path_ = Path(folder, "machine_profiles", kind, f"{name}.yml")
            path_.parent.mkdir(parents=True)
            path_.write_text(yaml.safe_dump(data, allow_unicode=True), encoding="utf-8")
        return next(g for g in read_workspace(Path(folder)).guides() if g.site)


def worksheet(site: str, changes: Changes) -> Worksheet:
    """The worksheet of a changed survey."""
    return evaluate(guide(site, changes), words())


def finding(sheet: Worksheet, rule: str) -> Finding | None:
    """What a rule found."""
    return next((found for found in sheet.findings if found.id == rule), None)
