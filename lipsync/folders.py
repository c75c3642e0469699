"""The only way in which the program lists folders: it tells "does not exist" from "may not be read".

In: a folder, and what its files' names end with. Out: paths, in the order of their names; none if there is no such
folder. A folder that exists and cannot be read is an error: otherwise its files would be taken not to exist. Names
that begin with a dot belong to other programs and are left out.
"""

from __future__ import annotations

import contextlib
import errno
import os
import stat
from pathlib import Path

from lipsync.errors import InputError, Problem

_FORBIDDEN = "may not be read; give whoever runs this the right to read it, and to look into it if it is a folder"

# errno -> what is wrong and what to do.
_REASONS = {
    errno.EACCES: _FORBIDDEN,
    errno.EPERM: _FORBIDDEN,
    errno.ENOTDIR: "a file stands where a folder is needed; move it",
    errno.ELOOP: "is a link that leads back to itself; take it away",
    errno.ENAMETOOLONG: "has a name too long for this disk; choose a shorter one",
    errno.ESTALE: "is no longer there on the other machine; connect its disk again",
}


def files_in(folder: Path, ending: str) -> tuple[Path, ...]:
    """Return what lies in a folder and has a name with this ending, such as `.toml`.

    Raises:
        InputError: if the folder cannot be read.
    """
    return tuple(path for path in _entries(folder) if path.name.endswith(ending))


def files_below(folder: Path, ending: str) -> tuple[Path, ...]:
    """Return what lies in the folders in a folder and has a name with this ending.

    Raises:
        InputError: naming every folder that cannot be read.
    """
    found: list[Path] = []
    problems: list[Problem] = []
    for below in _entries(folder):
        try:
            found += files_in(below, ending) if is_folder(below) else ()
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return tuple(found)


def is_there(path: Path) -> bool:
    """Return whether there is such a file or folder; False for a name that is too long for the disk.

    Raises:
        InputError: if that cannot be known, because a folder on the path may not be entered.
    """
    return _mode(path) is not None


def is_folder(path: Path) -> bool:
    """Return whether there is such a folder.

    Raises:
        InputError: if that cannot be known.
    """
    mode = _mode(path)
    return mode is not None and stat.S_ISDIR(mode)


def unreadable(folder: Path) -> tuple[Problem, ...]:
    """Return a problem for each that cannot be read, of a folder and the folders in it."""
    try:
        files_below(folder, "")
    except InputError as error:
        return error.problems
    return ()


def _entries(folder: Path) -> tuple[Path, ...]:
    try:
        with os.scandir(folder) as entries:
            names = sorted(entry.name for entry in entries if not entry.name.startswith("."))
        if names:
            # A folder may be listed although its files cannot be reached; one removed meanwhile tells nothing.
            with contextlib.suppress(FileNotFoundError):
                os.stat(folder / names[0], follow_symlinks=False)
    except FileNotFoundError:
        if not os.path.lexists(folder) or os.path.exists(folder):  # or it was made meanwhile
            return ()
        raise InputError.one(folder, "", "is a link to nothing; connect its disk, or take the link away") from None
    except OSError as error:
        raise _error_for(folder, error) from None
    return tuple(folder / name for name in names)


def _mode(path: Path) -> int | None:
    try:
        return os.stat(path).st_mode
    except (FileNotFoundError, NotADirectoryError):
        return None
    except ValueError:  # a name with a NUL character
        return None
    except OSError as error:
        if error.errno == errno.ENAMETOOLONG:
            return None
        raise _error_for(path, error) from None


def _error_for(path: Path, error: OSError) -> InputError:
    reason = _REASONS.get(error.errno or 0) or f"cannot be read ({error.strerror}); check its disk and permissions"
    return InputError.one(path, "", reason)
