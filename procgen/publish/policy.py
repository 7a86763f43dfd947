"""The content-security policy that every published page carries in a meta element."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable

#: Pages of the site and of the unzipped folder are the same bytes: ``file:`` is for browsers in which
#: ``'self'`` means nothing there. A page that came over the network may not load ``file:`` anyway.
SITE_POLICY = (
    "default-src 'none'; script-src 'self' file:; style-src 'self' file:; img-src 'self' data: blob: file:; "
    "connect-src 'self'; worker-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'"
)


def integrity(content: bytes) -> str:
    """The SHA-256 of some content as subresource integrity and policies write it."""
    return "sha256-" + base64.b64encode(hashlib.sha256(content).digest()).decode()


def single_policy(scripts: Iterable[str], styles: Iterable[str]) -> str:
    """The policy of the one-file edition: inlined scripts and styles by hash, nothing from anywhere."""

    def named(texts: Iterable[str]) -> str:
        return " ".join(dict.fromkeys(f"'{integrity(text.encode())}'" for text in texts)) or "'none'"

    return (
        f"default-src 'none'; script-src {named(scripts)}; style-src {named(styles)}; "
        "img-src data: blob:; base-uri 'none'; form-action 'none'"
    )
