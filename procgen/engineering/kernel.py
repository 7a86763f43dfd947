"""What every formula of this floor carries: units, valid range, source; and a face for pint quantities."""

from __future__ import annotations

import functools
import inspect
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import FunctionType
from typing import TYPE_CHECKING, Any, Generic, NoReturn, ParamSpec, TypeVar

#: Where the checks of arguments stand in a traceback.
CHECKS = "<checks of arguments>"
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

    if TYPE_CHECKING:
        # Each kernel has its own, see ``_checked``.
        def __call__(self, *args: P.args, **kwargs: P.kwargs) -> R: ...

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
        # Python looks for what a call does in the class, and not at the object.
        own = type(Kernel.__name__, (Kernel,), {"__call__": staticmethod(_checked(function, info))})
        found: Kernel[P, R] = own(function, info)
        return found

    return wrap


def _checked(function: Callable[..., R], info: KernelInfo) -> Callable[..., R]:
    """A function of the same signature that looks at each argument and passes all on.

    It is written out, as named tuples are: a guide calls formulas some thousand times, and a loop over
    arguments takes longer than most of them.
    """
    signature = inspect.signature(function)
    plain = [p.replace(annotation=p.empty, default=p.empty) for p in signature.parameters.values()]
    taken = signature.replace(parameters=plain, return_annotation=inspect.Signature.empty)
    scope: dict[str, Any] = {"function": function, "refuse": functools.partial(_refuse, info)}
    lines = [f"def checked{taken}:"]
    for name, ends in info.valid.items():
        scope[f"low_{name}"], scope[f"high_{name}"] = _closed(*ends)
        # The comparison is written so that NaN fails it.
        lines.append(f"    if not low_{name} <= {name} <= high_{name}: refuse({name!r}, {name})")
    given = [f"{p.name}={p.name}" if p.kind is p.KEYWORD_ONLY else p.name for p in plain]
    lines.append(f"    return function({', '.join(given)})")
    exec(compile("\n".join(lines), CHECKS, "exec"), scope)
    checked: FunctionType = scope["checked"]
    checked.__qualname__ = function.__qualname__
    bare = inspect.unwrap(function)
    checked.__defaults__, checked.__kwdefaults__ = bare.__defaults__, bare.__kwdefaults__
    return checked


def _refuse(info: KernelInfo, name: str, found: Any) -> NoReturn:
    raise OutOfRangeError(info.name, name, found, *info.valid[name], info.units.get(name, ""))
