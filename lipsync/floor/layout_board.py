"""The pieces to lay out on the board for a shot, in the order in which they are used.

In: a `SheetJob` and its stamp. Out: pages with a row for each piece, and after a character's mouths for each part
that is listed by hand: its picture, its code, and the frames on which it is put on. Only frames that are still to be
filmed count; first is the piece that is on the puppet on the first of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lipsync import timing
from lipsync.floor.listing import body_end_mm, body_top_mm, form_for, with_heading_and_foot
from lipsync.paper.lettering import sized, wrapped
from lipsync.paper.marks import Box, Mark, Page, Rule, Text
from lipsync.paper.mouth_drawing import HEIGHT
from lipsync.paper.page_forms import MARGIN_X_MM, Form
from lipsync.paper.piece_pictures import height_of, mark_of
from lipsync.paper.sheet_job import SheetCharacter, SheetJob
from lipsync.paper.signs import row_rule
from lipsync.track import PartWorn


@dataclass(frozen=True, slots=True)
class BoardMeasures:
    """The measures of the board's rows; all chosen by eye. `piece_part` is a part of the inner width."""

    row_mm: float = 11.0
    name_mm: float = 10.0
    name_pt: float = 12.0
    name_up_mm: float = 2.6
    label_pt: float = 8.0
    rule_up_mm: float = 0.4
    rule_mm: float = 0.4
    gap_mm: float = 3.0
    tick_mm: float = 4.5
    tick_line_mm: float = 0.25
    tick_gap_mm: float = 4.0
    picture_mm: float = 12.0
    picture_pad_mm: float = 1.6
    picture_gap_mm: float = 4.0
    code_mm: float = 28.0
    code_pt: float = 14.0
    code_gap_mm: float = 2.0
    code_down_mm: float = 0.3
    most_piece_mm: float = 38.0
    piece_part: float = 0.2
    text_pt: float = 10.0
    line_mm: float = 4.4
    base_mm: float = 1.6
    # Lines of frame numbers that a row has room for, and the most that it may have: more would not fit on a page.
    lines: int = 2
    most_lines: int = 25


BOARD = BoardMeasures()


@dataclass(frozen=True, slots=True)
class Use:
    """A piece: the first frame to film on which it is worn, and the frames to film on which it is put on; from 0.

    Of a part, `kind` says of what; it is empty for a mouth.
    """

    code: str
    first: int
    put_on: tuple[int, ...]
    kind: str = ""

    @property
    def on_already(self) -> bool:
        """Whether it is on the puppet already, from a filmed frame, when its first frame is to be filmed."""
        return self.first not in self.put_on


def uses_of(character: SheetCharacter, filmed: frozenset[int]) -> tuple[Use, ...]:
    """Return what a character wears on frames still to be filmed: its mouths in the order of use, then its parts."""
    fitted = {fitting.frame for fitting in character.track.fittings} - filmed
    first: dict[str, int] = {}
    for frame, code in enumerate(character.track.pieces):
        if code is not None and frame not in filmed:
            first.setdefault(code, frame)
    pieces = character.track.pieces
    mouths = (Use(code, at, tuple(f for f in sorted(fitted) if pieces[f] == code)) for code, at in first.items())
    worn: dict[tuple[str, str], list[PartWorn]] = {}
    for part in sorted(character.parts, key=lambda part: (part.first, part.kind)):
        if not filmed.issuperset(range(part.first, part.last + 1)):
            worn.setdefault((part.kind, part.code), []).append(part)
    parts = []
    for (kind, code), rows in worn.items():
        firsts = [next(f for f in range(row.first, row.last + 1) if f not in filmed) for row in rows]
        pairs = zip(firsts, rows, strict=True)
        put_on = tuple(f for f, row in pairs if f == row.first or _is_off(character, kind, code, f))
        parts.append(Use(code, min(firsts), put_on, kind))
    return (*mouths, *parts)


def _is_off(character: SheetCharacter, kind: str, code: str, frame: int) -> bool:
    """Return whether it is known that a part is not on the frame before, which is filmed."""
    before = character.as_filmed.get(frame - 1)
    return before is not None and all((part.kind, part.code) != (kind, code) for part in before.parts)


def board_pages(job: SheetJob, stamp: str) -> tuple[Page, ...]:
    """Return the pages of a shot's board; none if nothing is left to film, or nobody is seen."""
    form = form_for(job)
    words = job.settings.words
    bodies = list(_bodies(job, form))
    return with_heading_and_foot(
        job, stamp, words.board, bodies, lambda n, of: words.board_page.format(page=n, pages=of)
    )


def _bodies(job: SheetJob, form: Form) -> Iterator[list[Mark]]:
    marks: list[Mark] = []
    y_mm = body_top_mm(form)
    for character in job.characters:
        uses = uses_of(character, job.filmed)
        for number, use in enumerate(uses):
            # A name stands above its first row, and again on top of each page.
            named = number == 0 or not marks
            height_mm = _height_mm(job, form, use)
            if marks and y_mm + height_mm + (BOARD.name_mm if named else 0.0) > body_end_mm(form):
                yield marks
                marks, y_mm, named = [], body_top_mm(form), True
            if named:
                marks += _name(job, form, character, y_mm)
                y_mm += BOARD.name_mm
            marks += _row(job, form, character, use, y_mm)
            y_mm += height_mm
    if marks:
        yield marks


def _edges(form: Form) -> Sequence[float]:
    """Return the left edges, in mm, of picture, code, piece's name and frames."""
    picture_mm = MARGIN_X_MM + BOARD.tick_mm + BOARD.tick_gap_mm
    code_mm = picture_mm + BOARD.picture_mm + BOARD.picture_gap_mm
    name_mm = code_mm + BOARD.code_mm
    return picture_mm, code_mm, name_mm, name_mm + min(BOARD.most_piece_mm, form.inner_mm * BOARD.piece_part)


def _name(job: SheetJob, form: Form, character: SheetCharacter, y_mm: float) -> Iterator[Mark]:
    base_mm, right_mm = y_mm + BOARD.name_mm - BOARD.name_up_mm, form.width_mm - MARGIN_X_MM
    frames_mm = _edges(form)[-1]
    name, size_pt = sized(character.name, frames_mm - MARGIN_X_MM - BOARD.gap_mm, BOARD.name_pt, bold=True)
    yield Text(MARGIN_X_MM, base_mm, name, size_pt, bold=True)
    label, size_pt = sized(job.settings.words.board_frames, right_mm - frames_mm, BOARD.label_pt)
    yield Text(frames_mm, base_mm, label, size_pt)
    rule_mm = y_mm + BOARD.name_mm - BOARD.rule_up_mm
    yield Rule(MARGIN_X_MM, rule_mm, right_mm, rule_mm, BOARD.rule_mm)


def _frames(job: SheetJob, form: Form, use: Use) -> tuple[str, ...]:
    """Return the frames on which a piece is put on, in as many lines as they take."""
    frames = [str(timing.number_of(frame, job.first_frame)) for frame in use.put_on]
    # A piece that is on from a frame in the can is laid out too: it may have to be put on again.
    frames = ([job.settings.words.worn_already] if use.on_already else []) + frames
    room_mm = form.width_mm - MARGIN_X_MM - _edges(form)[-1]
    return wrapped(", ".join(frames), room_mm, BOARD.text_pt, BOARD.most_lines)


def _height_mm(job: SheetJob, form: Form, use: Use) -> float:
    more = max(0, len(_frames(job, form, use)) - BOARD.lines)
    return BOARD.row_mm + more * BOARD.line_mm


def _row(job: SheetJob, form: Form, character: SheetCharacter, use: Use, y_mm: float) -> Iterator[Mark]:
    picture_mm, code_mm, name_mm, frames_mm = _edges(form)
    height_mm = _height_mm(job, form, use)
    middle_mm, right_mm = y_mm + height_mm / 2, form.width_mm - MARGIN_X_MM
    base_mm, side_mm = middle_mm + BOARD.base_mm, BOARD.tick_mm
    piece = character.mouth_set.by_code.get(use.code)
    yield Box(MARGIN_X_MM, middle_mm - side_mm / 2, side_mm, side_mm, stroke=0.0, line_mm=BOARD.tick_line_mm)
    if piece is not None:
        height = height_of(piece, character.art) or HEIGHT
        width_mm = min(BOARD.picture_mm, (BOARD.row_mm - BOARD.picture_pad_mm) / height)
        left_mm = picture_mm + (BOARD.picture_mm - width_mm) / 2
        yield mark_of(piece, character.art, left_mm, middle_mm, width_mm)
    if called := piece.name if piece is not None else use.kind:
        name, size_pt = sized(called, frames_mm - name_mm - BOARD.gap_mm, BOARD.text_pt)
        yield Text(name_mm, base_mm, name, size_pt)
    code, size_pt = sized(use.code, name_mm - code_mm - BOARD.code_gap_mm, BOARD.code_pt, bold=True)
    yield Text(code_mm, base_mm + BOARD.code_down_mm, code, size_pt, bold=True)
    lines = _frames(job, form, use)
    for place, line in enumerate(lines):
        yield Text(frames_mm, base_mm + (place - (len(lines) - 1) / 2) * BOARD.line_mm, line, BOARD.text_pt)
    yield row_rule(right_mm, y_mm + height_mm - BOARD.rule_up_mm / 2)
