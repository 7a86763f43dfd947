"""The guide as one HTML file: made from the finished pages, everything inlined, nothing asked from anywhere.

Pages become sections of the first page's frame. An id keeps its name unless an earlier page has it already;
links between pages become links inside the file.
"""

from __future__ import annotations

import base64
import json
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from html import escape
from posixpath import basename

from procgen.publish.policy import single_policy
from procgen.publish.search_index import GLOBAL, index_script

FIRST = "index.html"

_TAG = re.compile(r"<[a-zA-Z][^<>]*>")
_ATTRIBUTE = re.compile(r'(\s(id|href|xlink:href|for|headers|aria-[a-z]+)=")([^"]*)(")')
_IDREFS = frozenset({"for", "headers", "aria-labelledby", "aria-describedby", "aria-controls", "aria-owns"})
_ID = re.compile(r'\sid="([^"]*)"')
_PAINT = re.compile(r"url\(#([^)]+)\)")
_HEADING = re.compile(r"<(/?)h([1-5])(?=[\s>])")
_ARTICLE = re.compile(r'<article class="md-content__inner[^>]*>')
_STYLE_LINK = re.compile(r'<link rel="stylesheet" href="([^"]+)">')
_SCRIPT = re.compile(r'<script src="([^"]+)"([^>]*)></script>')
_POLICY = re.compile(r'(http-equiv="Content-Security-Policy" content=")[^"]*(")')
_LAZY = re.compile(r' data-(?:engine|index)="([^"]+)"')
#: what only makes sense in a site: neighbours, contents of the first page alone, the way up, downloads
_SITE_ONLY = (
    re.compile(r'\s*<link rel="(?:canonical|prev|next|manifest|apple-touch-icon)"[^>]*>'),
    # A figure's link leads to its calculation in the same file: no need to show it twice.
    re.compile(r'<meta name="procgen-figures"[^>]*>'),
    re.compile(r'<nav class="pg-turn.*?</nav>', re.DOTALL),
    re.compile(r'<nav class="pg-toc".*?</nav>', re.DOTALL),
    re.compile(r'<li class="pg-nav__up">.*?</li>', re.DOTALL),
    re.compile(r'<section data-only="site">.*?</section>', re.DOTALL),
    re.compile(r' data-worker="[^"]*"'),
)


class SingleError(ValueError):
    """A page holds something that one file cannot."""


def single_file(files: Mapping[str, bytes], order: Sequence[str], style: str, shim: str) -> bytes:
    """One file made from a guide's ``files``; ``order`` are its pages, the first page first.

    ``style`` and ``shim`` are the file's own style sheet and script.

    Raises:
        SingleError: a page refers to a file that is not there, or a script cannot stand in a page.
    """
    frame = files[FIRST].decode()
    for pattern in _SITE_ONLY:
        frame = pattern.sub("", frame)
    texts = {name: _article(files[name].decode()) for name in order}
    texts[FIRST] = _article(frame)
    before, after = frame.split(texts[FIRST], 1)
    names = _names(texts, _ID.findall(before + after))
    sections = "\n".join(_section(name, texts[name], names) for name in order)
    text = _relinked(before, FIRST, names) + sections + _relinked(after, FIRST, names)
    return _inlined(text, files, names, style, shim).encode()


def page_anchor(page: str) -> str:
    """Anchor of the section that a page became."""
    return "p-" + page.removesuffix(".html")


def _article(page: str) -> str:
    start = _ARTICLE.search(page)
    if start is None:
        raise SingleError("a page without a main part")
    return page[start.end() : page.rindex("</article>")]


#: of each page: the ids in it, and what each is called in the one file
Names = dict[str, dict[str, str]]


def _names(texts: Mapping[str, str], frame: Sequence[str]) -> Names:
    taken = {*frame, *map(page_anchor, texts)}
    names: Names = {}
    for page, text in texts.items():
        own = names[page] = {name: name for name in frame} if page == FIRST else {}
        for tag in _TAG.findall(text):
            for found in _ID.findall(tag):
                own[found] = found if found not in taken else f"{page_anchor(page)}-{found}"
                taken.add(own[found])
    return names


def _section(page: str, text: str, names: Names) -> str:
    text = _relinked(text, page, names)
    if page != FIRST:
        text = _HEADING.sub(lambda tag: f"<{tag.group(1)}h{int(tag.group(2)) + 1}", text)
    return f'<section class="single" id="{page_anchor(page)}">{text}</section>'


def _relinked(text: str, page: str, names: Names) -> str:
    def attribute(match: re.Match[str]) -> str:
        start, name, value, end = match.groups()
        if name == "id":
            return start + names[page].get(value, value) + end
        if name in _IDREFS:
            return start + " ".join(names[page].get(one, one) for one in value.split(" ")) + end
        if name in {"href", "xlink:href"}:
            found = linked(value, page, names)
            return "" if found is None else start + found + end
        return match.group()

    def tag(match: re.Match[str]) -> str:
        found = match.group()
        if found.startswith(("<link", "<script")):
            return found
        found = _ATTRIBUTE.sub(attribute, found)
        return _PAINT.sub(lambda paint: f"url(#{names[page].get(paint.group(1), paint.group(1))})", found)

    return _TAG.sub(tag, text)


def linked(address: str, page: str, names: Names) -> str | None:
    """Where a link of a page leads in the one file; None where what it leads to is not in it."""
    target, _, fragment = address.partition("#")
    if re.match(r"[a-z][a-z0-9+.-]*:", target):
        return address
    target = target or page
    if target not in names:
        return None
    if not fragment:
        return f"#{page_anchor(target)}"
    return f"#{names[target].get(fragment, fragment)}"


def _inlined(text: str, files: Mapping[str, bytes], names: Names, style: str, shim: str) -> str:
    styles, scripts = [], []

    def content(path: str) -> str:
        if path not in files:
            raise SingleError(f"a page asks for {path}, which is not there")
        return files[path].decode()

    def sheet(match: re.Match[str]) -> str:
        styles.append(_harmless(content(match.group(1)), "</style"))
        return f"<style>{styles[-1]}</style>"

    def script(code: str) -> str:
        scripts.append(_harmless(code, "</script", "<!--"))
        return f"<script>{scripts[-1]}</script>"

    late: list[str] = [_search(content(path), names) for path in _LAZY.findall(text)]

    def script_tag(match: re.Match[str]) -> str:
        code = content(match.group(1))
        if "defer" not in match.group(2):
            return script(code)
        late.append(code)
        return ""

    text = _LAZY.sub("", text)
    text = _STYLE_LINK.sub(sheet, text)
    styles.append(style)
    text = text.replace("</head>", f"<style>{style}</style>\n</head>", 1)
    text = _SCRIPT.sub(script_tag, text)
    text = re.sub(r'(<link rel="icon"[^>]*href=")([^"]+)(")', _icon(files), text)
    text = text.replace('data-form="site"', 'data-form="single"', 1)
    pages = json.dumps({page: page_anchor(page) for page in names}, sort_keys=True)
    late.insert(0, f"self.procgenSingle = {pages};")
    start, end = text.rsplit("</body>", 1)
    text = start + "\n".join(script(code) for code in [*late, shim]) + "\n</body>" + end
    policy = escape(single_policy(scripts, styles), quote=False)
    text, put = _POLICY.subn(lambda match: match.group(1) + policy + match.group(2), text, count=1)
    if not put:
        raise SingleError("a page without a content-security policy")
    return text


def _harmless(code: str, *ends: str) -> str:
    if any(end in code.lower() for end in ends):
        raise SingleError(f"a script or style that is inlined holds {' or '.join(ends)}")
    return code


def _icon(files: Mapping[str, bytes]) -> Callable[[re.Match[str]], str]:
    def data(match: re.Match[str]) -> str:
        drawn = base64.b64encode(files[match.group(2)]).decode()
        return f"{match.group(1)}data:image/svg+xml;base64,{drawn}{match.group(3)}"

    return data


def _search(code: str, names: Names) -> str:
    """The search's documents with addresses inside the one file; any other script as it is."""
    start = f"self.{GLOBAL}="
    if not code.startswith(start):
        return code
    documents = json.loads(code.removeprefix(start).rstrip().removesuffix(";"))
    for document in documents:
        document["u"] = linked(document["u"], FIRST, names)
    return index_script(documents).decode()


def page_order(files: Mapping[str, bytes]) -> list[str]:
    """Pages of a guide as its contents list them, the first page first."""

    def pages() -> Iterator[str]:
        nav = files[FIRST].decode().partition('<nav class="pg-nav"')[2].partition("</nav>")[0]
        for address in re.findall(r'href="([^"#]+)"', nav):
            if address in files and basename(address) == address:
                yield address

    return list(dict.fromkeys([FIRST, *pages()]))
