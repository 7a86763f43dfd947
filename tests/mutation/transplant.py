"""A changed function put in the place of the live one, so that nothing needs to be imported again."""

from __future__ import annotations

import sys
from types import FunctionType, ModuleType
from typing import Any

from procgen.engineering.kernel import Kernel

from .operators import Mutant


def _plain(thing: Any) -> FunctionType:
    """The function under a formula's decorator or a cache."""
    while not isinstance(thing, FunctionType):
        thing = (
            thing._function
            if isinstance(thing, Kernel)
            else getattr(thing, "__wrapped__", None) or thing.fget
        )
    return thing


def _find(namespace: dict[str, Any], name: str) -> Any:
    first, *rest = name.split(".")
    thing = namespace[first]
    for part in rest:
        thing = vars(thing)[part]
    return thing


def transplant(mutant: Mutant, changed: bytes) -> bool:
    """Change the live module: everyone who holds the function, formula or class meets the change."""
    live = sys.modules[f"procgen.engineering.{mutant.module}"]
    fresh = ModuleType(live.__name__)
    fresh.__file__ = live.__file__
    exec(compile(changed, str(live.__file__), "exec"), vars(fresh))
    old, new = _find(vars(live), mutant.function), _find(vars(fresh), mutant.function)
    if mutant.where == "class":
        _class(old, new)
    else:
        put_in_place(old, new)
    return True


def put_in_place(old: Any, new: Any) -> None:
    """Make a live function or formula do what another does."""
    target, given = _plain(old), _plain(new)
    target.__code__ = given.__code__
    target.__defaults__, target.__kwdefaults__ = given.__defaults__, given.__kwdefaults__
    if isinstance(old, Kernel):
        old.info = new.info
        checks, changed = type(old).__call__, type(new).__call__
        checks.__defaults__, checks.__kwdefaults__ = changed.__defaults__, changed.__kwdefaults__
        checks.__globals__.update({**changed.__globals__, "function": checks.__globals__["function"]})


def _class(old: type, new: type) -> None:
    for name, value in vars(new).items():
        # The defaults of a named tuple are those of its static method __new__.
        given = getattr(value, "__func__", value)
        if isinstance(given, FunctionType):
            target = getattr(vars(old)[name], "__func__", vars(old)[name])
            target.__defaults__, target.__kwdefaults__ = given.__defaults__, given.__kwdefaults__
        elif not name.startswith("__"):
            setattr(old, name, value)


def caches() -> list[Any]:
    """Every cache of the floor."""
    homes = [home for name, home in sys.modules.items() if name.startswith("procgen.engineering")]
    found = [thing for home in homes for thing in vars(home).values()]
    return [thing for thing in found if hasattr(thing, "cache_clear")]


def forget() -> None:
    """Empty every cache: what was computed before the change."""
    for cache in caches():
        cache.cache_clear()
