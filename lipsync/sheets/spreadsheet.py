"""Writes tables as a workbook for spreadsheets (Office Open XML, ECMA-376); the only file that knows the library.

In come tables, out come the bytes of an .xlsx file. The same tables give the same bytes on any day: the file's dates
are fixed. Text is always text, whatever it begins with; a formula is one only where it is a `Formula`.
"""

from __future__ import annotations

import datetime
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass

import xlsxwriter

_CREATED = datetime.datetime(2000, 1, 1)

# In widths of a digit, as spreadsheets count columns; chosen.
_LEAST_WIDTH, _MOST_WIDTH = 8, 60


@dataclass(frozen=True, slots=True)
class Formula:
    """A formula, such as "=SUM(A2:A9)", and what it comes to."""

    text: str
    value: int


Cell = str | int | datetime.date | Formula


@dataclass(frozen=True, slots=True)
class SheetTable:
    """One sheet of a workbook: its name, its heads, its rows, and which rows are totals (bold), counted from 0."""

    name: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    totals: frozenset[int] = frozenset()

    def __post_init__(self) -> None:
        for row in self.rows:
            if len(row) != len(self.heads):
                raise ValueError(f"{self.name}: a row of {len(row)} cells under {len(self.heads)} heads")


def workbook(title: str, tables: Sequence[SheetTable]) -> bytes:
    """Return the tables as an .xlsx file, each on a sheet of its own."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True}) as book:
        book.set_properties({"title": title, "author": "lipsync", "created": _CREATED})
        formats = {bold: book.add_format({"bold": bold}) for bold in (False, True)}
        dates = {bold: book.add_format({"bold": bold, "num_format": "yyyy-mm-dd"}) for bold in (False, True)}
        head = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
        for place, table in enumerate(tables, start=1):
            sheet = book.add_worksheet(_sheet_name(table.name, place))
            sheet.freeze_panes(1, 0)
            for column, text in enumerate(table.heads):
                sheet.write_string(0, column, text, head)
                sheet.set_column(column, column, _width(table, column))
            for down, row in enumerate(table.rows):
                bold = down in table.totals
                for column, cell in enumerate(row):
                    where = (down + 1, column)
                    if isinstance(cell, Formula):
                        sheet.write_formula(*where, cell.text, formats[bold], cell.value)
                    elif isinstance(cell, datetime.date):
                        sheet.write_datetime(*where, datetime.datetime.combine(cell, datetime.time()), dates[bold])
                    elif isinstance(cell, int):
                        sheet.write_number(*where, cell, formats[bold])
                    else:
                        sheet.write_string(*where, cell, formats[bold])
    return out.getvalue()


def _sheet_name(text: str, place: int) -> str:
    """Return a name that a spreadsheet takes: up to 31 letters, no brackets and slashes, each once.

    >>> _sheet_name("order for the workshop", 1), _sheet_name("a/b? and a name that is much too long", 2)
    ('1 order for the workshop', '2 ab and a name that is much to')
    """
    return f"{place} " + re.sub(r"[\[\]:*?/\\]", "", text)[:29].strip("' ")


def _width(table: SheetTable, column: int) -> int:
    longest = max((len(str(row[column])) for row in table.rows if not isinstance(row[column], Formula)), default=0)
    return min(_MOST_WIDTH, max(_LEAST_WIDTH, longest + 2))
