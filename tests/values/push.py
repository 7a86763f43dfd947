"""Surveys and profiles with leaves pushed to where the schema ends, read and validated without a file."""

from __future__ import annotations

import copy
import types
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from procgen.profiles.fields import QuantityOf
from procgen.profiles.loader import Loaded, Location
from procgen.profiles.machine_rules import MACHINE_RULES
from procgen.profiles.site_rules import SITE_RULES
from procgen.profiles.workspace import GuideInput
from procgen.units.measure import Measure
from procgen.values import Worksheet, evaluate
from tests.values.kit import words

#: file ("site" or "machine"), then the way to the leaf in it
Place = tuple[str, Location]


class RefusedError(Exception):
    """The schema or a rule of the file says no: such a guide cannot exist."""


def _quantities(annotation: Any) -> Iterator[QuantityOf]:
    for found in getattr(annotation, "__metadata__", ()):
        if isinstance(found, QuantityOf):
            yield found
    if get_origin(annotation) in {Union, types.UnionType}:
        for part in get_args(annotation):
            yield from _quantities(part)


def _walk(part: Any, location: Location) -> Iterator[tuple[Location, QuantityOf]]:
    if isinstance(part, list):
        for index, item in enumerate(part):
            yield from _walk(item, (*location, index))
    elif isinstance(part, BaseModel):
        for name, field in type(part).model_fields.items():
            given = getattr(part, name)
            if isinstance(given, Measure):
                own = [found for found in field.metadata if isinstance(found, QuantityOf)]
                yield (*location, name), (own or list(_quantities(field.annotation)))[0]
            else:
                yield from _walk(given, (*location, name))


def leaves(guide: GuideInput) -> dict[Place, QuantityOf]:
    """Every quantity a guide is made from, with what its schema believes."""
    files: dict[str, Loaded[Any] | None] = {"machine": guide.machine, "site": guide.site}
    return {
        (name, location): quantity
        for name, loaded in files.items()
        if loaded is not None
        for location, quantity in _walk(loaded.data, ())
    }


def extremes(quantity: QuantityOf) -> list[str]:
    """Both ends of the schema, and the whole span between them."""
    assert quantity.low is not None
    assert quantity.high is not None
    number, _, unit = quantity.low.partition(" ")
    top = quantity.high.partition(" ")[0] if quantity.high.endswith(unit) else ""
    return [quantity.low, quantity.high, *([f"{number}..{top} {unit}".strip()] if top else [])]


def _changed(loaded: Loaded[Any], changes: Mapping[Location, str], rules: Any) -> Loaded[Any]:
    data = copy.deepcopy(loaded.document.data)
    for location, text in changes.items():
        part = data
        for step in location[:-1]:
            part = part[step]
        part[location[-1]] = text
    try:
        valid = type(loaded.data).model_validate(data)
    except ValidationError as error:
        raise RefusedError(str(error)) from None
    breaches = [breach for rule in rules for breach in rule(valid)]
    if breaches:
        raise RefusedError(str(breaches))
    return replace(loaded, data=valid)


def pushed(guide: GuideInput, changes: Mapping[Place, str]) -> GuideInput:
    """A guide with some leaves typed anew.

    Raises:
        RefusedError: the program would not read such a file.
    """
    of = {
        file: {place[1]: text for place, text in changes.items() if place[0] == file}
        for file in ("machine", "site")
    }
    machine = _changed(guide.machine, of["machine"], MACHINE_RULES) if of["machine"] else guide.machine
    site = guide.site
    if of["site"]:
        assert site is not None
        site = _changed(site, of["site"], SITE_RULES)
    return GuideInput(guide.guide, machine, site)


def at(file: str, dotted: str) -> Place:
    """``at("site", "mains.flowing.pressure")``; list items by number."""
    return file, tuple(int(part) if part.isdigit() else part for part in dotted.split("."))


def worksheet(guide: GuideInput, changes: Mapping[Place, str]) -> Worksheet:
    """The worksheet of a pushed guide.

    Raises:
        RefusedError: the program would not read such a file.
    """
    return evaluate(pushed(guide, changes), words())
