"""The order for the puppet workshop: how many pressings of each piece, from the shooting plan.

In: a production and its plans. Out: `WorkshopOrder`, and from it files in the production's `sheets/`, or in another
folder, whole or not at all. Without a shooting plan the most is ordered: each puppet shoots every scene, all at once.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lipsync.files import write_whole
from lipsync.fit.counting import ShotTrack
from lipsync.fit.pressings import Order, PressingRow, order
from lipsync.fit.shooting import Shoot, ShootingPlan
from lipsync.production.values import Production
from lipsync.report import Report
from lipsync.sheets.csv_table import csv_table
from lipsync.sheets.order import OrderCharacter, OrderJob, numbers_of, order_pages
from lipsync.sheets.pdf import draw
from lipsync.sheets.pictures import art_of
from lipsync.sheets.spreadsheet import Cell, Formula, SheetTable, workbook
from lipsync.steps.alerts import alerts_over
from lipsync.steps.planning import Plans

# A day to count from where no days are planned; it is printed nowhere.
_SOME_DAY = datetime.date(2000, 1, 3)


@dataclass(frozen=True, slots=True)
class WorkshopOrder:
    """What the workshop makes, the plan behind it (`planned`: the studio's own), and what must be known of it."""

    order: Order
    plan: ShootingPlan
    planned: bool
    alerts: tuple[str, ...] = ()

    @property
    def records(self) -> list[dict[str, Any]]:
        """A row for each character and piece."""
        return [
            {
                "character": row.character,
                "code": row.code,
                "frames_seen": row.frames_seen,
                "times_fitted": row.times_fitted,
                "boards": " ".join(self.boards_with(row)),
                "at_once": row.at_once,
                "used_up": row.worn_out,
                "spares": row.spares,
                "pressings_to_make": row.pressings,
            }
            for row in self.order.rows
        ]

    @property
    def boards(self) -> dict[str, list[str]]:
        """The pieces on each puppet's board."""
        return {board.puppet: list(board.codes) for board in self.order.boards}

    def boards_with(self, row: PressingRow) -> tuple[str, ...]:
        """Return the puppets that have a piece on their boards."""
        return tuple(
            board.puppet
            for board in self.order.boards
            if board.character == row.character and row.code in board.codes
        )


def order_pieces(production: Production, plans: Plans) -> tuple[WorkshopOrder, Report]:
    """Return the order for the workshop, and what is to be said of it."""
    tracks = [ShotTrack(one.scene.id, one.shot.id, cast.track) for one in plans.shots for cast in one.cast]
    given = production.file.shooting
    plan = given if given.shoot else _all_at_once(production, given, tracks)
    found = order(plan, tracks, production.mouth_sets)
    made = WorkshopOrder(found, plan, bool(given.shoot), alerts_over(production, plans.shots, plans.left_out))
    file, messages = production.folder / "production.toml", []
    if not made.planned:
        messages.append(
            f"{file}: [shooting]: no [[shooting.shoot]] says which puppet shoots which scene on which days; the "
            "order is reckoned as if each puppet shot every scene, all on the same days"
        )
    worn = {(track.scene, track.track.character) for track in tracks}
    for row, shoot in enumerate(plan.shoot, start=1):
        if (shoot.scene, shoot.character) not in worn:
            messages.append(f"{file}: [shooting] [[shoot]] {row}: {shoot.character} is in no shot of {shoot.scene}")
    if filmed := sum(len(one.filmed) for one in plans.shots):
        messages.append(
            f"{file}: [shooting]: the order counts the {filmed} frames that are in the can like the others"
        )
    messages += [
        f"{file}: [shooting]: no puppet of {character} is to shoot shot {shot} of {scene}; nothing is made for it"
        for character, scene, shot in made.order.unplanned
    ]
    return made, Report(messages=tuple(messages))


def _all_at_once(production: Production, plan: ShootingPlan, tracks: list[ShotTrack]) -> ShootingPlan:
    """Return the plan that asks for most: each puppet shoots every scene of its character, all at once."""
    day = datetime.timedelta(days=1)
    shoots = [
        Shoot(puppet=f"{key}-{which}", scene=scene, first=_SOME_DAY + day * place, last=_SOME_DAY + day * place)
        for key, character in production.file.characters.items()
        for which in range(1, character.puppets + 1)
        for place, scene in enumerate(dict.fromkeys(track.scene for track in tracks if track.track.character == key))
    ]
    return plan.model_copy(update={"shoot": tuple(shoots)})


def write_order(production: Production, made: WorkshopOrder, out: Path | None = None) -> tuple[Path, ...]:
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
    for path, content in contents.items():
        write_whole(path, content)
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
    numbers = ("frames_seen", "times_fitted", "boards", "at_once", "used_up", "spares", "pressings_to_make")
    rows: list[tuple[object, ...]] = [("character", "code", "name", *numbers)]
    for record in made.records:
        piece = production.mouth_sets[record["character"]].by_code.get(record["code"])
        name = piece.name if piece else ""
        rows.append((record["character"], record["code"], name, *(record[number] for number in numbers)))
    return csv_table(rows)


def _book(production: Production, made: WorkshopOrder) -> bytes:
    words = production.file.sheet.words
    rows, totals = _book_rows(production, made)
    numbers = (words.frames_seen, words.times_fitted, words.boards, words.at_once, words.used_up, words.spares)
    heads = (words.character, words.code, words.name, *numbers, words.pressings, words.puppet)
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
    for key, character in production.file.characters.items():
        own = [row for row in made.order.rows if row.character == key]
        if not own:
            continue
        first = len(rows) + 2  # the first row of a sheet is 1, and holds the heads
        for row in own:
            piece = production.mouth_sets[key].by_code.get(row.code)
            at = len(rows) + 2
            pressings = Formula(f"=G{at}+H{at}+I{at}", row.pressings)
            puppets = " ".join(made.boards_with(row))
            rows.append(
                (character.name, row.code, piece.name if piece else "", *numbers_of(row)[:-1], pressings, puppets)
            )
        totals.add(len(rows))
        sums = [sum(column) for column in zip(*map(numbers_of, own), strict=True)]
        cells = [Formula(f"=SUM({c}{first}:{c}{len(rows) + 1})", n) for c, n in zip("DEFGHIJ", sums, strict=True)]
        rows.append((character.name, production.file.sheet.words.total, "", *cells[:2], "", *cells[3:], ""))
    return tuple(rows), frozenset(totals)
