"""What a drawing is made from: profile, survey, worksheet, procedure, words, figures with their origin."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from html import escape
from typing import Any, Protocol

from pydantic import BaseModel

from procgen.figures.canvas import Theme
from procgen.figures.quantity import Quantity, Show, shown_measure, shown_value
from procgen.figures.text import Piece, typed
from procgen.messages.catalog import Messages
from procgen.procedure.model import Procedure
from procgen.profiles.loader import Loaded
from procgen.profiles.machine import Machine
from procgen.profiles.power import SupplyVariant
from procgen.profiles.site import Site
from procgen.profiles.workspace import GuideInput
from procgen.units.kinds import Preference
from procgen.values.leaves import Leaves
from procgen.values.worksheet import Value, Worksheet


class GuideData(Protocol):
    """Everything of one guide that a drawing reads."""

    @property
    def guide(self) -> str: ...

    @property
    def machine(self) -> Loaded[Machine]: ...

    @property
    def site(self) -> Loaded[Site] | None: ...

    @property
    def worksheet(self) -> Worksheet: ...

    @property
    def procedure(self) -> Procedure: ...


@dataclass(frozen=True)
class Table:
    """The data of a drawing for those who cannot see it."""

    columns: tuple[str, ...]
    rows: tuple[tuple[Sequence[Piece] | str, ...], ...]

    def html(self, caption: str) -> str:
        """A table in the page's markup."""
        head = "".join(f'<th scope="col">{as_typed(name)}</th>' for name in self.columns)
        body = "".join(
            "<tr>" + "".join(_cell(cell, i == 0) for i, cell in enumerate(row)) + "</tr>" for row in self.rows
        )
        return (
            f"<table><caption>{as_typed(caption)}</caption><thead><tr>{head}</tr></thead>"
            f"<tbody>{body}</tbody></table>"
        )


def as_typed(text: str) -> str:
    """Escaped text, marked where profile or survey name a number with its unit."""
    escaped = escape(text, quote=False)
    return f'<span class="typed">{escaped}</span>' if typed(text) else escaped


def _cell(cell: Sequence[Piece] | str, head: bool) -> str:
    pieces = [cell] if isinstance(cell, str) else cell
    inner = "".join(as_typed(p) if isinstance(p, str) else p.html() for p in pieces)
    return f'<th scope="row">{inner}</th>' if head else f"<td>{inner}</td>"


@dataclass
class Scene:
    """One guide, ready to be drawn."""

    data: GuideData
    messages: Messages
    theme: Theme = "screen"
    #: what a drawing left out because it is not known here, as sentences
    left_out: list[str] = field(default_factory=list)

    @cached_property
    def machine(self) -> Machine:
        """The profile."""
        return self.data.machine.data

    @cached_property
    def site(self) -> Site | None:
        """The survey."""
        return self.data.site.data if self.data.site else None

    @cached_property
    def guide_input(self) -> GuideInput:
        """The guide as the values floor knows it."""
        return GuideInput(self.data.guide, self.data.machine, self.data.site)

    @cached_property
    def variant(self) -> SupplyVariant:
        """The supply variant in use."""
        return self.guide_input.variant

    @property
    def prefer(self) -> Preference:
        """The unit that comes first."""
        return self.data.worksheet.prefer

    @cached_property
    def _leaves(self) -> Leaves:
        leaves = Leaves()
        leaves.add(self.data.machine, "machine", "profile")
        if self.data.site:
            leaves.add(self.data.site, "site", "survey")
        return leaves

    def say(self, key: str, **params: Any) -> str:
        """Words of the drawings."""
        return self.messages.text(f"figures.{key}", **params)

    def word(self, code: str) -> str:
        """The word for a code."""
        return self.messages.word(code)

    def pieces(self, key: str, **params: Piece) -> list[Piece]:
        """Words with figures in their places."""
        marks = {name: f"\x00{name}\x00" for name in params}
        text = self.messages.text(f"figures.{key}", str, **marks)
        found: list[Piece] = []
        for index, part in enumerate(text.split("\x00")):
            if index % 2:
                found.append(params[part])
            elif part:
                found.append(part)
        return found

    def value(self, identifier: str) -> Value | None:
        """A worksheet value if this guide has it as one figure."""
        value = self.data.worksheet.values.get(identifier)
        return value if value is not None and value.ok and value.value is not None else None

    def q(self, identifier: str, show: Show = "span") -> Quantity | None:
        """A worksheet figure; None, and said, where it is unavailable."""
        value = self.data.worksheet.values.get(identifier)
        if value is None:
            return None
        if not value.ok or value.value is None:
            self.miss(value)
            return None
        return shown_value(value, self.prefer, show)

    def miss(self, value: Value) -> None:
        """Note a value that the drawing has to leave out."""
        sentence = self.say("left_out_value", title=value.title, why=value.why)
        if sentence not in self.left_out:
            self.left_out.append(sentence)

    def m(self, section: BaseModel | None, name: str, show: Show = "pair") -> Quantity | None:
        """A typed quantity of profile or survey; None where nothing is typed."""
        if section is None or getattr(section, name) is None:
            return None
        leaf = self._leaves.leaf(section, name)
        return shown_measure(leaf.measure, leaf.name, self.prefer, show)

    def need(self, section: BaseModel, name: str, show: Show = "pair") -> Quantity:
        """A quantity that the schema asks for."""
        found = self.m(section, name, show)
        assert found is not None
        return found


def present(*lines: Sequence[Piece] | str | None) -> Iterator[Sequence[Piece] | str]:
    """Lines that have something to say."""
    for line in lines:
        if line:
            yield line
