"""Every leaf of a profile or survey as an input node: dotted path by mark, place in the file, measure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple
from weakref import WeakKeyDictionary

from pydantic import BaseModel

from procgen.profiles.loader import Loaded
from procgen.units.measure import Measure
from procgen.values.worksheet import Origin


class Leaf(NamedTuple):
    """A typed quantity with its place."""

    name: str
    origin: Origin
    place: str
    measure: Measure


#: an object of a file, and the name of its field
Key = tuple[int, str]


class _FileLeaves:
    """The leaves of one file: the same for every guide that is made from it."""

    def __init__(self, loaded: Loaded[Any], prefix: str, origin: Origin) -> None:
        # Not the file itself: what is kept by a file must not keep it.
        self._document = loaded.document
        self._place = loaded.place(()).rpartition(":")[0]
        self.sections: dict[int, tuple[str, tuple[str | int, ...], Origin]] = {}
        self._walk(loaded.data, prefix, (), origin)
        self.leaves: dict[Key, Leaf] = {}

    def _walk(self, node: Any, name: str, location: tuple[str | int, ...], origin: Origin) -> None:
        if isinstance(node, BaseModel):
            self.sections[id(node)] = (name, location, "design" if location == ("design",) else origin)
            for field, child in node.__dict__.items():
                if isinstance(child, BaseModel | list):
                    self._walk(child, f"{name}.{field}", (*location, field), origin)
        elif isinstance(node, list):
            for index, child in enumerate(node):
                mark = next(
                    (
                        str(getattr(child, key))
                        for key in ("mark", "id", "name", "element", "position")
                        if hasattr(child, key)
                    ),
                    str(index + 1),
                )
                self._walk(child, f"{name}[{mark}]", (*location, index), origin)

    def leaf(self, section: BaseModel, field: str) -> Leaf:
        """The leaf of a section's field."""
        key = (id(section), field)
        found = self.leaves.get(key)
        if found is None:
            name, location, origin = self.sections[id(section)]
            line, _ = self._document.mark((*location, field))
            found = Leaf(
                f"{name}.{field}", origin, f"{self._place}:{line}", _measure(getattr(section, field))
            )
            self.leaves[key] = found
        return found


def _measure(typed: Measure | int) -> Measure:
    """A quantity as typed; a whole number is a count."""
    if isinstance(typed, Measure):
        return typed
    number = float(typed)
    return Measure("count", number, number, number, str(typed), 1.0)


#: leaves of the files in use, dropped with them
_known: WeakKeyDictionary[Loaded[Any], _FileLeaves] = WeakKeyDictionary()


class Leaves:
    """Leaves by the object that holds them, so that a formula reads ``leaf(boiler, "volume")``."""

    def __init__(self) -> None:
        self._files: list[_FileLeaves] = []
        #: leaves that were read, their nominal figures, and by name where they stand
        self.read: dict[Key, Leaf] = {}
        self._figures: dict[Key, float] = {}
        self._keys: dict[str, Key] = {}

    def add(self, loaded: Loaded[Any], prefix: str, origin: Origin) -> None:
        """Remember where each section of a file stands."""
        found = _known.get(loaded)
        if found is None:
            found = _known[loaded] = _FileLeaves(loaded, prefix, origin)
        self._files.append(found)

    def leaf(self, section: BaseModel, field: str) -> Leaf:
        """The leaf of a section's field (which must hold a quantity)."""
        key = (id(section), field)
        found = self.read.get(key)
        if found is None:
            file = next(file for file in self._files if key[0] in file.sections)
            found = self.read[key] = file.leaf(section, field)
            self._figures[key] = found.measure.value
            self._keys[found.name] = key
        return found

    def standing(self, moved: Mapping[str, float]) -> tuple[dict[Key, float], dict[Key, float]]:
        """By section and field: the figures of those of the moved leaves, and of all leaves read, unmoved."""
        return {self._keys[name]: at for name, at in moved.items() if name in self._keys}, self._figures
