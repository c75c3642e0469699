"""The order for the puppet workshop as pages: for each character the pieces, and how many pressings of each.

In comes an `OrderJob`, out a `Document`. The numbers are those of workshop/pressings.py, under the same names;
nothing is counted here but the totals. Each character begins on a page of its own, with its puppets' days above and
what lies on each puppet's board below; the last page has the usual cautions.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial

from lipsync.fit.mouthset import MouthSet
from lipsync.paper.flow import LINE_MM, TEXT_PT, Flow, Heading, TableColumn, cells, put_text
from lipsync.paper.lettering import check_letters, composed, shortened, wrapped
from lipsync.paper.marks import Bookmark, Box, Document, Mark, Rule, Text
from lipsync.paper.page_forms import MARGIN_X_MM
from lipsync.paper.pdf import string_width_mm
from lipsync.paper.piece_pictures import Art, mark_in_row
from lipsync.paper.sheet_words import Words
from lipsync.paper.signs import row_rule
from lipsync.workshop.pressings import Board, PressingRow
from lipsync.workshop.shooting import Shoot, ShootingPlan

_ROW_MM, _NAME_MM, _PICTURE_MM, _TICK_MM = 9.4, 9.0, 10.5, 4.0

# Shots named in one sentence; more are named in another, so that none is left out.
_SHOTS_TOLD = 100

# The numbers of a piece, in the order of the columns; `PressingRow` and `Words` have them under these names.
NUMBERS = ("frames_seen", "times_fitted", "boards", "at_once", "used_up", "spares", "pressings")

# The right edge of each, and its width; the last is set larger.
_PLACES = ((0.41, 0.085), (0.495, 0.08), (0.56, 0.06), (0.625, 0.06), (0.695, 0.065), (0.76, 0.06), (0.90, 0.13))

# The most lines that a list of codes takes (chosen: 200 pieces of six letters are 20).
_MOST_LINES = 30


@dataclass(frozen=True, slots=True)
class OrderCharacter:
    """One character's part of an order.

    Attributes:
        name: as it is printed.
        puppets: how many there are of it.
        mouth_set: its mouth set.
        rows: its pieces, in the order of the set.
        boards: what lies on the board of each of its puppets.
        shoots: its puppets' rows of the shooting plan; none if there is no plan.
        unplanned: its shots that no puppet is to shoot.
        art: the studio's own pictures.
    """

    name: str
    puppets: int
    mouth_set: MouthSet
    rows: tuple[PressingRow, ...]
    boards: tuple[Board, ...]
    shoots: tuple[Shoot, ...] = ()
    unplanned: tuple[str, ...] = ()
    art: Mapping[str, Art] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class OrderJob:
    """An order, and how it is printed; `planned` says whether there is a shooting plan."""

    production: str
    characters: tuple[OrderCharacter, ...]
    plan: ShootingPlan
    planned: bool
    dated: datetime.date | None = None
    page: str = "A4"
    words: Words = field(default_factory=Words)
    alerts: tuple[str, ...] = ()


def columns_of(words: Words) -> tuple[TableColumn, ...]:
    """Return the columns of an order, after the picture."""
    return (
        TableColumn(words.code, 0.07, 0.125, False, 13, True, whole=True),
        TableColumn(words.name, at=0.20, width=0.125, number=False, size_pt=10),
        *(TableColumn(getattr(words, number), *at) for number, at in zip(NUMBERS[:-1], _PLACES[:-1], strict=True)),
        TableColumn(words.pressings, *_PLACES[-1], True, 14, True),
        TableColumn(words.made, at=1.0, width=0.08),
    )


def numbers_of(row: PressingRow) -> tuple[int, ...]:
    """Return a row's numbers in the order of the columns."""
    return tuple(getattr(row, number) for number in NUMBERS)


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
    heading = Heading(job.words.order, job.production, job.dated, job.words, job.page, job.alerts)
    flow = Flow(heading)
    places: list[Bookmark] = []
    for one in job.characters:
        flow.turn()
        places.append(Bookmark(composed(one.name), flow.page))
        _put_character(flow, job, one)
    _put_cautions(flow, job.words)
    return Document(f"{job.production}: {job.words.order}", flow.pages(), tuple(places))


def _put_character(flow: Flow, job: OrderJob, one: OrderCharacter) -> None:
    words = job.words
    flow.put(_NAME_MM, partial(_named, flow.heading, words, one))
    for text in _days(job, one):
        put_text(flow, text)
    flow.space(1.5)
    columns = columns_of(words)
    flow.put_table(columns, _ROW_MM, [partial(_row, flow.heading, columns, one, row) for row in one.rows], _ROW_MM)
    if one.rows:
        flow.put(_ROW_MM, partial(_total, flow.heading, columns, words, one.rows))
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
    """Return what the numbers are reckoned with."""
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


def _row(
    heading: Heading, columns: Sequence[TableColumn], one: OrderCharacter, row: PressingRow, y_mm: float
) -> Iterator[Mark]:
    base_mm, right_mm = y_mm + _ROW_MM / 2 + 1.6, heading.width_mm - MARGIN_X_MM
    yield row_rule(right_mm, y_mm + _ROW_MM)
    piece = one.mouth_set.by_code.get(row.code)
    if piece is not None:
        yield mark_in_row(piece, one.art, (MARGIN_X_MM, y_mm, _PICTURE_MM, _ROW_MM))
    name = piece.name if piece is not None else ""
    yield from cells(columns, [row.code, name, *map(str, numbers_of(row)), ""], heading, base_mm)
    yield Box(right_mm - _TICK_MM, y_mm + (_ROW_MM - _TICK_MM) / 2, _TICK_MM, _TICK_MM, stroke=0.0, line_mm=0.25)


def _total(
    heading: Heading, columns: Sequence[TableColumn], words: Words, rows: Sequence[PressingRow], y_mm: float
) -> Iterator[Mark]:
    sums = [str(sum(column)) for column in zip(*map(numbers_of, rows), strict=True)]
    sums[NUMBERS.index("boards")] = ""  # a board holds many pieces: boards do not add up
    yield Rule(MARGIN_X_MM, y_mm, heading.width_mm - MARGIN_X_MM, y_mm, 0.35)
    for column, text in zip(columns, [words.total, "", *sums, ""], strict=True):
        if text:
            yield column.mark(text, heading.inner_mm, y_mm + _ROW_MM / 2 + 1.6, (11, True))


def _put_board(flow: Flow, words: Words, board: Board) -> None:
    title = words.on_board.format(puppet=board.puppet, count=len(board.codes))
    lines = wrapped(" · ".join(board.codes), flow.heading.inner_mm, 10, _MOST_LINES)

    def block(y_mm: float) -> Iterator[Mark]:
        yield Text(MARGIN_X_MM, y_mm + 4.6, shortened(title, flow.heading.inner_mm, 10, True), 10, bold=True)
        for place, line in enumerate(lines):
            yield Text(MARGIN_X_MM, y_mm + 9.6 + place * LINE_MM, line, 10)

    flow.put(7.0 + len(lines) * LINE_MM, block)


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
