"""The entrance to this room: reads and writes the file in which a line's breakdown is kept, and which people correct.

In: a path or bytes. Out: `Kept`, or one error with every fault; writing and reading give the same value back. The
form of the file is described in `lipsync/formats/breakdown.md`. Most of the program needs only `Kept.breakdown`,
which is what stands.
"""

from __future__ import annotations

from pathlib import Path

from lipsync.breakdown.correcting import corrections_between
from lipsync.breakdown.corrections import Correction, PieceChoice, Replaced, by_hand
from lipsync.breakdown.kept import Computation, Kept, Source, check_of
from lipsync.breakdown.merging import accept_newer, merge
from lipsync.errors import InputError
from lipsync.files import write_whole

__all__ = [
    "Computation",
    "Correction",
    "Kept",
    "PieceChoice",
    "Replaced",
    "Source",
    "accept_newer",
    "by_hand",
    "check_of",
    "corrections_between",
    "merge",
    "read",
    "read_bytes",
    "text_of",
    "write",
]


def read(path: Path) -> Kept:
    """Return what a file keeps of a line.

    Raises:
        InputError: if it cannot be read, or with every fault that is in it.
    """
    try:
        content = path.read_bytes()
    except OSError as error:
        raise InputError.one(
            path, "", f"cannot be read: {error.strerror or error}; check its name and place"
        ) from error
    return read_bytes(content, str(path))


def read_bytes(content: bytes, file: str) -> Kept:
    """Return what the bytes of a file keep of a line; `file` is its name in messages.

    Raises:
        InputError: with every fault that is in it.
    """
    from lipsync.breakdown.reading import kept_of  # here, since pydantic is slow to import

    return kept_of(content, file)


def text_of(kept: Kept) -> str:
    """Return the text of the file that keeps a line."""
    from lipsync.breakdown import writing

    return writing.text_of(kept)


def write(path: Path, kept: Kept) -> None:
    """Write the file that keeps a line, whole or not at all.

    Raises:
        OutputError: if it cannot be written.
    """
    write_whole(path, text_of(kept).encode())
