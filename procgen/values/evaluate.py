"""``evaluate(guide, messages) -> Worksheet``: the whole graph of one guide with ranges and findings."""

from __future__ import annotations

import contextlib
import gc
from collections.abc import Callable, Iterator
from typing import Any

from procgen.messages.catalog import Messages
from procgen.profiles.workspace import GuideInput
from procgen.units.kinds import KINDS
from procgen.units.show import step_for
from procgen.values import catalogue
from procgen.values.define import Definition, UnavailableError, source_of
from procgen.values.leaves import Leaf
from procgen.values.ranges import spans
from procgen.values.reader import Evaluation, Facts, Read, Reader, Record
from procgen.values.reasons import reason_text
from procgen.values.rules import judge
from procgen.values.sensitivity import effects
from procgen.values.worksheet import Input, Series, Value, Worksheet


def evaluate(guide: GuideInput, messages: Messages) -> Worksheet:
    """Evaluate every value of a guide at nominal inputs and over their ranges, then every readiness rule."""
    with _no_collection():
        return _worksheet(guide, messages)


@contextlib.contextmanager
def _no_collection() -> Iterator[None]:
    """Without the cycle collector: an evaluation makes many objects that soon die, and no cycles of them.

    What is left counts as old at once: else the next object made anywhere has all of it looked through.
    """
    if not gc.isenabled():
        yield
        return
    gc.disable()
    try:
        yield
    finally:
        if not gc.get_freeze_count():
            gc.freeze()
            gc.unfreeze()
        gc.enable()


def _worksheet(guide: GuideInput, messages: Messages) -> Worksheet:
    facts = Facts(guide)
    nominal = nominal_evaluation(facts)
    names = list(nominal.definitions)
    nominal.spans = spans(nominal, [name for name in names if not nominal.definitions[name][0].after])
    _evaluate(nominal, after=True)
    builder = _Builder(nominal, messages)
    values = {name: builder.value(name) for name in names}
    worksheet = Worksheet(
        guide.guide,
        guide.machine.id,
        guide.site.id if guide.site else None,
        facts.site.units if facts.site else "metric",
        values,
    )
    return Worksheet(
        worksheet.guide,
        worksheet.machine_id,
        worksheet.site_id,
        worksheet.prefer,
        values,
        judge(facts, worksheet, messages),
        effects(nominal, worksheet, messages),
    )


def nominal_evaluation(facts: Facts) -> Evaluation:
    """All values of a guide at nominal inputs."""
    evaluation = Evaluation(facts, _members(facts))
    _evaluate(evaluation, after=False)
    return evaluation


def _evaluate(evaluation: Evaluation, *, after: bool) -> None:
    for name, (definition, _) in evaluation.definitions.items():
        if definition.after == after:
            evaluation.settle(name)


def _members(facts: Facts) -> dict[str, tuple[Definition, str]]:
    """Every id of this guide: plain values, members of families by mark, and the worst of each family."""
    members: dict[str, tuple[Definition, str]] = {}
    reader = Reader(Evaluation(facts, {}), Record())
    for definition in catalogue.definitions():
        if definition.keys is None:
            members[definition.id] = (definition, "")
            continue
        for key in definition.keys(reader):
            members[f"{definition.id}[{key}]"] = (definition, key)
        if definition.worst:
            members[definition.id] = (_worst(definition), "")
    return members


def _worst(definition: Definition) -> Definition:
    picks: dict[str, Callable[[list[float]], float]] = {"highest": max, "lowest": min, "sum": sum}
    pick = picks[definition.worst]

    def compute(reader: Reader) -> Any:
        results = []
        reason: UnavailableError | None = None
        assert definition.keys is not None
        for key in definition.keys(reader):
            try:
                results.append(reader.value(f"{definition.id}[{key}]", f"x_{key}"))
            except UnavailableError as error:
                reason = error
        if not results:
            raise reason or UnavailableError("no_members")
        return pick(results)

    name = {"highest": "max", "lowest": "min", "sum": "sum"}[definition.worst]
    formula = f"{name}(members)"
    return Definition(
        definition.id,
        definition.kind,
        compute,
        definition.source,
        formula,
        "",
        definition.digits,
        definition.step,
        definition.typed,
    )


def _kind(evaluation: Evaluation, name: str) -> str:
    kind = evaluation.definitions[name][0].kind
    return kind if isinstance(kind, str) else kind(evaluation.facts)


def _result(evaluation: Evaluation, name: str) -> Any:
    try:
        return evaluation.get(name)
    except UnavailableError:
        return None


def _step(evaluation: Evaluation, name: str) -> float:
    """SI step of the digits a value is shown with."""
    definition = evaluation.definitions[name][0]
    number, kind = _result(evaluation, name), _kind(evaluation, name)
    if definition.typed:
        steps = [_typed_step(evaluation, read, kind) for read in evaluation.records[name].reads.values()]
        if any(steps):
            return min(step for step in steps if step)
    if definition.step is not None:
        return definition.step
    known = isinstance(number, int | float) and kind in KINDS
    return step_for(float(number), kind, definition.digits) if known else 0.0


def _typed_step(evaluation: Evaluation, read: Leaf | str, kind: str) -> float:
    """Step of what a value hands on; nothing where it is of another kind."""
    if isinstance(read, Leaf):
        return read.measure.step if read.measure.kind == kind else 0.0
    return _step(evaluation, read) if _kind(evaluation, read) == kind else 0.0


class _Builder:
    """Makes the values of a worksheet from an evaluation; what several values read is made once."""

    def __init__(self, evaluation: Evaluation, messages: Messages) -> None:
        self.evaluation = evaluation
        self.messages = messages
        self.kinds = {name: _kind(evaluation, name) for name in evaluation.definitions}
        self.steps = {name: _step(evaluation, name) for name in evaluation.definitions}
        #: by symbol and what is read; values of the last round read others at their highest
        self._known: dict[bool, dict[Read, Input]] = {False: {}, True: {}}

    def value(self, name: str) -> Value:
        """One value of the worksheet."""
        evaluation, messages = self.evaluation, self.messages
        definition, key = evaluation.definitions[name]
        record = evaluation.records[name]
        result: Any = None
        why = reason = ""
        try:
            result = evaluation.get(name)
        except UnavailableError as error:
            why, reason = self._why(error), error.reason
        span = evaluation.spans.get(name)
        if span is not None and span.gap is not None and result is not None:
            why, reason = messages.text("values.gap", reason=self._why(span.gap)), span.gap.reason
        series = self._series(result) if isinstance(result, Series) else None
        at_highest = definition.after and series is None
        number = float(result) if isinstance(result, int | float) else None
        title = messages.raw(f"values.titles.{definition.id}")
        formula = _text(definition.formula, evaluation.facts, key)
        if formula in {"max(members)", "min(members)", "sum(members)"}:
            formula = _members_formula(formula, record)
        # By place, in the order of its fields: names would take as long again.
        return Value(
            name,
            "series" if series else self.kinds[name],
            f"{title} {key}" if key else title,
            "ok" if result is not None else "unavailable",
            why,
            number,
            span.low if span else number,
            span.high if span else number,
            self.steps[name],
            series,
            formula,
            _text(definition.residual, evaluation.facts, key),
            self._inputs(record, at_highest),
            source_of(definition.source, evaluation.facts),
            definition.group,
            reason,
            definition.limit,
        )

    def _series(self, series: Series) -> Series:
        """Reasons that stand in a table's cells, in words."""
        rows = tuple(
            tuple(self._why(c) if isinstance(c, UnavailableError) else c for c in row) for row in series.rows
        )
        return Series(series.columns, rows)

    def _why(self, error: UnavailableError) -> str:
        site = self.evaluation.facts.site
        return reason_text(error, self.messages, site.units if site else "metric")

    def _inputs(self, record: Record, at_highest: bool) -> tuple[Input, ...]:
        known, inputs = self._known[at_highest], []
        for key, read in record.reads.items():
            found = known.get(key)
            if found is None:
                symbol, name = key
                found = known[key] = (
                    self._leaf_input(symbol, read)
                    if isinstance(read, Leaf)
                    else self._value_input(symbol, name, at_highest)
                )
            inputs.append(found)
        return tuple(inputs)

    @staticmethod
    def _leaf_input(symbol: str, read: Leaf) -> Input:
        m = read.measure
        return Input(
            read.name, read.origin, read.place, m.kind, m.value, m.low, m.high, m.step, symbol, m.text
        )

    def _value_input(self, symbol: str, read: str, at_highest: bool) -> Input:
        result = _result(self.evaluation, read)
        span = self.evaluation.spans.get(read) if at_highest else None
        if span is not None:
            result = span.high
        number = float(result) if isinstance(result, int | float) else None
        return Input(read, "value", "", self.kinds[read], number, number, number, self.steps[read], symbol)


def _text(text: Any, facts: Facts, key: str) -> str:
    """A formula's text, which may depend on the machine and on the member of a family."""
    if isinstance(text, str):
        return text
    return str(text(facts, key) if key and text.__code__.co_argcount > 1 else text(facts))


def _members_formula(formula: str, record: Record) -> str:
    return formula.replace("members", ", ".join(symbol for symbol, _ in record.reads))
