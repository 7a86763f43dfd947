"""One guide being built: what the tags of its templates say becomes parts, steps, holds and readings."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, get_args

from markupsafe import Markup

from procgen.messages.catalog import Messages
from procgen.messages.diagnostic import Diagnostic
from procgen.procedure.anchors import slug
from procgen.procedure.branches import BranchLog
from procgen.procedure.faults import TemplateFaultError, diagnostic_of, nearest
from procgen.procedure.fragments import Tokens
from procgen.procedure.model import (
    Fragment,
    Hold,
    Item,
    Notice,
    Part,
    Prose,
    Reading,
    Role,
    Section,
    Signal,
    Step,
    Symptom,
    Timer,
)
from procgen.units.kinds import Preference

HAZARDS = (
    "electricity",
    "scald",
    "hot_surface",
    "pressure",
    "automatic_start",
    "lifting",
    "slipping",
    "crushing",
    "contamination",
    "damage",
)
#: drawings that a template may name; the readiness card stands on every first page
FIGURES = (
    "water-schematic",
    "supply-diagram",
    "drain-route",
    "fill-chart",
    "heat-chart",
    "hot-water-chart",
    "timeline",
    "positioning",
)
ROLES: tuple[str, ...] = get_args(Role)
SIGNALS: tuple[str, ...] = get_args(Signal)

_ITEM_OPEN, _ITEM_CLOSE = "\ue004", "\ue005"
_ITEM = re.compile(f"{_ITEM_OPEN}(\\d+){_ITEM_CLOSE}")
_ID = re.compile(r"[a-z][a-z0-9_]*\Z")


@dataclass
class _OpenStep:
    """What stands inside a step (or hold, or symptom) while its body is rendered."""

    id: str
    tag: str
    notices: list[Notice] = field(default_factory=list)
    readings: list[Reading] = field(default_factory=list)
    timers: list[Timer] = field(default_factory=list)
    figures: list[str] = field(default_factory=list)
    expected: Fragment | None = None


@dataclass
class _OpenPart:
    id: str
    title: str
    line: int
    items: list[tuple[Item | Notice, int]] = field(default_factory=list)


class Builder:
    """State of one guide's rendering; found by the tags and filters in the template's context."""

    def __init__(
        self, folder: Path, messages: Messages, prefer: Preference, branches: BranchLog | None = None
    ) -> None:
        self.folder = folder
        self.messages = messages
        self.prefer: Preference = prefer
        self.branches = branches or BranchLog()
        self.tokens = Tokens()
        self.faults: list[Diagnostic] = []
        self.parts: list[Part] = []
        #: item id -> kind of item, where it stands, its title
        self.places: dict[str, tuple[str, str, int]] = {}
        self.titles: dict[str, str] = {}
        self.refs: list[tuple[str, str, str, int]] = []
        self._figures: dict[str, str] = {}
        self._part: _OpenPart | None = None
        self._inner: _OpenStep | None = None
        self._template = ""

    # -- templates ---------------------------------------------------------------------------------

    def run_template(self, name: str, render: Callable[[], str]) -> None:
        """Render one template; it may hold one part or none."""
        self._template, self._part, self._inner = name, None, None
        before = len(self.parts)
        try:
            rest = render()
        except Exception as error:
            # Whatever a template raises is the template's fault and is told as one.
            self.record(error)
            return
        if _ITEM.sub("", rest).strip() and not self.faults_of(name):
            line = 1
            self.faults.append(self.fault("template_text_outside_part", name, line, found=rest.strip()[:40]))
        if len(self.parts) - before > 1:
            self.faults.append(self.fault("template_two_parts", name, 1, found=self.parts[-1].id))

    def faults_of(self, name: str) -> list[Diagnostic]:
        """The faults found in one template so far."""
        return [fault for fault in self.faults if fault.path == self.folder / name]

    def fault(self, code: str, template: str, line: int, **params: str) -> Diagnostic:
        """A fault at a place in a template."""
        return Diagnostic(code, self.folder / template, line, params=params)

    def record(self, error: BaseException) -> None:
        """Keep an exception of a template as a fault."""
        self.faults.append(diagnostic_of(error, self.folder, self._template))

    def body(self, caller: Callable[[], str]) -> str:
        """The text between a tag and its end; a fault in it ends this body only."""
        try:
            return str(caller())
        except Exception as error:
            self.record(error)
            return ""

    # -- items -------------------------------------------------------------------------------------

    def part(self, template: str, line: int, body: Callable[[], str], part_id: str, title: str) -> Markup:
        """A chapter: everything between its tags, split into steps, holds and prose."""
        if self._part is not None:
            raise TemplateFaultError("template_tag_misplaced", tag="part", expected="outside every other tag")
        part_id = self.check_id(part_id)
        title = self.tokens.plain(title)
        self._claim(part_id, "part", title, template, line)
        opened = self._part = _OpenPart(part_id, title, line)
        text = self.body(body)
        items = self._split(opened, text, template)
        self._part = None
        number = int(template[:2]) if template[:2].isdigit() else 0
        self.parts.append(Part(part_id, opened.title, number, items, template))
        return Markup("")

    def section(self, template: str, line: int, section_id: str, title: str) -> Markup:
        """A heading inside a part."""
        item_id = self._item_id("section", section_id, "")
        title = self.tokens.plain(title)
        self._claim(item_id, "section", title, template, line)
        return self._place(Section(item_id, title), line)

    def step(
        self,
        template: str,
        line: int,
        body: Callable[[], str],
        step_id: str,
        title: str,
        role: str,
        minutes: float,
        hazards: Any = (),
        mark: str | None = None,
    ) -> Markup:
        """One action."""
        self.one_of("role", role, ROLES)
        for hazard in hazards:
            self.one_of("hazard", hazard, HAZARDS)
        if isinstance(minutes, bool) or not isinstance(minutes, int | float) or minutes < 0:
            raise TemplateFaultError("template_minutes", found=str(minutes))
        inner, source = self._open("step", template, line, step_id, title, mark, body)
        step = Step(
            id=inner.id,
            title=self.tokens.plain(title),
            role=role,  # type: ignore[arg-type]
            minutes=float(minutes),
            hazards=tuple(str(hazard) for hazard in hazards),
            notices=tuple(inner.notices),
            body=self.tokens.fragment(source, template, line),
            expected=inner.expected,
            readings=tuple(inner.readings),
            timers=tuple(inner.timers),
            figures=tuple(inner.figures),
            mark=str(mark or ""),
        )
        return self._place(step, line)

    def hold(
        self, template: str, line: int, body: Callable[[], str], hold_id: str, title: str, by: str
    ) -> Markup:
        """A point that may not be passed before someone named has confirmed it."""
        self.one_of("role", by, ROLES)
        inner, source = self._open("hold", template, line, hold_id, title, None, body)
        fragment = self.tokens.fragment(source, template, line)
        return self._place(Hold(inner.id, self.tokens.plain(title), by, fragment), line)  # type: ignore[arg-type]

    def symptom(
        self,
        template: str,
        line: int,
        body: Callable[[], str],
        symptom_id: str,
        title: str,
        mark: str | None = None,
    ) -> Markup:
        """One entry of the fault finding."""
        inner, source = self._open("symptom", template, line, symptom_id, title, mark, body)
        fragment = self.tokens.fragment(source, template, line)
        item = Symptom(
            inner.id, self.tokens.plain(title), fragment, tuple(inner.notices), mark=str(mark or "")
        )
        return self._place(item, line)

    def notice(self, template: str, line: int, body: Callable[[], str], signal: str, hazard: str) -> Markup:
        """Danger, warning, caution or notice; inside a step it stands before the step's text."""
        self.one_of("signal", signal, SIGNALS)
        self.one_of("hazard", hazard, HAZARDS)
        fragment = self.tokens.fragment(self.body(body), template, line)
        notice = Notice(signal, hazard, fragment)  # type: ignore[arg-type]
        if self._inner is not None and self._inner.tag != "hold":
            self._inner.notices.append(notice)
            return Markup("")
        if self._inner is not None:
            raise TemplateFaultError("template_tag_misplaced", tag="notice", expected="before the hold")
        return self._place(notice, line)

    def expect(self, template: str, line: int, body: Callable[[], str]) -> Markup:
        """What is seen when the step went well."""
        inner = self.inside("expect")
        if inner.expected is not None:
            raise TemplateFaultError("template_second_expect", found=inner.id)
        inner.expected = self.tokens.fragment(self.body(body), template, line)
        return Markup("")

    # -- helpers -----------------------------------------------------------------------------------

    def inside(self, tag: str) -> _OpenStep:
        """The step that a tag stands in; a tag outside one is a fault."""
        if self._inner is None or self._inner.tag != "step":
            raise TemplateFaultError("template_tag_misplaced", tag=tag, expected="inside a step")
        return self._inner

    def figure(self, template: str, line: int, figure_id: str) -> Markup:
        """Where a drawing stands; each stands once in a guide."""
        inner = self.inside("figure")
        self.one_of("figure", figure_id, FIGURES)
        if figure_id in self._figures:
            first = self._figures[figure_id]
            raise TemplateFaultError("template_figure_twice", found=figure_id, first=first)
        self._figures[figure_id] = f"{template}:{line}"
        inner.figures.append(str(figure_id))
        return Markup("")

    def add_to_step(self, tag: str, item: Reading | Timer) -> Markup:
        """Keep a reading or a timer of the step."""
        inner = self.inside(tag)
        if isinstance(item, Reading):
            self._unique(item.id, [reading.id for reading in inner.readings])
            inner.readings.append(item)
        else:
            self._unique(item.id, [timer.id for timer in inner.timers])
            inner.timers.append(item)
        return Markup("")

    def check_id(self, item_id: str) -> str:
        """An id as the tags take it: small letters, digits and underscores."""
        if not isinstance(item_id, str) or not _ID.match(item_id):
            raise TemplateFaultError("template_bad_id", found=str(item_id))
        return str(item_id)

    def one_of(self, what: str, found: object, known: tuple[str, ...]) -> None:
        """Refuse a word that is none of the known ones."""
        if found not in known:
            raise TemplateFaultError(
                "template_unknown_word", what=what, found=str(found), expected=nearest(str(found), known)
            )

    def _open(
        self,
        tag: str,
        template: str,
        line: int,
        item_id: str,
        title: str,
        mark: str | None,
        body: Callable[[], str],
    ) -> tuple[_OpenStep, str]:
        full = self._item_id(tag, item_id, mark or "")
        if self._inner is not None:
            raise TemplateFaultError(
                "template_tag_misplaced", tag=tag, expected=f"outside {self._inner.tag} '{self._inner.id}'"
            )
        self._claim(full, tag, self.tokens.plain(title), template, line)
        inner = self._inner = _OpenStep(full, tag)
        try:
            source = self.body(body)
        finally:
            self._inner = None
        return inner, source

    def _item_id(self, tag: str, item_id: str, mark: str) -> str:
        if self._part is None:
            raise TemplateFaultError("template_tag_misplaced", tag=tag, expected="inside a part")
        full = f"{self._part.id}.{self.check_id(item_id)}"
        return f"{full}[{mark}]" if mark else full

    def _claim(self, item_id: str, kind: str, title: str, template: str, line: int) -> None:
        key = slug(item_id)
        if key in self.places:
            _, first_template, first_line = self.places[key]
            raise TemplateFaultError(
                "template_duplicate_id", kind=kind, found=item_id, first=f"{first_template}:{first_line}"
            )
        if not title:
            raise TemplateFaultError("template_empty_title", kind=kind, found=item_id)
        self.places[key] = (kind, template, line)
        self.titles[item_id] = title

    def _unique(self, item_id: str, known: list[str]) -> None:
        if item_id in known:
            raise TemplateFaultError("template_duplicate_in_step", found=item_id)

    def _place(self, item: Item | Notice, line: int) -> Markup:
        if self._part is None or self._inner is not None:
            tag = type(item).__name__.lower()
            raise TemplateFaultError("template_tag_misplaced", tag=tag, expected="inside a part")
        self._part.items.append((item, line))
        return Markup(f"\n\n{_ITEM_OPEN}{len(self._part.items) - 1}{_ITEM_CLOSE}\n\n")

    def _split(self, opened: _OpenPart, text: str, template: str) -> tuple[Item, ...]:
        pieces = _ITEM.split(text)
        items: list[Item] = []
        waiting: list[Notice] = []
        placed: set[int] = set()
        line = opened.line
        for index, piece in enumerate(pieces):
            if index % 2 == 0:
                if piece.strip():
                    items.append(Prose(self.tokens.fragment(piece, template, line), tuple(waiting)))
                    waiting = []
                continue
            if int(piece) in placed:
                continue
            placed.add(int(piece))
            item, line = opened.items[int(piece)]
            if isinstance(item, Notice):
                waiting.append(item)
                continue
            if waiting:
                items.append(Prose(Fragment("", "", (), template, line), tuple(waiting)))
                waiting = []
            items.append(item)
        if waiting:
            items.append(Prose(Fragment("", "", (), template, line), tuple(waiting)))
        for index, (lost, lost_line) in enumerate(opened.items):
            if index not in placed:
                found = getattr(lost, "id", "notice")
                self.faults.append(self.fault("template_item_not_placed", template, lost_line, found=found))
        return tuple(items)
