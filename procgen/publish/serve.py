"""A live preview of one guide: rebuilt when a profile, survey, template, message or style changes."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable, Iterable
from pathlib import Path

from procgen.publish.adapter import THEME_DIR, LiveReloadServer
from procgen.publish.assets import ASSETS

#: builds the guide into an empty folder
Rebuild = Callable[[Path], None]
#: told of a rebuild that failed; the last good pages stay
Report = Callable[[Exception], None]


class OutputWatchedError(ValueError):
    """The preview's own output lies in a watched folder: every build would start the next."""


class GuidePreview:
    """Pages in a folder of their own outside the workspace, replaced only by a build that went well."""

    def __init__(self, rebuild: Rebuild, report: Report) -> None:
        self._rebuild = rebuild
        self._report = report
        self._home = Path(tempfile.mkdtemp(prefix="procgen-preview-"))
        self.root = self._home / "guide"

    def build(self) -> None:
        """Build anew.

        Raises:
            Exception: what the build raised, if there are no earlier pages to keep.
        """
        fresh = Path(tempfile.mkdtemp(prefix="next-", dir=self._home))
        try:
            self._rebuild(fresh)
        except Exception as error:
            shutil.rmtree(fresh, ignore_errors=True)
            if not self.root.exists():
                raise
            self._report(error)
            return
        if self.root.exists():
            shutil.rmtree(self.root)
        fresh.rename(self.root)

    def close(self) -> None:
        """Remove the pages."""
        shutil.rmtree(self._home, ignore_errors=True)


def watched(workspace: Path) -> list[Path]:
    """What a guide is made from: profiles and surveys, docs folder, site configuration, our styles."""
    wanted = (
        workspace / "machine_profiles",
        workspace / "docs_src",
        workspace / "mkdocs.yml",
        ASSETS,
        THEME_DIR,
    )
    return [path for path in wanted if path.exists()]


def preview_server(
    preview: GuidePreview, watch: Iterable[Path], host: str = "127.0.0.1", port: int = 8000
) -> LiveReloadServer:
    """A server for a preview that was built once; ``serve()`` runs it, ``shutdown()`` ends it.

    Raises:
        OutputWatchedError: the preview's folder lies in a watched one.
    """
    folders = list(watch)
    for path in folders:
        if preview.root.resolve().is_relative_to(path.resolve()):
            raise OutputWatchedError(str(path))
    server = LiveReloadServer(preview.build, host, port, str(preview.root))
    for path in folders:
        server.watch(str(path))
    return server


def serve_guide(
    rebuild: Rebuild, workspace: Path, report: Report, host: str = "127.0.0.1", port: int = 8000
) -> None:
    """Build and serve a guide until interrupted."""
    preview = GuidePreview(rebuild, report)
    try:
        preview.build()
        server = preview_server(preview, watched(workspace), host, port)
        try:
            server.serve()
        except KeyboardInterrupt:
            pass
        finally:
            server.shutdown()
    finally:
        preview.close()
