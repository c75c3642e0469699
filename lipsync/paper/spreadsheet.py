"""Writes tables as a workbook for spreadsheets (Office Open XML, ECMA-376); the only file that knows the library.

In: tables. Out: the bytes of an .xlsx file. The same tables give the same bytes on any day: the file's dates are
fixed. Text stays text even if it begins like a formula; only a `Formula` becomes a formula.
"""

from __future__ import annotations

import datetime
import io
import re
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

import xlsxwriter

_CREATED = datetime.datetime(2000, 1, 1)

# In widths of a digit, as spreadsheets count columns; chosen.
_LEAST_WIDTH, _MOST_WIDTH = 8, 90

# Where a table is wider than this, its widest texts take more lines, so that it prints at a size that is read: some
# 130 digits of 11 points fit on A4 across (seen in LibreOffice 7.4). They never come below the second. Chosen.
_MOST_OF_ALL, _LEAST_OF_TEXT = 150, 24

# A row of one line, in points, as spreadsheets have it; paper as Office Open XML numbers it (ECMA-376, pageSetup).
_LINE_PT = 15
_PAPERS = {"Letter": 1, "Tabloid": 3, "A3": 8, "A4": 9}

# The most letters in a header or a footer (the file format's own limit), less some room for the page number.
_MOST_HEADER = 200


@dataclass(frozen=True, slots=True)
class Formula:
    """A formula, such as "=SUM(A2:A9)", and its value."""

    text: str
    value: int | float


Cell = str | int | float | datetime.date | Formula


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


@dataclass(frozen=True, slots=True)
class BookPrinting:
    """The header and the footer of every printed page of a workbook, and the paper."""

    above: str
    below: str = ""
    page: str = "A4"


def workbook(title: str, tables: Sequence[SheetTable], printing: BookPrinting | None = None) -> bytes:
    """Return the tables as an .xlsx file, each on a sheet of its own; it prints as wide as a page in landscape."""
    printing = printing or BookPrinting(title)
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True}) as book:
        book.set_properties({"title": title, "author": "lipsync", "created": _CREATED})
        formats = _Formats(book)
        for place, table in enumerate(tables, start=1):
            sheet = book.add_worksheet(_sheet_name(table.name, place))
            sheet.freeze_panes(1, 0)
            sheet.set_landscape()
            sheet.set_paper(_PAPERS[printing.page])
            sheet.set_margins(left=0.4, right=0.4, top=1.0, bottom=1.0)
            sheet.set_header(f"&L&10{_header(printing.above)}&R&10&P / &N")
            sheet.set_footer(f"&L&8{_header(printing.below)}")
            if table.rows:
                sheet.autofilter(0, 0, len(table.rows), len(table.heads) - 1)
            sheet.fit_to_pages(1, 0)
            sheet.repeat_rows(0)
            widths = _widths(table)
            for column, (text, width) in enumerate(zip(table.heads, widths, strict=True)):
                numbers = any(not isinstance(row[column], str) for row in table.rows)
                sheet.write_string(0, column, text, formats.heads[numbers])
                sheet.set_column(column, column, width)
            sheet.set_row(0, _high(table.heads, widths) + 3)
            for down, row in enumerate(table.rows):
                sheet.set_row(down + 1, _high(row, widths))
                for column, cell in enumerate(row):
                    _write(sheet, (down + 1, column), cell, formats, down in table.totals)
    return out.getvalue()


def _header(text: str) -> str:
    """Return a text for a header, in which a single & would begin a command."""
    text = text if len(text) <= _MOST_HEADER else f"{text[: _MOST_HEADER - 1].rstrip()}…"
    return text.replace("&", "&&")


class _Formats:
    """The formats of cells; a text has a gap to the number before it, and takes as many lines as it needs."""

    def __init__(self, book: xlsxwriter.Workbook) -> None:
        usual = {"valign": "top"}
        head = {**usual, "bold": True, "text_wrap": True, "bottom": 1}
        both = (False, True)
        # The heads of columns of numbers are set at the right, above the numbers.
        self.heads = {
            False: book.add_format({**head, "align": "left", "indent": 1}),
            True: book.add_format({**head, "align": "right", "indent": 1}),
        }
        number = {**usual, "align": "right", "indent": 1}
        self.numbers = {bold: book.add_format({**number, "bold": bold}) for bold in both}
        self.parts = {bold: book.add_format({**number, "bold": bold, "num_format": "0.00"}) for bold in both}
        self.dates = {bold: book.add_format({**number, "bold": bold, "num_format": "yyyy-mm-dd"}) for bold in both}
        self.texts = {
            bold: book.add_format({**usual, "bold": bold, "text_wrap": True, "align": "left", "indent": 1})
            for bold in both
        }


def _write(
    sheet: xlsxwriter.worksheet.Worksheet, where: tuple[int, int], cell: Cell, formats: _Formats, bold: bool
) -> None:
    if isinstance(cell, Formula):
        set_as = formats.parts if isinstance(cell.value, float) else formats.numbers
        sheet.write_formula(*where, cell.text, set_as[bold], cell.value)
    elif isinstance(cell, datetime.date):
        sheet.write_datetime(*where, datetime.datetime.combine(cell, datetime.time()), formats.dates[bold])
    elif isinstance(cell, float):
        sheet.write_number(*where, cell, formats.parts[bold])
    elif isinstance(cell, int):
        sheet.write_number(*where, cell, formats.numbers[bold])
    else:
        sheet.write_string(*where, cell, formats.texts[bold])


def _sheet_name(text: str, place: int) -> str:
    """Return a name that spreadsheets accept: up to 31 letters, no brackets or slashes; its number makes it unique.

    >>> _sheet_name("order for the workshop", 1), _sheet_name("a/b? and a name that is much too long", 2)
    ('1 order for the workshop', '2 ab and a name that is much to')
    """
    return f"{place} " + re.sub(r"[\[\]:*?/\\]", "", text)[:29].strip("' ")


def _widths(table: SheetTable) -> list[int]:
    """Return the width of each column."""
    widths = [_width(table, column) for column in range(len(table.heads))]
    over = sum(widths) - _MOST_OF_ALL
    for column in sorted(range(len(widths)), key=lambda column: -widths[column]):
        less = max(0, min(over, widths[column] - _LEAST_OF_TEXT))
        widths[column], over = widths[column] - less, over - less
    return widths


def _width(table: SheetTable, column: int) -> int:
    """Return a column's width: enough for its widest cell and the longest word of its head."""
    cells = [_long(row[column]) for row in table.rows if not isinstance(row[column], Formula)]
    words = [len(word) + 1 for word in table.heads[column].split()]
    return min(_MOST_WIDTH, max([_LEAST_WIDTH, *(length + 3 for length in cells + words)]))


def _long(cell: Cell) -> int:
    """Return how many letters a cell shows; a number that is not whole has two digits behind the point."""
    return len(f"{cell:.2f}" if isinstance(cell, float) else str(cell))


def _high(cells: Sequence[Cell], widths: Sequence[int]) -> int:
    """Return how high a row is, in points, so that its texts show all their lines."""
    lines = [
        len(textwrap.wrap(cell, max(1, width - 3))) if isinstance(cell, str) else 1
        for cell, width in zip(cells, widths, strict=True)
    ]
    return _LINE_PT * max([1, *lines])
