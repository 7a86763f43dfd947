"""The live preview: rebuilt on a change, never by its own output, and never left without pages."""

from __future__ import annotations

import socket
import threading
import time
import urllib.request
from collections.abc import Callable
from pathlib import Path
from urllib.error import URLError

import pytest

from procgen.publish.serve import GuidePreview, OutputWatchedError, preview_server, watched


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def page(port: int) -> str:
    """The page, or nothing while nobody listens yet."""
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/index.html", timeout=10) as answer:
            return str(answer.read().decode())
    except URLError:
        return ""


def wait_for(condition: Callable[[], bool]) -> bool:
    end = time.monotonic() + 15
    while time.monotonic() < end:
        if condition():
            return True
        time.sleep(0.05)
    return False


def test_a_failed_rebuild_keeps_the_last_pages(tmp_path: Path) -> None:
    source = tmp_path / "survey.yml"
    source.write_text("one")
    told: list[Exception] = []

    def rebuild(into: Path) -> None:
        text = source.read_text()
        (into / "index.html").write_text(f"half of {text}")
        if text == "bad":
            raise ValueError("line 3")
        (into / "index.html").write_text(text)

    preview = GuidePreview(rebuild, told.append)
    preview.build()
    source.write_text("bad")
    preview.build()
    assert (preview.root / "index.html").read_text() == "one"
    assert [str(error) for error in told] == ["line 3"]
    source.write_text("two")
    preview.build()
    assert (preview.root / "index.html").read_text() == "two"
    preview.close()
    assert not preview.root.exists()


def test_a_failed_first_build_is_an_error() -> None:
    def rebuild(_into: Path) -> None:
        raise ValueError("line 3")

    preview = GuidePreview(rebuild, lambda _error: None)
    with pytest.raises(ValueError, match="line 3"):
        preview.build()
    preview.close()


def test_a_change_shows_and_the_output_starts_no_build(tmp_path: Path) -> None:
    profiles = tmp_path / "machine_profiles"
    profiles.mkdir()
    source = profiles / "model.yml"
    source.write_text("one")
    builds: list[str] = []

    def rebuild(into: Path) -> None:
        builds.append(source.read_text())
        (into / "index.html").write_text(f"<body>{builds[-1]}</body>")

    preview = GuidePreview(rebuild, lambda _error: None)
    preview.build()
    port = free_port()
    server = preview_server(preview, [profiles], port=port)
    thread = threading.Thread(target=server.serve)
    thread.start()
    try:
        assert wait_for(lambda: "one" in page(port))
        time.sleep(1.2)
        assert builds == ["one"]
        source.write_text("two, longer")
        assert wait_for(lambda: "two, longer" in page(port))
        time.sleep(1.2)
        assert builds == ["one", "two, longer"]
    finally:
        server.shutdown()
        thread.join(10)
        preview.close()


def test_output_in_a_watched_folder_is_refused(tmp_path: Path) -> None:
    preview = GuidePreview(lambda into: (into / "index.html").touch(), lambda _error: None)
    preview.build()
    with pytest.raises(OutputWatchedError):
        preview_server(preview, [preview.root.parent])
    preview.close()


def test_what_is_watched(workspace: Path) -> None:
    names = [path.name for path in watched(workspace)]
    assert names == ["docs_src", "mkdocs.yml", "assets", "theme"]
    (workspace / "machine_profiles").mkdir()
    assert [path.name for path in watched(workspace)] == ["machine_profiles", *names]
