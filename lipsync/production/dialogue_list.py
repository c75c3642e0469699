"""A dialogue list, CSV or workbook, read: a row for each line, columns known by their headings (headings.py).

In: a path, and the headings that the studio defined itself. Out: a `Listing`, with every fault of every row.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from lipsync.errors import InputError, Problem
from lipsync.message import Message, Where
from lipsync.production.headings import MEANT, Field, ListColumns, columns_of
from lipsync.production.listed import Listed, Listing
from lipsync.production.text_table import read_text_table
from lipsync.production.workbook_file import FormulaCell, ListSheet, read_workbook

WORKBOOKS = (".xlsx", ".xlsm")
TEXTS = (".csv", ".tsv", ".txt")

_HEADING_WITHIN = 20  # rows from the top (chosen: titles stand above the headings)
_LONGEST_CELL = 5_000  # letters (chosen: no line is longer)
_MOST_SHOWN = 30  # letters of a cell that a fault shows (chosen)
_CELLS_SHOWN = 8  # cells of the first row that a fault shows (chosen)
_FILLED_DOWN: tuple[Field, ...] = ("scene", "shot", "frames", "start")

_WHOLE = re.compile(r"-?[0-9]{1,9}")
_DECIMAL = re.compile(r"[0-9]{1,9}(?:\.[0-9]{0,12})?")
_DECIMAL_COMMA = re.compile(r"[0-9]+,[0-9]+")

# The attributes of `Listed` that have another name than their field.
_ATTRIBUTES: Mapping[Field, str] = {"in": "in_point", "out": "out_point"}


def read_dialogue_list(path: Path, own: Mapping[str, Field]) -> Listing:
    """Return what a dialogue list says.

    Args:
        path: the list, CSV or workbook.
        own: the studio's own headings, and the fields that they mean.

    Raises:
        InputError: if it cannot be read at all, or has no row of headings.
    """
    messages: tuple[Message, ...] = ()
    if path.suffix.lower() in WORKBOOKS:
        sheets = read_workbook(path)
    else:
        sheet, messages = read_text_table(path, lambda row: len(columns_of(row, own).fields))
        sheets = (sheet,)
    rows: list[Listed] = []
    problems: list[Problem] = []
    found = 0
    for sheet in sheets:
        heading = _heading(sheet, own)
        if heading is None:
            continue
        found += 1
        at, columns = heading
        above: Listed | None = None
        where = f"sheet {sheet.name!r} " if len(sheets) > 1 else ""
        for twice in columns.twice:
            text = f"the column {twice!r} is there twice, or means what another does; rename one of them"
            problems.append(Problem(str(path), f"{where}row {at + 1}", text))
        if columns.unknown:
            place = Where(str(path), where.strip())
            messages += (Message.of("columns not used", place, columns=", ".join(columns.unknown)),)
        for number in range(at + 1, len(sheet.rows)):
            listed, faults = _listed(path, where, sheet, number, columns)
            problems += faults
            if listed is not None:
                above = _filled_down(listed, above)
                rows.append(above)
    if not found:
        raise InputError.one(path, "", _no_heading(sheets))
    return Listing("list", str(path), tuple(rows), problems=tuple(problems), messages=messages)


def _heading(sheet: ListSheet, own: Mapping[str, Field]) -> tuple[int, ListColumns] | None:
    for at, row in enumerate(sheet.rows[:_HEADING_WITHIN]):
        columns = columns_of(row, own)
        if columns.are_headings:
            return at, columns
    return None


def _shown(cell: object) -> str:
    """Return the beginning of a cell, in quotes, for a fault."""
    return repr(str(cell)[:_MOST_SHOWN])


def _no_heading(sheets: Sequence[ListSheet]) -> str:
    first = next((row for sheet in sheets for row in sheet.rows if any(row)), ())
    cells = ", ".join(_shown(cell) for cell in first[:_CELLS_SHOWN] if cell is not None) or "nothing"
    return (
        f"has no row of headings; it begins with {cells}. Write headings above the list, of {', '.join(MEANT)}, "
        "or say what your own mean under [taking.headings] in production.toml"
    )


def _listed(
    path: Path, where: str, sheet: ListSheet, number: int, columns: ListColumns
) -> tuple[Listed | None, list[Problem]]:
    row, place = sheet.rows[number], f"{where}row {number + 1}"
    problems: list[Problem] = []
    found: dict[str, Any] = {}
    for field, column in columns.fields.items():
        cell = row[column] if column < len(row) else None
        try:
            if (number, column) in sheet.merged and cell is not None and field not in _FILLED_DOWN:
                raise ValueError("is merged with other cells; unmerge them, and fill in each row")
            value = _value(field, cell)
        except ValueError as error:
            problems.append(Problem(str(path), f"{place} {field}", str(error)))
            continue
        if value is not None:
            found[_ATTRIBUTES.get(field, field)] = value
    if not found or problems:
        return None, problems
    return Listed(str(path), place, **found), []


def _value(field: Field, cell: Any) -> Any:
    """Return what a cell says of a field.

    Raises:
        ValueError: in one sentence, if it says nothing that can be used.
    """
    if cell is None or (isinstance(cell, str) and not cell.strip()):
        return None
    if isinstance(cell, FormulaCell):
        raise ValueError(f"holds a formula, {_shown(cell.text)}; paste its value in its place")
    if isinstance(cell, datetime.date | datetime.time | datetime.timedelta):
        raise ValueError(
            f"holds a date or a time of the spreadsheet ({cell}), which has no frames; make the column text, and "
            "write it again, such as 01:00:04:04"
        )
    if isinstance(cell, bool) or not isinstance(cell, str | int | float):
        raise ValueError(f"holds {_shown(cell)}, which is neither text nor a number")
    if isinstance(cell, str) and len(cell) > _LONGEST_CELL:
        raise ValueError(f"holds {len(cell)} letters, {_LONGEST_CELL} are allowed; make lines of it")
    return _number(field, cell) if field in ("frames", "begins", "in", "out") else _text(field, cell)


def _text(field: Field, cell: str | float) -> str:
    text = f"{cell:g}" if isinstance(cell, float) else str(cell)
    text = " ".join(text.split())
    if field == "text" and text.startswith("#") and text.rstrip("!?").isupper() and "/" in text:
        raise ValueError(f"holds {text!r}, the spreadsheet's word for an error; write what is said")
    return text


def _number(field: Field, cell: str | float) -> int | float | str:
    text = f"{cell:.12g}" if isinstance(cell, float) else " ".join(str(cell).split())
    if field in ("in", "out"):
        with_point = text.replace(",", ".") if _DECIMAL_COMMA.fullmatch(text) else text
        return float(with_point) if _DECIMAL.fullmatch(with_point) else text
    if _WHOLE.fullmatch(text):
        return int(text)
    if field == "frames":
        raise ValueError(f"found {text!r}; write a whole number of frames")
    return text


def _filled_down(row: Listed, above: Listed | None) -> Listed:
    """Return a row with an empty scene filled from the row above, and so an empty shot, if the scene is the same."""
    if above is None:
        return row
    if row.scene is None:
        row = replace(row, scene=above.scene)
    return replace(row, shot=above.shot) if row.shot is None and row.scene == above.scene else row
