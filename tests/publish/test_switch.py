"""The published folder is the old one or the new one, whenever a run is killed."""

from __future__ import annotations

import json
import multiprocessing
import os
import shutil
import subprocess
import sys
import textwrap
from collections.abc import Callable
from pathlib import Path

import pytest

from procgen.publish import switch as switching
from procgen.publish.switch import JOURNAL, LOCK, WORK, BusyError, Switch, exchange


class KilledError(BaseException):
    """Stands for the end of the process: nothing after it runs."""


def cannot(_first: Path, _second: Path) -> bool:
    return False


def fill(folder: Path, text: str) -> None:
    (folder / "sub").mkdir(parents=True, exist_ok=True)
    (folder / "index.html").write_text(text)
    (folder / "sub" / "page.html").write_text(text * 2)


def contents(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def publish(site: Path, text: str, way: switching.Exchange) -> None:
    with Switch(site, way) as switch, switch.staging() as staged:
        fill(staged, text)
        switch.publish(staged)


@pytest.mark.parametrize("way", [exchange, cannot])
def test_first_and_next_build(tmp_path: Path, way: switching.Exchange) -> None:
    site = tmp_path / "site"
    publish(site, "one", way)
    assert contents(site) == {"index.html": b"one", "sub/page.html": b"oneone"}
    publish(site, "two", way)
    assert contents(site) == {"index.html": b"two", "sub/page.html": b"twotwo"}
    assert [path.name for path in (tmp_path / WORK).iterdir()] == [LOCK]


def test_names_are_exchanged_where_the_system_can(tmp_path: Path) -> None:
    first, second = tmp_path / "a", tmp_path / "b"
    fill(first, "a")
    fill(second, "b")
    can = sys.platform.startswith(("linux", "darwin"))
    assert exchange(first, second) is can
    assert contents(first)["index.html"] == (b"b" if can else b"a")
    assert contents(second)["index.html"] == (b"a" if can else b"b")


def test_a_refused_exchange_is_an_error(tmp_path: Path) -> None:
    if not sys.platform.startswith(("linux", "darwin")):
        assert exchange(tmp_path, tmp_path / "missing") is False
        return
    with pytest.raises(FileNotFoundError):
        exchange(tmp_path, tmp_path / "missing")


def test_a_failed_build_leaves_what_was_published(tmp_path: Path) -> None:
    site = tmp_path / "site"
    publish(site, "one", exchange)
    before = contents(site)
    with pytest.raises(RuntimeError), Switch(site) as switch, switch.staging() as staged:
        fill(staged, "half")
        raise RuntimeError("a page could not be built")
    assert contents(site) == before
    assert [path.name for path in (tmp_path / WORK).iterdir()] == [LOCK]


def kill_at(monkeypatch: pytest.MonkeyPatch, number: int) -> Callable[[], int]:
    """The process ends just before the n-th change of a name; gives how many there were."""
    seen = 0
    changes = {name: getattr(Path, name) for name in ("rename", "replace", "unlink")}

    def wrap(original: Callable[..., object]) -> Callable[..., object]:
        def change(self: Path, *args: object, **more: object) -> object:
            nonlocal seen
            if seen == number:
                raise KilledError
            seen += 1
            return original(self, *args, **more)

        return change

    for name, original in changes.items():
        monkeypatch.setattr(Path, name, wrap(original))
    return lambda: seen


def killed_publish(site: Path, number: int) -> bool:
    """Publish by two renames and die before the n-th; True where it died."""
    with pytest.MonkeyPatch.context() as patch:
        switch = Switch(site, cannot)
        switch.work.mkdir(exist_ok=True)
        switch._lock = switching._take_lock(switch.work / LOCK, site)
        staged = switch.work / "staging-killed"
        fill(staged, "two")
        kill_at(patch, number)
        try:
            switch.publish(staged)
        except KilledError:
            return True
        finally:
            switch._lock.close()
    return False


@pytest.mark.parametrize("number", range(4))
def test_killed_between_the_renames(tmp_path: Path, number: int) -> None:
    site = tmp_path / "site"
    publish(site, "one", cannot)
    old = contents(site)
    assert killed_publish(site, number)
    with Switch(site, cannot):
        pass
    found = contents(site)
    # Only after the second rename is the new folder in place; what remains then is the journal.
    assert found == (old if number < 3 else {"index.html": b"two", "sub/page.html": b"twotwo"})
    assert [path.name for path in (tmp_path / WORK).iterdir()] == [LOCK]
    publish(site, "three", cannot)
    assert contents(site)["index.html"] == b"three"


def test_the_renames_are_four(tmp_path: Path) -> None:
    site = tmp_path / "site"
    publish(site, "one", cannot)
    assert not killed_publish(site, 4)


def test_killed_during_recovery(tmp_path: Path) -> None:
    site = tmp_path / "site"
    publish(site, "one", cannot)
    old = contents(site)
    assert killed_publish(site, 2)
    assert not site.exists()
    with pytest.MonkeyPatch.context() as patch:
        kill_at(patch, 1)
        with pytest.raises(KilledError), Switch(site, cannot):
            pass
    assert (tmp_path / WORK / JOURNAL).exists()
    with Switch(site, cannot):
        pass
    assert contents(site) == old
    assert not (tmp_path / WORK / JOURNAL).exists()


def test_a_killed_process_leaves_site_and_is_cleaned_up(tmp_path: Path) -> None:
    site = tmp_path / "site"
    publish(site, "one", exchange)
    before = contents(site)
    script = textwrap.dedent(
        """
        import os, sys
        from pathlib import Path
        from procgen.publish.switch import Switch
        with Switch(Path(sys.argv[1])) as switch, switch.staging() as staged:
            (staged / "index.html").write_text("half")
            os.kill(os.getpid(), 9)
        """
    )
    run = subprocess.run([sys.executable, "-c", script, str(site)], check=False)
    assert run.returncode != 0
    assert contents(site) == before
    assert len(list((tmp_path / WORK).glob("staging-*"))) == 1
    with Switch(site):
        assert [path.name for path in (tmp_path / WORK).iterdir()] == [LOCK]


def test_two_builds_do_not_meet(tmp_path: Path) -> None:
    site = tmp_path / "site"
    with Switch(site), pytest.raises(BusyError) as caught, Switch(site):
        pass
    assert str(caught.value) == f"another build of {site} is running (process {os.getpid()})"
    with Switch(site):
        pass


def _hold(site: Path, ready: object, done: object) -> None:
    with Switch(site):
        ready.set()  # type: ignore[attr-defined]
        done.wait()  # type: ignore[attr-defined]


def test_a_running_build_keeps_its_staging(tmp_path: Path) -> None:
    site = tmp_path / "site"
    context = multiprocessing.get_context("spawn")
    ready, done = context.Event(), context.Event()
    other = context.Process(target=_hold, args=(site, ready, done))
    other.start()
    assert ready.wait(30)
    left = tmp_path / WORK / "staging-of-the-other"
    left.mkdir()
    with pytest.raises(BusyError), Switch(site):
        pass
    assert left.exists()
    done.set()
    other.join(30)
    assert other.exitcode == 0


def test_a_journal_never_reaches_outside(tmp_path: Path) -> None:
    site, outside = tmp_path / "site", tmp_path / "outside"
    fill(outside, "mine")
    (tmp_path / WORK).mkdir()
    (tmp_path / WORK / JOURNAL).write_text(json.dumps({"staged": "x", "old": "../outside"}))
    with Switch(site):
        pass
    assert contents(outside)["index.html"] == b"mine"
    assert not site.exists()


def test_published_folder_can_be_read_by_others(tmp_path: Path) -> None:
    site = tmp_path / "site"
    publish(site, "one", exchange)
    assert site.stat().st_mode & 0o755 == 0o755
    shutil.rmtree(site)
