"""A sheet of stock, as it was counted at the shelf, taken into `stock.toml`.

In: a production, sheets (production/stock_list.py), and the day on which they were counted. Out: a `StockTaking`:
what changes, and the file as it would be; `write_stock` writes it, if it still is what it was.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lipsync.errors import InputError, Problem
from lipsync.file_lock import alone
from lipsync.files import write_whole
from lipsync.message import Message, Where
from lipsync.production.production_text import OtherwiseWrittenError
from lipsync.production.stock_list import CountedRow, Shelves, read_stock_list
from lipsync.production.stock_text import StockEntry, with_stock
from lipsync.production.values import Production
from lipsync.report import Report
from lipsync.workshop.shooting import heads_of
from lipsync.workshop.stock import FILE, StockRow


@dataclass(frozen=True, slots=True)
class StockTaking:
    """What taking sheets of stock changes.

    Attributes:
        path: the production's `stock.toml`.
        before: what it holds; None if there is none.
        after: what it would hold.
        changes: a row for each number that is another than before.
        report: what is to be known.
    """

    path: Path
    before: bytes | None
    after: bytes
    changes: tuple[dict[str, Any], ...]
    report: Report


def find_stock(production: Production, sheets: Sequence[Path], counted: datetime.date) -> StockTaking:
    """Return what taking sheets of stock would change.

    Args:
        production: the production.
        sheets: CSV files and workbooks.
        counted: the day on whose evening they were counted.

    Raises:
        InputError: naming every fault of every row of every sheet; or if stock.toml is written in a way that is not
            changed here.
    """
    cast = production.file.characters
    shelves = Shelves(
        {key: one.name for key, one in cast.items()},
        {key: (*mouth_set.by_code, *production.part_codes[key]) for key, mouth_set in production.mouth_sets.items()},
        {key: heads_of(key, one.puppets, one.interchangeable) for key, one in cast.items()},
    )
    rows: list[tuple[Path, CountedRow]] = []
    messages: list[Message] = []
    problems: list[Problem] = []
    for path in sheets:
        try:
            count = read_stock_list(path, shelves)
        except InputError as error:
            problems += error.problems
            continue
        rows += ((path, row) for row in count.rows)
        messages += count.messages
    there = production.stock.piece if production.stock else ()
    places: list[int | None] = []
    for path, row in rows:
        try:
            places.append(_place_of(row, there))
        except ValueError as error:
            problems.append(Problem(str(path), row.place, str(error)))
    if problems:
        raise InputError(problems)
    path = production.folder / FILE
    before = path.read_bytes() if path.exists() else None
    if production.stock is not None and counted < production.stock.counted:
        where = Where(str(path), "counted")
        raise InputError.of("counted before", where, counted=counted, before=production.stock.counted)
    entries = [_entry(at, row) for at, (_, row) in zip(places, rows, strict=True)]
    try:
        after = with_stock((before or b"").decode("utf-8"), counted, entries).encode()
    except (OtherwiseWrittenError, UnicodeDecodeError):
        raise InputError.of("stock written otherwise", Where(str(path))) from None
    changes = [change for at, (_, row) in zip(places, rows, strict=True) for change in _changes(at, row, there)]
    left = [row for at, row in enumerate(there) if at not in places]
    if left and production.stock is not None and counted > production.stock.counted:
        pieces = ", ".join(f"{row.character} {row.code}" for row in left)
        where = Where(str(path))
        messages.append(Message.of("not counted again", where, pieces=pieces, was=production.stock.counted))
    return StockTaking(path, before, after, tuple(changes), Report(messages=tuple(messages)))


def _place_of(row: CountedRow, there: Sequence[StockRow]) -> int | None:
    """Return which row of stock.toml a row of the sheet is of; None if of none.

    Raises:
        ValueError: in one sentence, if it may be of several.
    """
    same = [at for at, one in enumerate(there) if (one.character, one.code, one.puppet) == row.key]
    if len(same) > 1:
        worn = [at for at in same if there[at].fitted == row.numbers.get("fitted", 0)]
        if len(worn) != 1:
            text = f"stock.toml has {len(same)} rows of it; say under fitted which of them, or make one of them"
            raise ValueError(text)
        return worn[0]
    return same[0] if same else None


def _entry(at: int | None, row: CountedRow) -> StockEntry:
    if at is not None:
        return StockEntry(at, row.numbers)
    whose = {"character": row.character, "code": row.code, **({"puppet": row.puppet} if row.puppet else {})}
    return StockEntry(None, {**whose, **row.numbers})


def _changes(at: int | None, row: CountedRow, there: Sequence[StockRow]) -> list[dict[str, Any]]:
    whose = {"character": row.character, "code": row.code, "puppet": row.puppet}
    return [
        {**whose, "what": number, "was": None if at is None else getattr(there[at], number), "now": now}
        for number, now in row.numbers.items()
        if at is None or getattr(there[at], number) != now
    ]


def write_stock(taking: StockTaking) -> tuple[Path, ...]:
    """Write what was counted into stock.toml, and return it; nothing if nothing changes.

    Raises:
        InputError: if the file was changed since the taking was found.
        OutputError: if it cannot be written; it is then as it was.
    """
    if taking.after == taking.before:
        return ()
    with alone(taking.path):
        if (taking.path.read_bytes() if taking.path.exists() else None) != taking.before:
            raise InputError.of("changed before taking", Where(str(taking.path)))
        write_whole(taking.path, taking.after)
    return (taking.path,)
