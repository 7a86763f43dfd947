"""Message files read and filled: ``Messages.text("findings.relief.reason", margin=...)``."""

from __future__ import annotations

import difflib
import string
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

from procgen.messages.diagnostic import Diagnostic, InputFaultsError
from procgen.messages.yamltext import read

_HERE = Path(__file__).parent


class MissingMessageError(KeyError):
    """An id has no words."""


class Messages:
    """The words of one language: those of the package, overridden and added to by the workspace."""

    def __init__(self, words: Mapping[str, str], language: str = "en") -> None:
        self._words = dict(words)
        self.language = language

    def has(self, key: str) -> bool:
        """True where the id has words."""
        return key in self._words

    def keys(self) -> list[str]:
        """All ids that have words."""
        return list(self._words)

    def raw(self, key: str) -> str:
        """The words of an id with their places unfilled."""
        try:
            return self._words[key]
        except KeyError:
            near = difflib.get_close_matches(key, self._words, 1)
            raise MissingMessageError(
                f"no words for '{key}'" + (f"; nearest is '{near[0]}'" if near else "")
            ) from None

    def text(self, key: str, show: Callable[[Any], str] = str, **params: Any) -> str:
        """The words of an id, its places filled; ``show`` turns each parameter into text."""
        return _fill(self.raw(key), params, show)

    def word(self, code: str) -> str:
        """The word for a code of the schema, for example ``stainless_steel``."""
        return self.raw(f"words.{code}")

    def counted(self, noun: str, number: int) -> str:
        """A counted noun: ``1 run``, ``3 runs``."""
        form = "one" if number == 1 else "other"
        return self.text(f"counted.{noun}.{form}", n=number)

    def listing(self, items: Sequence[str]) -> str:
        """``A, B and C``."""
        if len(items) < 2:
            return "".join(items)
        return self.text("listing.last", before=", ".join(items[:-1]), last=items[-1])

    def diagnostic(self, fault: Diagnostic, root: Path | None = None) -> str:
        """One line: ``file:line:column: what was found, what was expected``."""
        path = fault.path
        if root is not None and path.is_absolute() and path.is_relative_to(root):
            path = path.relative_to(root)
        place = ":".join(str(part) for part in (path, fault.line, fault.column) if part is not None)
        return f"{place}: {_fill(self.raw('diagnostics.' + fault.code), fault.params, str)}"


class _Formatter(string.Formatter):
    def __init__(self, show: Callable[[Any], str]) -> None:
        self._show = show

    def format_field(self, value: Any, format_spec: str) -> str:
        return self._show(value)


@lru_cache(maxsize=4096)
def _plain_places(words: str) -> tuple[tuple[str, str | None], ...] | None:
    """Text before each place and the place's name; None where a place is more than a name."""
    parts = list(string.Formatter().parse(words))
    if any(
        name is not None and (spec or turned or not name.isidentifier()) for _, name, spec, turned in parts
    ):
        return None
    return tuple((text, name) for text, name, _, _ in parts)


def _fill(words: str, params: Mapping[str, Any], show: Callable[[Any], str]) -> str:
    places = _plain_places(words)
    if places is not None:
        return "".join(text if name is None else text + show(params[name]) for text, name in places)
    return _Formatter(show).vformat(words, (), params)


def _flatten(data: Any, prefix: str, into: dict[str, str]) -> None:
    for key, value in data.items():
        name = f"{prefix}{key}"
        if isinstance(value, dict):
            _flatten(value, f"{name}.", into)
        else:
            into[name] = " ".join(str(value).split())


@lru_cache(maxsize=4)
def _packaged(language: str) -> dict[str, str]:
    return _read_words(_HERE / f"{language}.yml")


def _read_words(path: Path) -> dict[str, str]:
    document = read(path)
    if document.faults:
        raise InputFaultsError(document.faults)
    if not isinstance(document.data, dict):
        raise InputFaultsError([Diagnostic("not_a_mapping", path, 1, 1)])
    words: dict[str, str] = {}
    _flatten(document.data, "", words)
    return words


def load(workspace: Path | None = None, language: str = "en") -> Messages:
    """The packaged words, with the workspace's own on top (``docs_src/messages/en.yml``)."""
    words = dict(_packaged(language))
    own = workspace / "docs_src" / "messages" / f"{language}.yml" if workspace else None
    if own is not None and own.exists():
        words.update(_read_words(own))
    return Messages(words, language)
