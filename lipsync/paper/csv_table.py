"""A table as CSV (RFC 4180, UTF-8), which any spreadsheet opens; a workbook is spreadsheet.py."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable


def csv_table(rows: Iterable[Iterable[object]], *, for_spreadsheets: bool = False) -> bytes:
    r"""Return rows, the heads first, as the bytes of a file; the items of a list share a cell.

    `for_spreadsheets` adds a byte order mark: without it, usual programs misread letters with diacritics.

    >>> csv_table([("code", "name"), ("OPEN1", 'a "wide" one, really'), ("REST", None), ([1, 2], "")])
    b'code,name\r\nOPEN1,"a ""wide"" one, really"\r\nREST,\r\n1 2,\r\n'
    """
    text = io.StringIO()
    written = ([" ".join(map(str, cell)) if isinstance(cell, list) else cell for cell in row] for row in rows)
    csv.writer(text, lineterminator="\r\n").writerows(written)
    return text.getvalue().encode("utf-8-sig" if for_spreadsheets else "utf-8")
