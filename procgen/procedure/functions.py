"""What templates call: worksheet values by id, parts of the machine by mark, links to other steps."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, get_args

from markupsafe import Markup

from procgen.procedure.builder import Builder
from procgen.procedure.faults import TemplateFaultError, nearest, place_of
from procgen.procedure.fragments import Token
from procgen.procedure.views import DataText, View, wrap
from procgen.profiles.waterside import Duty

REF_OPEN, REF_CLOSE = "\ue006", "\ue007"


def value_id(base: str, mark: str | None = None) -> str:
    """The id of a value, keyed by mark where one is given."""
    return f"{base}[{mark}]" if mark else base


class Functions:
    """The functions of one guide's templates."""

    def __init__(self, builder: Builder, worksheet: Any, machine: Any) -> None:
        self._builder = builder
        self._values = worksheet.values
        self._worksheet = worksheet
        self._machine = machine

    def all(self) -> dict[str, Callable[..., Any]]:
        """Every function by the name that templates call it by."""
        return {
            "v": self.v,
            "available": self.available,
            "why": self.why,
            "effects": self.effects,
            "element": self._look_up("element", self._machine.elements),
            "brew_boiler": self._look_up("brew_boiler", self._machine.brew_boilers),
            "pump": self._look_up("pump", self._machine.pumps.units),
            "hose": self._look_up("hose", self._machine.water.hoses),
            "inlet": self._look_up("inlet", self._machine.water.inlets),
            "fitting": self._look_up("fitting", self._machine.fittings),
            "pumps_for": self.pumps_for,
            "ref": self.ref,
        }

    def _value(self, base: str, mark: str | None) -> Any:
        wanted = value_id(str(base), mark)
        try:
            return self._values[wanted]
        except KeyError:
            raise TemplateFaultError(
                "template_unknown_value", found=wanted, expected=nearest(wanted, self._values)
            ) from None

    def v(self, base: str, mark: str | None = None) -> View:
        """A worksheet value."""
        value = self._value(base, mark)
        return View(value, f"v({value.id})")

    def available(self, base: str, mark: str | None = None) -> bool:
        """True where this guide has a figure for the value."""
        return bool(self._value(base, mark).status == "ok")

    def why(self, base: str, mark: str | None = None) -> DataText:
        """Why the value is unavailable here; empty where it is not."""
        return DataText(self._value(base, mark).why or "")

    def effects(self, base: str, mark: str | None = None) -> tuple[View, ...]:
        """Sentences on what moves a value, and by how much."""
        value = self._value(base, mark)
        return tuple(wrap(effect, f"effects({value.id})") for effect in self._worksheet.about(value.id))

    def pumps_for(self, duty: str) -> tuple[View, ...]:
        """The pumps that feed a path."""
        self._builder.one_of("duty", duty, get_args(Duty))
        units = self._machine.pumps.units
        return tuple(
            wrap(pump, f"machine.pumps.units[{index}]")
            for index, pump in enumerate(units)
            if duty in pump.feeds
        )

    def _look_up(self, kind: str, items: Sequence[Any]) -> Callable[[str], View]:
        def look_up(mark: str) -> View:
            for item in items:
                if item.mark == mark:
                    view: View = wrap(item, f"{kind}({mark})")
                    return view
            known = [item.mark for item in items]
            raise TemplateFaultError(
                "template_unknown_mark", kind=kind, found=str(mark), expected=nearest(str(mark), known)
            )

        return look_up

    def ref(self, item_id: str, text: str | None = None) -> Markup:
        """A link to a part, step, hold, section or symptom of this guide, wherever it stands."""
        template, line = _calling_line()
        self._builder.refs.append((str(item_id), str(text or ""), template, line))
        marker = f"{REF_OPEN}{len(self._builder.refs) - 1}{REF_CLOSE}"
        return self._builder.tokens.add(Token(marker, marker))


def _calling_line() -> tuple[str, int]:
    """The template line that called."""
    try:
        raise TemplateFaultError("template_failed", problem="")
    except TemplateFaultError as raised:
        return place_of(raised) or ("", 1)
