"""One writer of a file at a time, among all programs of ours on all machines that see it.

In: the path of a file that is about to be read, changed and written. Out: a stretch of a program during which nobody
else is in such a stretch for the same folder: what was read is still what stands when it is written. A hidden file in
the folder is held by the system's own lock (`flock`, as of Linux and BSD; `locking` of the C library on Windows), so
that a killed process holds nothing; it is removed at the end. An editor of texts knows nothing of this:
against it, `files.write_whole` looks once more before it puts a file in place.
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
_WAIT_S, _LOOK_EACH_S = 60.0, 0.02  # chosen: far longer than a line takes, short enough not to be felt
_HELD = (errno.EACCES, errno.EAGAIN, errno.EDEADLK)


@contextlib.contextmanager
def alone(path: Path) -> Iterator[None]:
    """Keep other writers out of the folder of `path`; where nothing can be written or held, none is kept out.

    Raises:
        OutputError: if another one stays in for a minute.
    """
    hidden = Path(os.path.realpath(path)).with_name(_NAME)
    file = _entered(hidden, path)
    try:
        yield
    finally:
        if file is not None:
            with contextlib.suppress(OSError):
                hidden.unlink()  # while it is held: whoever waits for it sees that it is gone, and makes another
            os.close(file)


def _entered(hidden: Path, path: Path) -> int | None:
    until = time.monotonic() + _WAIT_S
    while time.monotonic() < until:
        try:
            file = os.open(hidden, os.O_RDWR | os.O_CREAT, 0o666)
        except OSError:
            return None  # nothing can be written here; writing itself says so
        try:
            _hold(file)
            if os.fstat(file).st_ino == hidden.stat().st_ino:
                return file
        except FileNotFoundError:
            pass  # whoever held it has removed it
        except OSError as error:
            if error.errno not in _HELD:
                os.close(file)
                return None  # a disk that holds nothing, such as some that lie elsewhere
            time.sleep(_LOOK_EACH_S)
        os.close(file)
    raise OutputError(
        f"{path}: cannot be written: another program has been writing in its folder for a minute; let it finish"
    )


if sys.platform == "win32":
    import msvcrt

    def _hold(file: int) -> None:
        msvcrt.locking(file, msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _hold(file: int) -> None:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
