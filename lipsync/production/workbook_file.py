"""Reads workbooks of spreadsheets (Office Open XML, ECMA-376); the only file that knows the library that reads them.

In: a path. Out: `ListSheet`s with their rows. A cell that holds a formula is a `FormulaCell`, since its value is not
computed here. Each of several merged cells gets the value of the first.
"""

from __future__ import annotations

import re
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lipsync.errors import InputError

MOST_ROWS = 20_000  # chosen: more than any film has lines
_MOST_BYTES = 200_000_000  # unpacked (chosen: a workbook of MOST_ROWS rows has some 20 million)


@dataclass(frozen=True, slots=True)
class FormulaCell:
    """A cell that holds a formula."""

    text: str


@dataclass(frozen=True, slots=True)
class ListSheet:
    """A sheet: its name, its rows, and the cells that are merged.

    Attributes:
        name: as it stands on its tab; empty for a text file.
        rows: cells, None where one is empty.
        merged: (row, column), from 0, of each merged cell but the first of its group.
    """

    name: str
    rows: tuple[tuple[Any, ...], ...]
    merged: frozenset[tuple[int, int]] = frozenset()


def read_workbook(path: Path) -> tuple[ListSheet, ...]:
    """Return the visible sheets of a workbook.

    Raises:
        InputError: if it is no workbook, or too large.
    """
    import warnings

    from openpyxl import load_workbook

    try:
        _check_size(path)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of styles and extensions that do not matter here
            book = load_workbook(path)
    except InputError:
        raise
    except Exception:  # the library raises many kinds: KeyError, zipfile.BadZipFile, faults of XML
        text = "is no workbook (.xlsx) that can be read; save it again from a spreadsheet, or save the list as CSV"
        raise InputError.one(path, "", text) from None
    return tuple(_sheet(sheet) for sheet in book.worksheets if sheet.sheet_state == "visible")


def _sheet(sheet: Any) -> ListSheet:
    rows = [[_value(cell) for cell in row] for row in sheet.iter_rows()]
    merged = set()
    for span in sheet.merged_cells.ranges:
        for row in range(span.min_row - 1, min(span.max_row, len(rows))):
            for column in range(span.min_col - 1, span.max_col):
                if (row, column) != (span.min_row - 1, span.min_col - 1):
                    rows[row][column] = rows[span.min_row - 1][span.min_col - 1]
                    merged.add((row, column))
    return ListSheet(sheet.title, tuple(map(tuple, rows)), frozenset(merged))


def _value(cell: Any) -> Any:
    return FormulaCell(str(cell.value)) if cell.data_type == "f" else cell.value


def _check_size(path: Path) -> None:
    """Refuse a workbook too large to be a list before it is unpacked: reading 100,000 rows takes a minute."""
    with zipfile.ZipFile(path) as parts:
        sheets = [part for part in parts.infolist() if re.match(r"xl/worksheets/[^/]+\.xml$", part.filename)]
        if sum(part.file_size for part in parts.infolist()) > _MOST_BYTES:
            raise InputError.one(path, "", "is too large for a list of lines; take what is not the list out of it")
        for part in sheets:
            if (count := len(re.findall(rb"<row[ >]", parts.read(part)))) > MOST_ROWS:
                raise too_many(path, count)


def too_many(path: Path, count: int) -> InputError:
    """Return the error for a list that is too long."""
    return InputError.one(path, "", f"has {count} rows, {MOST_ROWS} are allowed; take a scene at a time")
