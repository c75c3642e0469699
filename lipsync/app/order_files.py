"""The order for the workshop on disk: `order.pdf`, `order.csv` and `order.xlsx`, and its revision in `orders/`.

In: a production and its `WorkshopOrder`. Out: files in the production's `sheets/`, or in another folder, whole or not
at all. All three have the numbers of `paper/order_page.NUMBERS`, in that order; of boards the CSV has the puppets'
names. Every page, sheet and row says of which film, date and revision it is, and what is missing. In the workbook
pressings needed and totals are formulas.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from lipsync.app.order_record import FOLDER, OrderRevision, read_orders, write_order_record
from lipsync.app.ordering import WorkshopOrder
from lipsync.errors import InputError
from lipsync.file_lock import alone
from lipsync.files import AnyPath, write_together
from lipsync.message import Where
from lipsync.paper.csv_table import csv_table
from lipsync.paper.order_page import NUMBERS, OrderCharacter, OrderJob, numbers_of, order_pages
from lipsync.paper.pdf import draw
from lipsync.paper.piece_pictures import art_of
from lipsync.paper.spreadsheet import BookPrinting, Cell, Formula, SheetTable, workbook
from lipsync.production.values import Production
from lipsync.workshop.pressings import PressingRow
from lipsync.workshop.shooting import Heads

# Columns of the workbook: character, code, name, and from D on the numbers.
_COLUMN = {number: chr(ord("D") + at) for at, number in enumerate(NUMBERS)}

# Columns of the CSV that are called otherwise than the numbers.
_CSV_HEADS = {"pressings": "pressings_needed", "unneeded": "needed_no_more", "to_make": "pressings_to_make"}


def write_order(production: Production, made: WorkshopOrder, out: AnyPath | None = None) -> tuple[Path, ...]:
    """Write the order as pages, as CSV and as a workbook, and return the files' paths.

    Its revision is kept first, so that no page is unknown; one that is only looked at is none.

    Raises:
        InputError: if a text has letters that no font here has, a picture is missing, or another program has ordered
            meanwhile.
        OutputError: if a file cannot be written.
    """
    folder = production.folder_for("sheets", out)
    pages, table, book = (folder / f"order.{kind}" for kind in ("pdf", "csv", "xlsx"))
    contents = {
        pages: draw(order_pages(_order_job(production, made))),
        table: _csv(production, made),
        book: _book(production, made),
    }
    if made.is_new and made.revision is not None:
        _keep(production, made.revision)
    write_together(contents)
    return pages, table, book


def _keep(production: Production, revision: OrderRevision) -> None:
    place = production.folder / FOLDER / f"{revision.letter}.json"
    place.parent.mkdir(exist_ok=True)
    with alone(place):
        kept = read_orders(production.folder)
        if kept.next(revision.state).letter != revision.letter:
            raise InputError.of("ordered meanwhile", Where(str(place.parent)))
        write_order_record(production.folder, revision)


def _revision(production: Production, made: WorkshopOrder) -> str:
    """Return which revision it is, in words."""
    words = production.file.sheet.words
    if made.revision is None:
        return words.not_ordered
    return f"{words.revision.format(letter=made.revision.letter)}  ·  {words.stamp} {made.revision.state.stamp}"


def _changed(production: Production, made: WorkshopOrder) -> str:
    """Return what stands above the changes of an order."""
    after = made.revision.letter if made.revision else production.file.sheet.words.not_ordered
    return production.file.sheet.words.changes.format(before=made.before, after=after)


def _order_job(production: Production, made: WorkshopOrder) -> OrderJob:
    file = production.file
    return OrderJob(
        file.title,
        tuple(_characters(production, made)),
        made.plan,
        made.planned,
        file.dated,
        file.sheet.page,
        file.sheet.words,
        made.alerts,
        _revision(production, made),
        _changed(production, made),
        made.changes,
        None if production.stock is None else production.stock.counted,
    )


def _characters(production: Production, made: WorkshopOrder) -> Iterator[OrderCharacter]:
    """Yield each character, and each of its groups of heads where there are several."""
    found, art_folder = made.order, production.folder / "mouthsets"
    for key, character in production.file.characters.items():
        groups: list[Heads] = [heads for who, heads in made.heads if who == key]
        for heads in groups:
            name = character.name if len(groups) == 1 else f"{character.name}: {', '.join(heads)}"
            yield OrderCharacter(
                name,
                len(heads),
                production.mouth_sets[key],
                tuple(row for row in found.rows if row.character == key and row.heads == heads),
                tuple(board for board in found.boards if board.puppet in heads),
                tuple(shoot for shoot in made.plan.shoot if made.planned and shoot.puppet in heads),
                tuple(f"{scene} {shot}" for who, scene, shot in found.unplanned if who == key),
                art_of(production.mouth_sets[key], art_folder),
                tuple(move for move in found.hand_overs if move.taker in heads),
                production.part_codes[key],
                alone=len(groups) > 1 and len(heads) == 1,
            )


def _csv(production: Production, made: WorkshopOrder) -> bytes:
    said = {
        "film": production.file.title,
        "dated": "" if production.file.dated is None else production.file.dated.isoformat(),
        "revision": made.revision.letter if made.revision else "",
        "stamp": made.revision.state.stamp if made.revision else "",
        "read_first": " ".join(made.alerts),
    }
    numbers = [_CSV_HEADS.get(number, number) for number in NUMBERS]
    heads = ("character", "heads", "code", "name", *numbers, "needed_by", *said)
    rows = (
        (
            *(row.character, list(row.heads), row.code, _name(production, row)),
            *(record[number] for number in numbers),
            *(made.needed_by(row), *said.values()),
        )
        for row, record in zip(made.order.rows, made.records, strict=True)
    )
    return csv_table([heads, *rows], for_spreadsheets=True)


def _name(production: Production, row: PressingRow) -> str:
    piece = production.mouth_sets[row.character].by_code.get(row.code)
    return piece.name if piece else production.part_codes[row.character].get(row.code, "")


def _book(production: Production, made: WorkshopOrder) -> bytes:
    words, dated = production.file.sheet.words, production.file.dated
    rows, totals = _book_rows(production, made)
    heads = (words.character, words.code, words.name, *(getattr(words, one) for one in NUMBERS), words.puppet)
    boards = tuple((puppet, code) for puppet, codes in made.boards.items() for code in codes)
    cautions = (words.caution_sheets, words.caution_air, words.caution_dust, words.caution_blades)
    said = [production.file.title, _revision(production, made)]
    said += [words.dated.format(date=dated.isoformat())] if dated else []
    tables = [
        SheetTable(words.order, (*heads, words.needed_by), rows, totals),
        SheetTable(words.boards, (words.puppet, words.code), boards),
    ]
    if made.planned:
        days = tuple((s.puppet, s.scene, " ".join(s.shots), s.first, s.last) for s in made.plan.shoot)
        names = (words.puppet, words.scenes, words.shots.format(shots="").strip(), words.first_day, words.last_day)
        tables += [
            SheetTable(words.plan, names, days),
            SheetTable(words.by_day, (words.first_day, words.character, words.code, words.to_make), _by_day(made)),
            SheetTable(
                words.hand_overs,
                (words.first_day, words.code, words.giver, words.taker),
                tuple((one.day, one.code, one.giver, one.taker) for one in made.order.hand_overs),
            ),
        ]
    tables.append(SheetTable(words.cautions, (words.cautions,), tuple((text,) for text in cautions)))
    first = [*said, *made.alerts, *made.changes]
    tables.insert(0, SheetTable(words.read_first, (words.read_first,), tuple((text,) for text in first)))
    title = f"{production.file.title}: {words.order}"
    printing = BookPrinting(
        "  ·  ".join([words.order, *said, *([words.read_first] if made.alerts else [])]),
        words.safety,
        production.file.sheet.page,
    )
    return workbook(title, tables, printing)


def _by_day(made: WorkshopOrder) -> tuple[tuple[Cell, ...], ...]:
    """Return how many of each piece are first needed on each day."""
    found = {
        (day, row.character, row.heads, row.code): row.needed_by for row in made.order.rows for day in row.needed_by
    }
    return tuple((day, who, code, days.count(day)) for (day, who, _, code), days in sorted(found.items()))


def _book_rows(production: Production, made: WorkshopOrder) -> tuple[tuple[tuple[Cell, ...], ...], frozenset[int]]:
    """Return the rows of the order, a total below those of each character and heads, and which rows are totals."""
    rows: list[tuple[Cell, ...]] = []
    totals: set[int] = set()
    parts = [_COLUMN[number] for number in ("at_once", "changing_over", "used_up", "spares")]
    needed = NUMBERS.index("pressings")
    for key, heads in made.heads:
        own = [row for row in made.order.rows if (row.character, row.heads) == (key, heads)]
        if not own:
            continue
        name = production.file.characters[key].name
        first = len(rows) + 2  # the first row of a sheet is 1, and holds the heads
        for row in own:
            at = len(rows) + 2
            numbers: list[Cell] = [*numbers_of(row)]
            numbers[needed] = Formula("=" + "+".join(f"{column}{at}" for column in parts), row.pressings)
            days = " ".join(made.needed_by(row))
            rows.append((name, row.code, _name(production, row), *numbers, " ".join(made.boards_with(row)), days))
        totals.add(len(rows))
        last = len(rows) + 1
        sums = zip(NUMBERS, map(sum, zip(*map(numbers_of, own), strict=True)), strict=True)
        # A board holds many pieces: boards do not add up.
        cells = [
            "" if number == "boards" else Formula(f"=SUM({_COLUMN[number]}{first}:{_COLUMN[number]}{last})", total)
            for number, total in sums
        ]
        rows.append((name, production.file.sheet.words.total, "", *cells, "", ""))
    return tuple(rows), frozenset(totals)
