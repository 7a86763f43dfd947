"""An edition: the fingerprint of what a guide's reader meets.

Hashed are the pages as they go to the generator (fragments, values, findings, drawings, words), the files
beside them (our scripts and styles, the search index) and the versions of generator and theme. The place of a
step in its template is in none of them.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence

from procgen.publish.adapter import Page

LENGTH = 10


def edition_of(guide: str, pages: Sequence[Page], files: Mapping[str, bytes], facts: Sequence[str]) -> str:
    """Fingerprint of pages that do not name their edition yet, of files, and of the page frame's words."""
    digest = hashlib.sha256()

    def add(content: bytes) -> None:
        digest.update(b"%d:" % len(content))
        digest.update(content)

    add(guide.encode())
    for page in pages:
        for text in (page.path, page.title, page.markdown()):
            add(text.encode())
    for path, content in sorted(files.items()):
        add(path.encode())
        add(content)
    for text in facts:
        add(text.encode())
    return digest.hexdigest()[:LENGTH]
