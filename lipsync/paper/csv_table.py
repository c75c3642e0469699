"""A table as CSV (RFC 4180, UTF-8), which any spreadsheet opens; a workbook is spreadsheet.py."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable


def csv_table(rows: Iterable[Iterable[object]]) -> bytes:
    r"""Return rows, the heads first, as the bytes of a file.

    >>> csv_table([("code", "name"), ("OPEN1", 'a "wide" one, really'), ("REST", None)])
    b'code,name\r\nOPEN1,"a ""wide"" one, really"\r\nREST,\r\n'
    """
    text = io.StringIO()
    csv.writer(text, lineterminator="\r\n").writerows(rows)
    return text.getvalue().encode()
