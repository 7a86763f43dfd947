"""The one Jinja extension: block tags that build the Procedure model instead of writing text."""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from jinja2 import nodes
from jinja2.ext import Extension
from jinja2.parser import Parser
from jinja2.runtime import Context
from markupsafe import Markup

from procgen.procedure.branches import Branch
from procgen.procedure.builder import Builder
from procgen.procedure.faults import TagSyntaxError, TemplateFaultError, nearest
from procgen.procedure.filters import BUILDER_KEY
from procgen.procedure.readings import make_reading, make_timer


@dataclass(frozen=True)
class _Tag:
    """What a tag takes: words in order, words by name, and whether text follows up to its end."""

    first: str | None
    required: tuple[str, ...] = ()
    optional: tuple[str, ...] = ()
    body: bool = True


TAGS = {
    "part": _Tag("id", ("title",)),
    "section": _Tag("id", ("title",), body=False),
    "step": _Tag("id", ("title", "role", "minutes"), ("hazards", "mark")),
    "notice": _Tag("signal", ("hazard",)),
    "expect": _Tag(None),
    "reading": _Tag("id", ("label", "kind"), ("target", "low", "high", "limits", "what_if")),
    "timer": _Tag("id", ("label", "value"), ("timeout", "expected", "stop", "passed"), body=False),
    "figure": _Tag("id", body=False),
    "hold": _Tag("id", ("title", "by")),
    "symptom": _Tag("id", ("title",), ("mark",)),
    "literal": _Tag(None),
}


def _recorded(method: Callable[..., Markup]) -> Callable[..., Markup]:
    """A fault of a tag is kept and the template goes on behind it."""

    @functools.wraps(method)
    def run(self: Extension, context: Context, *arguments: Any, **named: Any) -> Markup:
        try:
            return method(self, context.parent[BUILDER_KEY], *arguments, **named)
        except TemplateFaultError as error:
            context.parent[BUILDER_KEY].record(error)
            return Markup("")

    return run


class ProcedureTags(Extension):
    """part, section, step, notice, expect, reading, timer, figure, hold, symptom, literal."""

    tags = set(TAGS)  # noqa: RUF012 -- the attribute's type is jinja's

    def parse(self, parser: Parser) -> nodes.Node | list[nodes.Node]:
        """Read one tag, refuse words that it does not take, and call its method when it is rendered."""
        token = next(parser.stream)
        name, line = token.value, token.lineno
        tag = TAGS[name]
        first, named = self._arguments(parser, name, tag, line)
        arguments: list[nodes.Expr] = [
            nodes.ContextReference(),
            nodes.Const(parser.name or ""),
            nodes.Const(line),
            *first,
        ]
        call = self.call_method(f"tag_{name}", arguments, named, lineno=line)
        if not tag.body:
            return nodes.Output([call], lineno=line)
        body = parser.parse_statements((f"name:end{name}",), drop_needle=True)
        return nodes.CallBlock(call, [], [], body, lineno=line)

    def _arguments(
        self, parser: Parser, name: str, tag: _Tag, line: int
    ) -> tuple[list[nodes.Expr], list[nodes.Keyword]]:
        first: list[nodes.Expr] = []
        named: list[nodes.Keyword] = []
        stream = parser.stream
        while stream.current.type != "block_end":
            if first or named:
                stream.expect("comma")
                if stream.current.type == "block_end":
                    break
            if stream.current.type == "name" and stream.look().type == "assign":
                key = next(stream).value
                next(stream)
                self._check_word(parser, name, tag, key, line)
                named.append(nodes.Keyword(key, parser.parse_expression(), lineno=line))
            else:
                first.append(parser.parse_expression())
        wanted = 0 if tag.first is None else 1
        missing = [word for word in tag.required if word not in {item.key for item in named}]
        if len(first) < wanted:
            missing.insert(0, f"its {tag.first}")
        if missing:
            self._refuse(parser, line, "template_tag_incomplete", tag=name, expected=", ".join(missing))
        if len(first) > wanted:
            self._refuse(parser, line, "template_tag_too_many", tag=name, expected=str(wanted))
        return first, named

    def _check_word(self, parser: Parser, name: str, tag: _Tag, key: str, line: int) -> None:
        known = (*tag.required, *tag.optional)
        if key not in known:
            expected = nearest(key, known) if known else "nothing"
            self._refuse(parser, line, "template_tag_word", tag=name, found=key, expected=expected)

    def _refuse(self, parser: Parser, line: int, code: str, **params: str) -> None:
        raise TagSyntaxError(TemplateFaultError(code, **params), line, parser.name, parser.filename)

    # -- what the tags do --------------------------------------------------------------------------

    @_recorded
    def tag_part(
        self, builder: Builder, template: str, line: int, part_id: str, caller: Any, title: str
    ) -> Markup:
        """One chapter."""
        return builder.part(template, line, caller, part_id, title)

    @_recorded
    def tag_section(self, builder: Builder, template: str, line: int, section_id: str, title: str) -> Markup:
        """A heading."""
        return builder.section(template, line, section_id, title)

    @_recorded
    def tag_step(
        self, builder: Builder, template: str, line: int, step_id: str, caller: Any, **words: Any
    ) -> Markup:
        """One action."""
        return builder.step(template, line, caller, step_id, **words)

    @_recorded
    def tag_hold(
        self, builder: Builder, template: str, line: int, hold_id: str, caller: Any, **words: Any
    ) -> Markup:
        """A hold point."""
        return builder.hold(template, line, caller, hold_id, **words)

    @_recorded
    def tag_symptom(
        self, builder: Builder, template: str, line: int, symptom_id: str, caller: Any, **words: Any
    ) -> Markup:
        """A fault and its remedy."""
        return builder.symptom(template, line, caller, symptom_id, **words)

    @_recorded
    def tag_notice(
        self, builder: Builder, template: str, line: int, signal: str, caller: Any, hazard: str
    ) -> Markup:
        """A safety notice."""
        return builder.notice(template, line, caller, signal, hazard)

    @_recorded
    def tag_expect(self, builder: Builder, template: str, line: int, caller: Any) -> Markup:
        """What is seen when the step went well."""
        return builder.expect(template, line, caller)

    @_recorded
    def tag_reading(
        self, builder: Builder, template: str, line: int, reading_id: str, caller: Any, **words: Any
    ) -> Markup:
        """A measurement."""
        full = _inner_id(builder, "reading", reading_id)
        outside = builder.tokens.fragment(builder.body(caller), template, line)
        return builder.add_to_step("reading", make_reading(builder, full, outside, **words))

    @_recorded
    def tag_timer(self, builder: Builder, template: str, line: int, timer_id: str, **words: Any) -> Markup:
        """A wait."""
        full = _inner_id(builder, "timer", timer_id)
        return builder.add_to_step("timer", make_timer(builder, full, **words))

    @_recorded
    def tag_figure(self, builder: Builder, template: str, line: int, figure_id: str) -> Markup:
        """Where a drawing stands."""
        return builder.figure(template, line, figure_id)

    @_recorded
    def tag_literal(self, builder: Builder, template: str, line: int, caller: Any) -> Markup:
        """A typed number with a unit that is meant."""
        return Markup(f'<span class="typed">{builder.body(caller).strip()}</span>')

    # -- branches ----------------------------------------------------------------------------------

    def took(self, context: Context, template: str, line: int, label: str) -> None:
        """A branch of a statement was taken."""
        context.parent[BUILDER_KEY].branches.taken.add(Branch(template, line, label))

    def took_value(self, context: Context, template: str, line: int, label: str, value: Any) -> Any:
        """A side of an inline ``if`` was taken."""
        self.took(context, template, line, label)
        return value


def _inner_id(builder: Builder, tag: str, item_id: str) -> str:
    """``part.step.reading``, with the step's mark behind: ``water.check.static[W1]``."""
    step_id = builder.inside(tag).id
    base, bracket, mark = step_id.partition("[")
    return f"{base}.{builder.check_id(item_id)}{bracket}{mark}"
