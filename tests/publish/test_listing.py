"""``procgen list`` keeps what it judged, and never shows what no longer holds."""

from __future__ import annotations

import hashlib
import json
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from procgen.messages.diagnostic import InputFaultsError
from procgen.publish import catalogue, listing
from procgen.publish.manifest import Entry, write_manifest
from tests.conftest import ROOT

MODEL, FIRST, OTHER = "pippetree-one", "aldrune-laboratory", "fennavar-museum"


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """A workspace of one model and two sites."""
    for kind, names in (("models", [MODEL]), ("sites", [FIRST, OTHER])):
        folder = tmp_path / "machine_profiles" / kind
        folder.mkdir(parents=True)
        for name in names:
            shutil.copy(ROOT / "machine_profiles" / kind / f"{name}.yml", folder)
    return tmp_path


@pytest.fixture
def judged(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    """Guides that were judged, in order."""
    seen: list[str] = []
    real = catalogue.guide_entry

    def watched(guide: Any, messages: Any) -> Entry:
        seen.append(guide.guide)
        return real(guide, messages)

    monkeypatch.setattr(catalogue, "guide_entry", watched)
    yield seen


def survey(root: Path, name: str) -> Path:
    return root / "machine_profiles" / "sites" / f"{name}.yml"


def change(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), encoding="utf-8")


def by_guide(root: Path) -> dict[str, Entry]:
    return {one.guide: one for one in listing.listing(root)}


def test_a_second_list_judges_nothing_and_says_the_same(root: Path, judged: list[str]) -> None:
    first = listing.listing(root)
    assert [one.guide for one in first] == [FIRST, OTHER, MODEL]
    assert judged == [FIRST, OTHER, MODEL]
    assert listing.listing(root) == first
    assert judged == [FIRST, OTHER, MODEL]


def test_one_changed_line_of_a_survey_changes_its_entry_and_judges_only_it(
    root: Path, judged: list[str]
) -> None:
    before = by_guide(root)
    assert before[OTHER].readiness != "not_ready"
    judged.clear()
    typed, high = "  night_pressure: 3.3 bar", "  night_pressure: 19 bar"
    change(survey(root, OTHER), typed, high)
    after = by_guide(root)
    assert judged == [OTHER]
    assert after[OTHER].readiness == "not_ready"
    assert after[FIRST] == before[FIRST]
    change(survey(root, OTHER), high, typed)
    assert by_guide(root) == before


def test_a_changed_profile_is_a_change_of_all_its_guides(root: Path, judged: list[str]) -> None:
    listing.listing(root)
    judged.clear()
    profile = root / "machine_profiles" / "models" / f"{MODEL}.yml"
    profile.write_text(profile.read_text(encoding="utf-8") + "# looked at again\n", encoding="utf-8")
    listing.listing(root)
    assert judged == [FIRST, OTHER, MODEL]


def test_words_of_the_workspace_count(root: Path, judged: list[str]) -> None:
    listing.listing(root)
    words = root / "docs_src" / "messages" / "en.yml"
    words.parent.mkdir(parents=True)
    words.write_text("site:\n  revision: Survey {revision} of {date}\n", encoding="utf-8")
    assert by_guide(root)[FIRST].revision.startswith("Survey ")
    assert judged == [FIRST, OTHER, MODEL] * 2


def test_another_package_source_or_library_judges_all_again(
    root: Path, judged: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "package"
    package.mkdir()
    (package / "formula.py").write_text("x = 1\n", encoding="utf-8")
    monkeypatch.setattr(listing, "PACKAGE", package)
    listing.listing(root)
    judged.clear()
    (package / "formula.py").write_text("x = 2\n", encoding="utf-8")
    listing.listing(root)
    assert judged == [FIRST, OTHER, MODEL]
    monkeypatch.setattr(listing, "_version", lambda _: "0")
    listing.listing(root)
    assert judged == [FIRST, OTHER, MODEL] * 2


def test_added_and_removed_surveys_come_and_go(root: Path, judged: list[str]) -> None:
    listing.listing(root)
    judged.clear()
    path = survey(root, OTHER)
    text = path.read_text(encoding="utf-8")
    path.unlink()
    assert list(by_guide(root)) == [FIRST, MODEL]
    assert judged == []
    path.write_text(text, encoding="utf-8")
    assert list(by_guide(root)) == [FIRST, OTHER, MODEL]


def test_a_fault_is_told_although_the_list_was_kept(root: Path) -> None:
    listing.listing(root)
    change(survey(root, FIRST), "kind: site", "kind: place")
    with pytest.raises(InputFaultsError):
        listing.listing(root)


def _signed(body: str, schema: str = listing.SCHEMA) -> bytes:
    digest = hashlib.sha256(f"{len(body.encode())} ".encode() + body.encode()).hexdigest()
    return f"{schema} {digest}\n{body}".encode()


def spoiled(kept: bytes) -> dict[str, bytes]:
    """Files that are not what was written."""
    body = kept.partition(b"\n")[2].decode()
    data = json.loads(body)
    flipped = json.loads(body)
    for entries in [*flipped["whole"].values(), list(flipped["guides"].values())]:
        for one in entries:
            one["readiness"] = "made up"
    number = json.loads(body)
    for entries in number["whole"].values():
        entries[0]["stops"] = "none"
    return {
        "empty": b"",
        "cut": kept[: len(kept) // 2],
        "noise": b"\xff\x00" * 50,
        "changed by hand": kept.partition(b"\n")[0] + b"\n" + json.dumps(flipped).encode(),
        "of another form": _signed(body, "procgen-list-0"),
        "another shape": _signed("[]"),
        "a field too few": _signed(json.dumps({"whole": data["whole"]})),
        "a wrong type": _signed(json.dumps(number)),
        "deep": _signed("[" * 100_000),
    }


def test_what_was_written_is_signed_as_this_test_signs(root: Path) -> None:
    listing.listing(root)
    kept = (root / listing.FILE).read_bytes()
    assert _signed(kept.partition(b"\n")[2].decode()) == kept


def test_a_spoiled_or_foreign_file_counts_as_none(root: Path, judged: list[str]) -> None:
    first = listing.listing(root)
    for name, content in spoiled((root / listing.FILE).read_bytes()).items():
        (root / listing.FILE).write_bytes(content)
        judged.clear()
        assert listing.listing(root) == first, name
        assert judged == [FIRST, OTHER, MODEL], name


def test_a_workspace_that_cannot_be_written_to_is_listed_all_the_same(root: Path, judged: list[str]) -> None:
    (root / ".procgen").write_text("no folder", encoding="utf-8")
    first = listing.listing(root)
    assert listing.listing(root) == first
    assert judged == [FIRST, OTHER, MODEL] * 2
    assert (root / ".procgen").read_text(encoding="utf-8") == "no folder"


def test_what_changed_while_it_was_read_is_not_kept(
    root: Path, judged: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    inner = catalogue.guide_entry

    def meddling(guide: Any, messages: Any) -> Entry:
        path = survey(root, OTHER)
        path.write_text(path.read_text(encoding="utf-8") + "# later\n", encoding="utf-8")
        return inner(guide, messages)

    monkeypatch.setattr(catalogue, "guide_entry", meddling)
    listing.listing(root)
    assert not (root / listing.FILE).exists()


def test_the_edition_is_that_of_the_last_build_and_never_kept(root: Path) -> None:
    first = by_guide(root)
    assert {one.edition for one in first.values()} == {None}
    site = root / "site"
    (site / FIRST).mkdir(parents=True)
    write_manifest(site, [replace(first[FIRST], edition="abc")])
    assert by_guide(root)[FIRST].edition == "abc"
    shutil.rmtree(site)
    assert by_guide(root)[FIRST].edition is None


def test_a_kept_list_is_shown_without_the_heavy_parts(root: Path) -> None:
    heavy = "{'pydantic', 'pint', 'mkdocs', 'yaml', 'jinja2', 'fluids', 'chemicals'}"
    program = (
        "import sys\nfrom procgen.cli import main\n"
        f"try: main(['list', '-C', {str(root)!r}])\nexcept SystemExit: pass\n"
        f"print(sorted({heavy} & set(sys.modules)))"
    )
    listing.listing(root)
    told = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert [line.split()[0] for line in told.stdout.splitlines()] == [FIRST, OTHER, MODEL, "[]"]
