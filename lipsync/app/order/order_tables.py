"""The order for the workshop as tables: CSV, and a workbook.

In: a production and its `WorkshopOrder`. Out: the bytes of files. Both have the numbers of paper/order_page.py
(`NUMBERS`), in that order; of boards the CSV has the puppets' names. Every sheet and row says of which film, date and
revision it is, and what is missing. In the workbook pressings needed and totals are formulas. What the order takes to
make is there only where the studio gives its figures.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from lipsync.app.order.workshop_order import WorkshopOrder, cost_record
from lipsync.paper.csv_table import csv_table
from lipsync.paper.making_page import figures_missing, group_name, grouped_by, monday_of
from lipsync.paper.order_job import NUMBERS, numbers_of
from lipsync.paper.spreadsheet import BookPrinting, Cell, Formula, SheetTable, workbook
from lipsync.production.values import Production
from lipsync.workshop.making_cost import Cost, MakingCost
from lipsync.workshop.order_groups import Grouping
from lipsync.workshop.order_rows import PressingRow, worn_out_pieces

# Columns of the workbook: character, code, name, and from D on the numbers.
_COLUMN = {number: chr(ord("D") + at) for at, number in enumerate(NUMBERS)}

# Columns of the CSV that are called otherwise than the numbers.
_CSV_HEADS = {"pressings": "pressings_needed", "unneeded": "needed_no_more", "to_make": "pressings_to_make"}


def revision_words(production: Production, made: WorkshopOrder) -> str:
    """Return which revision it is, in words."""
    words = production.file.sheet.words
    if made.revision is None:
        return words.not_ordered
    return f"{words.revision.format(letter=made.revision.letter)}  ·  {words.stamp} {made.revision.state.stamp}"


def _said(production: Production, made: WorkshopOrder) -> dict[str, str]:
    """Return what every row of a CSV says of the order that it is from."""
    return {
        "film": production.file.title,
        "dated": "" if production.file.dated is None else production.file.dated.isoformat(),
        "revision": made.revision.letter if made.revision else "",
        "stamp": made.revision.state.stamp if made.revision else "",
        "read_first": "; ".join([*made.alerts, *_not_reckoned(production, made)]),
    }


def _not_reckoned(production: Production, made: WorkshopOrder) -> Iterator[str]:
    """Yield in words what is used up, and what is in no sum since the studio gives no figure for it."""
    words = production.file.sheet.words
    if worn_out := worn_out_pieces(made.order.rows):
        yield words.worn_out.format(pieces=", ".join(worn_out))
    if made.making is not None:
        yield from figures_missing(words, made.making)


def order_csv(production: Production, made: WorkshopOrder) -> bytes:
    """Return the order as CSV, a row for each piece."""
    said = _said(production, made)
    numbers = [_CSV_HEADS.get(number, number) for number in NUMBERS]
    costs = ("minutes", "moulds", "price", "currency") if made.making is not None else ()
    heads = ("character", "heads", "code", "name", *numbers, "needed_by", *costs, *said)
    rows = (
        (
            *(row.character, list(row.heads), row.code, piece_name(production, row)),
            *(record[number] for number in numbers),
            *(made.needed_by(row), *_cost_cells(made, record), *said.values()),
        )
        for row, record in zip(made.order.rows, made.records, strict=True)
    )
    return csv_table([heads, *rows], for_spreadsheets=True)


def _cost_cells(made: WorkshopOrder, record: Mapping[str, object]) -> tuple[object, ...]:
    if made.making is None:
        return ()
    return record["minutes"], record["moulds"], record["price"], made.making.currency


def weeks_csv(production: Production, made: WorkshopOrder, making: MakingCost) -> bytes:
    """Return what an order takes to make as CSV, a row for each week in which pressings are first needed."""
    said = _said(production, made)
    names = tuple(cost_record(making.total))
    rows = (
        (week, monday_of(week), *cost_record(cost).values(), making.currency, *said.values())
        for week, cost in making.weeks
    )
    return csv_table([("week", "from", *names, "currency", *said), *rows], for_spreadsheets=True)


def piece_name(production: Production, row: PressingRow) -> str:
    """Return the name of a row's piece."""
    piece = production.mouth_sets[row.character].by_code.get(row.code)
    return piece.name if piece else production.part_codes[row.character].get(row.code, "")


def order_book(production: Production, made: WorkshopOrder) -> bytes:
    """Return the order as a workbook."""
    words, dated = production.file.sheet.words, production.file.dated
    rows, totals = _book_rows(production, made)
    heads = (words.character, words.code, words.name, *(getattr(words, one) for one in NUMBERS), words.puppet)
    boards = tuple((puppet, code) for puppet, codes in made.boards.items() for code in codes)
    cautions = (words.caution_sheets, words.caution_air, words.caution_dust, words.caution_blades)
    said = [production.file.title, revision_words(production, made)]
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
    tables += _making_tables(production, made)
    if made.by is not None:
        tables.append(_group_table(production, made, made.by))
    tables.append(SheetTable(words.cautions, (words.cautions,), tuple((text,) for text in cautions)))
    first = [*said, *made.alerts, *_not_reckoned(production, made), *made.changes]
    tables.insert(0, SheetTable(words.read_first, (words.read_first,), tuple((text,) for text in first)))
    title = f"{production.file.title}: {words.order}"
    printing = BookPrinting(
        "  ·  ".join([words.order, *said, *([words.read_first] if made.alerts else [])]),
        words.safety,
        production.file.sheet.page,
    )
    return workbook(title, tables, printing)


def group_rows(production: Production, made: WorkshopOrder) -> list[dict[str, str | int]]:
    """Return a row for each group and piece to make; the first column is named for what is grouped by."""
    words, by = production.file.sheet.words, made.by
    return [
        {
            by: group_name(words, by, one.group),
            "character": one.character,
            "code": one.code,
            "pressings_to_make": one.to_make,
        }
        for one in made.groups
        if by is not None
    ]


def _group_table(production: Production, made: WorkshopOrder, by: Grouping) -> SheetTable:
    words = production.file.sheet.words
    named = grouped_by(words, by)
    heads = tuple(dict.fromkeys((named, words.character, words.code, words.to_make)))  # by character: no column more
    rows: list[tuple[Cell, ...]] = [tuple(row.values()) for row in group_rows(production, made)]
    column = chr(ord("A") + len(heads) - 1)
    total = Formula(f"=SUM({column}2:{column}{len(rows) + 1})", sum(one.to_make for one in made.groups))
    below: tuple[Cell, ...] = (words.total, *[""] * (len(heads) - 2), total)
    return SheetTable(words.to_make_by.format(group=named), heads, (*rows, below), frozenset({len(rows)}))


def _making_tables(production: Production, made: WorkshopOrder) -> Iterator[SheetTable]:
    """Yield what an order takes to make, by week and by piece; nothing where the studio gives no figures."""
    words, making = production.file.sheet.words, made.making
    if making is None:
        return
    numbers = (
        words.to_make,
        words.hours,
        words.moulds,
        words.batches,
        words.price_in.format(currency=making.currency),
    )
    if made.planned:
        weeks = [((week, monday_of(week)), cost) for week, cost in making.weeks]
        yield _cost_table(f"{words.making}, {words.week}", (words.week, words.from_day, *numbers), weeks, words.total)
    pieces = [
        ((production.file.characters[row.character].name, row.code), cost)
        for row, cost in zip(made.order.rows, making.pieces, strict=True)
    ]
    heads = (words.character, words.code, *numbers[:3], numbers[4])
    yield _cost_table(words.making, heads, pieces, words.total, batches=False)


def _cost_table(
    name: str,
    heads: tuple[str, ...],
    told: Sequence[tuple[tuple[str, str], Cost]],
    total: str,
    *,
    batches: bool = True,
) -> SheetTable:
    """Return costs as a sheet, their sums below them."""
    rows: list[tuple[Cell, ...]] = [(*named, *_numbers(cost, batches=batches)) for named, cost in told]
    sums: list[Cell] = []
    for at in range(2, len(heads)):
        column = chr(ord("A") + at)
        values = [value for row in rows if isinstance(value := row[at], int | float)]
        sums.append(Formula(f"=SUM({column}2:{column}{len(rows) + 1})", sum(values)) if values else "")
    return SheetTable(name, heads, (*rows, (total, "", *sums)), frozenset({len(rows)}))


def _numbers(cost: Cost, *, batches: bool) -> tuple[Cell, ...]:
    hours = "" if cost.hours is None else cost.hours  # not rounded, so that sums agree
    price = "" if cost.price is None else float(cost.price)
    shared = ("" if cost.batches is None else cost.batches,) if batches else ()
    return cost.pressings, hours, "" if cost.moulds is None else cost.moulds, *shared, price


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
            rows.append(
                (name, row.code, piece_name(production, row), *numbers, " ".join(made.boards_with(row)), days)
            )
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
