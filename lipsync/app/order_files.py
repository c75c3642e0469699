"""The order for the workshop on disk: `order.pdf`, `order.csv` and `order.xlsx`.

In: a production and its `WorkshopOrder`. Out: files in the production's `sheets/`, or in another folder, whole or not
at all. All three have the numbers of `sheets/order.NUMBERS`, in that order; of boards the CSV has the puppets' names.
In the workbook pressings and totals are formulas.
"""

from __future__ import annotations

from pathlib import Path

from lipsync.app.ordering import WorkshopOrder
from lipsync.files import AnyPath, write_together
from lipsync.paper.csv_table import csv_table
from lipsync.paper.order_page import NUMBERS, OrderCharacter, OrderJob, numbers_of, order_pages
from lipsync.paper.pdf import draw
from lipsync.paper.piece_pictures import art_of
from lipsync.paper.spreadsheet import Cell, Formula, SheetTable, workbook
from lipsync.production.values import Production
from lipsync.workshop.pressings import PressingRow

# Columns of the workbook: character, code, name, and from D on the numbers.
_COLUMN = {number: chr(ord("D") + at) for at, number in enumerate(NUMBERS)}


def write_order(production: Production, made: WorkshopOrder, out: AnyPath | None = None) -> tuple[Path, ...]:
    """Write the order as pages, as CSV and as a workbook, and return the files' paths.

    Raises:
        InputError: if a text has letters that no font here has, or a picture is missing.
        OutputError: if a file cannot be written.
    """
    folder = production.folder_for("sheets", out)
    pages, table, book = (folder / f"order.{kind}" for kind in ("pdf", "csv", "xlsx"))
    contents = {
        pages: draw(order_pages(_order_job(production, made))),
        table: _csv(production, made),
        book: _book(production, made),
    }
    write_together(contents)
    return pages, table, book


def _order_job(production: Production, made: WorkshopOrder) -> OrderJob:
    found = made.order
    art_folder = production.folder / "mouthsets"
    return OrderJob(
        production.file.title,
        tuple(
            OrderCharacter(
                character.name,
                character.puppets,
                production.mouth_sets[key],
                tuple(row for row in found.rows if row.character == key),
                tuple(board for board in found.boards if board.character == key),
                tuple(shoot for shoot in made.plan.shoot if made.planned and shoot.character == key),
                tuple(f"{scene} {shot}" for who, scene, shot in found.unplanned if who == key),
                art_of(production.mouth_sets[key], art_folder),
            )
            for key, character in production.file.characters.items()
        ),
        made.plan,
        made.planned,
        production.file.dated,
        production.file.sheet.page,
        production.file.sheet.words,
        made.alerts,
    )


def _csv(production: Production, made: WorkshopOrder) -> bytes:
    heads = ("character", "code", "name", *NUMBERS[:-1], "pressings_to_make")
    rows = (
        (row.character, row.code, _name(production, row), *(record[number] for number in (*NUMBERS[:-1], heads[-1])))
        for row, record in zip(made.order.rows, made.records, strict=True)
    )
    return csv_table([heads, *rows])


def _name(production: Production, row: PressingRow) -> str:
    return production.mouth_sets[row.character].by_code[row.code].name


def _book(production: Production, made: WorkshopOrder) -> bytes:
    words = production.file.sheet.words
    rows, totals = _book_rows(production, made)
    heads = (words.character, words.code, words.name, *(getattr(words, one) for one in NUMBERS), words.puppet)
    boards = tuple((puppet, code) for puppet, codes in made.boards.items() for code in codes)
    cautions = (words.caution_sheets, words.caution_air, words.caution_dust, words.caution_blades)
    tables = [
        SheetTable(words.order, heads, rows, totals),
        SheetTable(words.boards, (words.puppet, words.code), boards),
        SheetTable(words.cautions, (words.cautions,), tuple((text,) for text in cautions)),
    ]
    if made.planned:
        days = tuple((s.puppet, s.scene, " ".join(s.shots), s.first, s.last) for s in made.plan.shoot)
        names = (words.puppet, words.scenes, words.shots.format(shots="").strip(), words.first_day, words.last_day)
        tables.insert(2, SheetTable(words.plan, names, days))
    if made.alerts:
        tables.insert(0, SheetTable(words.read_first, (words.read_first,), tuple((text,) for text in made.alerts)))
    return workbook(f"{production.file.title}: {words.order}", tables)


def _book_rows(production: Production, made: WorkshopOrder) -> tuple[tuple[tuple[Cell, ...], ...], frozenset[int]]:
    """Return the rows of the order, those of each character followed by their total, and which rows are totals."""
    rows: list[tuple[Cell, ...]] = []
    totals: set[int] = set()
    parts = [_COLUMN[number] for number in ("at_once", "used_up", "spares")]
    for key, character in production.file.characters.items():
        own = [row for row in made.order.rows if row.character == key]
        if not own:
            continue
        first = len(rows) + 2  # the first row of a sheet is 1, and holds the heads
        for row in own:
            at = len(rows) + 2
            pressings = Formula("=" + "+".join(f"{column}{at}" for column in parts), row.pressings)
            numbers: tuple[Cell, ...] = (*numbers_of(row)[:-1], pressings, " ".join(made.boards_with(row)))
            rows.append((character.name, row.code, _name(production, row), *numbers))
        totals.add(len(rows))
        last = len(rows) + 1
        sums = zip(NUMBERS, map(sum, zip(*map(numbers_of, own), strict=True)), strict=True)
        # A board holds many pieces: boards do not add up.
        cells = [
            "" if number == "boards" else Formula(f"=SUM({_COLUMN[number]}{first}:{_COLUMN[number]}{last})", total)
            for number, total in sums
        ]
        rows.append((character.name, production.file.sheet.words.total, "", *cells, ""))
    return tuple(rows), frozenset(totals)
