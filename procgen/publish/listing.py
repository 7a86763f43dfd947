"""``procgen list``: the entries of a workspace, each kept as long as everything it is made from is the same.

What is kept stands in the workspace's ``.procgen/list.json``. An entry's key is a hash of the content of its
profile, its survey, the workspace's message files, the sources of this package and the versions of what
computes with them: another key is another entry, so nothing in the file can be stale. The whole list is kept
under the hash of all files that a workspace is read from; only where that differs are the heavy parts
imported, the workspace validated, and the guides judged whose key is new. A file that is not exactly what was
written here counts as none. Editions are never kept: they are read from what stands in ``site/``.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sys
import tempfile
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, dataclass, fields, replace
from importlib import metadata
from pathlib import Path
from typing import Any

from procgen.publish.manifest import Entry, editions

FILE = Path(".procgen") / "list.json"
SCHEMA = "procgen-list-1"
PACKAGE = Path(__file__).resolve().parent.parent
#: what figures, schema and words come through, beside this package
LIBRARIES = ("chemicals", "fluids", "pint", "pydantic", "pydantic-core", "PyYAML")
PROFILES, MESSAGES = Path("machine_profiles"), Path("docs_src") / "messages"
#: more than any list needs
SIZE_LIMIT = 64 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class _Sources:
    """Hashes of what a list is made from."""

    #: package, libraries and the workspace's words
    common: str
    #: profiles and surveys by their path in the workspace
    files: Mapping[str, str]

    @property
    def whole(self) -> str:
        """Key of the whole list."""
        return _digest(self.common, *(part for item in sorted(self.files.items()) for part in item))

    def key(self, *paths: str) -> str:
        """Key of an entry made from some files."""
        return _digest(self.common, *(part for path in paths for part in (path, self.files.get(path, ""))))


def listing(root: Path) -> list[Entry]:
    """All guides with readiness, revision and the edition last built.

    Raises:
        InputFaultsError: profiles, surveys or message files cannot be read.
    """
    kept = _read(root / FILE)
    before = _sources(root)
    whole = before.whole
    entries = kept.get("whole", {}).get(whole)
    if entries is None:
        known = kept.get("guides", {})
        made = _judged(root, before, known)
        entries = list(made.values())
        # What changed while it was read belongs to no key.
        if _sources(root).whole == whole:
            _write(root, {"whole": {whole: entries}, "guides": made})
    built = editions(root / "site")
    return [replace(one, edition=built.get(one.guide)) for one in entries]


def _judged(root: Path, sources: _Sources, known: Mapping[str, Entry]) -> dict[str, Entry]:
    """Entries by key in the order of the guides; judged anew where the key is not known."""
    from procgen.messages.catalog import load
    from procgen.profiles.workspace import read_workspace
    from procgen.publish.catalogue import guide_entry

    messages = load(root)
    made: dict[str, Entry] = {}
    for guide in read_workspace(root).guides():
        paths = [guide.machine.path, *([guide.site.path] if guide.site else [])]
        key = sources.key(*(path.relative_to(root).as_posix() for path in paths))
        made[key] = known[key] if key in known else guide_entry(guide, messages)
    return made


def _sources(root: Path) -> _Sources:
    own = [path for path in PACKAGE.rglob("*") if path.suffix in {".py", ".yml"}]
    words = [path for path in (root / MESSAGES).glob("*") if path.is_file()]
    common = _digest(
        *(part for path in sorted(own) for part in (str(path.relative_to(PACKAGE)), _content(path))),
        *(part for path in sorted(words) for part in (path.name, _content(path))),
        *(f"{name} {_version(name)}" for name in LIBRARIES),
        sys.version,
    )
    files = [path for kind in ("models", "sites") for path in (root / PROFILES / kind).glob("*")]
    return _Sources(
        common,
        {path.relative_to(root).as_posix(): _content(path) for path in files if path.is_file()},
    )


def _version(library: str) -> str:
    try:
        return metadata.version(library)
    except metadata.PackageNotFoundError:
        return "none"


def _content(path: Path) -> str:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        # Reading it for good will say what is wrong.
        return f"unreadable {error.errno}"


def _digest(*parts: str) -> str:
    digest = hashlib.sha256()
    for part in parts:
        content = part.encode("utf-8", "surrogateescape")
        digest.update(f"{len(content)} ".encode() + content)
    return digest.hexdigest()


def _read(path: Path) -> dict[str, Any]:
    """What was kept; nothing where the file is not exactly what ``_write`` writes."""
    try:
        if path.stat().st_size > SIZE_LIMIT:
            return {}
        head, _, body = path.read_text(encoding="utf-8").partition("\n")
        if head != f"{SCHEMA} {_digest(body)}":
            return {}
        data = json.loads(body)
        whole = {str(key): [_entry(one) for one in entries] for key, entries in data["whole"].items()}
        return {"whole": whole, "guides": {str(key): _entry(one) for key, one in data["guides"].items()}}
    except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return {}


def _entry(data: Mapping[str, Any]) -> Entry:
    found = Entry(**data)
    for field in fields(Entry):
        if not _FITS[str(field.type)](getattr(found, field.name)):
            raise TypeError(field.name)
    return found


def _rows(given: Any) -> bool:
    return isinstance(given, list) and all(
        isinstance(row, list) and all(isinstance(text, str) for text in row) for row in given
    )


#: whether something read is of a field's type; a type that is not here makes a file count as none
_FITS: dict[str, Callable[[Any], bool]] = {
    "str": lambda given: isinstance(given, str),
    "int": lambda given: isinstance(given, int),
    "bool": lambda given: isinstance(given, bool),
    "str | None": lambda given: isinstance(given, str | None),
    "Mapping[str, int]": lambda given: (
        isinstance(given, dict) and all(isinstance(one, int) for one in given.values())
    ),
    "Sequence[Sequence[str]]": _rows,
}


def _write(root: Path, kept: Mapping[str, Mapping[str, Entry | Iterable[Entry]]]) -> None:
    """Put the file in place in one step; a workspace that cannot be written to goes without."""
    body = json.dumps(kept, default=asdict, ensure_ascii=False, sort_keys=False)
    path = root / FILE
    with contextlib.suppress(OSError):
        path.parent.mkdir(exist_ok=True)
        handle, aside = tempfile.mkstemp(prefix="list-", dir=path.parent)
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(f"{SCHEMA} {_digest(body)}\n{body}")
            Path(aside).replace(path)
        except OSError:
            Path(aside).unlink(missing_ok=True)
            raise
