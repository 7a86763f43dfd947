"""The catalogue and the handbook as one more site: what plain ``mkdocs build`` and ``mkdocs serve`` give."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from procgen.messages.catalog import Messages, load
from procgen.messages.diagnostic import InputFaultsError
from procgen.procedure.fragments import plain_text
from procgen.publish import adapter
from procgen.publish.assets import ASSETS, Assets, assets
from procgen.publish.catalogue import cards, catalogue_documents
from procgen.publish.guide_pages import ui_words
from procgen.publish.listing import listing
from procgen.publish.manifest import Entry
from procgen.publish.policy import SITE_POLICY
from procgen.publish.search_index import INDEX_FILE, Document, index_script, plain
from procgen.publish.words import Words

#: stand in ``index.md`` where the lists go
MARKERS = {"<!-- guides -->": True, "<!-- models -->": False}
#: folders of the docs folder that are no pages
NO_PAGES = ("procedure/", "messages/")
_HEADING = re.compile(r'<h([1-3]) id="([^"]+)"[^>]*>(.*?)</h\1>', re.DOTALL)


class CataloguePlugin(adapter.BasePlugin):
    """Lists the guides on the home page and gives the site our theme, styles and search."""

    def __init__(self) -> None:
        super().__init__()
        #: entries of the build that this site belongs to; None: judge the workspace now
        self.given: Sequence[Entry] | None = None
        self._entries: Sequence[Entry] = ()
        self._documents: list[Document] = []
        self._root = Path()
        self._messages: Messages | None = None
        self._serving = False

    def on_startup(self, *, command: str, **_: Any) -> None:
        """Note whether this is a live preview."""
        self._serving = command == "serve"

    @property
    def _words(self) -> Words:
        assert self._messages is not None
        return Words(self._messages)

    def on_config(self, config: adapter.MkDocsConfig, **_: Any) -> adapter.MkDocsConfig:
        """Read the workspace and hang our theme in."""
        self._root = Path(config.config_file_path or ".").resolve().parent
        self._messages = load(self._root)
        self._entries = self.given if self.given is not None else self._judge()
        self._documents = []
        adapter.adopt_theme(config)
        own = assets()
        config.extra_css[:0] = own.css
        adapter.add_scripts(config, own.scripts)
        config.extra["procgen"] = self._place(own)
        config.extra.setdefault("generator", False)
        return config

    def _judge(self) -> list[Entry]:
        assert self._messages is not None
        try:
            return listing(self._root)
        except InputFaultsError as error:
            lines = [self._messages.diagnostic(fault, self._root) for fault in error.faults]
            raise adapter.PluginError("\n".join(lines)) from error

    def _place(self, own: Assets) -> dict[str, Any]:
        words = self._words
        demo = any(one.demo for one in self._entries)
        return {
            "early": own.early,
            # The live reload of a preview is an inline script, which the policy would refuse.
            "policy": "" if self._serving else SITE_POLICY,
            "description": words("catalogue.lead"),
            "banner": words("catalogue.demo") if demo else "",
            "search": {"engine": own.engine, "index": INDEX_FILE},
            "words": {**ui_words(words), "search": words("search_catalogue")},
        }

    def on_files(self, files: adapter.Files, config: adapter.MkDocsConfig, **_: Any) -> adapter.Files:
        """Templates and messages are no pages; our scripts and styles are files of this site."""
        adapter.drop(files, lambda path: path.startswith(NO_PAGES))
        adapter.add_files(files, config, assets().files)
        return files

    def on_page_markdown(self, markdown: str, page: Any, **_: Any) -> str:
        """Put the lists into the home page."""
        if page.file.src_uri != "index.md":
            return markdown
        for marker, of_sites in MARKERS.items():
            chosen = [one for one in self._entries if (one.site is not None) == of_sites]
            if marker in markdown:
                listed = cards(chosen, self._words)
                markdown = markdown.replace(marker, f'<div class="pg">\n{listed}\n</div>')
        return markdown

    def on_page_content(self, html: str, page: Any, **_: Any) -> str:
        """Collect what the search finds of a page of words; a wide table scrolls in a box of its own."""
        if page.file.src_uri == "index.md":
            return html
        self._documents += page_documents(html, page.file.url, str(page.title))
        return html.replace("<table>", '<div class="scroll words" tabindex="0"><table>').replace(
            "</table>", "</table></div>"
        )

    def on_env(self, env: Any, config: adapter.MkDocsConfig, files: adapter.Files, **_: Any) -> Any:
        """Every page is read by now: write the search index."""
        documents = [*catalogue_documents(self._entries, self._words), *self._documents]
        adapter.add_files(files, config, {INDEX_FILE: index_script(documents)})
        return env

    def on_serve(self, server: Any, **_: Any) -> Any:
        """A changed profile, survey, style or theme template shows at once."""
        for folder in (self._root / "machine_profiles", ASSETS, adapter.THEME_DIR):
            if folder.is_dir():
                server.watch(str(folder))
        return server


def give_entries(config: adapter.MkDocsConfig, entries: Sequence[Entry]) -> None:
    """Have the catalogue list these entries; hang the catalogue in where the configuration leaves it out."""
    plugin = next((one for one in config.plugins.values() if isinstance(one, CataloguePlugin)), None)
    if plugin is None:
        plugin = CataloguePlugin()
        config.plugins["procgen"] = plugin
    plugin.given = entries


def page_documents(html: str, url: str, title: str) -> list[Document]:
    """One document for each headed stretch of a page."""
    heads = list(_HEADING.finditer(html))
    found: list[Document] = []
    for place, head in enumerate(heads):
        end = heads[place + 1].start() if place + 1 < len(heads) else len(html)
        at = url if head.group(1) == "1" else f"{url}#{head.group(2)}"
        text = plain(plain_text(html[head.end() : end]))
        found.append({"u": at, "t": plain_text(head.group(3)), "k": title, "b": text})
    return found
