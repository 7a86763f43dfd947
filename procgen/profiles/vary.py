"""A valid survey with some of its fields changed, as if it had been typed so."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

from procgen.messages.yamltext import Document
from procgen.profiles.loader import Loaded, Location, validated
from procgen.profiles.site import Site
from procgen.profiles.site_rules import SITE_RULES


def vary(survey: Loaded[Site], changes: Mapping[Location, str]) -> Loaded[Site] | None:
    """The survey with fields set to what would be typed; None where the schema or a rule refuses it."""
    data = copy.deepcopy(survey.document.data)
    for location, typed in changes.items():
        _set(data, location, typed)
    document = Document(survey.path, data, survey.document.marks)
    varied, _ = validated(document, survey.root, Site, SITE_RULES)
    return varied


def _set(data: Any, location: Location, typed: str) -> None:
    *way, last = location
    for part in way:
        data = data.setdefault(part, {}) if isinstance(data, dict) else data[part]
    data[last] = typed
