"""What the site generator alone needs for a guide's pages: MkDocs and Material as they come."""

from __future__ import annotations

import logging
import time
from pathlib import Path

from mkdocs.commands.build import build
from mkdocs.config import load_config

from procgen import commands
from procgen.messages.catalog import Messages
from procgen.publish.guide_pages import guide_site, no_figures

#: The site configuration of the demo without our plugin; search is the generator's default and stays on.
CONFIG = """site_name: Stock
theme:
  name: material
  font: false
markdown_extensions: [attr_list, tables, toc, def_list]
"""


def pages(root: Path, messages: Messages, guide: str) -> dict[str, str]:
    """The pages of a guide as Markdown, by file name, drawings left out."""
    assembled = commands.render(root, messages, [guide]).guides[0]
    return {page.path: page.markdown() for page in guide_site(assembled, messages, no_figures).spec.pages}


class Stock:
    """The generator, ready to build the pages of one guide again and again; one warming build aside."""

    def __init__(self, texts: dict[str, str], folder: Path) -> None:
        (folder / "docs").mkdir(parents=True)
        for name, text in texts.items():
            (folder / "docs" / name).write_text(text, encoding="utf-8")
        self.config = folder / "mkdocs.yml"
        self.config.write_text(CONFIG, encoding="utf-8")
        logging.getLogger("mkdocs").setLevel(logging.ERROR)
        self.seconds()

    def seconds(self) -> float:
        """Processor time of one build."""
        begin = time.process_time()
        build(load_config(config_file=str(self.config)))
        return time.process_time() - begin
