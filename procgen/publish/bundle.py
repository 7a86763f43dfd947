"""A finished guide made ready to be without a network: the worker with its list, the zip, the one file.

All are made from the pages as they were built. The list goes by content: each file with its integrity.
"""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from collections.abc import Mapping
from pathlib import Path

from procgen.publish import keep
from procgen.publish.assets import ASSETS, light
from procgen.publish.policy import integrity
from procgen.publish.single import FIRST, page_order, single_file
from procgen.publish.trim import trimmed
from procgen.publish.words import Words

#: the one time a zip's entries carry: its bytes depend on what is in it alone
_TIME = (1980, 1, 1, 0, 0, 0)


def bundle(
    folder: Path, guide: str, edition: str, words: Words, printed: Mapping[str, int] | None = None
) -> dict[str, int]:
    """Add worker, zip and one file to a guide's folder; gives the sizes of what is offered to take away.

    ``printed`` has the size of the guide as printed, where it was.

    Raises:
        SingleError: a page holds something that one file cannot.
    """
    files = _replaced(folder, kept_files(folder))
    style, shim = ((ASSETS / f"single.{kind}").read_text(encoding="utf-8") for kind in ("css", "js"))
    single = single_file(files, page_order(files), style, shim)
    # The first page says how big the zip is that it stands in; before that is written it differs by bytes.
    files[FIRST] = keep.fill_print(files[FIRST].decode(), guide, printed or {}, words).encode()
    draft = zipped({**files, keep.WORKER_FILE: worker(files, edition, words)}, f"{guide}-{edition}")
    sizes = {"single": len(single), "zip": len(draft), **(printed or {})}
    files[FIRST] = keep.fill_sizes(files[FIRST].decode(), sizes, words).encode()
    files[keep.WORKER_FILE] = worker(files, edition, words)
    (folder / FIRST).write_bytes(files[FIRST])
    (folder / keep.WORKER_FILE).write_bytes(files[keep.WORKER_FILE])
    (folder / keep.SINGLE_FILE).write_bytes(single)
    (folder / keep.zip_name(guide)).write_bytes(zipped(files, f"{guide}-{edition}"))
    return sizes


def kept_files(folder: Path) -> dict[str, bytes]:
    """Every file of a guide that belongs to an edition on a phone, by path."""
    return {
        path: file.read_bytes()
        for file in sorted(folder.rglob("*"))
        if file.is_file() and not (path := file.relative_to(folder).as_posix()).endswith(keep.DOWNLOADS)
        if path != keep.WORKER_FILE
    }


def _replaced(folder: Path, files: Mapping[str, bytes]) -> dict[str, bytes]:
    """The files with the theme's style sheet cut down, in the folder too."""
    fewer = trimmed(files)
    for path in sorted(set(files) - set(fewer)):
        (folder / path).unlink()
        if not any((folder / path).parent.iterdir()):
            (folder / path).parent.rmdir()
    for path, content in fewer.items():
        if files.get(path) != content:
            (folder / path).write_bytes(content)
    return fewer


def worker(files: Mapping[str, bytes], edition: str, words: Words) -> bytes:
    """The worker's script with the list of its edition before it."""
    listed = {path: integrity(content) for path, content in sorted(files.items())}
    kept = {
        "edition": edition,
        "print": hashlib.sha256(json.dumps(listed).encode()).hexdigest()[:16],
        "files": listed,
        "downloads": list(keep.DOWNLOADS),
        "words": keep.worker_words(words),
    }
    code = light((ASSETS / keep.WORKER_FILE).read_text(encoding="utf-8"))
    return f"const KEPT = {json.dumps(kept, ensure_ascii=False, indent=1)};\n{code}".encode()


def zipped(files: Mapping[str, bytes], folder: str) -> bytes:
    """A zip of some files in one folder: order, times and rights are fixed."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for path, content in sorted(files.items()):
            entry = zipfile.ZipInfo(f"{folder}/{path}", _TIME)
            entry.create_system = 3
            entry.external_attr = 0o100644 << 16
            archive.writestr(entry, content, zipfile.ZIP_DEFLATED, 9)
    return packed.getvalue()
