"""What every formula of this floor carries: units, valid range, source; and a face for pint quantities."""

from __future__ import annotations

import functools
import inspect
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Generic, NoReturn, ParamSpec, TypeVar

P = ParamSpec("P")
R = TypeVar("R")


@dataclass(frozen=True)
class Source:
    """Where a formula or a figure comes from."""

    id: str
    title: str
    clause: str = ""
    #: "standard", "handbook", "library", "arithmetic", "maker" or "common practice"
    kind: str = "standard"
    #: True where the figure was recalled and not read in the document itself.
    from_memory: bool = False


class OutOfRangeError(ValueError):
    """An argument lies outside the range in which a formula holds."""

    def __init__(
        self, function: str, argument: str, found: float, low: float | None, high: float | None, unit: str
    ) -> None:
        self.function = function
        self.argument = argument
        self.found = found
        self.low = low
        self.high = high
        self.unit = unit
        span = f"{'' if low is None else f'{low:g}'}..{'' if high is None else f'{high:g}'}"
        super().__init__(f"{function}: {argument} = {found:g} {unit} lies outside {span} {unit}")


@dataclass(frozen=True)
class KernelInfo:
    """Units, valid range and source of one kernel."""

    name: str
    units: Mapping[str, str]
    returns: str
    source: Source
    valid: Mapping[str, tuple[float | None, float | None]]


def _closed(low: float | None, high: float | None) -> tuple[float, float]:
    """Bounds that every finite number meets where a side is open, and that infinity does not."""
    return (
        -sys.float_info.max if low is None else low,
        sys.float_info.max if high is None else high,
    )


class Kernel(Generic[P, R]):
    """A pure function on SI floats that refuses arguments outside its valid range."""

    def __init__(self, function: Callable[P, R], info: KernelInfo) -> None:
        functools.update_wrapper(self, function)
        self._function = function
        self.info = info
        names = tuple(inspect.signature(function).parameters)
        self._names = names
        self._checks = tuple(
            (index, *_closed(*info.valid[name])) for index, name in enumerate(names) if name in info.valid
        )

    def __call__(self, *args: P.args, **kwargs: P.kwargs) -> R:
        given = len(args)
        for index, low, high in self._checks:
            # The comparison is written so that NaN fails it.
            if index < given and not low <= args[index] <= high:  # type: ignore[operator]
                self._refuse(self._names[index], args[index])
        if not kwargs:
            return self._function(*args)  # type: ignore[call-arg]
        for index, low, high in self._checks:
            name = self._names[index]
            if name in kwargs and not low <= kwargs[name] <= high:  # type: ignore[operator]
                self._refuse(name, kwargs[name])
        return self._function(*args, **kwargs)

    def _refuse(self, name: str, found: Any) -> NoReturn:
        raise OutOfRangeError(
            self.info.name, name, found, *self.info.valid[name], self.info.units.get(name, "")
        )

    def quantity(self, **arguments: Any) -> Any:
        """Call with pint quantities, get a pint quantity: units are converted, wrong dimensions refused."""
        from procgen.units.registry import registry

        ureg = registry()
        plain = {
            name: given.to(self.info.units[name]).magnitude if hasattr(given, "to") else given
            for name, given in arguments.items()
        }
        result: Any = self(**plain)  # type: ignore[call-arg]
        return ureg.Quantity(result, self.info.returns)


def kernel(
    *,
    returns: str,
    source: Source,
    valid: Mapping[str, tuple[float | None, float | None]] | None = None,
    **units: str,
) -> Callable[[Callable[P, R]], Kernel[P, R]]:
    """Mark a formula: ``@kernel(T="K", returns="Pa", source=IAPWS_IF97, valid={"T": (273.15, 623.15)})``.

    Units are pint names in coherent SI ("" for a plain number); ``valid`` bounds are inclusive.
    """

    def wrap(function: Callable[P, R]) -> Kernel[P, R]:
        info = KernelInfo(function.__name__, dict(units), returns, source, dict(valid or {}))
        return Kernel(function, info)

    return wrap
