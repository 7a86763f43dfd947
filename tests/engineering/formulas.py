"""Every formula of procgen.engineering, and which outside libraries it calls on its way."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
import sys
from functools import cache
from types import CodeType, FunctionType, ModuleType
from typing import Any

import procgen.engineering

SECTIONS = ("Formula", "Args", "Returns", "Valid", "Raises", "Source")


def sections(doc: str) -> dict[str, str]:
    """Text of each section of a docstring, by its heading at the left margin."""
    parts = re.split(r"^(\w+):", inspect.cleandoc(doc), flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def modules() -> list[ModuleType]:
    """The modules of the floor, in the order of their names."""
    names = sorted(module.name for module in pkgutil.iter_modules(procgen.engineering.__path__))
    return [importlib.import_module(f"procgen.engineering.{name}") for name in names]


def _function(thing: Any) -> Any:
    return inspect.unwrap(thing) if callable(thing) and not isinstance(thing, type) else thing


@cache
def formulas() -> dict[str, Any]:
    """Kernels, and the public functions and classes on more than plain numbers, by ``module.name``."""
    found = {}
    for home in modules():
        for name, thing in vars(home).items():
            function = _function(thing)
            if name.startswith("_") or not (inspect.isfunction(function) or isinstance(function, type)):
                continue
            if function.__module__ == home.__name__ and "Formula:" in (function.__doc__ or ""):
                found[key_of(thing)] = thing
    return found


def key_of(formula: Any) -> str:
    """``module.name`` of a formula."""
    return f"{formula.__module__.rpartition('.')[2]}.{formula.__name__}"


def libraries_of(formula: Any) -> set[str]:
    """Libraries that a formula calls, itself or through another function of the project.

    Read from the compiled code, so that nobody has to remember to declare it.
    """
    found: set[str] = set()
    seen: set[int] = set()
    waiting = [formula]
    while waiting:
        thing = waiting.pop()
        if id(thing) in seen:
            continue
        seen.add(id(thing))
        library = _library(thing)
        if library:
            found.add(library)
            continue
        function = _function(thing)
        if isinstance(thing, type):
            waiting.extend(member for member in vars(thing).values() if callable(member))
        elif isinstance(function, FunctionType):
            waiting.extend(_named(function))
    return found


def _library(thing: Any) -> str | None:
    """The distribution a thing comes from, where it is neither the project's nor Python's own."""
    name = thing.__name__ if isinstance(thing, ModuleType) else getattr(thing, "__module__", None)
    if not isinstance(name, str):
        name = type(thing).__module__
    top = name.partition(".")[0]
    return None if top in {"procgen", "builtins", "tests", *sys.stdlib_module_names} else top


def _named(function: FunctionType) -> list[Any]:
    """Functions, classes and modules of other homes that a function's code names."""
    names: set[str] = set()
    codes: list[CodeType] = [function.__code__]
    while codes:
        code = codes.pop()
        names.update(code.co_names)
        codes.extend(part for part in code.co_consts if isinstance(part, CodeType))
    things = [function.__globals__[name] for name in sorted(names) if name in function.__globals__]
    parts = [vars(m).get(n) for m in things if isinstance(m, ModuleType) for n in sorted(names)]
    return [thing for thing in [*things, *parts] if callable(thing) or isinstance(thing, ModuleType)]
