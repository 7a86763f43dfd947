"""What pages say about being kept on a phone, and the files that a guide offers to take away."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

from htpy import Element, a, li, p, section, span, ul
from markupsafe import Markup

from procgen.publish.job import Identity
from procgen.publish.words import Words

WORKER_FILE = "sw.js"
SINGLE_FILE = "single.html"
MANIFEST_FILE = "manifest.webmanifest"
#: ends of names of files that are offered to take away, never kept with the pages
DOWNLOADS = (".zip", ".pdf", SINGLE_FILE)
STATES = (
    "scriptless",
    "start",
    "keeping",
    "kept",
    "loose",
    "newer",
    "broken",
    "full",
    "refused",
    "insecure",
    "none",
    "folder",
    "single",
    "preview",
)
WORDS = (
    "how",
    "again",
    "show",
    "new",
    "lead",
    "changed",
    "added",
    "removed",
    "figures",
    "none",
    "more",
    "work",
    "change",
    "stay",
)
_SIZE = "<!--size:{}-->"
#: where the print is offered; an edition is the same with it and without
_PRINT = "<!--print-->"


def zip_name(guide: str) -> str:
    """The zip's file name."""
    return f"{guide}.zip"


def print_name(guide: str) -> str:
    """The printed guide's file name."""
    return f"{guide}-install.pdf"


def keep_place(words: Words, worker: str) -> dict[str, Any]:
    """What the theme's template reads; without a ``worker`` the pages are a preview."""
    texts = {name: words.messages.raw(f"site.keep.{name}") for name in WORDS}
    says = {state: words.messages.raw(f"site.keep.says.{state}") for state in STATES}
    return {**texts, "says": says, "worker": worker}


def keep_facts(words: Words) -> list[str]:
    """The words again, for the fingerprint of an edition."""
    place = keep_place(words, "")
    return [str(place["says"]), *(str(place[name]) for name in WORDS), *worker_words(words).values()]


def worker_words(words: Words) -> dict[str, str]:
    """What the worker answers where it has no page."""
    return {name: words.messages.raw(f"site.keep.{name}") for name in ("missing", "download")}


def manifest(identity: Identity) -> bytes:
    """The web app manifest: name and icon on a home screen."""
    content = {
        "name": identity.title,
        "short_name": identity.site or identity.machine,
        "start_url": "index.html",
        "scope": "./",
        "display": "standalone",
        "background_color": "#f6f4ee",
        "theme_color": "#17312f",
        "icons": [
            {"src": "assets/icon.svg", "sizes": "any", "type": "image/svg+xml"},
            {"src": "assets/icon-180.png", "sizes": "180x180", "type": "image/png"},
            {"src": "assets/icon-512.png", "sizes": "512x512", "type": "image/png"},
        ],
    }
    return (json.dumps(content, ensure_ascii=False, indent=1) + "\n").encode()


def downloads(identity: Identity, edition: str, words: Words) -> Element:
    """The files to take away. Their sizes are known only when they are made: ``fill_sizes`` puts them in."""
    return section(data_only="site")[
        p[words("downloads.lead")],
        ul(".downloads")[_downloads(identity.guide, words)],
        p(".small")[words("downloads.lost", edition=edition)],
    ]


def _downloads(guide: str, words: Words) -> Iterator[Element | Markup]:
    yield _download("single", SINGLE_FILE, f"{guide}.html", words)
    yield _download("zip", zip_name(guide), True, words)
    yield Markup(_PRINT)


def _download(kind: str, name: str, save_as: str | bool, words: Words) -> Element:
    return li[
        a(href=name, download=save_as)[
            span(".downloads__name")[words(f"downloads.{kind}")],
            span(".downloads__size")[Markup(_SIZE.format(kind))],
            span(".downloads__what")[words(f"downloads.{kind}_what")],
        ]
    ]


def fill_print(page: str, guide: str, sizes: Mapping[str, int], words: Words) -> str:
    """Offer the guide as printed, where it was."""
    offered = str(_download("print", print_name(guide), True, words)) if "print" in sizes else ""
    return page.replace(_PRINT, offered)


def fill_sizes(page: str, sizes: Mapping[str, int], words: Words) -> str:
    """Put the sizes of files into the page that offers them."""
    for kind, size in sizes.items():
        page = page.replace(_SIZE.format(kind), shown_size(size, words))
    return page


def shown_size(size: int, words: Words) -> str:
    """A file's size to two figures, never below what it is: ``340 kB``, ``2.3 MB``."""
    kilobytes = -(-size // 10_000) * 10
    if kilobytes < 1000:
        return words("downloads.kilobytes", n=kilobytes)
    tenths = -(-size // 100_000)
    return words("downloads.megabytes", n=f"{tenths // 10}.{tenths % 10}")
