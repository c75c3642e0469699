"""One way to look at a folder, which tells "not there" from "may not be read".

In: a folder, and what its files' names end with. Out: paths, in the order of their names; none if there is no such
folder. A folder that is there and cannot be looked into is an error: what lies in it would else be taken for nothing.
Names that begin with a point are some other program's.
"""

from __future__ import annotations

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
    """Return the files of a folder whose names end so, such as `.toml`.

    Raises:
        InputError: if the folder cannot be looked into.
    """
    return tuple(path for path in _entries(folder) if path.name.endswith(ending))


def files_below(folder: Path, ending: str) -> tuple[Path, ...]:
    """Return the files of a folder's folders whose names end so.

    Raises:
        InputError: naming every folder that cannot be looked into.
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
    """Return whether there is such a file or folder; a name too long for the disk is one of nothing.

    Raises:
        InputError: if that cannot be known, since a folder on the way to it may not be looked into.
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
    """Return what cannot be looked into of a folder and its folders; nothing if there is none."""
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
            os.stat(folder / names[0], follow_symlinks=False)  # names may be read where what they name may not
    except FileNotFoundError:
        if not os.path.lexists(folder) or os.path.exists(folder):  # or the file went meanwhile
            return ()
        raise InputError.one(folder, "", "is a link to nothing; connect its disk, or take the link away") from None
    except OSError as error:
        raise _told(folder, error) from None
    return tuple(folder / name for name in names)


def _mode(path: Path) -> int | None:
    try:
        return os.stat(path).st_mode
    except (FileNotFoundError, NotADirectoryError):
        return None
    except ValueError:  # a name with a zero in it
        return None
    except OSError as error:
        if error.errno == errno.ENAMETOOLONG:
            return None
        raise _told(path, error) from None


def _told(path: Path, error: OSError) -> InputError:
    reason = _REASONS.get(error.errno or 0) or f"cannot be read ({error.strerror}); check its disk and permissions"
    return InputError.one(path, "", reason)
