"""Every leaf of a profile or survey as an input node: dotted path by mark, place in the file, measure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from procgen.profiles.loader import Loaded
from procgen.units.measure import Measure
from procgen.values.worksheet import Origin


@dataclass(frozen=True, slots=True)
class Leaf:
    """A typed quantity with its place."""

    name: str
    origin: Origin
    place: str
    measure: Measure


class Leaves:
    """Leaves by the object that holds them, so that a formula reads ``leaf(boiler, "volume")``."""

    def __init__(self) -> None:
        self._sections: dict[int, tuple[str, tuple[str | int, ...], Loaded[Any], Origin]] = {}
        self._cache: dict[tuple[int, str], Leaf] = {}
        self._files: dict[int, str] = {}

    def add(self, loaded: Loaded[Any], prefix: str, origin: Origin) -> None:
        """Walk a file and remember where each section stands."""
        self._walk(loaded.data, prefix, (), loaded, origin)

    def _walk(
        self, node: Any, name: str, location: tuple[str | int, ...], loaded: Loaded[Any], origin: Origin
    ) -> None:
        if isinstance(node, BaseModel):
            here: Origin = "design" if location == ("design",) else origin
            self._sections[id(node)] = (name, location, loaded, here)
            for field, child in node.__dict__.items():
                self._walk(child, f"{name}.{field}", (*location, field), loaded, origin)
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
                self._walk(child, f"{name}[{mark}]", (*location, index), loaded, origin)

    def leaf(self, section: BaseModel, field: str) -> Leaf:
        """The leaf of a section's field (which must hold a quantity)."""
        key = (id(section), field)
        found = self._cache.get(key)
        if found is None:
            name, location, loaded, origin = self._sections[id(section)]
            measure = getattr(section, field)
            line, _ = loaded.document.mark((*location, field))
            found = Leaf(f"{name}.{field}", origin, f"{self._file(loaded)}:{line}", measure)
            self._cache[key] = found
        return found

    def _file(self, loaded: Loaded[Any]) -> str:
        """The file's name as places give it."""
        name = self._files.get(id(loaded))
        if name is None:
            name = self._files[id(loaded)] = loaded.place(()).rpartition(":")[0]
        return name
