"""Templates and one guide's facts to a Procedure: every fault of every template is told at once."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any

from procgen.messages.catalog import Messages
from procgen.messages.diagnostic import InputFaultsError
from procgen.procedure.anchors import AnchorKind, anchor, part_page
from procgen.procedure.branches import BranchLog
from procgen.procedure.builder import Builder
from procgen.procedure.environment import Templates, templates_of
from procgen.procedure.faults import nearest
from procgen.procedure.filters import BUILDER_KEY
from procgen.procedure.functions import REF_CLOSE, REF_OPEN, Functions
from procgen.procedure.model import Fragment, Hold, Item, Part, Procedure, Section, Step, Symptom
from procgen.procedure.views import DataText, entities, wrap

_REF = re.compile(f"{REF_OPEN}(\\d+){REF_CLOSE}")


def render_procedure(
    worksheet: Any,
    machine: Any,
    site: Any | None,
    templates_dir: Path,
    messages: Messages,
    branches: BranchLog | None = None,
) -> Procedure:
    """Render every template of a folder for one guide; ``machine`` and ``site`` as loaded or their data.

    Raises:
        InputFaultsError: with every fault of every template.
    """
    machine, site = getattr(machine, "data", machine), getattr(site, "data", site)
    templates = templates_of(templates_dir)
    builder = Builder(templates_dir, messages, worksheet.prefer, branches)
    builder.branches.all |= templates.branches
    context = _context(builder, worksheet, machine, site)
    for name in templates.names:
        builder.run_template(name, _renderer(templates, name, context))
    parts = _guarded(sorted(builder.parts, key=lambda part: (part.number, part.template)))
    parts = _with_links(builder, parts)
    faults = [*templates.faults, *builder.faults]
    if faults:
        raise InputFaultsError(faults)
    return Procedure(str(worksheet.guide), tuple(parts), values_in(parts))


def _renderer(templates: Templates, name: str, context: dict[str, Any]) -> Callable[[], str]:
    def render() -> str:
        template = templates.environment.get_template(name)
        # Not Template.render: it rewrites the traceback, and the place of a fault is read from the plain one.
        return "".join(template.root_render_func(template.new_context(context)))

    return render


def _context(builder: Builder, worksheet: Any, machine: Any, site: Any | None) -> dict[str, Any]:
    return {
        BUILDER_KEY: builder,
        "machine": wrap(machine, "machine"),
        "site": wrap(site, "site"),
        "variant": wrap(_variant(machine, site), "variant"),
        "prefer": DataText(worksheet.prefer),
        "has_site": site is not None,
        "findings": wrap(tuple(worksheet.findings), "findings"),
        "readiness": DataText(worksheet.readiness),
        **Functions(builder, worksheet, machine).all(),
    }


def _variant(machine: Any, site: Any | None) -> Any:
    """The supply variant in use: the one that the site names, the model's first without a site."""
    if site is not None:
        for variant in machine.supply_variants:
            if variant.id == site.supply_variant:
                return variant
    return machine.supply_variants[0]


def _guarded(parts: list[Part]) -> list[Part]:
    """Give every hold the ids of the steps since the last one."""
    waiting: list[str] = []
    result = []
    for part in parts:
        items: list[Item] = []
        for item in part.items:
            if isinstance(item, Step):
                waiting.append(item.id)
            if isinstance(item, Hold):
                items.append(replace(item, guards=tuple(waiting)))
                waiting = []
            else:
                items.append(item)
        result.append(replace(part, items=tuple(items)))
    return result


def link_targets(parts: list[Part]) -> dict[str, tuple[str, str]]:
    """Href and title of everything that a link may point to."""
    targets: dict[str, tuple[str, str]] = {}
    for part in parts:
        page = part_page(part.number, part.id)
        targets[part.id] = (page, part.title)
        for item in part.items:
            kind = _anchor_kind(item)
            if kind is not None and isinstance(item, Step | Hold | Symptom | Section):
                targets[item.id] = (f"{page}#{anchor(kind, item.id)}", item.title)
    return targets


def _anchor_kind(item: object) -> AnchorKind | None:
    kinds: tuple[tuple[type, AnchorKind], ...] = (
        (Step, "step"),
        (Hold, "hold"),
        (Symptom, "symptom"),
        (Section, "section"),
    )
    return next((kind for cls, kind in kinds if isinstance(item, cls)), None)


def _with_links(builder: Builder, parts: list[Part]) -> list[Part]:
    """Replace the markers of cross references now that every item has its page."""
    if not builder.refs:
        return parts
    targets = link_targets(parts)
    links: list[tuple[str, str]] = []
    for item_id, text, template, line in builder.refs:
        found = targets.get(item_id) or _first_of_marked(targets, item_id)
        if found is None:
            # A template that broke off has not said all its ids: the fault behind it is told instead.
            if not builder.faults or item_id in builder.titles:
                expected = nearest(item_id, targets)
                params = {"found": item_id, "expected": expected}
                builder.faults.append(builder.fault("template_unknown_ref", template, line, **params))
            found = ("", item_id)
        href, title = found
        links.append((f'<a class="ref" href="{href}">{entities(text or title)}</a>', text or title))

    def change(fragment: Fragment) -> Fragment:
        html = _REF.sub(lambda match: links[int(match.group(1))][0], fragment.html)
        said = _REF.sub(lambda match: links[int(match.group(1))][1], fragment.text)
        return replace(fragment, html=html, text=said)

    return [map_fragments(part, change) for part in parts]


def _first_of_marked(targets: dict[str, tuple[str, str]], item_id: str) -> tuple[str, str] | None:
    """A step that is repeated by mark: its first."""
    return next((target for key, target in targets.items() if key.startswith(f"{item_id}[")), None)


def map_fragments(item: Any, change: Callable[[Fragment], Fragment]) -> Any:
    """The same item with every fragment in it changed."""
    if isinstance(item, Fragment):
        return change(item)
    if isinstance(item, tuple):
        return tuple(map_fragments(part, change) for part in item)
    if is_dataclass(item) and not isinstance(item, type):
        changed = {
            field.name: map_fragments(getattr(item, field.name), change)
            for field in fields(item)
            if is_dataclass(getattr(item, field.name)) or isinstance(getattr(item, field.name), tuple)
        }
        return replace(item, **changed)
    return item


def values_in(parts: list[Part]) -> tuple[str, ...]:
    """Ids of the worksheet values that stand in the parts, in order of first use."""
    found: dict[str, None] = {}

    def note(item: Any) -> None:
        if isinstance(item, Fragment):
            found.update(dict.fromkeys(item.values))
        elif isinstance(item, tuple):
            for part in item:
                note(part)
        elif is_dataclass(item):
            value_id = getattr(item, "value_id", "")
            if value_id:
                found.setdefault(value_id)
            for field in fields(item):
                note(getattr(item, field.name))

    for part in parts:
        note(part)
    return tuple(found)
