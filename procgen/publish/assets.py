"""Our own scripts and styles, named by their content so that no cache mixes editions."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from procgen.figures import stylesheet

ASSETS = Path(__file__).parent / "assets"

#: the doing side, in the order in which its scripts rely on each other; they go out as one file
FIELD = (
    "head",
    "ui",
    "ahead",
    "places",
    "store",
    "exchange",
    "view",
    "measure",
    "readings",
    "timers",
    "steps",
    "holds",
    "record",
)


@dataclass(frozen=True, slots=True)
class Assets:
    """Paths inside a site, and the files themselves."""

    css: tuple[str, ...]
    scripts: tuple[str, ...]
    #: what a guide has and the catalogue has not: ticks, readings, timers and the record
    field_css: tuple[str, ...]
    field: tuple[str, ...]
    field_files: dict[str, bytes]
    #: runs before the page is painted
    early: str
    #: loaded when the search is first used
    engine: str
    files: dict[str, bytes]


def named(path: str, content: bytes) -> str:
    """The path with a fingerprint in it: what another edition holds never stands under the same name."""
    stem, dot, suffix = path.partition(".")
    return f"{stem}.{hashlib.sha256(content).hexdigest()[:8]}{dot}{suffix}"


def light(script: str) -> str:
    """A script without indentation and without comments that have lines to themselves: for slow networks."""
    assert not any(line.count("`") % 2 for line in script.splitlines()), "a template that goes over lines"
    script = re.sub(r"^[ \t]*/\*.*?\*/[ \t]*\n", "", script, flags=re.DOTALL | re.MULTILINE)
    return re.sub(r"^[ \t]+", "", script, flags=re.MULTILINE)


@lru_cache(maxsize=4)
def _assets(key: tuple[tuple[str, int, int], ...]) -> Assets:
    files: dict[str, bytes] = {}
    field_files: dict[str, bytes] = {}

    def put(path: str, content: bytes, into: dict[str, bytes] = files) -> str:
        if path.endswith(".js") and "/vendor/" not in path:
            content = light(content.decode()).encode()
        path = named(path, content)
        into[path] = content
        return path

    def add(name: str, to: str = "assets/", more: str = "") -> str:
        return put(to + Path(name).name, (ASSETS / name).read_bytes() + more.encode())

    styles = ("guide.css", "keep.css", "drawing.css", "figures.css", "outdoor.css", "print.css")
    css = tuple(add(name, more=stylesheet() if name == "drawing.css" else "") for name in styles)
    scripts = tuple(add(f"{name}.js") for name in ("guide", "search", "keep", "drawing", "figures"))
    field_css = (put("assets/field.css", (ASSETS / "field/field.css").read_bytes(), field_files),)
    joined = b"".join((ASSETS / f"field/{name}.js").read_bytes() for name in FIELD)
    field = (put("assets/field.js", joined, field_files),)
    early, engine = add("early.js"), add("vendor/minisearch.js", "assets/vendor/")
    for name in ("favicon.svg", "icon.svg", "icon-180.png", "icon-512.png"):
        files[f"assets/{name}"] = (ASSETS / name).read_bytes()
    files["assets/vendor/minisearch.LICENSE.txt"] = (ASSETS / "vendor/minisearch.LICENSE.txt").read_bytes()
    return Assets(css, scripts, field_css, field, field_files, early, engine, files)


def assets() -> Assets:
    """The assets as they stand on disk now; a change is noticed, so that live reload shows it."""
    stats = [(path.name, path.stat()) for path in sorted(ASSETS.rglob("*")) if path.is_file()]
    return _assets(tuple((name, stat.st_mtime_ns, stat.st_size) for name, stat in stats))
