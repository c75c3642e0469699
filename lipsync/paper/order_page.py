"""The order for the puppet workshop as pages: for each character the pieces, and how many pressings of each.

In: an `OrderJob` (order_job.py). Out: a `Document`. The numbers are those of workshop/order_rows.py, under the
same names; only the totals are counted here. Each character begins on a new page, with its puppets' days above and
the pieces on each puppet's board below; the last page has the usual cautions.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from functools import partial

from lipsync.paper.flow import LINE_MM, TEXT_PT, Flow, Heading, TableColumn, cells, put_list, put_text
from lipsync.paper.lettering import check_letters, composed, shortened, wrapped
from lipsync.paper.making_page import put_groups, put_making
from lipsync.paper.marks import Bookmark, Box, Document, Mark, Rule, Text
from lipsync.paper.order_job import NUMBERS, OrderCharacter, OrderJob, numbers_of
from lipsync.paper.page_forms import MARGIN_X_MM
from lipsync.paper.pdf import string_width_mm
from lipsync.paper.piece_pictures import mark_in_row
from lipsync.paper.sheet_words import Words
from lipsync.paper.signs import row_rule
from lipsync.workshop.order_rows import Board, PressingRow, worn_out_pieces

_ROW_MM, _NAME_MM, _PICTURE_MM, _TICK_MM, _CODE_BASE_MM = 9.4, 9.0, 10.5, 4.0, 4.7

# The most shots named in one sentence; further shots get another sentence, so that none is left out.
_SHOTS_TOLD = 100

# The right edge of each, and its width; the last is set larger.
_PLACES = (
    *((0.328, 0.066), (0.396, 0.066), (0.444, 0.046), (0.489, 0.043), (0.551, 0.06), (0.603, 0.05), (0.652, 0.046)),
    *((0.706, 0.052), (0.753, 0.045), (0.805, 0.047), (0.867, 0.058), (0.93, 0.058)),
)

# The name below a code: its letters, its lines, and where its first one stands.
_NAME_PT, _NAME_LINE_MM, _NAME_BASE_MM, _MOST_NAME_LINES, _NAME_PART = 8.0, 3.2, 7.9, 4, 0.2

# The most lines that the cautions take (chosen).
_MOST_LINES = 30


def columns_of(words: Words) -> tuple[TableColumn, ...]:
    """Return the columns of an order, after the picture."""
    return (
        TableColumn(words.code, 0.07, 0.185, False, 12, True, whole=True),
        *(
            TableColumn(getattr(words, number), *at, size_pt=10, whole=True)
            for number, at in zip(NUMBERS[:-1], _PLACES[:-1], strict=True)
        ),
        TableColumn(words.to_make, *_PLACES[-1], True, 14, True, whole=True),
        TableColumn(words.made, at=1.0, width=0.07),
    )


def _texts(job: OrderJob) -> Iterator[tuple[str, str]]:
    yield "the film's title", job.production
    yield from (("what must be known,", text) for text in job.alerts)
    for one in job.characters:
        yield "the name", one.name
        yield "the mouth set's name", one.mouth_set.name
        yield from (("the piece's name", piece.name) for piece in one.mouth_set.piece)


def order_pages(job: OrderJob) -> Document:
    """Return the order as pages.

    Raises:
        InputError: if a text has letters that no font here has.
    """
    check_letters(job.words.order, _texts(job), job.words)
    about = "  ·  ".join(text for text in (job.production, job.revision) if text)
    heading = Heading(job.words.order, about, job.dated, job.words, job.page, job.alerts, foot=job.words.safety)
    flow = Flow(heading)
    places: list[Bookmark] = []
    if job.changes:
        flow.put(_NAME_MM, partial(_titled, job.changed))
    for text in job.changes:
        put_text(flow, text)
    for one in job.characters:
        flow.turn()
        places.append(Bookmark(composed(one.name), flow.page))
        _put_character(flow, job, one)
    if job.making is not None:
        places.append(Bookmark(job.words.making, flow.page + 1))
        put_making(flow, job.words, job.making, job.pieces)
    if job.by is not None:
        put_groups(flow, job.words, job.by, job.groups)
    _put_cautions(flow, job.words)
    return Document(f"{job.production}: {job.words.order}", flow.pages(), tuple(places))


def _titled(title: str, y_mm: float) -> Iterator[Mark]:
    yield Text(MARGIN_X_MM, y_mm + 5.0, composed(title), 12, bold=True)


def _put_character(flow: Flow, job: OrderJob, one: OrderCharacter) -> None:
    words = job.words
    flow.put(_NAME_MM, partial(_named, flow.heading, words, one))
    for text in _days(job, one):
        put_text(flow, text)
    flow.space(1.5)
    columns = columns_of(words)
    rows = [(_row_mm(flow.heading, one, row), partial(_row, flow.heading, columns, one, row)) for row in one.rows]
    if rows:
        rows.append((_ROW_MM, partial(_total, flow.heading, columns, words, one.rows)))
    flow.put_rows(columns, rows)
    if one.rows:
        _put_days(flow, job, one)
        _put_hand_overs(flow, job, one)
    for board in one.boards:
        if board.codes:
            _put_board(flow, words, board)


def _named(heading: Heading, words: Words, one: OrderCharacter, y_mm: float) -> Iterator[Mark]:
    name = shortened(one.name, heading.inner_mm * 0.5, 14, True)
    yield Text(MARGIN_X_MM, y_mm + 6.0, name, 14, bold=True)
    facts = f"{composed(one.mouth_set.name)}  ·  {words.puppets.format(count=one.puppets)}"
    x_mm = MARGIN_X_MM + string_width_mm(name, 14, True) + 5.0
    yield Text(x_mm, y_mm + 6.0, shortened(facts, heading.width_mm - MARGIN_X_MM - x_mm, 10), 10)


def _days(job: OrderJob, one: OrderCharacter) -> Iterator[str]:
    """Yield the sentences that say how the numbers were counted."""
    words, plan = job.words, job.plan
    if not job.planned:
        yield words.no_plan
    for shoot in one.shoots:
        first, last = shoot.first.isoformat(), shoot.last.isoformat()
        text = words.shoots.format(puppet=shoot.puppet, scene=shoot.scene, first=first, last=last)
        yield f"{text} ({words.shots.format(shots=', '.join(shoot.shots))})" if shoot.shots else text
    for at in range(0, len(one.unplanned), _SHOTS_TOLD):
        yield words.unplanned.format(shots=", ".join(one.unplanned[at : at + _SHOTS_TOLD]))
    made = {row.code for row in one.rows}
    if left := [code for code in one.mouth_set.by_code if code not in made]:
        yield words.not_made.format(codes=", ".join(left))
    clay = one.mouth_set.material == "clay"
    yield words.clay_wears.format(fittings=plan.fittings_a_piece) if clay else words.hard_stays
    otherwise: dict[int, list[str]] = {}
    for row in one.rows:
        lasts = plan.fittings_of(row.character, row.code)
        if row.material == "clay" and lasts != plan.fittings_a_piece:
            otherwise.setdefault(lasts, []).append(row.code)
    for lasts, codes in otherwise.items():
        yield words.clay_wears_otherwise.format(codes=", ".join(codes), fittings=lasts)
    if other := [row.code for row in one.rows if (row.material == "clay") is not clay]:
        yield (words.hard_parts if clay else words.clay_parts).format(codes=", ".join(other))
    if worn_out := worn_out_pieces(one.rows):
        yield words.worn_out.format(pieces=", ".join(worn_out))
    if job.counted is not None:
        yield words.stock_counted.format(day=job.counted.isoformat())


def _name_lines(heading: Heading, one: OrderCharacter, row: PressingRow) -> tuple[str, ...]:
    piece = one.mouth_set.by_code.get(row.code)
    room_mm = heading.inner_mm * _NAME_PART
    name = one.parts.get(row.code, "") if piece is None else piece.name
    return wrapped(name, room_mm, _NAME_PT, _MOST_NAME_LINES)


def _row_mm(heading: Heading, one: OrderCharacter, row: PressingRow) -> float:
    """Return the height of a row: more than usual if the piece's name takes several lines."""
    return _ROW_MM + max(0, len(_name_lines(heading, one, row)) - 1) * _NAME_LINE_MM


def _row(
    heading: Heading, columns: Sequence[TableColumn], one: OrderCharacter, row: PressingRow, y_mm: float
) -> Iterator[Mark]:
    base_mm, right_mm = y_mm + _CODE_BASE_MM, heading.width_mm - MARGIN_X_MM
    yield row_rule(right_mm, y_mm + _row_mm(heading, one, row))
    piece = one.mouth_set.by_code.get(row.code)
    if piece is not None:
        yield mark_in_row(piece, one.art, (MARGIN_X_MM, y_mm, _PICTURE_MM, _ROW_MM))
    for place, line in enumerate(_name_lines(heading, one, row)):
        x_mm = MARGIN_X_MM + heading.inner_mm * columns[0].at
        yield Text(x_mm, y_mm + _NAME_BASE_MM + place * _NAME_LINE_MM, line, _NAME_PT)
    yield from cells(columns, [row.code, *map(str, numbers_of(row)), ""], heading, base_mm)
    yield Box(right_mm - _TICK_MM, y_mm + (_ROW_MM - _TICK_MM) / 2, _TICK_MM, _TICK_MM, stroke=0.0, line_mm=0.25)


def _total(
    heading: Heading, columns: Sequence[TableColumn], words: Words, rows: Sequence[PressingRow], y_mm: float
) -> Iterator[Mark]:
    sums = [str(sum(column)) for column in zip(*map(numbers_of, rows), strict=True)]
    sums[NUMBERS.index("boards")] = ""  # a board holds many pieces: boards do not add up
    yield Rule(MARGIN_X_MM, y_mm, heading.width_mm - MARGIN_X_MM, y_mm, 0.35)
    for column, text in zip(columns, [words.total, *sums, ""], strict=True):
        if text:
            yield column.mark(text, heading.inner_mm, y_mm + _ROW_MM / 2 + 1.6, (10, True))


def _put_days(flow: Flow, job: OrderJob, one: OrderCharacter) -> None:
    """Put what is to be made by each day; nothing without a plan, which has the days."""
    words = job.words
    days: dict[str, Counter[str]] = {}
    for row in one.rows:
        for needed in row.needed_by:
            days.setdefault(needed.isoformat(), Counter())[row.code] += 1
    if not days:
        put_text(flow, words.make_none)
    for day, codes in sorted(days.items()) if job.planned else ():
        told = [words.make_count.format(code=code, count=count) for code, count in codes.items()]
        put_list(flow, words.make_by.format(day=day), told)


def _put_hand_overs(flow: Flow, job: OrderJob, one: OrderCharacter) -> None:
    words = job.words
    if not job.planned or (one.puppets < 2 and not one.alone):
        return
    if not one.hand_overs:
        put_text(flow, words.own_mouths if one.alone else words.no_hand_overs)
    moves: dict[tuple[str, str, str], list[str]] = {}
    for move in one.hand_overs:
        moves.setdefault((move.day.isoformat(), move.giver, move.taker), []).append(move.code)
    for (day, giver, taker), codes in moves.items():
        counts = Counter(codes)
        told = [code if count == 1 else f"{count} {code}" for code, count in counts.items()]
        put_list(flow, words.hand_over.format(day=day, giver=giver, taker=taker), told)


def _put_board(flow: Flow, words: Words, board: Board) -> None:
    put_list(flow, words.on_board.format(puppet=board.puppet, count=len(board.codes)), board.codes)


def _put_cautions(flow: Flow, words: Words) -> None:
    inner_mm = flow.heading.inner_mm
    texts = (words.caution_sheets, words.caution_air, words.caution_dust, words.caution_blades)
    lines = [line for text in texts for line in wrapped(text, inner_mm - 6.0, TEXT_PT, _MOST_LINES)]
    height_mm = 9.5 + len(lines) * LINE_MM

    def block(y_mm: float) -> Iterator[Mark]:
        yield Box(MARGIN_X_MM, y_mm, inner_mm, height_mm - 1.0, stroke=0.0, line_mm=0.4)
        title = shortened(words.cautions, inner_mm - 6.0, 11, True)
        yield Text(MARGIN_X_MM + 3.0, y_mm + 5.4, title, 11, bold=True)
        for place, line in enumerate(lines):
            yield Text(MARGIN_X_MM + 3.0, y_mm + 10.4 + place * LINE_MM, line, TEXT_PT)

    flow.space(3.0)
    flow.put(height_mm, block)
