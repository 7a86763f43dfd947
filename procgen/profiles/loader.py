"""Profile and survey files read, validated and kept with the place of every leaf."""

from __future__ import annotations

import difflib
import types
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Generic, TypeVar, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from procgen.messages.diagnostic import Diagnostic
from procgen.messages.yamltext import Document, dotted, read
from procgen.profiles.fields import Section
from procgen.units.kinds import KINDS

M = TypeVar("M", bound=Section)
Location = tuple[str | int, ...]
#: A rule over a validated file: yields the place, the code and the words' parameters of each breach.
Rule = Callable[[Any], Iterator[tuple[Location, str, dict[str, str]]]]


@dataclass(frozen=True, eq=False)
class Loaded(Generic[M]):
    """A valid profile or survey, with the place of every leaf; what is derived from it is kept by it."""

    path: Path
    root: Path
    data: M
    document: Document

    @property
    def id(self) -> str:
        """The file's own id."""
        return str(getattr(self.data, "id"))  # noqa: B009 -- every file kind has one; Section does not say so

    def place(self, location: Location) -> str:
        """``file:line`` of a leaf, the file relative to the workspace."""
        line, _ = self.document.mark(location)
        path = self.path.relative_to(self.root) if self.path.is_relative_to(self.root) else self.path
        return f"{path.as_posix()}:{line}"


def load(
    path: Path, root: Path, model: type[M], rules: tuple[Rule, ...] = ()
) -> tuple[Loaded[M] | None, list[Diagnostic]]:
    """Read one file. Gives the valid file, or None and everything that is wrong with it."""
    return validated(read(path), root, model, rules)


def validated(
    document: Document, root: Path, model: type[M], rules: tuple[Rule, ...] = ()
) -> tuple[Loaded[M] | None, list[Diagnostic]]:
    """A file that was read. Gives the valid file, or None and everything that is wrong with it."""
    path, faults = document.path, list(document.faults)
    if document.data is None:
        return None, faults
    if not isinstance(document.data, dict):
        return None, [*faults, Diagnostic("not_a_mapping", path, 1, 1)]
    try:
        data = model.model_validate(document.data)
    except ValidationError as error:
        faults += [_fault(document, model, dict(item)) for item in error.errors(include_url=False)]
        return None, faults
    loaded = Loaded(path, root, data, document)
    faults += _name_fault(loaded)
    for rule in rules:
        for location, code, params in rule(data):
            line, column = document.mark(location)
            faults.append(Diagnostic(code, path, line, column, params={"field": dotted(location), **params}))
    return (None if faults else loaded), faults


def _name_fault(loaded: Loaded[Any]) -> list[Diagnostic]:
    if loaded.id == loaded.path.stem:
        return []
    line, column = loaded.document.mark(("id",))
    params = {"field": "id", "found": loaded.id, "expected": loaded.path.stem}
    return [Diagnostic("id_is_not_file_name", loaded.path, line, column, params=params)]


def _fault(document: Document, model: type[BaseModel], error: dict[str, Any]) -> Diagnostic:
    """A pydantic error in the words of the person who wrote the file."""
    location = _in_file(document.data, tuple(error["loc"]))
    kind, context = error["type"], error.get("ctx") or {}
    params = {"field": dotted(location) or "the file", "found": _short(error.get("input"))}
    if kind == "quantity":
        code, params = "quantity_" + context.get("code", "not_text"), params | _quantity_params(context)
    elif kind == "extra_forbidden":
        code, params = _unknown_field(document, model, error, params)
    elif kind in {"missing", "union_tag_not_found"}:
        code, name = "missing_field", "method" if kind != "missing" else str(error["loc"][-1])
        location = location if kind != "missing" else location[:-1]
        params |= {"field": dotted((*location, name)), "found": name}
    elif kind == "union_tag_invalid":
        code, location = "not_one_of", (*location, "method")
        params |= {
            "field": dotted(location),
            "found": _short(context["tag"]),
            "expected": context["expected_tags"],
        }
    elif kind == "literal_error":
        code, params["expected"] = "not_one_of", str(context["expected"])
    elif kind in {"too_short", "too_long"}:
        code = "too_few" if kind == "too_short" else "too_many"
        params |= {
            "found": str(context["actual_length"]),
            "expected": str(context.get("min_length") or context.get("max_length")),
        }
    elif kind == "long_text":
        code, params = kind, params | {"found": str(context["length"]), "expected": str(context["limit"])}
    elif kind in {"text", "mark", "identifier", "date", "yes_no", "whole"}:
        code = kind
    else:
        code, params["expected"] = "wrong_shape", _SHAPES.get(kind, "a group of fields")
    line, column = document.mark(location)
    return Diagnostic(code, document.path, line, column, params=params)


#: what a field is, by pydantic's name for finding something else there
_SHAPES = {
    "list_type": "a list",
    "string_type": "text",
    "bool_type": "yes or no",
    "int_type": "a whole number",
}


def _unknown_field(
    document: Document, model: type[BaseModel], error: dict[str, Any], params: dict[str, str]
) -> tuple[str, dict[str, str]]:
    """The nearest known name, or all of them where none is near."""
    found = str(error["loc"][-1])
    names = _field_names(model, tuple(error["loc"][:-1]), document.data)
    near = difflib.get_close_matches(found, names, 1)
    if near:
        return "unknown_field", {**params, "found": found, "nearest": near[0]}
    return "unknown_field_here", {**params, "found": found, "expected": ", ".join(names)}


def _quantity_params(context: dict[str, Any]) -> dict[str, str]:
    params = {key: _short(value) for key, value in context.items() if key != "code"}
    kind = KINDS[context["kind"]]
    params |= {"expected": _kind_name(kind.name), "units": ", ".join(kind.typed), "example": kind.example}
    if params.get("found_kind"):
        params["found_kind"] = _kind_name(params["found_kind"])
    return params


def _kind_name(name: str) -> str:
    """A kind in words: ``drain flow``, ``gauge pressure``."""
    reference = KINDS[name].reference
    return f"{reference} pressure" if reference else name.replace("_", " ")


def _in_file(data: Any, location: Location) -> Location:
    """The location without the tags that a union puts in between."""
    result: list[str | int] = []
    for part in location:
        if isinstance(data, dict) and part not in data and part != location[-1]:
            continue
        result.append(part)
        if isinstance(data, dict):
            data = data.get(part)
        elif isinstance(data, list) and isinstance(part, int) and part < len(data):
            data = data[part]
        else:
            data = None
    return tuple(result)


def _field_names(model: type[BaseModel], location: Location, data: Any) -> list[str]:
    """Field names of the section at a location."""
    current: Any = model
    for part in location:
        options = _sections(current)
        if isinstance(part, int):
            continue
        for option in options:
            if part in option.model_fields:
                current = option.model_fields[part].annotation
                break
            tag = option.model_fields.get("method")
            if tag is not None and part in get_args(tag.annotation):
                current = option
                break
    return sorted({name for option in _sections(current) for name in option.model_fields})


def _sections(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    if get_origin(annotation) in {Union, types.UnionType, list} or get_args(annotation):
        return [section for part in get_args(annotation) for section in _sections(part)]
    return []


def _short(value: Any) -> str:
    if isinstance(value, dict):
        return "a group of fields"
    if isinstance(value, list):
        return "a list"
    text = str(value)
    return text if len(text) <= 60 else text[:57] + "…"
