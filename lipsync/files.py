"""Write a file whole or not at all, and files that belong together all or none.

In: a path and the bytes. Out: a file that holds exactly these bytes. Whoever reads the path at any moment, even after
a power cut or a killed process, finds the old file or the new one, never a mixture: the bytes go to a hidden file in
the same folder, are synced to the disk, and the hidden file is renamed to the path in one step (`os.replace`;
POSIX.1-2017, `rename`: a reader finds one of the two files at every moment). Then the folder is synced, so that the
name survives a power cut as the bytes do.

Files that belong together are all on the disk before the first is renamed: if the disk fills up, all stay as they
were. Only a kill between two renames, a few microseconds apart, can leave some new and some old.

The hidden file is removed whatever goes wrong. Only a killed process leaves one behind; the next write in that folder
removes it. A writer locks its hidden file, and the system ends the lock of a dead process: what is not locked is left
behind. Where a disk has no locks, a hidden file is removed once it is an hour old (chosen: far longer than any write
lasts, so no other writer loses its file).
"""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
import stat
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
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


def write_whole(
    path: Path, content: bytes, check: Callable[[], None] = lambda: None, *, within: Path | None = None
) -> None:
    """Put `content` in the file `path`, making its folders; the file is whole at every moment.

    Args:
        path: the file.
        content: what it is to hold.
        check: called when all is on the disk, just before the file is put in its place; if it raises, it is not put.
        within: a folder that must exist: folders are made only below it. If it was moved away, nothing is written.

    Raises:
        OutputError: if it cannot be written, with path, reason and remedy; what was there before is untouched.
    """
    _write({path: content}, check, within)


def write_together(contents: Mapping[Path, bytes]) -> None:
    """Put contents in files that belong together, making their folders: all of them, or none.

    Raises:
        OutputError: if one cannot be written, with path, reason and remedy; what was there before is untouched.
    """
    _write(contents, lambda: None, None)


@dataclass(frozen=True, slots=True)
class _UnfinishedFile:
    """A hidden file, open and locked, that holds all that the file `target` is to hold."""

    hidden: Path
    target: Path
    file: int

    def into_place(self) -> None:
        if sys.platform == "win32":
            os.close(self.file)  # Windows renames no open file
        os.replace(self.hidden, self.target)

    def close(self) -> None:
        with contextlib.suppress(OSError):
            os.close(self.file)


def _write(contents: Mapping[Path, bytes], check: Callable[[], None], within: Path | None) -> None:
    unfinished: list[_UnfinishedFile] = []
    path = next(iter(contents))
    try:
        for path, content in contents.items():
            # A linked file is written where it really is, so the link stays.
            unfinished.append(
                _unfinished(Path(os.path.realpath(path)), content, within and Path(os.path.realpath(within)))
            )
        check()
        places = dict(zip(contents, unfinished, strict=True))
        for path in contents:
            places[path].into_place()
        for folder in dict.fromkeys(new.target.parent for new in unfinished):
            _sync(folder)
    except OSError as error:
        reason = _REASONS.get(error.errno or 0) or f"{error.strerror or error}; choose another folder"
        raise OutputError(f"{path}: cannot be written: {reason}") from error
    finally:
        for new in unfinished:
            with contextlib.suppress(OSError):
                new.hidden.unlink()  # there only if something went wrong, also when stopped from the keyboard
            new.close()
    for folder in dict.fromkeys(new.target.parent for new in unfinished):
        _remove_left_behind(folder)


def _unfinished(target: Path, content: bytes, within: Path | None) -> _UnfinishedFile:
    """Return a hidden file beside the target that holds the content, synced to the disk."""
    _make_folder(target.parent, within)
    mode = _mode_of(target)
    while True:
        hidden = target.with_name(f"{_PREFIX}{secrets.token_hex(8)}{_SUFFIX}")
        new = _UnfinishedFile(hidden, target, os.open(hidden, os.O_WRONLY | os.O_CREAT | os.O_EXCL | _BINARY, 0o666))
        try:
            if _lock(new.file) is False or not _is_at(new.file, hidden):
                new.close()  # another writer took it for left behind, before it was locked
                continue
            with open(new.file, "wb", closefd=False) as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            if mode is not None:
                hidden.chmod(mode)
        except BaseException:  # also when stopped from the keyboard
            with contextlib.suppress(OSError):
                hidden.unlink()
            new.close()
            raise
        return new


def _make_folder(folder: Path, within: Path | None) -> None:
    """Make a folder and its parents, only below `within` if that is given, and sync them."""
    if folder.is_dir():
        return
    new = [one for one in (folder, *folder.parents) if not one.exists() and (within is None or within in one.parents)]
    for one in reversed(new):
        one.mkdir(exist_ok=True)
        _sync(one.parent)


def _sync(folder: Path) -> None:
    """Sync the names in a folder to the disk, where the system allows it."""
    if sys.platform == "win32":
        return  # Windows opens no folder
    with contextlib.suppress(OSError):
        opened = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(opened)
        finally:
            os.close(opened)


def _mode_of(target: Path) -> int | None:
    """Return the permissions of the file that is there, None if there is none.

    Raises:
        OSError: if a folder is there, or a file that may not be written, which must not be replaced either.
    """
    try:
        mode = target.stat().st_mode
    except FileNotFoundError:
        return None
    if stat.S_ISDIR(mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(target))
    if not os.access(target, os.W_OK):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(target))
    return stat.S_IMODE(mode)


def _remove_left_behind(folder: Path) -> None:
    """Remove what killed processes left behind."""
    for left in _unfinished_in(folder):
        with contextlib.suppress(OSError):
            opened = os.open(left, os.O_RDWR)
            try:
                left_behind = _lock(opened)
                if left_behind is None:
                    left_behind = left.stat().st_mtime < time.time() - _LEFT_BEHIND_S
                if left_behind and _is_at(opened, left):
                    left.unlink()
            finally:
                os.close(opened)


def _unfinished_in(folder: Path) -> Iterator[Path]:
    with contextlib.suppress(OSError), os.scandir(folder) as entries:
        for entry in entries:
            if entry.name.startswith(_PREFIX) and entry.name.endswith(_SUFFIX):
                yield folder / entry.name


def _is_at(file: int, path: Path) -> bool:
    """Whether an open file is still the one at a path."""
    try:
        return os.path.samestat(os.fstat(file), os.stat(path))
    except FileNotFoundError:
        return False


if sys.platform == "win32":
    _BINARY = os.O_BINARY

    def _lock(_file: int) -> bool | None:
        """Return None: on Windows a locked file cannot be renamed, so the age of a file decides."""
        return None

else:
    import fcntl

    _BINARY = 0

    def _lock(file: int) -> bool | None:
        """Lock a file until it is closed.

        Return False if another program has it locked, None where the disk has no locks.
        """
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            return False if error.errno in (errno.EACCES, errno.EAGAIN) else None
        return True
