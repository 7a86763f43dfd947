"""Broken links, outside requests and unfinished pages are found; sound ones are left alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from procgen.checks.links import check_links
from procgen.checks.pages import check_pages
from tests.checks.kit import PAGE, said, site


def test_a_sound_folder_has_no_fault(tmp_path: Path) -> None:
    site(
        tmp_path,
        index='<a href="guide/01-a.html#s-a-b">x</a><a href="#top" id="top">y</a><a href="mailto:a@b">z</a>',
        guide__01_a='<p id="s-a-b">x</p><a href="../index.html">y</a>',
    )
    (tmp_path / "guide" / "01_a.html").rename(tmp_path / "guide" / "01-a.html")
    (tmp_path / "own.js").write_text('const a = "https://example.test/licence"; fetch("manifest.json");')
    (tmp_path / "own.css").write_text("a { background: url(data:image/png;base64,AA==) }")
    assert said(check_links(tmp_path), tmp_path) == []
    assert said(check_pages(tmp_path), tmp_path) == []


OUTSIDE = "asks another host: '{}'; expected everything the page needs to lie beside it"


@pytest.mark.parametrize(
    ("body", "wanted"),
    [
        ('<a href="gone.html">x</a>', "a link to 'gone.html', where no file is"),
        ('<img src="img/gone.svg">', "a link to 'img/gone.svg', where no file is"),
        ('<a href="#gone">x</a>', "a link to '#gone', where no element has that id"),
        ('<a href="other.html#gone">x</a>', "a link to 'other.html#gone', where no element has that id"),
        ('<a href="guide/">x</a>',
         "a link to the folder 'guide/'; expected a file, so that it works without a server"),
        ('<a href="/other.html">x</a>',
         "a link to '/other.html'; expected a relative one, so that it works in any folder"),
        ('<a href="../other.html">x</a>', "a link to '../other.html', outside the built folder"),
        ('<a href="javascript:alert(1)">x</a>',
         "a link to 'javascript:alert(1)'; expected a file, an anchor or an address"),
        ('<a href="https://example.test/">x</a>', OUTSIDE.format("https://example.test/")),
        ('<script src="//example.test/a.js"></script>', OUTSIDE.format("//example.test/a.js")),
        ('<script>fetch("https://example.test/a")</script>', OUTSIDE.format("https://example.test/a")),
        ('<script>import("https://example.test/b")</script>', OUTSIDE.format("https://example.test/b")),
        ('<script>x.open("GET", "https://example.test/c")</script>', OUTSIDE.format("https://example.test/c")),
        ('<script>import a from "https://example.test/d"</script>', OUTSIDE.format("https://example.test/d")),
        ("<style>a{background:url('https://example.test/e.png')}</style>",
         OUTSIDE.format("https://example.test/e.png")),
        ('<style>@import "http://example.test/f.css";</style>', OUTSIDE.format("http://example.test/f.css")),
        ('<p style="background:url(//example.test/g)">x</p>', OUTSIDE.format("//example.test/g")),
        ('<img srcset="https://example.test/h 2x">', OUTSIDE.format("https://example.test/h")),
        ('<form action="https://example.test/i"></form>', OUTSIDE.format("https://example.test/i")),
        ('<svg><use xlink:href="https://example.test/j#k"></use></svg>',
         OUTSIDE.format("https://example.test/j#k")),
    ],
)  # fmt: skip
def test_a_faulty_link(tmp_path: Path, body: str, wanted: str) -> None:
    site(tmp_path, index=body, other="x", guide__one="y")
    assert said(check_links(tmp_path), tmp_path) == [f"index.html: {wanted}"]


def test_faulty_assets(tmp_path: Path) -> None:
    site(tmp_path, index="x")
    (tmp_path / "a.css").write_text("@import url(https://example.test/a.css);")
    (tmp_path / "b.js").write_text("importScripts('https://example.test/b.js')")
    (tmp_path / "c.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg"><image href="gone.png"/></svg>')
    assert said(check_links(tmp_path), tmp_path) == [
        "a.css: " + OUTSIDE.format("https://example.test/a.css"),
        "b.js: " + OUTSIDE.format("https://example.test/b.js"),
        "c.svg: a link to 'gone.png', where no file is",
    ]


def test_an_allowed_address(tmp_path: Path) -> None:
    site(tmp_path, index='<a href="https://example.test/guide">x</a><a href="https://other.test/">y</a>')
    assert said(check_links(tmp_path, frozenset({"https://example.test/"})), tmp_path) == [
        "index.html: " + OUTSIDE.format("https://other.test/")
    ]


@pytest.mark.parametrize(
    ("page", "wanted"),
    [
        (PAGE.replace("<title>T</title>", ""), "the page has no title"),
        (PAGE.replace(' lang="en"', ""), "the page does not say its language; expected lang on html"),
        (PAGE.replace("<h1>H</h1>", ""), "the page has 0 main headings; expected one h1"),
        (PAGE.replace("<h1>H</h1>", "<h1>H</h1><h1>I</h1>"), "the page has 2 main headings; expected one h1"),
    ],
)
def test_a_faulty_page(tmp_path: Path, page: str, wanted: str) -> None:
    site(tmp_path, index=page.format(head="", body=""))
    assert said(check_pages(tmp_path), tmp_path) == [f"index.html: {wanted}"]


@pytest.mark.parametrize(
    ("body", "wanted"),
    [
        ('<p id="a">x</p><p id="a">y</p>', "the id 'a' stands 2 times on the page; expected each once"),
        ("<p>Fill {{ x }}</p>", "'{{' is left over in 'Fill {{ x }}'"),
        ("<p>{% if %}</p>", "'{%' is left over in '{% if %}'"),
        ("<p>It takes None now</p>", "'None' is left over in 'It takes None now'"),
        ("<p>It takes <b>nan</b></p>", "'nan' is left over in 'It takes nan'"),
        ("<p>undefined</p>", "'undefined' is left over in 'undefined'"),
        ("<p>a \ue000 b</p>", "'\ue000' is left over in 'a \ue000 b'"),
    ],
)
def test_what_is_left_over(tmp_path: Path, body: str, wanted: str) -> None:
    site(tmp_path, index=body)
    assert said(check_pages(tmp_path), tmp_path) == [f"index.html: {wanted}"]


def test_words_that_may_stand(tmp_path: Path) -> None:
    site(tmp_path, index="<p>None of them. Nana.</p><code>{{ x }}</code><script>let undefined, NaN;</script>")
    assert said(check_pages(tmp_path), tmp_path) == []


def test_a_page_may_be_left_out(tmp_path: Path) -> None:
    site(tmp_path, index="x", odd="{{ x }}")
    assert check_pages(tmp_path, frozenset({"odd.html"})) == []
