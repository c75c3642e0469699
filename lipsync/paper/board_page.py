"""The board of a puppet for a scene: a page with a place for each piece, to lay the pieces out on.

In: a `BoardsJob`. Out: a `Document`; each board begins on a new page. If the width of the puppet's mouth at rest is
known, in mm, pictures are as large as the pieces, and each place is as large as the widest and the highest piece of
the set. If not, all are drawn to one scale, and the page says that it is not the puppet's.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial

from lipsync.errors import InputError
from lipsync.fit.mouthset import MouthSet, Piece
from lipsync.paper.flow import Flow, Heading, put_text
from lipsync.paper.lettering import check_letters, sized, wrapped
from lipsync.paper.marks import MM_PER_POINT, Bookmark, Box, Document, Image, Mark, Page, Text
from lipsync.paper.mouth_drawing import HEIGHT, height, proportions
from lipsync.paper.page_forms import MARGIN_X_MM, MARGIN_Y_MM, PAPER
from lipsync.paper.piece_pictures import Art, mark_of
from lipsync.paper.sheet_words import Words
from lipsync.workshop.scene_boards import LaidOut, SceneBoard


@dataclass(frozen=True, slots=True)
class PlaceMeasures:
    """The measures of a place on a board, all chosen; `white_mm` is what fingers need about a piece."""

    unscaled_mm: float = 36.0
    white_mm: float = 4.0
    least_mm: float = 30.0
    gap_mm: float = 4.0
    most_apart: float = 1.5
    below_mm: float = 5.0
    line_mm: float = 0.3
    code_pt: float = 14.0
    code_base_mm: float = 5.6
    count_pt: float = 12.0
    name_pt: float = 8.5
    name_lines: int = 4
    name_line: float = 1.25
    base_up: float = 0.25
    after_code_mm: float = 7.0
    head_gap_mm: float = 3.0


PLACE = PlaceMeasures()


@dataclass(frozen=True, slots=True)
class BoardJob:
    """One board.

    Attributes:
        board: the pieces that lie on it.
        name: the character's name.
        scene: the scene's title.
        mouth_set: the character's mouth set.
        mouth_mm: how wide its mouth at rest is, from corner to corner; None if that is not known.
        art: the studio's own pictures.
        planned: whether there is a shooting plan; if not, its days mean nothing.
        parts: the names of its replacement parts that are not mouths, by code.
    """

    board: SceneBoard
    name: str
    scene: str
    mouth_set: MouthSet
    mouth_mm: float | None = None
    art: Mapping[str, Art] = field(default_factory=dict)
    planned: bool = True
    parts: Mapping[str, str] = field(default_factory=dict)

    @property
    def unit_mm(self) -> float:
        """Width of the box in which a piece's picture is drawn."""
        if self.mouth_mm is None:
            return PLACE.unscaled_mm
        return self.mouth_mm / (2 * proportions(self.mouth_set.sizes[self.mouth_set.rest][0].lips).outer)

    @property
    def place_mm(self) -> tuple[float, float]:
        """Width and height of a place: of the largest piece, with white about it."""
        pieces = self.mouth_set.piece
        if any(isinstance(one, Image) for one in self.art.values()):
            wide, high = 1.0, HEIGHT
        else:
            wide = max(2 * proportions(piece.lips).outer for piece in pieces)
            high = max(height(piece.lips) for piece in pieces)
        white_mm = 2 * PLACE.white_mm
        return max(PLACE.least_mm, wide * self.unit_mm + white_mm), high * self.unit_mm + white_mm


@dataclass(frozen=True, slots=True)
class BoardsJob:
    """Boards, how they are printed, and what must be known of them."""

    production: str
    boards: tuple[BoardJob, ...]
    dated: datetime.date | None = None
    page: str = "A4"
    alerts: tuple[str, ...] = ()
    words: Words = field(default_factory=Words)


def board_pages_of(job: BoardsJob) -> Document:
    """Return the pages of all boards.

    Raises:
        InputError: if a text has letters that no font here has, or a mouth is larger than the page.
    """
    check_letters("boards", _texts(job), job.words)
    pages: list[Page] = []
    bookmarks: list[Bookmark] = []
    for one in job.boards:
        bookmarks.append(Bookmark(f"{one.board.puppet}  ·  {one.scene}", len(pages)))
        pages += _pages(job, one)
    return Document(f"{job.production}: {job.words.boards}", tuple(pages), tuple(bookmarks))


def _texts(job: BoardsJob) -> Iterator[tuple[str, str]]:
    yield "the film's title", job.production
    for one in job.boards:
        yield "the name", one.name
        yield "the scene's title", one.scene
        yield from (("the piece's name", piece.name) for piece in one.mouth_set.piece)
        yield from (("the part's name", name) for name in one.parts.values())
    yield from (("what must be known,", text) for text in job.alerts)


def _pages(job: BoardsJob, one: BoardJob) -> Sequence[Page]:
    words, board = job.words, one.board
    about = "  ·  ".join((job.production, one.scene, one.name))
    title = words.board_of.format(puppet=board.puppet)
    heading = Heading(title, about, job.dated, words, job.page, job.alerts)
    flow = Flow(heading)
    shots = words.shots.format(shots=", ".join(board.shots))
    days = f"{board.first.isoformat()} – {board.last.isoformat()}" if one.planned else ""
    put_text(flow, "  ·  ".join(text for text in (shots, days) if text))
    at_size = words.board_at_size.format(mm=f"{one.mouth_mm:g}") if one.mouth_mm else words.board_not_at_size
    put_text(flow, at_size)
    flow.space(PLACE.head_gap_mm)
    wide_mm, high_mm = one.place_mm
    rows_mm = PAPER[job.page][1] - MARGIN_Y_MM - heading.bottom_mm
    if wide_mm > heading.inner_mm or high_mm > rows_mm / 2:
        text = f"its mouths are up to {wide_mm:.0f} by {high_mm:.0f} mm with some white, too large for {job.page}; "
        raise InputError.one(
            f"board of {board.puppet}", "mouth_mm", f"{text}take larger paper, or leave mouth_mm out"
        )
    many = int((heading.inner_mm + PLACE.gap_mm) / (wide_mm + PLACE.gap_mm))
    step_mm = wide_mm + PLACE.gap_mm
    if many > 1:  # spread over the page, as far as they still belong together
        step_mm = min((heading.inner_mm - wide_mm) / (many - 1), PLACE.most_apart * step_mm)
    for first in range(0, len(board.pieces), many):
        row = board.pieces[first : first + many]
        below_mm = max(_below_mm(one, piece, wide_mm, words) for piece in row)
        flow.put(high_mm + below_mm + PLACE.below_mm, partial(_row, one, row, step_mm, words))
    return flow.pages()


def _said_below(one: BoardJob, piece: LaidOut, wide_mm: float, words: Words) -> tuple[str, ...]:
    """Return the lines below a code: the piece's name, and how often it is put on."""
    known = one.mouth_set.by_code.get(piece.code)
    called = known.name if known else one.parts.get(piece.code, "")
    name = wrapped(called, wide_mm, PLACE.name_pt, PLACE.name_lines) if called else ()
    put_on = wrapped(words.board_put_on.format(times=piece.times_fitted), wide_mm, PLACE.name_pt, PLACE.name_lines)
    return (*name, *put_on)


def _below_mm(one: BoardJob, piece: LaidOut, wide_mm: float, words: Words) -> float:
    return PLACE.after_code_mm + len(_said_below(one, piece, wide_mm, words)) * _LINE_MM


_LINE_MM = PLACE.name_pt * PLACE.name_line * MM_PER_POINT


def _row(one: BoardJob, row: Sequence[LaidOut], step_mm: float, words: Words, y_mm: float) -> Iterator[Mark]:
    wide_mm, high_mm = one.place_mm
    for at, piece in enumerate(row):
        x_mm = MARGIN_X_MM + at * step_mm
        yield Box(x_mm, y_mm, wide_mm, high_mm, stroke=0.0, line_mm=PLACE.line_mm)
        known: Piece | None = one.mouth_set.by_code.get(piece.code)
        if known is not None:
            left_mm = x_mm + (wide_mm - one.unit_mm) / 2
            yield mark_of(known, one.art, left_mm, y_mm + high_mm / 2, one.unit_mm)
        base_mm = y_mm + high_mm + PLACE.code_base_mm
        count = words.board_count.format(count=piece.count)
        yield Text(x_mm + wide_mm, base_mm, count, PLACE.count_pt, bold=True, align="right")
        code, size_pt = sized(piece.code, wide_mm / 2, PLACE.code_pt, bold=True)
        yield Text(x_mm, base_mm, code, size_pt, bold=True)
        for place, line in enumerate(_said_below(one, piece, wide_mm, words)):
            below_mm = y_mm + high_mm + PLACE.after_code_mm + (place + 1) * _LINE_MM
            yield Text(x_mm, below_mm - PLACE.base_up * _LINE_MM, line, PLACE.name_pt)
