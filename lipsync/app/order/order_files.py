"""The order for the workshop on disk: `order.pdf`, `order.csv` and `order.xlsx`, and its revision in `orders/`.

In: a production and its `WorkshopOrder`. Out: files in the production's `sheets/`, or in another folder, whole or not
at all. Every page, sheet and row (order_tables.py) says of which film, date and revision it is, and what is missing.
Where the studio gives its figures, a second CSV has what the order takes to make by week.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from lipsync.app.order.order_record import FOLDER, OrderRevision, read_orders, write_order_record
from lipsync.app.order.order_tables import order_book, order_csv, piece_name, revision_words, weeks_csv
from lipsync.app.order.workshop_order import WorkshopOrder
from lipsync.errors import InputError
from lipsync.file_lock import alone
from lipsync.files import AnyPath, write_together
from lipsync.message import Where
from lipsync.paper.making_page import MadePiece
from lipsync.paper.order_job import OrderCharacter, OrderJob
from lipsync.paper.order_page import order_pages
from lipsync.paper.pdf import draw
from lipsync.paper.piece_pictures import art_of
from lipsync.production.values import Production
from lipsync.workshop.shooting import Heads


def write_order(production: Production, made: WorkshopOrder, out: AnyPath | None = None) -> tuple[Path, ...]:
    """Write the order as pages, as CSV and as a workbook, and return the files' paths.

    Its revision is recorded first, so that every page that exists is known; an order only looked at is no revision.

    Raises:
        InputError: if a text has letters that no font here has, a picture is missing, or another program has ordered
            meanwhile.
        OutputError: if a file cannot be written.
    """
    folder = production.folder_for("sheets", out)
    pages, table, book = (folder / f"order.{kind}" for kind in ("pdf", "csv", "xlsx"))
    contents = {
        pages: draw(order_pages(_order_job(production, made))),
        table: order_csv(production, made),
        book: order_book(production, made),
    }
    if made.making is not None and made.planned:
        contents[folder / "order-weeks.csv"] = weeks_csv(production, made, made.making)
    if made.is_new and made.revision is not None:
        _keep(production, made.revision)
    write_together(contents)
    return tuple(contents)


def _keep(production: Production, revision: OrderRevision) -> None:
    place = production.folder / FOLDER / f"{revision.letter}.json"
    place.parent.mkdir(exist_ok=True)
    with alone(place):
        kept = read_orders(production.folder)
        if kept.next(revision.state).letter != revision.letter:
            raise InputError.of("ordered meanwhile", Where(str(place.parent)))
        write_order_record(production.folder, revision)


def _changed(production: Production, made: WorkshopOrder) -> str:
    """Return what stands above the changes of an order."""
    after = made.revision.letter if made.revision else production.file.sheet.words.ordered_now
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
        revision_words(production, made),
        _changed(production, made),
        made.changes,
        None if production.stock is None else production.stock.counted,
        made.making,
        tuple(
            MadePiece(file.characters[row.character].name, row.code, piece_name(production, row))
            for row in made.order.rows
        ),
        made.by,
        made.groups,
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
