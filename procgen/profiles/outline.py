"""What a kind of file asks for, read off its schema: groups and fields in their order."""

from __future__ import annotations

import types
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from procgen.profiles.fields import Date, Identifier, QuantityOf, Section, Text

Form = Literal["quantity", "choice", "yes_no", "whole", "date", "identifier", "text"]


@dataclass(frozen=True, slots=True)
class Asked:
    """One field: what may stand in it."""

    path: tuple[str, ...]
    form: Form
    required: bool
    #: kind of a quantity, and the span that the schema accepts, as typed
    kind: str = ""
    low: str | None = None
    high: str | None = None
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Group:
    """Fields that belong together; ``many`` where the file lists any number of them."""

    path: tuple[str, ...]
    required: bool
    many: bool
    items: tuple[Asked | Group, ...]


def outline(section: type[Section], path: tuple[str, ...] = ()) -> tuple[Asked | Group, ...]:
    """Fields and groups of a section, in the schema's order."""
    return tuple(_item(info, (*path, name)) for name, info in section.model_fields.items())


def leaves(items: tuple[Asked | Group, ...]) -> Iterator[Asked]:
    """Every field, however deep."""
    for item in items:
        if isinstance(item, Group):
            yield from leaves(item.items)
        else:
            yield item


def _item(info: FieldInfo, path: tuple[str, ...]) -> Asked | Group:
    required, (kind, notes) = info.is_required(), _core(info.annotation, tuple(info.metadata))
    if get_origin(kind) is list:
        inner, _ = _core(get_args(kind)[0], ())
        return Group(path, required, True, outline(inner, path))
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        return Group(path, required, False, outline(kind, path))  # type: ignore[arg-type]
    quantity = next((note for note in notes if isinstance(note, QuantityOf)), None)
    if quantity is not None:
        return Asked(path, "quantity", required, quantity.kind, quantity.low, quantity.high)
    if get_origin(kind) is Literal:
        return Asked(path, "choice", required, choices=tuple(map(str, get_args(kind))))
    return Asked(path, _form(kind, notes), required)


def _core(annotation: Any, notes: tuple[Any, ...]) -> tuple[Any, tuple[Any, ...]]:
    """A field's type without ``None``, and what is noted beside it."""
    if isinstance(annotation, str | type(None)):
        return annotation, notes
    if get_origin(annotation) in {Union, types.UnionType}:
        (only,) = (option for option in get_args(annotation) if option is not type(None))
        return _core(only, notes)
    if hasattr(annotation, "__metadata__"):
        return _core(annotation.__origin__, (*notes, *annotation.__metadata__))
    return annotation, notes


#: fields of text, by the validator that reads them
_TEXTS: tuple[tuple[Form, Any], ...] = (("date", Date), ("identifier", Identifier), ("text", Text))


def _form(kind: Any, notes: tuple[Any, ...]) -> Form:
    if kind is bool:
        return "yes_no"
    if kind is int:
        return "whole"
    return next(form for form, alias in _TEXTS if alias.__metadata__[0] in notes)
