"""Write a file whole or not at all.

In: a path and the bytes. Out: a file that holds exactly these bytes. Whoever reads the path at any moment, also after
a power cut or a killed process, finds the old file or the new one, never a part: the bytes go to a hidden file in the
same folder, are forced to the disk, and take the path's place in one step (`os.replace`; POSIX.1-2017, `rename`:
the new name is there throughout).

The hidden file is removed whatever goes wrong. Only a killed process can leave one; the next write in that folder
removes it once it is an hour old (chosen: far longer than any write lasts, so no other writer loses its file).
"""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
import stat
import time
from collections.abc import Callable
from pathlib import Path

from lipsync.errors import OutputError

# A file or folder as callers name it.
AnyPath = str | os.PathLike[str]

_PREFIX, _SUFFIX = ".lipsync-", ".part"
_LEFT_BEHIND_S = 3600

# errno -> what is wrong and what to do.
_REASONS = {
    errno.ENOSPC: "the disk is full; free some space",
    errno.EDQUOT: "the disk quota is used up; free some space",
    errno.EFBIG: "the file is too large for this disk; write to another one",
    errno.EACCES: "writing is not allowed; allow it, close the file elsewhere, or choose another folder",
    errno.EPERM: "writing is not allowed; allow it, close the file elsewhere, or choose another folder",
    errno.EROFS: "the disk is read-only; choose another folder",
    errno.ENOTDIR: "a file stands where a folder is needed; move it or choose another folder",
    errno.EEXIST: "a file stands where a folder is needed; move it or choose another folder",
    errno.EISDIR: "a folder stands where the file should be; move it or choose another name",
    errno.ENOENT: "the folder cannot be made there; choose another one",
    errno.ENAMETOOLONG: "the name is too long; choose a shorter one",
}


def write_whole(path: Path, content: bytes, check: Callable[[], None] = lambda: None) -> None:
    """Put `content` in the file `path`, making its folders; the file is whole at every moment.

    `check` is called when all is on the disk, just before it takes the path's place; what it raises stops that.

    Raises:
        OutputError: if it cannot be written, with path, reason and remedy; what was there before is untouched.
    """
    try:
        # A linked file is written where it really is, so the link stays.
        _replace(Path(os.path.realpath(path)), content, check)
    except OSError as error:
        reason = _REASONS.get(error.errno or 0) or f"{error.strerror or error}; choose another folder"
        raise OutputError(f"{path}: cannot be written: {reason}") from error


def _replace(target: Path, content: bytes, check: Callable[[], None]) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    mode = _mode_of(target)
    hidden = target.with_name(f"{_PREFIX}{secrets.token_hex(8)}{_SUFFIX}")
    try:
        with open(os.open(hidden, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666), "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if mode is not None:
            hidden.chmod(mode)
        check()
        os.replace(hidden, target)
    except BaseException:  # also when stopped from the keyboard
        with contextlib.suppress(OSError):
            hidden.unlink()
        raise
    _sweep(target.parent)


def _mode_of(target: Path) -> int | None:
    """Return the permissions of what is there; a file that is locked against writing is not to be replaced."""
    try:
        mode = target.stat().st_mode
    except FileNotFoundError:
        return None
    if stat.S_ISDIR(mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(target))
    if not os.access(target, os.W_OK):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(target))
    return stat.S_IMODE(mode)


def _sweep(folder: Path) -> None:
    """Remove what killed processes left behind."""
    old = time.time() - _LEFT_BEHIND_S
    for left in folder.glob(f"{_PREFIX}*{_SUFFIX}"):
        with contextlib.suppress(OSError):
            if left.stat().st_mtime < old:
                left.unlink()
