"""``procgen print`` and ``procgen build --print``: files, messages and exit codes."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from importlib.machinery import ModuleSpec
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner, Result
from pypdf import PdfReader

from procgen.cli import main
from procgen.publish.build import build_site
from procgen.publish.printing import run as press_room
from procgen.publish.printing.documents import DOCUMENTS, Press, print_document
from procgen.publish.printing.engine import PrintFaultError, print_pdf
from procgen.publish.words import Words
from tests.conftest import ROOT
from tests.publish import fakes

Make = Callable[[Mapping[str, str | bytes]], Path]
GUIDE, OTHER = "ellunby-bakery", "fennavar-museum"


def call(*words: str) -> Result:
    return CliRunner().invoke(main, list(words))


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Prints a line instead of a guide, in this process; gives the guides in order."""
    printed: list[str] = []

    def made(job: Any, press: Press, _edition: str | None = None) -> Any:
        printed.append(f"{job.guide} {press.paper_for(job)} {press.document}")
        return print_pdf("<html lang=en><title>x</title><p>x</p></html>", "")

    real = press_room.print_all
    monkeypatch.setattr(press_room, "print_document", made)
    monkeypatch.setattr(
        press_room, "print_all", lambda jobs, paths, press, _workers: real(jobs, paths, press)
    )
    return printed


def test_one_guide_into_a_file(workspace: Make, quick: list[str], tmp_path: Path) -> None:
    file = tmp_path / "deep" / "mine.pdf"
    result = call("print", GUIDE, "--paper", "letter", "--output", str(file), "-C", str(workspace({})))
    assert (result.exit_code, result.stdout, result.stderr) == (0, f"{file}\n", "")
    assert quick == [f"{GUIDE} Letter install"]
    assert len(PdfReader(file).pages) == 1
    assert [path.name for path in file.parent.iterdir()] == ["mine.pdf"]


def test_some_guides_into_the_workspace(workspace: Make, quick: list[str]) -> None:
    root = workspace({})
    result = call("print", GUIDE, "wexlode-corner", GUIDE, "-C", str(root))
    folder = root / "build" / "print"
    assert result.stdout.splitlines() == [
        str(folder / f"{name}-install.pdf") for name in (GUIDE, "wexlode-corner")
    ]
    assert sorted(quick) == [f"{GUIDE} A4 install", "wexlode-corner Letter install"]


def test_a_file_for_several_guides_is_wrong_usage(workspace: Make) -> None:
    result = call("print", GUIDE, OTHER, "-o", "x.pdf", "-C", str(workspace({})))
    assert result.exit_code == 2
    assert "--output names one file: name one guide, or give a folder" in result.stderr


def test_an_unknown_document_lists_the_known_ones() -> None:
    result = call("print", GUIDE, "--document", "novel")
    assert result.exit_code == 2
    assert all(f"'{name}'" in result.stderr for name in DOCUMENTS)


def test_the_command_offers_every_document_and_each_has_a_title() -> None:
    option = next(one for one in main.commands["print"].params if one.name == "document")
    assert isinstance(option.type, click.Choice)
    assert list(option.type.choices) == list(DOCUMENTS)
    assert all(Words(fakes.messages())(f"print.{name}.title") for name in DOCUMENTS)


def test_an_unknown_guide_is_named(workspace: Make) -> None:
    result = call("print", "elunby-bakery", "-C", str(workspace({})))
    assert (result.exit_code, result.stderr) == (
        2,
        "procgen: no guide 'elunby-bakery'; did you mean ellunby-bakery?\n",
    )


def test_one_that_fails_names_itself_and_the_rest_is_kept(
    workspace: Make, quick: list[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    made = press_room.print_document

    def failing(job: Any, press: Press) -> Any:
        if job.guide == GUIDE:
            raise PrintFaultError(["No anchor #x"])
        return made(job, press)

    monkeypatch.setattr(press_room, "print_document", failing)
    (tmp_path / f"{GUIDE}-install.pdf").write_bytes(b"old")
    result = call("print", GUIDE, OTHER, "-o", str(tmp_path), "-C", str(workspace({})))
    assert result.exit_code == 2
    assert result.stderr == f"procgen: {GUIDE}: not printed: No anchor #x.\n"
    assert result.stdout == f"{tmp_path / f'{OTHER}-install.pdf'}\n"
    assert (tmp_path / f"{GUIDE}-install.pdf").read_bytes() == b"old"


def test_a_template_fault_is_told_with_its_line(workspace: Make, quick: list[str]) -> None:
    root = workspace({"docs_src/procedure/16-faults.md": "{{ nowhere }}\n"})
    result = call("print", GUIDE, "-C", str(root))
    assert result.exit_code == 2
    assert "docs_src/procedure/16-faults.md:1" in result.stderr
    assert "Traceback" not in result.stderr
    assert quick == []


def test_without_the_engine_one_message_says_what_to_install(
    workspace: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    class NoPango:
        def find_spec(self, name: str, _path: Sequence[str] | None, _target: Any = None) -> ModuleSpec | None:
            if name == "weasyprint":
                raise OSError(
                    "cannot load library 'libpango-1.0-0': not found.  Additionally, more\nand more"
                )
            return None

    for name in [name for name in sys.modules if name.partition(".")[0] == "weasyprint"]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setattr(sys, "meta_path", [NoPango(), *sys.meta_path])
    root = workspace({})
    for words in (("print", GUIDE), ("build", GUIDE, "--print")):
        result = call(*words, "-C", str(root))
        assert (result.exit_code, result.stdout) == (2, "")
        assert len(result.stderr.splitlines()) == 1
        for part in ("libpango-1.0-0", "apt install", "brew install pango", "MSYS2"):
            assert part in result.stderr
        assert not (root / "site").exists()


def test_a_warning_of_the_engine_fails_the_print() -> None:
    with pytest.raises(PrintFaultError, match="No anchor #nowhere"):
        print_pdf('<html lang=en><title>x</title><p><a href="#nowhere">x</a></p></html>', "")
    with pytest.raises(PrintFaultError, match="colour"):
        print_pdf("<html lang=en><title>x</title><p>x</p></html>", "p { colour: red }")


def test_nothing_is_fetched() -> None:
    with pytest.raises(PrintFaultError, match="not one of our own files"):
        print_pdf('<html lang=en><title>x</title><img alt="x" src="https://guides.example/x.png"></html>', "")
    with pytest.raises(PrintFaultError, match="not one of our own files"):
        print_pdf('<html lang=en><title>x</title><img alt="x" src="procgen:../../words.py"></html>', "")


def test_in_processes_of_their_own(tmp_path: Path) -> None:
    names = [GUIDE, OTHER]
    press = Press(fakes.messages())
    outcomes = list(
        press_room.print_all(
            [fakes.job(name) for name in names],
            [tmp_path / f"{name}.pdf" for name in names],
            press,
            workers=2,
        )
    )
    assert sorted(one.guide for one in outcomes) == names
    assert all(not one.faults and one.pages > 5 for one in outcomes)
    assert all(one.path.stat().st_size == one.size for one in outcomes)


def built(root: Path, *only: str, prints: Any = None) -> Mapping[str, bytes]:
    build_site(
        [fakes.job(name) for name in (GUIDE, OTHER)],
        root,
        fakes.messages(),
        only or None,
        draw_for=fakes.draw_for,  # type: ignore[arg-type]
        prints=prints,
    )
    site = root / "site"
    return {p.relative_to(site).as_posix(): p.read_bytes() for p in site.rglob("*") if p.is_file()}


@pytest.fixture
def plain(tmp_path: Path) -> Path:
    root = tmp_path / "plain"
    (root / "docs_src").mkdir(parents=True)
    shutil.copy(ROOT / "mkdocs.yml", root)
    shutil.copy(ROOT / "docs_src" / "index.md", root / "docs_src")
    shutil.copytree(ROOT / "docs_src" / "handbook", root / "docs_src" / "handbook")
    return root


def test_a_print_beside_the_pages_is_offered_but_belongs_to_no_edition(plain: Path) -> None:
    content = b"%PDF-" + b"x" * 345_000
    without = built(plain)
    with_print = built(plain, GUIDE, prints=lambda _job, _edition: content)
    assert with_print[f"{GUIDE}/{GUIDE}-install.pdf"] == content
    page = with_print[f"{GUIDE}/index.html"].decode()
    assert f'href="{GUIDE}-install.pdf"' in page
    assert "350 kB" in page
    assert f'href="{GUIDE}-install.pdf"' not in without[f"{GUIDE}/index.html"].decode()
    # the edition is the same, the phone does not keep the print, the neighbour is as it was
    assert with_print[f"{GUIDE}/edition.json"] == without[f"{GUIDE}/edition.json"]
    assert f"{GUIDE}-install.pdf" not in with_print[f"{GUIDE}/sw.js"].decode()
    assert {k: v for k, v in with_print.items() if k.startswith(OTHER)} == {
        k: v for k, v in without.items() if k.startswith(OTHER)
    }
    # carried over byte for byte when the other one is built again
    again = built(plain, OTHER)
    assert again[f"{GUIDE}/{GUIDE}-install.pdf"] == content
    assert f"{GUIDE}/{GUIDE}-install.pdf" in again["index.html"].decode()


def test_a_print_that_fails_publishes_nothing(plain: Path) -> None:
    before = built(plain)

    def failing(job: Any, _edition: str) -> bytes:
        raise PrintFaultError(["No anchor #x"], job.guide)

    with pytest.raises(PrintFaultError):
        built(plain, GUIDE, prints=failing)
    site = plain / "site"
    assert before == {p.relative_to(site).as_posix(): p.read_bytes() for p in site.rglob("*") if p.is_file()}


def test_text_from_a_profile_is_text(tmp_path: Path) -> None:
    """Names with markup, quotes and braces reach the sheet as they were typed, in styles as well."""
    job = fakes.job()
    assert job.site is not None
    nasty = 'A <b>"bold"</b> & {{ place }} \\ ; } @page { size: 1mm }'
    site = replace(job.site, data=job.site.data.model_copy(update={"name": nasty}))
    file = tmp_path / "nasty.pdf"
    file.write_bytes(print_document(replace(job, site=site), Press(fakes.messages())).content)
    reader = PdfReader(file)
    assert float(reader.pages[0].mediabox.height) > 800
    assert nasty.replace(" ", "") in "".join(reader.pages[0].extract_text().split())
