"""Reads tables as text: CSV with any usual separator and in any usual encoding, with or without a byte order mark.

In: a path. Out: a `ListSheet`. Of the separators, the one is taken with which most headings are known. Quotes follow
RFC 4180 with every separator.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Sequence
from pathlib import Path

from lipsync.errors import InputError
from lipsync.message import Message, Where
from lipsync.production.workbook_file import MOST_ROWS, ListSheet, too_many

_SEPARATORS = ",;\t|"
_BYTE_ORDER_MARKS = {b"\xef\xbb\xbf": "utf-8-sig", b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}
_MOST_BYTES = 20_000_000  # chosen: far more than MOST_ROWS rows of words have
_HEAD_LETTERS, _HEAD_ROWS = 20_000, 20  # where headings are looked for to find the separator (chosen)


def read_text_table(path: Path, known: Callable[[Sequence[str]], int]) -> tuple[ListSheet, tuple[Message, ...]]:
    """Return the rows of a text table, and what is to be known of how it was read.

    Args:
        path: the file.
        known: gives how many cells of a row are known headings.

    Raises:
        InputError: if it cannot be read, or is too long.
    """
    text, messages = decoded(path)
    head = text[:_HEAD_LETTERS]
    best = max(
        _SEPARATORS, key=lambda mark: max((known(row) for row in _rows(path, head, mark)[:_HEAD_ROWS]), default=0)
    )
    rows = _rows(path, text, best, strict=True)
    if len(rows) > MOST_ROWS:
        raise too_many(path, len(rows))
    return ListSheet("", tuple(tuple(cell if cell.strip() else None for cell in row) for row in rows)), messages


def decoded(path: Path) -> tuple[str, tuple[Message, ...]]:
    """Return the text of a file, and what is to be known of its encoding.

    Raises:
        InputError: if it cannot be read or is no text.
    """
    try:
        content = path.read_bytes()
    except OSError as error:
        raise InputError.one(path, "", f"cannot be read ({error.strerror}); check its name and permissions") from None
    if len(content) > _MOST_BYTES:
        raise InputError.one(path, "", "is too large for a list of lines; take what is not the list out of it")
    encoding = next((name for mark, name in _BYTE_ORDER_MARKS.items() if content.startswith(mark)), "utf-8")
    messages: tuple[Message, ...] = ()
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError:
        if encoding != "utf-8":
            raise InputError.one(path, "", "is no text; save it as CSV in UTF-8") from None
        text = content.decode("cp1252", errors="replace")
        messages = (Message.of("not in UTF-8", Where(str(path))),)
    if "\0" in text:
        raise InputError.one(path, "", "is no text; save it as CSV in UTF-8")
    return text, messages


def _rows(path: Path, text: str, separator: str, *, strict: bool = False) -> list[list[str]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=strict)
    try:
        return list(reader)
    except csv.Error as error:
        if not strict:
            return []  # the head may end within quotes
        text = f"is no table ({error}); check its quotes, each closed and doubled within text"
        raise InputError.one(path, f"line {reader.line_num}", text) from None
