"""The theme's style sheet with less in it: no element of any page looks different."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from procgen.publish import adapter
from procgen.publish.assets import light
from procgen.publish.bundle import kept_files
from procgen.publish.guide_pages import guide_site
from procgen.publish.trim import trim, trimmed
from tests.publish import fakes

#: what the browser makes of elements, and of what stands before and after them; of several elements with the
#: same way down to them one is enough
STYLES = """
() => {
  const seen = new Set();
  const way = (element) => element ? way(element.parentElement) + ">" + element.tagName + "." +
    (element.getAttribute("class") || "") : "";
  const fresh = (element) => { const at = way(element); return seen.has(at) ? false : seen.add(at); };
  const looks = (element, part) => {
    const found = getComputedStyle(element, part);
    if (part && found.content === "none") return "";
    const names = [...found].filter((name) => !name.startsWith("--"));
    return names.map((name) => name + ":" + found.getPropertyValue(name)).join(";");
  };
  return [...document.querySelectorAll("body, body *:not(svg *)")].filter(fresh)
    .map((element) => way(element) + ";" + [null, "::before", "::after"].map((part) => looks(element, part)));
}
"""


@pytest.mark.parametrize(
    ("sheet", "expected"),
    [
        (".a{x:1}.b{x:2}", ".a{x:1}"),
        (".a,.b{x:1}", ".a{x:1}"),
        (".a .b{x:1}", ""),
        (".a:not(.b){x:1}", ".a:not(.b){x:1}"),
        (".a:is(.b,h1:not(.c)){x:1}", ".a:is(.b,h1:not(.c)){x:1}"),
        ("[data-b] p{x:1}[data-a] p{x:2}", "[data-a] p{x:2}"),
        ("@media print{.a{x:1}.b{x:1}}@media screen{.b{x:1}}", "@media print{.a{x:1}}"),
        (":root{--u:1;--i:url(\"data:x;y,<a b='c'>\");--w:2}.a{x:var(--w)}", ":root{--w:2}.a{x:var(--w)}"),
        (":root{--w:var(--v);--v:2}.a{x:var(--w)}", ":root{--w:var(--v);--v:2}.a{x:var(--w)}"),
        (":root{--own:1}", ":root{--own:1}"),
        ("h1{x:1}@keyframes k{0%{x:1}}", "h1{x:1}@keyframes k{0%{x:1}}"),
    ],
)
def test_only_what_nothing_uses_goes(sheet: str, expected: str) -> None:
    assert trim(sheet, frozenset({"a", "data-a"}), frozenset({"--own"})) == expected


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A guide with the whole style sheet and with less of it."""
    folder = tmp_path_factory.mktemp("trim")
    site = guide_site(fakes.job(), fakes.messages(), fakes.draw)
    adapter.build(site.spec, folder / "full", adapter.load_settings(None))
    for path, content in trimmed(kept_files(folder / "full")).items():
        (folder / "less" / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / "less" / path).write_bytes(content)
    [theme] = (folder / "less" / "assets").glob("theme.*.css")
    assert theme.stat().st_size < 40_000
    return folder


@pytest.mark.browser
@pytest.mark.parametrize(("width", "scheme"), [(360, "light"), (1400, "dark")])
def test_no_element_looks_different(browser: Browser, both: Path, width: int, scheme: str) -> None:
    context = browser.new_context(
        viewport={"width": width, "height": 800},
        color_scheme=scheme,  # type: ignore[arg-type]
    )
    tabs = {folder: context.new_page() for folder in ("full", "less")}
    pages = [path.name for path in sorted((both / "full").glob("*.html"))]
    assert len(pages) > 4
    for name in pages:
        found = []
        for folder, page in tabs.items():
            page.goto((both / folder / name).as_uri())
        for page in tabs.values():
            settled(page)
            page.emulate_media(reduced_motion="reduce")
            page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
            # The two folders' addresses differ in nothing but this word.
            found.append([text.replace("/less/", "/full/") for text in page.evaluate(STYLES)])
        different = [pair for pair in zip(*found, strict=True) if pair[0] != pair[1]]
        assert [_difference(*pair) for pair in different[:3]] == [], name
    context.close()


def settled(page: Page) -> None:
    """Wait until the scripts have put in what they put in: as many elements for half a second."""
    counts: list[int] = []
    while len(counts) < 6 or len(set(counts[-6:])) > 1:
        page.wait_for_timeout(100)
        counts.append(page.evaluate("document.querySelectorAll('*').length"))
        assert len(counts) < 100


def _difference(full: str, less: str) -> str:
    apart = [f"{a} / {b}" for a, b in zip(full.split(";"), less.split(";"), strict=False) if a != b]
    return f"{full[:60]}: {apart[:4]}"


def test_a_lighter_script_is_the_same_script() -> None:
    script = (
        '/* What it is. */\nfunction a() {\n  /* why\n     so */\n  return "  /* no */"; /* stays */\n}\n'
    )
    assert light(script) == 'function a() {\nreturn "  /* no */"; /* stays */\n}\n'
    with pytest.raises(AssertionError, match="goes over lines"):
        light("a = `one\n  two`;")
