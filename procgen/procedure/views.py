"""Read-only views of profile and worksheet objects: a misspelt attribute names the nearest known one."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping
from typing import Any

from markupsafe import Markup
from pydantic import BaseModel

from procgen.procedure.faults import TemplateFaultError, nearest
from procgen.procedure.typed import has_typed_quantity
from procgen.units.measure import Measure

_PUNCTUATION = re.compile(r"[\x00-\x08\x0b-\x1f!-/:-@\[-`{-~\x7f\ue000-\uf8ff]")


def entities(text: str) -> Markup:
    """Plain text that neither Markdown nor HTML reads anything into: punctuation as numeric entities."""
    return Markup(_PUNCTUATION.sub(lambda match: f"&#{ord(match.group())};", " ".join(text.split("\n"))))


def data_markup(text: str) -> Markup:
    """Data text for a page; a number with a unit in it is marked as typed by a person."""
    escaped = entities(text)
    return Markup(f'<span class="typed">{escaped}</span>') if has_typed_quantity(text) else escaped


class DataText(str):
    """Text from a profile, a survey or the worksheet: data, wherever it is joined with markup."""

    __slots__ = ()

    def __html__(self) -> str:
        return data_markup(str(self))


class Sentence(DataText):
    """A sentence of the worksheet, kept as its text and figures."""

    parts: tuple[Any, ...]


class View:
    """A profile object or a worksheet value as templates see it: known fields, nothing else, no change."""

    __slots__ = ("_path", "_target")

    def __init__(self, target: Any, path: str) -> None:
        self._target = target
        self._path = path

    def names(self) -> list[str]:
        """Field names that a template may read."""
        return _names(self._target)

    def read(self, name: str) -> Any:
        """One field, wrapped; an unknown name is a fault with the nearest known one."""
        names = _names(self._target)
        if name not in names:
            raise TemplateFaultError(
                "template_unknown_attribute", found=f"{self._path}.{name}", expected=nearest(name, names)
            )
        parts = getattr(self._target, f"{name}_parts", None)
        if parts is not None:
            sentence = Sentence(getattr(self._target, name))
            sentence.parts = tuple(parts)
            return sentence
        return wrap(getattr(self._target, name), f"{self._path}.{name}")

    def __eq__(self, other: object) -> bool:
        return isinstance(other, View) and self._target == other._target

    def __hash__(self) -> int:
        return hash(self._path)

    def __repr__(self) -> str:
        return f"<{self._path}>"


def wrap(value: Any, path: str) -> Any:
    """The view of a field's content."""
    if isinstance(value, str):
        return DataText(value)
    if value is None or isinstance(value, bool | int | float | View):
        return value
    if isinstance(value, list | tuple) and not is_record(value):
        return tuple(wrap(item, f"{path}[{index}]") for index, item in enumerate(value))
    if isinstance(value, Mapping):
        return {DataText(key): wrap(item, f"{path}.{key}") for key, item in value.items()}
    return View(value, path)


def is_record(value: Any) -> bool:
    """A tuple whose fields have names: seen by those, not as a list."""
    return isinstance(value, tuple) and hasattr(value, "_fields")


def target_of(value: Any) -> Any:
    """What a view shows, or the thing itself."""
    return value._target if isinstance(value, View) else value


def path_of(value: Any) -> str:
    """Where a view stands in the profile: ``machine.steam_boiler.fill_timeout``; "" for anything else."""
    return value._path if isinstance(value, View) else ""


def _names(target: Any) -> list[str]:
    if isinstance(target, BaseModel):
        return list(type(target).model_fields)
    if isinstance(target, Measure):
        return ["kind", "low", "value", "high", "text", "is_range"]
    if dataclasses.is_dataclass(target):
        names = [field.name for field in dataclasses.fields(target)]
        # A sentence by the name of its parts.
        return names + [name.removesuffix("_parts") for name in names if name.endswith("_parts")]
    if is_record(target):
        return list(target._fields)
    return [name for name in vars(target) if not name.startswith("_")] if hasattr(target, "__dict__") else []
