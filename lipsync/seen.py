"""Whether files are still what they were when they were read.

In: paths, before they are read. Out: a `SeenFile` for each; later, the paths of those that were changed since. A file
is noted before it is read, so that a change during the reading counts as a change. A file is compared by its inode
number, its size and the times of its last change: every writer changes one of them, even one that puts another file
in its place.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

# Inode number, size in bytes, times of the last change of content and of status, in nanoseconds.
Signature = tuple[int, int, int, int]

# Two changes of a file closer together than this may have the same time (chosen: the coarsest times of changes in use
# are two seconds apart).
FRESH_NS = 2_000_000_000


@dataclass(frozen=True, slots=True)
class SeenFile:
    """A file and its signature when it was noted; None if it did not exist."""

    path: Path
    signature: Signature | None


def seen(*paths: Path) -> tuple[SeenFile, ...]:
    """Note how files are now."""
    return tuple(SeenFile(path, signature_of(path)) for path in paths)


def changed_since(known: Iterable[SeenFile]) -> tuple[Path, ...]:
    """Return the files that are no longer as they were, each once."""
    return tuple(dict.fromkeys(one.path for one in known if signature_of(one.path) != one.signature))


def state_of_file(name: str) -> tuple[str, int]:
    """Return a file's signature as text, and when it was last changed, in ns.

    Raises:
        OSError: if there is no such file, or it cannot be looked at.
    """
    status = os.stat(name)
    state = f"{status.st_ino} {status.st_size} {status.st_mtime_ns} {status.st_ctime_ns}"
    return state, max(status.st_mtime_ns, status.st_ctime_ns)


def signature_of(path: str | Path) -> Signature | None:
    """Return how a file is now; None where there is none."""
    try:
        status = os.stat(path)
    except (OSError, ValueError):
        return None
    return status.st_ino, status.st_size, status.st_mtime_ns, status.st_ctime_ns
