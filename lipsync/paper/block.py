"""One character's column on one bank of a page: level, words, phonemes, pictures, codes, holds.

In come the rows of the bank and where the lanes lie, out go marks: drawings and lines in one list, and texts row by
row, so that a page is read from left to right.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby

from lipsync.paper.columns import Column, Lane, Layout
from lipsync.paper.lettering import baseline_mm, shortened
from lipsync.paper.marks import Box, Mark, Path, PathStep, Rule, Text
from lipsync.paper.measures import PHONEME_GAP, said_in, stress_shown
from lipsync.paper.needs import DOUBT_PAD_MM, PAD_MM, PICTURE_PART, WORD_PAD_MM
from lipsync.paper.notes import PlacedNotes, Span, placed, spans_of
from lipsync.paper.pdf import string_width_mm
from lipsync.paper.piece_pictures import height_of, mark_of
from lipsync.paper.rows import Cell, Row
from lipsync.paper.sheet_job import SheetCharacter
from lipsync.paper.sheet_words import Words
from lipsync.paper.signs import diamond

LEVEL_GREY = 0.62
_OFF_GREY = 0.87
_RUN_GREY = 0.35

# The level is drawn over this many dB below the shot's loudest frame (chosen: speech spans some 30 dB).
SPAN_DB = 36.0


@dataclass(frozen=True)
class Block:
    """A character's column on one bank.

    Attributes:
        character: who.
        column: where its lanes lie in the bank.
        layout: sizes of letters and rows.
        words: what is printed, in the studio's language.
        rows: all rows of the shot.
        first: the first row of the bank.
        end: the row after its last.
        left_mm: the bank's left edge on the page.
        top_mm: where its first row begins on the page.
        loudest_db: the shot's loudest frame.
    """

    character: SheetCharacter
    column: Column
    layout: Layout
    words: Words
    rows: tuple[Row, ...]
    first: int
    end: int
    left_mm: float
    top_mm: float
    loudest_db: float

    @cached_property
    def _lanes(self) -> dict[str, Lane]:
        return {name: Lane(self.left_mm + lane.x_mm, lane.width_mm) for name, lane in self.column.lanes}

    @cached_property
    def _shot(self) -> list[Cell]:
        index = self.column.character or 0
        return [row.cells[index] for row in self.rows]

    @cached_property
    def _cells(self) -> list[Cell]:
        return self._shot[self.first : self.end]

    @cached_property
    def _spans(self) -> tuple[Span, ...]:
        return spans_of(self._shot)

    @cached_property
    def _placed(self) -> PlacedNotes:
        return placed(self._shot, self.first, self.end, self.words)

    def _y(self, place: int) -> float:
        return self.top_mm + place * self.layout.form.pitch_mm

    def _baseline(self, place: int) -> float:
        return baseline_mm(self._y(place), self.layout.form.pitch_mm, self.layout.letters.code)

    def marks(self) -> Iterator[Mark]:
        """Return all that is no text: it lies under the texts."""
        yield from self._level()
        yield from self._off_camera()
        yield from self._word_runs()
        yield from self._holds()
        for place, cell in enumerate(self._cells):
            if cell.beat:
                yield self._diamond(place)
            if any(heard.doubtful for heard in cell.begins):
                yield self._badge(place)

    def texts(self) -> list[list[Text]]:
        """Return the texts of each row, from left to right."""
        found: list[list[Text]] = [[] for _ in self._cells]
        for place, cell in enumerate(self._cells):
            if cell.begins:
                found[place] += self._word(place, cell)
            if cell.phonemes:
                found[place] += self._phonemes(place, cell)
            if cell.piece is not None and (cell.fitted or place == 0 or self._cells[place - 1].piece is None):
                found[place].append(self._code(place, cell.piece, cell.fitted))
        for place, text in self._notes():
            found[place].append(text)
        return found

    def _level(self) -> Iterator[Path]:
        """Draw the sound down the side, as wide as it is loud."""
        level_db = self.character.level_db
        if not level_db:
            return
        lane = self._lanes["level"]
        middle_mm, half_mm = lane.x_mm + lane.width_mm / 2, lane.width_mm / 2 - 0.3

        def wide(frame: int) -> float:
            level = level_db[frame] if 0 <= frame < len(level_db) else None
            part = 0.0 if level is None else (level - self.loudest_db) / SPAN_DB + 1
            return half_mm * min(1.0, max(0.0, part))

        edge = (wide(self.first - 1) + wide(self.first)) / 2
        points = [(edge, self._y(0))]
        points += [
            (wide(self.first + place), self._y(place) + self.layout.form.pitch_mm / 2) for place in self._places
        ]
        points.append(((wide(self.end - 1) + wide(self.end)) / 2, self._y(len(self._cells))))
        if any(half for half, _ in points):
            right: list[PathStep] = [("line", middle_mm + half, y_mm) for half, y_mm in points]
            left: list[PathStep] = [("line", middle_mm - half, y_mm) for half, y_mm in reversed(points)]
            yield Path((("move", *right[0][1:]), *right[1:], *left, ("close",)), fill=LEVEL_GREY)

    @property
    def _places(self) -> range:
        return range(len(self._cells))

    def _off_camera(self) -> Iterator[Box]:
        lane = self._lanes["picture"]
        wide_mm = lane.width_mm + self._lanes["code"].width_mm
        for off, run in groupby(self._places, lambda place: self._cells[place].piece is None):
            if off:
                places = list(run)
                high_mm = len(places) * self.layout.form.pitch_mm
                yield Box(lane.x_mm, self._y(places[0]), wide_mm, high_mm, fill=_OFF_GREY)

    def _word_runs(self) -> Iterator[Rule]:
        """Draw a line down from each word through the rows on which it is heard."""
        x_mm = self._lanes["word"].x_mm + 0.7
        for runs, places in groupby(self._places, lambda p: self._cells[p].runs and not self._cells[p].begins):
            if runs:
                found = list(places)
                yield Rule(x_mm, self._y(found[0]), x_mm, self._y(found[-1] + 1) - 0.9, 0.3, _RUN_GREY)

    def _holds(self) -> Iterator[Mark]:
        """Draw each piece's picture where it is put on, and a line down through its hold."""
        lane = self._lanes["picture"]
        pitch_mm, middle_mm = self.layout.form.pitch_mm, lane.x_mm + lane.width_mm / 2
        start = 0
        while start < len(self._cells):
            end = start + 1
            while end < len(self._cells) and self._cells[end].piece is not None and not self._cells[end].fitted:
                end += 1
            code = self._cells[start].piece
            if code is None:
                start += 1
                continue
            line_from_mm = self._y(start)
            piece = self.character.mouth_set.by_code.get(code)
            if self._cells[start].fitted:
                line_from_mm += pitch_mm
                if piece is not None:
                    high = height_of(piece, self.character.art)
                    width_mm = min(lane.width_mm - PAD_MM, min(2, end - start) * PICTURE_PART * pitch_mm / high)
                    down_mm = self._y(start) + max(pitch_mm, width_mm * high + (1 - PICTURE_PART) * pitch_mm) / 2
                    yield mark_of(piece, self.character.art, middle_mm - width_mm / 2, down_mm, width_mm)
                    line_from_mm = max(line_from_mm, down_mm + width_mm * high / 2 + 0.5)
            yield from self._line_down(middle_mm, line_from_mm, start, end)
            start = end

    def _line_down(self, x_mm: float, from_mm: float, start: int, end: int) -> Iterator[Rule]:
        """Draw a hold from a height to the end of its last row: solid, and broken where the clay is modelled."""
        to_mm = self._y(end) - 0.9
        held_on = self.first + end < len(self.rows) and end == len(self._cells) and not self._next_is_new()
        to_mm = self._y(end) if held_on else to_mm
        modelled = [s.first for s in self._spans if self.first + start < s.end and s.first < self.first + end]
        solid_to_mm = min(to_mm, max(from_mm, self._y(modelled[0] - self.first))) if modelled else to_mm
        if solid_to_mm - from_mm > 0.8:
            yield Rule(x_mm, from_mm, x_mm, solid_to_mm, 0.45)
        if modelled and to_mm - solid_to_mm > 0.8:
            yield Rule(x_mm, solid_to_mm, x_mm, to_mm, 0.45, dash_mm=0.8)

    def _next_is_new(self) -> bool:
        """Whether the row after the bank begins something else."""
        after = self.rows[self.end].cells[self.column.character or 0] if self.end < len(self.rows) else None
        return after is None or after.fitted or after.piece is None

    def _diamond(self, place: int) -> Path:
        lane = self._lanes["level"]
        x_mm, y_mm = lane.x_mm + lane.width_mm / 2, self._y(place) + self.layout.form.pitch_mm / 2
        return diamond(x_mm, y_mm, 1.2 * self.layout.letters.code / 13)

    def _badge(self, place: int) -> Box:
        lane = self._lanes["doubt"]
        side_mm = min(lane.width_mm - DOUBT_PAD_MM, self.layout.form.pitch_mm - 0.6)
        y_mm = self._y(place) + (self.layout.form.pitch_mm - side_mm) / 2
        return Box(lane.x_mm + 0.2, y_mm, side_mm, side_mm, fill=0.0)

    def _word(self, place: int, cell: Cell) -> Iterator[Text]:
        lane, letters = self._lanes["word"], self.layout.letters
        if any(heard.doubtful for heard in cell.begins):
            badge, doubt_pt = self._badge(place), letters.word
            y_mm = baseline_mm(badge.y_mm, badge.height_mm, doubt_pt)
            yield Text(badge.x_mm + badge.width_mm / 2, y_mm, "?", doubt_pt, bold=True, align="centre", grey=1.0)
        said = shortened(said_in(cell, self.words), lane.width_mm - WORD_PAD_MM, letters.word)
        if said:
            yield Text(lane.x_mm, self._baseline(place), said, letters.word)

    def _phonemes(self, place: int, cell: Cell) -> Iterator[Text]:
        lane, size_pt = self._lanes["phoneme"], self.layout.letters.phoneme
        x_mm, end_mm = lane.x_mm, lane.x_mm + lane.width_mm
        for phoneme in cell.phonemes:
            text, stressed = stress_shown(phoneme)
            text = shortened(text, end_mm - x_mm, size_pt, stressed)
            if not text:
                return
            yield Text(x_mm, self._baseline(place), text, size_pt, bold=stressed)
            x_mm += string_width_mm(text, size_pt, stressed) + size_pt * PHONEME_GAP

    def struck(self) -> Iterator[Rule]:
        """Return a line through each phoneme that should be seen and is not; it lies over the texts."""
        for place, cell in enumerate(self._cells):
            lost = [stress_shown(phoneme)[0] for phoneme in cell.lost]
            for text in self._phonemes(place, cell) if lost else ():
                if text.text in lost:
                    lost.remove(text.text)
                    wide_mm = string_width_mm(text.text, text.size_pt, text.bold)
                    y_mm = text.y_mm - 0.13 * text.size_pt
                    yield Rule(text.x_mm - 0.4, y_mm, text.x_mm + wide_mm + 0.4, y_mm, 0.35)

    def _code(self, place: int, code: str, fitted: bool) -> Text:
        """Return the code: bold where the piece is put on, light where it is still worn at the head of a bank."""
        lane, size_pt = self._lanes["code"], self.layout.letters.code
        text = shortened(code, lane.width_mm - PAD_MM, size_pt, fitted)
        return Text(lane.x_mm + PAD_MM, self._baseline(place), text, size_pt, bold=fitted)

    def _notes(self) -> Iterator[tuple[int, Text]]:
        """Return the notes on modelling, each on a row of its own transition, and where it is off camera."""
        lane, size_pt = self._lanes["code"], self.layout.letters.note
        said = [(frame - self.first, line) for frame, line in self._placed.lines]
        for off, run in groupby(self._places, lambda p: self._cells[p].piece is None):
            if off:
                said.append((next(iter(run)), self.words.off_camera))
        for at, line in said:
            text = shortened(line, lane.width_mm - PAD_MM, size_pt)
            yield at, Text(lane.x_mm + PAD_MM, self._baseline(at), text, size_pt)

    @property
    def left_over(self) -> tuple[tuple[int, str], ...]:
        """Notes that no row was free for, each with its frame: for the page's foot."""
        return self._placed.left_over
