"""The pieces to lay out on the board for a shot, in the order in which they are used.

In come a `SheetJob` and its stamp, out pages: a row for each piece, with its picture, its code, and the frames on
which it is put on. Only frames that are still to be filmed count; the piece that is on the puppet then is first.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lipsync import timing
from lipsync.floor.listing import body_end_mm, body_top_mm, dressed, form_for
from lipsync.paper.lettering import shortened, wrapped
from lipsync.paper.marks import Box, Mark, Page, Rule, Text
from lipsync.paper.mouth_drawing import HEIGHT
from lipsync.paper.page_forms import MARGIN_X_MM, Form
from lipsync.paper.piece_pictures import height_of, mark_of
from lipsync.paper.sheet_job import SheetCharacter, SheetJob
from lipsync.paper.signs import row_rule

_ROW_MM, _NAME_MM = 11.0, 10.0
_PICTURE_MM, _TICK_MM = 12.0, 4.5
_CODE_PT, _PT, _LINE_MM = 14.0, 10.0, 4.4


@dataclass(frozen=True, slots=True)
class Use:
    """A piece of a character: the first frame that it is worn on, and the frames on which it is put on."""

    code: str
    first: int
    put_on: tuple[int, ...]

    @property
    def on_already(self) -> bool:
        """Whether it is on the puppet when its first frame comes."""
        return self.first not in self.put_on


def uses_of(character: SheetCharacter, filmed: frozenset[int]) -> tuple[Use, ...]:
    """Return the pieces that a character wears on frames still to be filmed, in the order of use."""
    fitted = {fitting.frame for fitting in character.track.fittings} - filmed
    first: dict[str, int] = {}
    for frame, code in enumerate(character.track.pieces):
        if code is not None and frame not in filmed:
            first.setdefault(code, frame)
    pieces = character.track.pieces
    return tuple(Use(code, at, tuple(f for f in sorted(fitted) if pieces[f] == code)) for code, at in first.items())


def board_pages(job: SheetJob, stamp: str) -> tuple[Page, ...]:
    """Return the pages of a shot's board; none if nothing is left to film, or nobody is seen."""
    form = form_for(job)
    words = job.settings.words
    bodies = list(_bodies(job, form))
    return dressed(job, stamp, words.board, bodies, lambda n, of: words.board_page.format(page=n, pages=of))


def _bodies(job: SheetJob, form: Form) -> Iterator[list[Mark]]:
    marks: list[Mark] = []
    y_mm = body_top_mm(form)
    for character in job.characters:
        uses = uses_of(character, job.filmed)
        for number, use in enumerate(uses):
            # A name stands above its first row, and again on top of each page.
            named = number == 0 or not marks
            if marks and y_mm + _ROW_MM + (_NAME_MM if named else 0.0) > body_end_mm(form):
                yield marks
                marks, y_mm, named = [], body_top_mm(form), True
            if named:
                marks += _name(job, form, character, y_mm)
                y_mm += _NAME_MM
            marks += _row(job, form, character, use, y_mm)
            y_mm += _ROW_MM
    if marks:
        yield marks


def _edges(form: Form) -> Sequence[float]:
    """Return the left edges of picture, code, piece's name and frames."""
    picture_mm = MARGIN_X_MM + _TICK_MM + 4.0
    code_mm = picture_mm + _PICTURE_MM + 4.0
    return picture_mm, code_mm, code_mm + 28.0, code_mm + 28.0 + min(38.0, form.inner_mm / 5)


def _name(job: SheetJob, form: Form, character: SheetCharacter, y_mm: float) -> Iterator[Mark]:
    base_mm, right_mm = y_mm + _NAME_MM - 2.6, form.width_mm - MARGIN_X_MM
    frames_mm = _edges(form)[3]
    yield Text(
        MARGIN_X_MM, base_mm, shortened(character.name, frames_mm - MARGIN_X_MM - 3.0, 12, bold=True), 12, bold=True
    )
    yield Text(frames_mm, base_mm, shortened(job.settings.words.board_frames, right_mm - frames_mm, 8), 8)
    yield Rule(MARGIN_X_MM, y_mm + _NAME_MM - 0.4, right_mm, y_mm + _NAME_MM - 0.4, 0.4)


def _row(job: SheetJob, form: Form, character: SheetCharacter, use: Use, y_mm: float) -> Iterator[Mark]:
    picture_mm, code_mm, name_mm, frames_mm = _edges(form)
    middle_mm, right_mm = y_mm + _ROW_MM / 2, form.width_mm - MARGIN_X_MM
    base_mm = middle_mm + 1.6
    piece = character.mouth_set.by_code.get(use.code)
    yield Box(MARGIN_X_MM, middle_mm - _TICK_MM / 2, _TICK_MM, _TICK_MM, stroke=0.0, line_mm=0.25)
    if piece is not None:
        high = height_of(piece, character.art) or HEIGHT
        width_mm = min(_PICTURE_MM, (_ROW_MM - 1.6) / high)
        yield mark_of(piece, character.art, picture_mm + (_PICTURE_MM - width_mm) / 2, middle_mm, width_mm)
        yield Text(name_mm, base_mm, shortened(piece.name, frames_mm - name_mm - 3.0, _PT), _PT)
    yield Text(
        code_mm, base_mm + 0.3, shortened(use.code, name_mm - code_mm - 2.0, _CODE_PT, bold=True), _CODE_PT, bold=True
    )
    frames = [str(timing.number_of(frame, job.first_frame)) for frame in use.put_on]
    # A piece that is on from a frame in the can is laid out too: it may have to be put on again.
    frames = ([job.settings.words.worn_already] if use.on_already else []) + frames
    lines = wrapped(", ".join(frames), right_mm - frames_mm, _PT, 2)
    for place, line in enumerate(lines):
        yield Text(frames_mm, base_mm + (place - (len(lines) - 1) / 2) * _LINE_MM, line, _PT)
    yield row_rule(right_mm, y_mm + _ROW_MM - 0.2)
