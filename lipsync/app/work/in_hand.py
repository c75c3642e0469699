"""What a run has in hand of a production, so that another run leaves that to it and takes the rest.

In: a production's folder, and names of what is to be done. Out: whether this run may do it. A byte of a file in
`.lipsync/`, at a place that follows from the name, is held by the system's own lock (`fcntl` of POSIX.1-2017,
`locking` of the C library on Windows), so that a killed run holds nothing, and no file is left for each line. Where
nothing can be held, nobody is kept out: all is then done by both runs, and written by one at a time (file_lock.py).
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Self

from lipsync.app.index.production_index import hidden_folder

_NAME = "in-hand"
_LOOK_EACH_S = 0.05  # chosen: short enough not to be felt


# What is open in this process, by its path, and by how many it is used. With POSIX, closing one of a file's
# descriptors ends what all others of the process hold: so runs of one process, as at the desk, share one.
_open: dict[str, tuple[int, int]] = {}
_guard = threading.Lock()


class InHand:
    """What one run has in hand; used with `with`, all is let go at the end."""

    def __init__(self, folder: Path) -> None:
        """Make ready to take what there is to do in a production."""
        self._file: int | None = None
        self._places: set[int] = set()
        with contextlib.suppress(OSError):
            self._path = os.path.realpath(hidden_folder(folder) / _NAME)
            self._file = _opened(self._path)

    def __enter__(self) -> Self:
        """Return it."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Let go of all."""
        if self._file is not None:
            for place in self._places:
                with contextlib.suppress(OSError):
                    _free(self._file, place)
            _closed(self._path)

    def take(self, name: str) -> bool:
        """Take something in hand; False if another run has it."""
        if self._file is None:
            return True
        try:
            _hold(self._file, _place(name))
        except OSError as error:
            return not isinstance(error, (PermissionError, BlockingIOError))  # else a disk that holds nothing
        self._places.add(_place(name))
        return True

    def let_go(self, name: str) -> None:
        """Let go of something that was taken."""
        if self._file is not None:
            self._places.discard(_place(name))
            with contextlib.suppress(OSError):
                _free(self._file, _place(name))

    def wait(self, name: str, look: Callable[[], None] = lambda: None) -> None:
        """Wait until no other run has it. It is not taken: else two runs could wait for each other.

        Args:
            name: what it is.
            look: called again and again meanwhile; what it raises, such as that the run is to stop, ends the waiting.
        """
        while not self.take(name):
            look()
            time.sleep(_LOOK_EACH_S)
        self.let_go(name)


def _opened(path: str) -> int:
    with _guard:
        file, users = _open.get(path) or (os.open(path, os.O_RDWR | os.O_CREAT, 0o666), 0)
        _open[path] = file, users + 1
        return file


def _closed(path: str) -> None:
    with _guard:
        file, users = _open.pop(path)
        if users > 1:
            _open[path] = file, users - 1
        else:
            os.close(file)


def _place(name: str) -> int:
    return int.from_bytes(hashlib.sha256(name.encode()).digest()[:4], "big") >> 1


if sys.platform == "win32":
    import msvcrt

    def _hold(file: int, place: int) -> None:
        os.lseek(file, place, os.SEEK_SET)
        msvcrt.locking(file, msvcrt.LK_NBLCK, 1)

    def _free(file: int, place: int) -> None:
        os.lseek(file, place, os.SEEK_SET)
        msvcrt.locking(file, msvcrt.LK_UNLCK, 1)

else:
    import fcntl

    def _hold(file: int, place: int) -> None:
        fcntl.lockf(file, fcntl.LOCK_EX | fcntl.LOCK_NB, 1, place)

    def _free(file: int, place: int) -> None:
        fcntl.lockf(file, fcntl.LOCK_UN, 1, place)
