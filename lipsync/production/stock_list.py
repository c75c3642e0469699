"""A sheet of stock as it was counted at the shelf, CSV or workbook, read: a row for each piece in one place.

In: a path, and what the production has. Out: a `StockCount`; every fault of every row in one go. Columns are
known by their headings in plain words; case, blanks and signs do not count:

    character   its id or its name; left out where the puppet says it
    piece       its code
    puppet      on whose board or in whose box; empty: in the store
    there is    pressings that can be used
    fitted      how often each of these has been put on
    broke       broken, lost or used up, in all
    ordered     on the way

An empty cell says nothing: what stock.toml says of it stays.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lipsync.errors import InputError, Problem
from lipsync.message import Message
from lipsync.production.dialogue_list import WORKBOOKS
from lipsync.production.text_table import read_text_table
from lipsync.production.workbook_file import FormulaCell, read_workbook
from lipsync.tomlfile import shown
from lipsync.workshop.shooting import Heads, character_of
from lipsync.workshop.stock import MOST_COUNTED, MOST_FITTED, StockFile, StockRow, stock_faults

# Field -> its headings, without blanks and signs; chosen plain words.
_HEADINGS: Mapping[str, tuple[str, ...]] = {
    "character": ("character", "who"),
    "code": ("piece", "code", "mouth"),
    "puppet": ("puppet", "board", "box"),
    "there": ("thereis", "there", "counted", "instock"),
    "fitted": ("fitted", "puton"),
    "broke": ("broke", "broken", "lost", "usedup"),
    "ordered": ("ordered", "onorder", "ontheway"),
}
NUMBERS = ("there", "fitted", "broke", "ordered")
_MOST = {"there": MOST_COUNTED, "broke": MOST_COUNTED, "ordered": MOST_COUNTED, "fitted": MOST_FITTED}

_OF_ORDER = "pressingstomake"  # a heading of order.csv, whose other columns would pass for a count

_HEADING_WITHIN = 20  # rows from the top; chosen: titles stand above


@dataclass(frozen=True, slots=True)
class Shelves:
    """What a production has that can be counted.

    Attributes:
        names: of each character its name.
        codes: of each character the codes of its pieces.
        heads: of each character its puppets, in groups whose heads take the same mouths.
    """

    names: Mapping[str, str]
    codes: Mapping[str, Collection[str]]
    heads: Mapping[str, tuple[Heads, ...]]


@dataclass(frozen=True, slots=True)
class CountedRow:
    """A row of the sheet: where it stands, of what it is, and the numbers that it gives."""

    place: str
    character: str
    code: str
    puppet: str
    numbers: Mapping[str, int]

    @property
    def key(self) -> tuple[str, str, str]:
        """Of what it is."""
        return self.character, self.code, self.puppet


@dataclass(frozen=True, slots=True)
class StockCount:
    """What a sheet says, and what is to be known of how it was read."""

    rows: tuple[CountedRow, ...]
    messages: tuple[Message, ...] = ()


def read_stock_list(path: Path, shelves: Shelves) -> StockCount:
    """Return what was counted.

    Raises:
        InputError: naming every fault of every row; or if it cannot be read, or has no row of headings.
    """
    messages: tuple[Message, ...] = ()
    if path.suffix.lower() in WORKBOOKS:
        sheets = read_workbook(path)
    else:
        sheet, messages = read_text_table(path, lambda row: len(_columns(row)))
        sheets = (sheet,)
    rows: list[CountedRow] = []
    problems: list[Problem] = []
    found = False
    for sheet in sheets:
        at = next((at for at, row in enumerate(sheet.rows[:_HEADING_WITHIN]) if _are_headings(_columns(row))), None)
        if at is None:
            continue
        found = True
        if _OF_ORDER in map(_plain, sheet.rows[at]):
            text = "is an order of this program, not a count; give the sheet that was filled in at the shelf"
            raise InputError.one(path, "", text)
        where = f"sheet {sheet.name!r} " if len(sheets) > 1 else ""
        for number in range(at + 1, len(sheet.rows)):
            row, faults = _row(f"{where}row {number + 1}", sheet.rows[number], _columns(sheet.rows[at]), shelves)
            rows += [] if row is None else [row]
            problems += (Problem(str(path), *fault) for fault in faults)
    if not found:
        text = "has no row of headings; write above it: character, piece, puppet, there is, fitted, broke, ordered"
        raise InputError.one(path, "", text)
    problems += (Problem(str(path), *fault) for fault in _faults(rows, shelves))
    if problems:
        raise InputError(problems)
    return StockCount(tuple(rows), messages)


def _columns(cells: Sequence[object]) -> dict[str, int]:
    known = {heading: field for field, headings in _HEADINGS.items() for heading in headings}
    found: dict[str, int] = {}
    for place, cell in enumerate(cells):
        if (plain := _plain(cell)) in known:
            found.setdefault(known[plain], place)
    return found


def _plain(cell: object) -> str:
    return "".join(letter for letter in cell.casefold() if letter.isalnum()) if isinstance(cell, str) else ""


def _are_headings(columns: Mapping[str, int]) -> bool:
    return "code" in columns and any(number in columns for number in NUMBERS)


def _row(
    place: str, cells: Sequence[Any], columns: Mapping[str, int], shelves: Shelves
) -> tuple[CountedRow | None, list[tuple[str, str]]]:
    """Return what a row says, and its faults, as place and sentence; None if it does not say of what it is."""
    told = {field: cells[at] for field, at in columns.items() if at < len(cells) and cells[at] not in (None, "")}
    if not told:
        return None, []
    faults: list[tuple[str, str]] = []
    texts: dict[str, str] = {}
    numbers: dict[str, int] = {}
    for field, cell in told.items():
        try:
            if field in NUMBERS:
                numbers[field] = _whole(cell, _MOST[field])
            else:
                texts[field] = _text(cell)
        except ValueError as error:
            faults.append((f"{place} {field}", str(error)))
    puppet = texts.get("puppet", "")
    character = _character(texts.get("character", ""), puppet, shelves)
    if not character:
        faults.append((f"{place} character", "is missing; write whose piece it is"))
    if "code" not in told:
        faults.append((f"{place} piece", "is missing; write its code"))
    if not any(field in told for field in NUMBERS):
        faults.append((place, "says no number; write how many there are, or take the row out"))
    whole = character and "code" in texts
    return (CountedRow(place, character, texts["code"], puppet, numbers) if whole else None), faults


def _character(told: str, puppet: str, shelves: Shelves) -> str:
    """Return the id of a character that is told by its id, its name, or its puppet."""
    if not told:
        return character_of(puppet)
    named = [key for key, name in shelves.names.items() if name.casefold() == told.casefold()]
    return named[0] if told not in shelves.names and len(named) == 1 else told


def _text(cell: Any) -> str:
    if isinstance(cell, FormulaCell):
        raise ValueError(f"holds a formula, {cell.text[:30]!r}; paste its value in its place")
    if isinstance(cell, datetime.date | datetime.time | datetime.timedelta):
        raise ValueError(
            f"holds a date or a time of the spreadsheet ({cell}); make the column text, and write it again"
        )
    if isinstance(cell, bool) or not isinstance(cell, str | int | float):
        raise ValueError(f"holds {str(cell)[:30]!r}, which is neither text nor a number")
    return f"{cell:g}" if isinstance(cell, float) else str(cell).strip()


def _whole(cell: Any, most: int) -> int:
    text = _text(cell)
    if not re.fullmatch(r"-?[0-9]{1,9}", text):
        raise ValueError(f"found {shown(text)}; write a whole number")
    if not 0 <= int(text) <= most:
        raise ValueError(f"found {text}; 0 to {most} are allowed")
    return int(text)


def _faults(rows: Sequence[CountedRow], shelves: Shelves) -> Iterator[tuple[str, str]]:
    """Yield place and sentence for each row that does not fit the production, or is there twice."""
    as_stock = tuple(StockRow(character=row.character, code=row.code, puppet=row.puppet[:50]) for row in rows)
    stock = StockFile(counted=datetime.date.min, piece=as_stock)
    for where, text in stock_faults(stock, shelves.codes, shelves.heads):
        _, number, what = where.split(" ", 2)
        yield f"{rows[int(number) - 1].place} {what}", text
    first: dict[tuple[object, ...], CountedRow] = {}
    for row in rows:
        same = first.setdefault((*row.key, row.numbers.get("fitted")), row)
        if same is not row:
            yield row.place, f"counts what {same.place} does; make one of them, or say under fitted how they differ"
