"""The one adapter to the site generator: MkDocs and its theme are known here and nowhere else.

A site comes in as pages of headings and finished HTML. Headings go through Markdown, so that the contents
list and the anchors are the generator's own; everything else passes through it untouched.
"""

from __future__ import annotations

import hashlib
import html
import logging
import re
import tempfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from importlib import metadata
from pathlib import Path
from typing import Any

import jinja2
from mkdocs.commands.build import build as _mkdocs_build
from mkdocs.config import load_config
from mkdocs.config.config_options import ExtraScriptValue
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import Abort, PluginError
from mkdocs.livereload import LiveReloadServer
from mkdocs.plugins import BasePlugin
from mkdocs.structure.files import File, Files
from mkdocs.theme import Theme

__all__ = [
    "BasePlugin",
    "File",
    "Files",
    "Heading",
    "Html",
    "LiveReloadServer",
    "MkDocsConfig",
    "Page",
    "PluginError",
    "Settings",
    "SiteFault",
    "SiteSpec",
    "build",
    "load_settings",
]

THEME_DIR = Path(__file__).parent / "theme"

#: what a guide never uses: maps of minified sources, the theme's own search and scripts, palettes, its icon
UNNEEDED = re.compile(
    r"^sitemap\.xml$|\.map$|^assets/javascripts/|^assets/images/favicon|^assets/stylesheets/palette|^assets/stylesheets/.*\.map$"
)

MARKDOWN_EXTENSIONS = ("attr_list", "tables", "toc", "def_list")


class SiteFault(Exception):  # noqa: N818 - a fault of what was put in, named as elsewhere
    """The generator refused a site or warned about it; ``messages`` says why."""

    def __init__(self, messages: Sequence[str]) -> None:
        self.messages = list(messages)
        super().__init__("; ".join(self.messages))


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading with the anchor it must have; ``number`` stands before it, set apart."""

    level: int
    text: str
    anchor: str
    number: str = ""
    css: str = ""


@dataclass(frozen=True, slots=True)
class Html:
    """Finished HTML: one block element that the generator passes through."""

    html: str


_MARK = "<!--pg:{}-->"
_MARKED = re.compile(r"<!--pg:(\d+)-->")


@dataclass(frozen=True, slots=True)
class Page:
    """One page: ``01-water.md`` becomes ``01-water.html``."""

    path: str
    title: str
    blocks: Sequence[Heading | Html]

    def markdown(self) -> str:
        """The page as one text."""
        return "\n\n".join(_block_markdown(block) for block in self.blocks) + "\n"

    def outline(self) -> str:
        """The page with a mark for each stretch of finished HTML: what the generator need not read."""
        marked = (
            block if isinstance(block, Heading) else Html(_MARK.format(place))
            for place, block in enumerate(self.blocks)
        )
        return "\n\n".join(_block_markdown(block) for block in marked) + "\n"

    def filled(self, content: str) -> str:
        """What the generator made of the outline, the finished HTML in the place of its marks."""
        return _MARKED.sub(lambda mark: self._finished(int(mark.group(1))), content)

    def _finished(self, place: int) -> str:
        block = self.blocks[place]
        assert isinstance(block, Html)
        return block.html


@dataclass(frozen=True, slots=True)
class Settings:
    """What the one site configuration says for every site built from it."""

    theme: Mapping[str, Any]
    site_url: str
    config_file: Path | None = None

    @property
    def custom_dir(self) -> Path | None:
        """The workspace's own theme overrides."""
        found = self.theme.get("custom_dir")
        return Path(found) if found else None


@dataclass(frozen=True, slots=True)
class SiteSpec:
    """One site, complete in memory."""

    name: str
    pages: Sequence[Page]
    #: files beside the pages, by path inside the site
    files: Mapping[str, bytes]
    css: Sequence[str] = ()
    #: classic scripts, deferred
    scripts: Sequence[str] = ()
    #: what the theme's templates read as ``config.extra``
    extra: Mapping[str, Any] = field(default_factory=dict)
    #: data attributes of the root element of every page: ``guide`` becomes ``data-guide``
    root: Mapping[str, str] = field(default_factory=dict)


def _block_markdown(block: Heading | Html) -> str:
    if isinstance(block, Html):
        # Markdown passes through whatever stands within one block element.
        return f'<div class="pg">\n{block.html}\n</div>'
    number = f'<span class="n">{escape_markdown(block.number)}</span> ' if block.number else ""
    css = "".join(f" .{name}" for name in block.css.split())
    return f"{'#' * block.level} {number}{escape_markdown(block.text)} {{#{block.anchor}{css}}}"


_MARKDOWN_SIGNS = re.compile(r"[\\`*_{}\[\]()#+.!<>&|~^$:=\"'@-]")


def escape_markdown(text: str) -> str:
    """Plain text that neither Markdown nor HTML reads as anything else."""
    return _MARKDOWN_SIGNS.sub(lambda sign: f"&#{ord(sign.group())};", " ".join(text.split()))


def theme_version() -> str:
    """Versions of generator and theme, and what our own theme files hold: part of every edition."""
    versions = f"mkdocs {metadata.version('mkdocs')}, mkdocs-material {metadata.version('mkdocs-material')}"
    return f"{versions}, own {_folder_fingerprint(THEME_DIR)}"


def load_settings(config_file: Path | None) -> Settings:
    """Theme settings and public address of the one site configuration; defaults where there is none."""
    if config_file is None:
        return Settings(_plain_theme({}), "")
    loaded: list[MkDocsConfig] = []
    run(lambda: loaded.append(load_config(config_file=str(config_file), plugins=[])))
    config = loaded[0]
    theme = {name: value for name, value in config.theme.items() if name not in {"name", "locale"}}
    theme["locale"] = str(config.theme.locale)
    if config.theme.custom_dir:
        theme["custom_dir"] = config.theme.custom_dir
    return Settings(_plain_theme(theme), str(config.site_url or ""), config_file)


def _plain_theme(own: Mapping[str, Any]) -> dict[str, Any]:
    # No font, whatever is set: a font would be fetched from outside.
    return {"language": "en", **own, "name": "material", "font": False, "favicon": "assets/favicon.svg"}


def site_config(spec: SiteSpec, settings: Settings, docs: Path, into: Path) -> dict[str, Any]:
    """The generator's configuration for one site, as it could stand in a file."""
    theme = {key: value for key, value in settings.theme.items() if key != "custom_dir"}
    return {
        "site_name": spec.name,
        "docs_dir": str(docs),
        "site_dir": str(into),
        "use_directory_urls": False,
        "strict": True,
        "theme": {**theme, "custom_dir": str(settings.custom_dir or THEME_DIR)},
        "nav": [{page.title: page.path} for page in spec.pages],
        "plugins": [],
        "markdown_extensions": list(MARKDOWN_EXTENSIONS),
        "extra_css": list(spec.css),
        "extra_javascript": [{"path": path, "defer": True} for path in spec.scripts],
        "extra": {"generator": False, **spec.extra},
        "validation": {"links": {"anchors": "warn", "not_found": "warn", "absolute_links": "warn"}},
    }


def build(spec: SiteSpec, into: Path, settings: Settings) -> None:
    """Build one site into a folder of its own.

    Raises:
        SiteFault: the generator refused or warned; nothing in the folder can be relied on.
    """
    paths = [*(page.path for page in spec.pages), *spec.files]
    if twice := sorted({path for path in paths if paths.count(path) > 1}):
        raise SiteFault([f"two pages have the path {path}" for path in twice])
    with tempfile.TemporaryDirectory(prefix="procgen-docs-") as docs:
        config = MkDocsConfig(config_file_path=None)
        config.load_dict(site_config(spec, settings, Path(docs), into))
        errors, warnings = config.validate()
        if errors or warnings:
            raise SiteFault([f"{key}: {problem}" for key, problem in [*errors, *warnings]])
        adopt_theme(config)
        config.plugins["procgen-pages"] = _Pages(spec)
        run(lambda: _mkdocs_build(config))


def adopt_theme(config: MkDocsConfig) -> None:
    """Give a configuration our theme files, and the shared environment in place of one of its own.

    The page for what is not found and the site map are left out: the first only works from a server's root,
    the second needs a public address and carries the day of the build.
    """
    theme = config.theme
    if str(THEME_DIR) not in theme.dirs:
        theme.dirs.insert(1 if theme.custom_dir else 0, str(THEME_DIR))
    theme.static_templates.clear()
    environment = _environment(theme)
    theme.get_env = lambda: environment  # type: ignore[method-assign]


def run(work: Callable[[], None]) -> None:
    """Run the generator; whatever it logs as a warning or worse becomes a fault."""
    collector = _Collector()
    logger = logging.getLogger("mkdocs")
    propagate, level = logger.propagate, logger.level
    logger.addHandler(collector)
    logger.propagate = False
    logger.setLevel(logging.WARNING)
    try:
        work()
    except Abort as error:
        raise SiteFault(collector.messages or [str(error)]) from error
    finally:
        logger.removeHandler(collector)
        logger.propagate, logger.level = propagate, level
    if collector.messages:
        raise SiteFault(collector.messages)


class _Collector(logging.Handler):
    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.messages: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.messages.append(record.getMessage())


class _Pages(BasePlugin):
    """Hands the pages of a specification to the generator without any file of their own."""

    def __init__(self, spec: SiteSpec) -> None:
        super().__init__()
        self.spec = spec
        self.pages = {page.path: page for page in spec.pages}

    def on_files(self, files: Files, config: MkDocsConfig, **_: Any) -> Files:
        """Add pages and files."""
        for page in self.spec.pages:
            files.append(File.generated(config, page.path, content=page.outline()))
        add_files(files, config, self.spec.files)
        return files

    def on_page_content(self, html: str, page: Any, **_: Any) -> str:
        """Put the finished HTML back."""
        return self.pages[page.file.src_uri].filled(html)

    def on_post_page(self, output: str, **_: Any) -> str:
        """Put the data attributes on the root element, which no block of the theme reaches."""
        data = "".join(f' data-{name}="{html.escape(text)}"' for name, text in self.spec.root.items())
        return output.replace("<html ", f"<html{data} ", 1) if data else output


def add_files(files: Files, config: MkDocsConfig, contents: Mapping[str, bytes]) -> None:
    """Add finished files to a site."""
    for path, content in contents.items():
        files.append(File.generated(config, path, content=content))


def drop(files: Files, unwanted: Callable[[str], bool]) -> None:
    """Take files out of a site by their path."""
    for file in list(files):
        if unwanted(file.src_uri):
            files.remove(file)


def add_scripts(config: MkDocsConfig, paths: Iterable[str]) -> None:
    """Add classic, deferred scripts in front of the site's own."""
    scripts = []
    for path in paths:
        script = ExtraScriptValue(path)
        script.defer = True
        scripts.append(script)
    config.extra_javascript[:0] = scripts


def build_configured(
    config_file: Path, into: Path, prepare: Callable[[MkDocsConfig], None], name: str
) -> None:
    """Build the site that the site configuration describes; ``prepare`` sees the configuration first.

    Without a configuration file it is a site of one page.

    Raises:
        SiteFault: the generator refused or warned.
    """
    with tempfile.TemporaryDirectory(prefix="procgen-docs-") as docs:

        def work() -> None:
            if config_file.is_file():
                config = load_config(config_file=str(config_file), site_dir=str(into), strict=True)
            else:
                config = _one_page(config_file, Path(docs), into, name)
            prepare(config)
            _mkdocs_build(config)

        run(work)


def _one_page(config_file: Path, docs: Path, into: Path, name: str) -> MkDocsConfig:
    text = f"# {escape_markdown(name)}\n\n<!-- guides -->\n\n<!-- models -->\n"
    (docs / "index.md").write_text(text, encoding="utf-8")
    page = Page("index.md", name, ())
    config = MkDocsConfig(config_file_path=str(config_file))
    config.load_dict(site_config(SiteSpec(name, [page], {}), load_settings(None), docs, into))
    config.validate()
    return config


class _SharedEnvironment(jinja2.Environment):
    """A theme environment that remembers its templates, compiled and listed."""

    _names: list[str] | None = None

    def list_templates(
        self,
        extensions: Iterable[str] | None = None,
        filter_func: Callable[[str], bool] | None = None,
    ) -> list[str]:
        """As the loader would list them, less the theme's icons and what no page uses."""
        if self._names is None:
            names = super().list_templates()
            self._names = [n for n in names if not n.startswith(".icons/") and not UNNEEDED.search(n)]
        return [name for name in self._names if filter_func is None or filter_func(name)]


_environments: dict[tuple[str, ...], _SharedEnvironment] = {}


def _environment(theme: Theme) -> _SharedEnvironment:
    """One environment for all sites with the same theme folders and the same overrides in them."""
    own = [Path(d) for d in theme.dirs if d in {str(THEME_DIR), str(theme.custom_dir)}]
    key = (*theme.dirs, str(theme.locale), *(_folder_fingerprint(folder) for folder in own))
    if key not in _environments:
        stock = Theme.get_env(theme)
        shared = _SharedEnvironment(loader=stock.loader, auto_reload=False, extensions=list(stock.extensions))
        shared.filters.update(stock.filters)
        shared.globals.update(stock.globals)
        if len(_environments) > 8:
            _environments.clear()
        _environments[key] = shared
    return _environments[key]


def _folder_fingerprint(folder: Path) -> str:
    digest = hashlib.sha256()
    for path in sorted(p for p in folder.rglob("*") if p.is_file()):
        digest.update(str(path.relative_to(folder)).encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()
