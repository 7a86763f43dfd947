"""A guide's folder works without a network: the worker's list, the zip and the one file hold what they must,
and no page holds what its own policy would refuse.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
import zipfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import lxml.html

from procgen.messages.diagnostic import Diagnostic

WORKER, SINGLE = "sw.js", "single.html"
_LIST = "const KEPT = "
_USED = re.compile(r'\s(?:src|href|data-engine|data-index)="([^"]*)"')
_POLICY = re.compile(r'http-equiv="Content-Security-Policy" content="([^"]*)"')
_CSS_URL = re.compile(r"(?:url\(\s*['\"]?|@import\s*['\"])([^'\")]+)")
#: what a strict policy refuses on a page of the site: inline scripts and styles, and attributes that are one
_REFUSED = re.compile(
    r"<style[\s>]|<script(?![^>]*\ssrc=)(?![^>]*type=\"application/(?:ld\+)?json\")[^>]*>"
    r"|<[a-zA-Z][^<>]*?\s(?:style|on[a-z]+)\s*=|(?:href|src)=\"javascript:",
    re.IGNORECASE,
)
_TIME = (1980, 1, 1, 0, 0, 0)


def guide_faults(folder: Path) -> list[Diagnostic]:
    """Faults of one guide's folder; none where it has no worker and is not meant to be kept."""
    path = folder / WORKER
    if not path.is_file():
        return []
    kept = _kept(path)
    if kept is None:
        return [_fault("check_worker_list", path)]
    return [
        *_list_faults(folder, path, kept),
        *_page_faults(folder, kept["files"], tuple(kept["downloads"])),
        *_zip_faults(folder, kept["files"]),
        *(single_faults(folder / SINGLE) if (folder / SINGLE).is_file() else ()),
    ]


def _kept(path: Path) -> dict[str, Any] | None:
    text = path.read_text(encoding="utf-8")
    if not text.startswith(_LIST):
        return None
    try:
        found, _ = json.JSONDecoder().raw_decode(text, len(_LIST))
    except ValueError:
        return None
    return found if isinstance(found, dict) and {"files", "downloads", "edition"} <= set(found) else None


def integrity_of(content: bytes) -> str:
    """SHA-256 as a worker's list and a policy write it."""
    return "sha256-" + base64.b64encode(hashlib.sha256(content).digest()).decode()


def _list_faults(folder: Path, path: Path, kept: dict[str, Any]) -> Iterator[Diagnostic]:
    listed, downloads = kept["files"], tuple(kept["downloads"])
    for name, expected in listed.items():
        file = folder / name
        if not file.is_file():
            yield _fault("check_worker_missing", path, file=name)
        elif integrity_of(file.read_bytes()) != expected:
            yield _fault("check_worker_integrity", path, file=name)
        if name.endswith(downloads):
            yield _fault("check_worker_download", path, file=name)
    there = (file.relative_to(folder).as_posix() for file in sorted(folder.rglob("*")) if file.is_file())
    for name in there:
        if name not in listed and name != WORKER and not name.endswith(downloads):
            yield _fault("check_worker_unlisted", path, file=name)
    edition = json.loads((folder / "edition.json").read_text(encoding="utf-8")).get("edition")
    if edition != kept["edition"]:
        yield _fault("check_worker_edition", path, found=str(edition), expected=str(kept["edition"]))


def _page_faults(folder: Path, listed: dict[str, str], downloads: tuple[str, ...]) -> Iterator[Diagnostic]:
    for path in sorted(folder.glob("*.html")):
        if path.name == SINGLE:
            continue
        text = path.read_text(encoding="utf-8")
        if not _POLICY.search(text):
            yield _fault("check_policy_missing", path)
        for found in sorted({match.group() for match in _REFUSED.finditer(text)}):
            yield _fault("check_policy_refuses", path, found=found[:80])
        for address in sorted(set(_USED.findall(text))):
            name = unquote(urlsplit(address).path)
            inside = name and not urlsplit(address).scheme and not name.startswith("../")
            if inside and name not in listed and not name.endswith(downloads):
                yield _fault("check_worker_uses", path, file=name)


def _zip_faults(folder: Path, listed: dict[str, str]) -> Iterator[Diagnostic]:
    for path in sorted(folder.glob("*.zip")):
        with zipfile.ZipFile(path) as archive:
            entries = archive.infolist()
            tops = {entry.filename.partition("/")[0] for entry in entries}
            found = {entry.filename.partition("/")[2]: integrity_of(archive.read(entry)) for entry in entries}
        expected = {**listed, WORKER: integrity_of((folder / WORKER).read_bytes())}
        for name in sorted(set(found) ^ set(expected)):
            yield _fault("check_zip_differs", path, file=name)
        for name in sorted(name for name in set(found) & set(expected) if found[name] != expected[name]):
            yield _fault("check_zip_differs", path, file=name)
        if len(tops) != 1 or len(entries) != len(found):
            yield _fault("check_zip_folder", path, found=", ".join(sorted(tops)))
        if any(entry.date_time != _TIME for entry in entries):
            yield _fault("check_zip_time", path)


def single_faults(path: Path) -> Iterator[Diagnostic]:
    """Faults of the one-file edition: whatever it would have to ask for, and links that lead nowhere."""
    tree = lxml.html.document_fromstring(path.read_bytes(), parser=lxml.html.HTMLParser(encoding="utf-8"))
    ids = Counter(str(found) for found in tree.xpath("//@id"))
    for found, times in ids.items():
        if times > 1:
            yield _fault("check_page_id", path, found=found, times=str(times))
    for element in tree.iter(lxml.etree.Element):
        for name in ("src", "href", "{http://www.w3.org/1999/xlink}href", "data-engine", "data-index"):
            address = element.get(name)
            if address is None or address.startswith("data:"):
                continue
            if address.startswith("#"):
                if unquote(address[1:]) not in ids:
                    yield _fault("check_link_anchor", path, found=address)
            elif not (element.tag == "a" and address.startswith(("https:", "http:", "mailto:", "tel:"))):
                yield _fault("check_single_outside", path, found=address)
        if element.get("style") is not None or any(name.startswith("on") for name in element.attrib):
            yield _fault("check_policy_refuses", path, found=str(element.tag))
    policy = next(iter(tree.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")), "")
    for element in [*tree.iter("script"), *tree.iter("style")]:
        content = element.text or ""
        if f"'{integrity_of(content.encode())}'" not in policy:
            yield _fault("check_policy_refuses", path, found=f"{element.tag}: {content[:60]}")
        if element.tag == "style":
            for address in _CSS_URL.findall(content):
                if not address.startswith(("data:", "#")):
                    yield _fault("check_single_outside", path, found=address)


def _fault(code: str, path: Path, **params: str) -> Diagnostic:
    return Diagnostic(code, path, params=params, level="check")
