"""One process of lipsync at a time that reads, changes and writes files of a folder, on all machines that see it.

In: the path of a file that is about to be read, changed and written. Out: a context in which no other process of
lipsync is in such a context for the same folder: so the file does not change between being read and being written. A
hidden file in the folder is locked by the operating system (`flock` on Linux and BSD, `locking` of the C library on
Windows), which ends the lock of a killed process; the hidden file is removed at the end. A text editor does not ask
for this lock: because of editors, `files.write_whole` checks once more before it puts a file in its place.
"""

from __future__ import annotations

import contextlib
import errno
import os
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from lipsync.errors import OutputError

_NAME = ".lipsync-writing"
_WAIT_S = 60.0  # chosen: far longer than a line takes
_RETRY_EVERY_S = 0.02  # chosen: too short to be felt
_LOCKED_BY_ANOTHER = (errno.EACCES, errno.EAGAIN, errno.EDEADLK)


@contextlib.contextmanager
def alone(path: Path) -> Iterator[None]:
    """Keep other processes of lipsync out of the folder of `path`.

    It keeps out none where the folder cannot be written or its disk has no locks.

    Raises:
        OutputError: if another process keeps the lock for a minute.
    """
    hidden = Path(os.path.realpath(path)).with_name(_NAME)
    file = _locked(hidden, path)
    try:
        yield
    finally:
        if file is not None:
            with contextlib.suppress(OSError):
                hidden.unlink()  # while it is locked: who waits for the lock sees that it is gone, and makes another
            os.close(file)


def _locked(hidden: Path, path: Path) -> int | None:
    """Return the open hidden file, locked; None where nothing can be locked."""
    until = time.monotonic() + _WAIT_S
    while time.monotonic() < until:
        try:
            file = os.open(hidden, os.O_RDWR | os.O_CREAT, 0o666)
        except OSError:
            return None  # the folder cannot be written; whoever writes into it next says so
        try:
            _lock(file)
            if os.fstat(file).st_ino == hidden.stat().st_ino:
                return file
        except FileNotFoundError:
            pass  # the process that had the lock has removed the file
        except OSError as error:
            if error.errno not in _LOCKED_BY_ANOTHER:
                os.close(file)
                return None  # the disk has no locks, like some network disks
            time.sleep(_RETRY_EVERY_S)
        os.close(file)
    raise OutputError(
        f"{path}: cannot be written: another program has been writing in its folder for a minute; let it finish"
    )


if sys.platform == "win32":
    import msvcrt

    def _lock(file: int) -> None:
        msvcrt.locking(file, msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _lock(file: int) -> None:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
