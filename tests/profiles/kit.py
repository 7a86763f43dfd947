"""A demo file with one thing changed, loaded, and what is said about it."""

from __future__ import annotations

import re
from pathlib import Path

from procgen.messages.catalog import Messages
from procgen.profiles.loader import load
from procgen.profiles.machine import Machine
from procgen.profiles.machine_rules import MACHINE_RULES
from procgen.profiles.site import Site
from procgen.profiles.site_rules import SITE_RULES
from tests.conftest import ROOT

#: old text, new text
Change = tuple[str, str]


def changed(name: str, *changes: Change) -> str:
    """The text of a demo file with some of it replaced, at its first place; it must be there."""
    text = (ROOT / "machine_profiles" / name).read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text, f"{name} has no {old!r}"
        text = text.replace(old, new, 1)
    return text


def said_of(folder: Path, name: str, text: str, words: Messages) -> list[str]:
    """What is said about a file of this name: each line without the file's name."""
    path = folder / Path(name).name
    path.write_text(text, encoding="utf-8")
    if name.startswith("sites/"):
        loaded, faults = load(path, folder, Site, SITE_RULES)
    else:
        loaded, faults = load(path, folder, Machine, MACHINE_RULES)
    assert (loaded is None) == bool(faults)
    return [words.diagnostic(fault, folder).removeprefix(path.name + ":") for fault in faults]


def pointed(folder: Path, name: str, words: Messages, *changes: Change) -> list[str]:
    """What is said about a changed demo file, the place shown as a sign in the line it points into.

    ``mark: »"31" | groups[0].mark: ...`` instead of ``32:11: groups[0].mark: ...``: the test stays right when
    the demo file gains a line above.
    """
    text = changed(name, *changes)
    shown = []
    for said in said_of(folder, name, text, words):
        match = re.fullmatch(r"(\d+):(\d+): (.*)", said)
        assert match, said
        line, column = text.splitlines()[int(match[1]) - 1], int(match[2]) - 1
        shown.append(f"{line[:column]}»{line[column:]}".strip() + " | " + match[3])
    return shown
