"""The breakdown of a line on disk: the record that people correct, read back exactly.

Its form is described in `lipsync/formats/breakdown.md`. Reading reports every fault in one go. `Kept.breakdown` is
what stands: the rest of the program needs nothing else.
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
    from lipsync.breakdown.reading import kept_of  # pydantic takes its time to load: not before it is needed

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
