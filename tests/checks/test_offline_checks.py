"""Each fault of what a guide carries to work without a network is found, and a whole guide has none."""

from __future__ import annotations

import json
import shutil
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from procgen.checks.offline import guide_faults
from tests.phone.kit import make_guide

GUIDE = "ellunby-bakery"


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A guide as it is published."""
    folder = tmp_path_factory.mktemp("whole") / GUIDE
    make_guide(folder)
    return folder


@pytest.fixture
def guide(whole: Path, tmp_path: Path) -> Path:
    """A copy to spoil."""
    return Path(shutil.copytree(whole, tmp_path / GUIDE))


def codes(folder: Path) -> set[tuple[str, str]]:
    """Faults with the file each names or was found in."""
    return {(fault.code, fault.params.get("file", fault.path.name)) for fault in guide_faults(folder)}


def test_a_whole_guide_has_no_fault(whole: Path) -> None:
    assert guide_faults(whole) == []


def test_a_folder_without_a_worker_is_not_judged(tmp_path: Path) -> None:
    assert guide_faults(tmp_path) == []


def edit(name: str, old: str, new: str) -> Callable[[Path], None]:
    def spoil(folder: Path) -> None:
        text = (folder / name).read_text(encoding="utf-8")
        assert old in text
        (folder / name).write_text(text.replace(old, new, 1), encoding="utf-8")

    return spoil


def gone(folder: Path) -> None:
    (folder / "figures.html").unlink()


def more(folder: Path) -> None:
    (folder / "more.css").write_text("", encoding="utf-8")


def other_edition(folder: Path) -> None:
    found = json.loads((folder / "edition.json").read_text(encoding="utf-8"))
    (folder / "edition.json").write_text(json.dumps({**found, "edition": "x"}), encoding="utf-8")


def stale_zip(folder: Path) -> None:
    path = folder / f"{GUIDE}.zip"
    with zipfile.ZipFile(path) as archive:
        entries = [(entry, archive.read(entry)) for entry in archive.infolist()]
    with zipfile.ZipFile(path, "w") as archive:
        for entry, content in entries:
            archive.writestr(entry, content + (b" " if entry.filename.endswith("03-fill.html") else b""))


def zip_of_today(folder: Path) -> None:
    path = folder / f"{GUIDE}.zip"
    with zipfile.ZipFile(path, "a") as archive:
        entry = zipfile.ZipInfo("elsewhere/01-water.html", (2025, 1, 1, 0, 0, 0))
        archive.writestr(entry, b"")


@pytest.mark.parametrize(
    ("spoil", "code", "named"),
    [
        (edit("sw.js", "const KEPT", "const KEEP"), "check_worker_list", "sw.js"),
        (gone, "check_worker_missing", "figures.html"),
        (edit("01-water.html", "Pour test", "Pour  test"), "check_worker_integrity", "01-water.html"),
        (more, "check_worker_unlisted", "more.css"),
        (other_edition, "check_worker_edition", "sw.js"),
        (edit("01-water.html", 'rel="icon"', 'href="gone.svg"'), "check_worker_uses", "gone.svg"),
        (edit("01-water.html", "Content-Security-Policy", "x"), "check_policy_missing", "01-water.html"),
        (edit("01-water.html", "<h1", '<h1 style="color:red"'), "check_policy_refuses", "01-water.html"),
        (edit("01-water.html", "<h1", '<h1 onclick="x()"'), "check_policy_refuses", "01-water.html"),
        (edit("01-water.html", "</body>", "<script>x()</script>"), "check_policy_refuses", "01-water.html"),
        (edit("01-water.html", "</body>", "<style></style>"), "check_policy_refuses", "01-water.html"),
        (stale_zip, "check_zip_differs", "03-fill.html"),
        (zip_of_today, "check_zip_time", f"{GUIDE}.zip"),
        (zip_of_today, "check_zip_folder", f"{GUIDE}.zip"),
        (edit("single.html", "<h1", '<img src="x.png"><h1'), "check_single_outside", "single.html"),
        (
            edit("single.html", "<h1", '<a href="01-water.html">x</a><h1'),
            "check_single_outside",
            "single.html",
        ),
        (edit("single.html", "<h1", '<a href="#nowhere">x</a><h1'), "check_link_anchor", "single.html"),
        (edit("single.html", "<h1", '<p id="guide"></p><h1'), "check_page_id", "single.html"),
        (edit("single.html", "use strict", "use  strict"), "check_policy_refuses", "single.html"),
        (edit("single.html", "<h1", '<h1 style="x"'), "check_policy_refuses", "single.html"),
    ],
)
def test_each_fault_is_found(guide: Path, spoil: Callable[[Path], None], code: str, named: str) -> None:
    spoil(guide)
    assert (code, named) in codes(guide)
