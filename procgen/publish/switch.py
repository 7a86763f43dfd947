"""A finished folder put in the place of a published one, as one step; a killed run leaves what was published.

Where the system can exchange two names (Linux ``renameat2``, macOS ``renamex_np``) that is the step.
Elsewhere two renames follow each other, and a journal says how far they came: the next run puts the published
folder back.
"""

from __future__ import annotations

import contextlib
import ctypes
import ctypes.util
import errno
import json
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

WORK = ".procgen"
LOCK, JOURNAL = "lock", "switch.json"
STAGING, OLD = "staging-", "old-"

_AT_FDCWD = -100
_RENAME_EXCHANGE = 2
_RENAME_SWAP = 2
#: answers of a system or file system that cannot exchange names
_CANNOT = {errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP}


class BusyError(Exception):
    """Another build of the same folder is running."""

    def __init__(self, folder: Path, owner: str) -> None:
        self.folder = folder
        self.owner = owner
        super().__init__(f"another build of {folder} is running (process {owner or 'unknown'})")


Exchange = Callable[[Path, Path], bool]


def exchange(first: Path, second: Path) -> bool:
    """Exchange two names in one step; False where this system or file system cannot.

    Raises:
        OSError: it can, and refused.
    """
    call = _exchange_call()
    if call is None:
        return False
    if call(os.fsencode(first), os.fsencode(second)) == 0:
        return True
    code = ctypes.get_errno()
    if code in _CANNOT:
        return False
    raise OSError(code, os.strerror(code), str(first), None, str(second))


def _exchange_call() -> Callable[[bytes, bytes], int] | None:
    if sys.platform.startswith("linux"):
        function = _symbol("renameat2")
        if function is not None:
            return lambda a, b: int(function(_AT_FDCWD, a, _AT_FDCWD, b, _RENAME_EXCHANGE))
    elif sys.platform == "darwin":
        function = _symbol("renamex_np")
        if function is not None:
            return lambda a, b: int(function(a, b, _RENAME_SWAP))
    return None


def _symbol(name: str) -> Any:
    library = ctypes.CDLL(ctypes.util.find_library("c"), use_errno=True)
    return getattr(library, name, None)


class Switch:
    """The published folder of a workspace and all that changes it. Used as a context it holds the lock."""

    def __init__(self, published: Path, exchange_names: Exchange = exchange) -> None:
        self.published = published
        self.work = published.parent / WORK
        self._exchange = exchange_names
        self._lock: Any = None

    def __enter__(self) -> Switch:
        self.work.mkdir(parents=True, exist_ok=True)
        self._lock = _take_lock(self.work / LOCK, self.published)
        try:
            self.recover()
        except BaseException:
            self._lock.close()
            raise
        return self

    def __exit__(self, *_: object) -> None:
        # Closing unlocks. The file stays: removing it would let two runs hold two locks of one name.
        self._lock.close()
        self._lock = None

    @contextlib.contextmanager
    def staging(self) -> Iterator[Path]:
        """A new folder beside the published one; whatever is left of it afterwards is removed."""
        folder = Path(tempfile.mkdtemp(prefix=STAGING, dir=self.work))
        folder.chmod(0o755)
        try:
            yield folder
        finally:
            shutil.rmtree(folder, ignore_errors=True)

    def publish(self, staged: Path) -> None:
        """Put a finished folder in the place of the published one."""
        if not os.path.lexists(self.published):
            staged.rename(self.published)
            return
        if self._exchange(staged, self.published):
            shutil.rmtree(staged, ignore_errors=True)
            return
        self._two_renames(staged)

    def _two_renames(self, staged: Path) -> None:
        old = self.work / (OLD + staged.name.removeprefix(STAGING))
        self._write_journal(staged, old)
        self.published.rename(old)
        staged.rename(self.published)
        (self.work / JOURNAL).unlink()
        shutil.rmtree(old, ignore_errors=True)

    def _write_journal(self, staged: Path, old: Path) -> None:
        draft = self.work / (JOURNAL + ".new")
        with draft.open("w", encoding="utf-8") as file:
            json.dump({"staged": staged.name, "old": old.name}, file)
            file.flush()
            os.fsync(file.fileno())
        draft.replace(self.work / JOURNAL)

    def recover(self) -> None:
        """Put back what a killed run had moved away, and remove what it left. Needs the lock."""
        journal = self.work / JOURNAL
        if journal.exists():
            noted = json.loads(journal.read_text(encoding="utf-8"))
            old = self.work / Path(noted["old"]).name
            if old.exists() and not os.path.lexists(self.published):
                old.rename(self.published)
            journal.unlink()
        (self.work / (JOURNAL + ".new")).unlink(missing_ok=True)
        for left in self.work.iterdir():
            if left.name.startswith((STAGING, OLD)):
                shutil.rmtree(left, ignore_errors=True)


def _take_lock(path: Path, published: Path) -> Any:
    file = path.open("a+", encoding="utf-8")
    try:
        _lock_file(file)
    except OSError as error:
        file.seek(0)
        owner = file.read().strip()
        file.close()
        raise BusyError(published, owner) from error
    file.seek(0)
    file.truncate()
    file.write(str(os.getpid()))
    file.flush()
    return file


def _lock_file(file: Any) -> None:
    if sys.platform == "win32":
        import msvcrt

        # A byte far behind the text, so that another run can still read who holds the lock.
        file.seek(4096)
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
    else:
        import fcntl

        fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
