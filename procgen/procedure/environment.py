"""The sandboxed Jinja environment of the templates, and the templates of one folder, compiled once."""

from __future__ import annotations

import re
from functools import lru_cache
from pathlib import Path
from typing import Any

from jinja2 import (
    BaseLoader,
    Environment,
    StrictUndefined,
    Template,
    TemplateSyntaxError,
    meta,
    nodes,
    pass_context,
)
from jinja2.exceptions import TemplateNotFound
from jinja2.runtime import Context, Undefined
from jinja2.sandbox import ImmutableSandboxedEnvironment
from jinja2.visitor import NodeTransformer
from markupsafe import Markup

from procgen.messages.diagnostic import Diagnostic, InputFaultsError
from procgen.procedure.branches import Branch, BranchMarker
from procgen.procedure.faults import TemplateFaultError, diagnostic_of, nearest
from procgen.procedure.filters import BUILDER_KEY, FILTERS, concat, printable, sentence_tokens
from procgen.procedure.fragments import Token
from procgen.procedure.lint import lint
from procgen.procedure.tags import TAGS, ProcedureTags
from procgen.procedure.views import Sentence, View, data_markup

#: names that every template finds
CONTEXT_NAMES = (
    "machine",
    "site",
    "variant",
    "prefer",
    "has_site",
    "findings",
    "readiness",
    "v",
    "available",
    "why",
    "effects",
    "element",
    "brew_boiler",
    "pump",
    "hose",
    "inlet",
    "fitting",
    "pumps_for",
    "ref",
)
#: Jinja's own filters that neither make markup of data nor figures without a unit
_KEPT_FILTERS = (
    *("first", "last", "length", "list", "map", "select", "reject", "selectattr", "rejectattr"),
    *("sort", "unique", "groupby", "batch", "reverse", "min", "max", "sum", "abs", "trim"),
    *("capitalize", "items", "dictsort"),
)
_TEMPLATE_NAME = re.compile(r"\d\d-[a-z0-9]+(?:[-_][a-z0-9]+)*\.md\Z")
_UNKNOWN_TAG = re.compile(r"unknown tag '(\w+)'")
_RESERVED = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ue000-\uf8ff]")


class NamedUndefined(StrictUndefined):
    """An unknown name: a fault as soon as it is used."""

    __slots__ = ()

    def _fail_with_undefined_error(self, *_args: Any, **_kwargs: Any) -> Any:
        name = str(self._undefined_name)
        raise TemplateFaultError("template_unknown_name", found=name, expected=nearest(name, CONTEXT_NAMES))

    __iter__ = __str__ = __len__ = __eq__ = __ne__ = __bool__ = __hash__ = _fail_with_undefined_error
    __add__ = __radd__ = __sub__ = __rsub__ = __mul__ = __rmul__ = _fail_with_undefined_error
    __truediv__ = __rtruediv__ = __floordiv__ = __rfloordiv__ = _fail_with_undefined_error
    __mod__ = __rmod__ = __pos__ = __neg__ = __call__ = __getitem__ = _fail_with_undefined_error
    __lt__ = __le__ = __gt__ = __ge__ = __int__ = __float__ = _fail_with_undefined_error
    __complex__ = __pow__ = __rpow__ = __contains__ = _fail_with_undefined_error

    def __getattr__(self, name: str) -> Any:
        if name.startswith("__"):
            raise AttributeError(name)
        return self._fail_with_undefined_error()


@pass_context
def _finalize(context: Context, value: Any) -> Any:
    """What a template prints: markup as it is, text as data; a bare figure or an object is a fault."""
    if isinstance(value, Markup):
        return value
    if isinstance(value, Undefined):
        str(value)
    builder = context.parent[BUILDER_KEY]
    if isinstance(value, Sentence):
        return Markup("").join(map(builder.tokens.add, sentence_tokens(value.parts, builder.prefer)))
    text = printable(value)
    token = Token(str(data_markup(text)), text)
    return builder.tokens.add(token) if text else ""


class GuideEnvironment(ImmutableSandboxedEnvironment):
    """Jinja for procedure templates."""

    intercepted_binops = frozenset({"+", "%"})

    def getattr(self, obj: Any, attribute: str) -> Any:
        """One attribute; an unknown one is a fault with the nearest known."""
        if isinstance(obj, View):
            return obj.read(attribute)
        return self._known(obj, attribute, super().getattr(obj, attribute))

    def getitem(self, obj: Any, argument: Any) -> Any:
        """One item or attribute; an unknown one is a fault with the nearest known."""
        if isinstance(obj, View) and isinstance(argument, str):
            return obj.read(argument)
        return self._known(obj, argument, super().getitem(obj, argument))

    def _known(self, obj: Any, name: Any, found: Any) -> Any:
        if not isinstance(found, Undefined):
            return found
        if isinstance(obj, Undefined):
            str(obj)
        if not isinstance(found, NamedUndefined):  # what the sandbox forbids
            str(found)
        if obj is None:
            raise TemplateFaultError("template_attribute_of_nothing", found=str(name))
        names = obj.keys() if isinstance(obj, dict) else [n for n in dir(obj) if not n.startswith("_")]
        if isinstance(obj, list | tuple):
            raise TemplateFaultError("template_no_such_item", found=str(name), expected=str(len(obj)))
        raise TemplateFaultError(
            "template_unknown_attribute", found=str(name), expected=nearest(str(name), map(str, names))
        )

    def call_binop(self, context: Context, operator: str, left: Any, right: Any) -> Any:
        """``+`` joins data and markup as ``~`` does; ``%`` is for numbers only."""
        if operator == "%" and isinstance(left, str):
            raise TemplateFaultError("template_failed", problem="'%' takes numbers; use ~ for texts")
        if operator == "+" and isinstance(left, str) and isinstance(right, str):
            return concat(left, right)
        return super().call_binop(context, operator, left, right)


def _environment(loader: BaseLoader) -> GuideEnvironment:
    environment = GuideEnvironment(
        loader=loader,
        extensions=[ProcedureTags],
        undefined=NamedUndefined,
        autoescape=True,
        finalize=_finalize,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=False,
        auto_reload=False,
        cache_size=-1,
    )
    kept = {name: environment.filters[name] for name in _KEPT_FILTERS}
    environment.filters.clear()
    environment.filters.update(kept)
    environment.filters.update(FILTERS)
    environment.filters["concat"] = concat
    for name in ("cycler", "joiner", "lipsum", "dict"):
        environment.globals.pop(name, None)
    return environment


class Templates(BaseLoader):
    """The templates of one folder: read, checked as far as possible without a guide, compiled once."""

    def __init__(self, folder: Path, sources: dict[str, str]) -> None:
        self.folder = folder
        self.sources = sources
        self.faults: list[Diagnostic] = []
        self.branches: set[Branch] = set()
        self.environment = _environment(self)
        self._trees: dict[str, nodes.Template] = {}
        for name, source in sources.items():
            self._read(name, source)
        shared = self._assigned_names()
        for name, tree in self._trees.items():
            self._check_names(name, tree, shared if name.startswith("_") else frozenset())
        for name, tree in self._trees.items():
            self._prepare(name, tree)

    @property
    def names(self) -> list[str]:
        """Names of the templates that hold parts and can be rendered, in the order of the guide."""
        broken = {fault.path.name for fault in self.faults if fault.code in _FILTER_CODES}
        whole = [name for name in sorted(self._trees) if name not in broken]
        return [name for name in whole if not name.startswith("_")]

    def load(self, environment: Environment, name: str, globals: Any = None) -> Template:
        """Compile a template's marked tree."""
        if name not in self._trees:
            raise TemplateNotFound(name)
        code = environment.compile(self._trees[name], name, str(self.folder / name))
        return environment.template_class.from_code(environment, code, globals or {}, None)

    def _fault(self, code: str, name: str, line: int, **params: str) -> None:
        self.faults.append(Diagnostic(code, self.folder / name, line, params=params))

    def _read(self, name: str, source: str) -> None:
        if not name.startswith("_") and not _TEMPLATE_NAME.match(name):
            self._fault("template_file_name", name, 1, found=name)
        reserved = _RESERVED.search(source)
        if reserved:
            line = source.count("\n", 0, reserved.start()) + 1
            self._fault("template_character", name, line, found=f"U+{ord(reserved.group()):04X}")
            return
        try:
            self._trees[name] = self.environment.parse(source, name, str(self.folder / name))
        except TemplateSyntaxError as error:
            self.faults.append(self._syntax_fault(error, name))
            return
        self.faults.extend(lint(self.environment, self.folder / name, source))

    def _syntax_fault(self, error: TemplateSyntaxError, name: str) -> Diagnostic:
        unknown = _UNKNOWN_TAG.search(error.message or "")
        if unknown and unknown.group(1) not in _known_tags():
            params = {"found": unknown.group(1), "expected": nearest(unknown.group(1), _known_tags())}
            return Diagnostic("template_unknown_tag", self.folder / name, error.lineno, params=params)
        return diagnostic_of(error, self.folder, name)

    def _assigned_names(self) -> frozenset[str]:
        """Names that some template sets: an included one may read them."""
        found: set[str] = set()
        for tree in self._trees.values():
            found |= {node.name for node in tree.find_all(nodes.Name) if node.ctx in {"store", "param"}}
            found |= {node.name for node in tree.find_all(nodes.Macro)}
        return frozenset(found)

    def _check_names(self, name: str, tree: nodes.Template, shared: frozenset[str]) -> None:
        """Unknown names, filters and tests in every branch, taken or not."""
        environment = self.environment
        known = {*CONTEXT_NAMES, *environment.globals, *shared}
        for node in tree.find_all((nodes.Filter, nodes.Test)):
            is_filter = isinstance(node, nodes.Filter)
            registered = environment.filters if is_filter else environment.tests
            if node.name not in registered:
                code = "template_unknown_filter" if is_filter else "template_unknown_test"
                expected = nearest(node.name, registered)
                self._fault(code, name, node.lineno, found=node.name, expected=expected)
        try:
            unknown = meta.find_undeclared_variables(tree) - known
        except TemplateSyntaxError as error:  # an unknown filter stops Jinja's own walk
            if not any(fault.code in _FILTER_CODES for fault in self.faults):
                self.faults.append(diagnostic_of(error, self.folder, name))
            return
        for used in tree.find_all(nodes.Name):
            if used.name in unknown and used.ctx == "load":
                expected = nearest(used.name, known)
                self._fault("template_unknown_name", name, used.lineno, found=used.name, expected=expected)

    def _prepare(self, name: str, tree: nodes.Template) -> None:
        # A macro may call v() as the template that imports it does.
        for whole in tree.find_all(nodes.Import):
            whole.with_context = True
        for named in tree.find_all(nodes.FromImport):
            named.with_context = True
        marker = BranchMarker(name, ProcedureTags.identifier)
        marker.visit(tree)
        self.branches |= marker.branches
        _Joiner().visit(tree)
        tree.set_environment(self.environment)


def _known_tags() -> list[str]:
    own = [*TAGS, *(f"end{name}" for name, tag in TAGS.items() if tag.body)]
    paired = ["if", "for", "set", "macro", "call", "raw"]
    return [*own, *paired, *(f"end{name}" for name in paired), "elif", "else", "include", "import", "from"]


_FILTER_CODES = frozenset({"template_unknown_filter", "template_unknown_test"})


class _Joiner(NodeTransformer):
    """Makes ``a ~ b`` keep data as data beside markup."""

    def visit_Concat(self, node: nodes.Concat) -> nodes.Filter:
        """``a ~ b`` becomes ``a | concat(b)``."""
        self.generic_visit(node)
        first, *rest = node.nodes
        return nodes.Filter(first, "concat", rest, [], None, None, lineno=node.lineno)


def templates_of(folder: Path) -> Templates:
    """The templates of a folder; those already compiled with the same content are used again."""
    sources: dict[str, str] = {}
    faults: list[Diagnostic] = []
    for path in sorted(folder.glob("*.md")):
        try:
            sources[path.name] = path.read_text(encoding="utf-8-sig")
        except (OSError, UnicodeDecodeError) as error:
            faults.append(Diagnostic("unreadable_file", path, params={"problem": str(error)}))
    if faults:
        raise InputFaultsError(faults)
    return _compiled(folder, tuple(sorted(sources.items())))


@lru_cache(maxsize=8)
def _compiled(folder: Path, sources: tuple[tuple[str, str], ...]) -> Templates:
    return Templates(folder, dict(sources))
