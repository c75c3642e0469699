"""One character's column on one bank of a page: level, words, phonemes, pictures, codes, holds.

In: the rows of the bank and where the lanes are. Out: marks: drawings and lines in one list, and texts row by row, so
that a program that reads the page aloud goes from left to right.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby

from lipsync.paper.columns import Column, Lane, Layout
from lipsync.paper.lettering import baseline_mm, shortened
from lipsync.paper.marks import Box, Mark, Path, PathStep, Rule, Text
from lipsync.paper.measures import said_in, stress_shown
from lipsync.paper.notes import PlacedNotes, Span, alive_spans, placed, spans_of
from lipsync.paper.pdf import string_width_mm
from lipsync.paper.piece_pictures import height_of, mark_of
from lipsync.paper.rows import Cell, Row
from lipsync.paper.sheet_job import SheetCharacter
from lipsync.paper.sheet_measures import HOLD, LANES, SOUND
from lipsync.paper.sheet_words import Words
from lipsync.paper.signs import diamond, wave


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
        return placed(self._shot, self.first, self.end, self.words, self.column.brief)

    @cached_property
    def _alive(self) -> tuple[tuple[int, int], ...]:
        return alive_spans(self._shot)

    def _y(self, place: int) -> float:
        return self.top_mm + place * self.layout.form.pitch_mm

    def _baseline(self, place: int) -> float:
        return baseline_mm(self._y(place), self.layout.form.pitch_mm, self.layout.letters.code)

    def marks(self) -> Iterator[Mark]:
        """Return all marks that are not text: they are drawn first, under the texts."""
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
        by_row: list[list[Text]] = [[] for _ in self._cells]
        for place, cell in enumerate(self._cells):
            if cell.begins:
                by_row[place] += self._word(place, cell)
            if cell.phonemes:
                by_row[place] += self._phonemes(place, cell)
            if cell.piece is not None and (cell.fitted or place == 0 or self._cells[place - 1].piece is None):
                by_row[place].append(self._code(place, cell.piece, cell.fitted))
        for frame in self._placed.again:
            place = frame - self.first
            by_row[place].append(self._code(place, self._cells[place].piece or "", fitted=False))
        for place, text in self._notes():
            by_row[place].append(text)
        return by_row

    def _level(self) -> Iterator[Path]:
        """Draw the sound down the side, as wide as it is loud."""
        level_db = self.character.level_db
        if not level_db:
            return
        lane = self._lanes["level"]
        middle_mm, half_mm = lane.x_mm + lane.width_mm / 2, lane.width_mm / 2 - SOUND.level_pad_mm

        def wide(frame: int) -> float:
            level = level_db[frame] if 0 <= frame < len(level_db) else None
            part = 0.0 if level is None else (level - self.loudest_db) / SOUND.span_db + 1
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
            yield Path((("move", *right[0][1:]), *right[1:], *left, ("close",)), fill=SOUND.level_grey)

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
                yield Box(lane.x_mm, self._y(places[0]), wide_mm, high_mm, fill=HOLD.off_grey)

    def _word_runs(self) -> Iterator[Rule]:
        """Draw a line down from each word through the rows on which it is heard."""
        x_mm = self._lanes["word"].x_mm + SOUND.run_left_mm
        for runs, places in groupby(self._places, lambda p: self._cells[p].runs and not self._cells[p].begins):
            if runs:
                found = list(places)
                to_mm = self._y(found[-1] + 1) - SOUND.run_above_end_mm
                yield Rule(x_mm, self._y(found[0]), x_mm, to_mm, SOUND.run_mm, SOUND.run_grey)

    def _holds(self) -> Iterator[Mark]:
        """Draw each piece's picture where it is put on, and a line down through its hold."""
        lane = self._lanes["picture"]
        middle_mm = lane.x_mm + lane.width_mm / 2
        start = 0
        while start < len(self._cells):
            cell, end = self._cells[start], start + 1
            while end < len(self._cells) and self._cells[end].piece is not None and not self._cells[end].fitted:
                end += 1
            if cell.piece is None:
                start += 1
                continue
            line_from_mm = self._y(start)
            if cell.fitted:
                picture, line_from_mm = self._picture(cell.piece, middle_mm, start)
                yield from picture
            yield from self._line_down(middle_mm, line_from_mm, start, end)
            start = end

    def _picture(self, code: str, middle_mm: float, place: int) -> tuple[list[Mark], float]:
        """Return the picture of a piece that is put on, and where the line below it begins.

        All pictures of a page are drawn to one scale: a piece that opens further is drawn larger, and no piece is
        drawn at two sizes.
        """
        below_mm = self._y(place + 1)
        piece = self.character.mouth_set.by_code.get(code)
        if piece is None:
            return [], below_mm
        width_mm, pitch_mm = self.layout.picture_mm, self.layout.form.pitch_mm
        high_mm = width_mm * height_of(piece, self.character.art)
        white_mm = (1 - LANES.picture_row_part) * pitch_mm
        down_mm = self._y(place) + max(pitch_mm, high_mm + white_mm) / 2
        drawn = mark_of(piece, self.character.art, middle_mm - width_mm / 2, down_mm, width_mm)
        return [drawn], max(below_mm, down_mm + high_mm / 2 + HOLD.below_picture_mm)

    def _line_down(self, x_mm: float, from_mm: float, start: int, end: int) -> Iterator[Mark]:
        """Draw the line of a hold from a height to the end of its last row, with a short cross line where it ends.

        The line is a wave where the hold is kept alive by hand, and dotted where the clay is modelled.
        """
        held_on = self.first + end < len(self.rows) and end == len(self._cells) and not self._next_is_new()
        to_mm = self._y(end) - (0.0 if held_on else HOLD.above_end_mm)
        first, last = self.first + start, self.first + end
        modelled = self._height([s.first for s in self._spans if first < s.end and s.first < last], from_mm, to_mm)
        alive = self._height([s for s, e in self._alive if first < e and s < last], from_mm, modelled)
        if alive - from_mm > HOLD.least_line_mm:
            yield Rule(x_mm, from_mm, x_mm, alive, HOLD.line_mm)
        if modelled - alive > HOLD.least_line_mm:
            yield wave(x_mm, alive, modelled)
        if to_mm - modelled > HOLD.least_line_mm:
            yield Rule(x_mm, modelled, x_mm, to_mm, HOLD.line_mm, dash_mm=HOLD.dash_mm)
        if to_mm - from_mm > HOLD.least_line_mm and not held_on:
            yield Rule(x_mm - HOLD.foot_half_mm, to_mm, x_mm + HOLD.foot_half_mm, to_mm, HOLD.foot_line_mm)

    def _height(self, frames: list[int], least_mm: float, most_mm: float) -> float:
        """Return the height at which the first of these frames begins, between two limits; `most_mm` without one."""
        return min(most_mm, max(least_mm, self._y(frames[0] - self.first))) if frames else most_mm

    def _next_is_new(self) -> bool:
        """Return whether another piece begins on the row after the bank."""
        after = self.rows[self.end].cells[self.column.character or 0] if self.end < len(self.rows) else None
        return after is None or after.fitted or after.piece is None

    def _diamond(self, place: int) -> Path:
        lane = self._lanes["level"]
        x_mm, y_mm = lane.x_mm + lane.width_mm / 2, self._y(place) + self.layout.form.pitch_mm / 2
        return diamond(x_mm, y_mm, SOUND.beat_half_mm * self.layout.letters.scale)

    def _badge(self, place: int) -> Box:
        lane = self._lanes["doubt"]
        side_mm = min(lane.width_mm - LANES.doubt_pad_mm, self.layout.form.pitch_mm - SOUND.badge_pad_mm)
        y_mm = self._y(place) + (self.layout.form.pitch_mm - side_mm) / 2
        return Box(lane.x_mm + SOUND.badge_left_mm, y_mm, side_mm, side_mm, fill=0.0)

    def _word(self, place: int, cell: Cell) -> Iterator[Text]:
        lane, letters = self._lanes["word"], self.layout.letters
        if any(heard.doubtful for heard in cell.begins):
            badge, doubt_pt = self._badge(place), letters.word
            y_mm = baseline_mm(badge.y_mm, badge.height_mm, doubt_pt)
            yield Text(badge.x_mm + badge.width_mm / 2, y_mm, "?", doubt_pt, bold=True, align="centre", grey=1.0)
        said = self._said(cell)[1]
        if said:
            yield Text(lane.x_mm, self._baseline(place), said, letters.word)

    def _said(self, cell: Cell) -> tuple[str, str]:
        """Return the words that begin on a row: in full, and as much of them as their column has room for."""
        room_mm = self._lanes["word"].width_mm - LANES.word_pad_mm
        whole = said_in(cell, self.words)
        return whole, shortened(whole, room_mm, self.layout.letters.word)

    def _phonemes(self, place: int, cell: Cell) -> Iterator[Text]:
        size_pt, x_mm = self.layout.letters.phoneme, self._lanes["phoneme"].x_mm
        for phoneme in cell.phonemes:
            text, stressed = stress_shown(phoneme)
            yield Text(x_mm, self._baseline(place), text, size_pt, bold=stressed)
            x_mm += string_width_mm(text, size_pt, stressed) + size_pt * SOUND.phoneme_gap

    def struck(self) -> Iterator[Rule]:
        """Return a line through each phoneme that should be seen and is not; it is drawn over the texts."""
        for place, cell in enumerate(self._cells):
            lost = [stress_shown(phoneme)[0] for phoneme in cell.lost]
            for text in self._phonemes(place, cell) if lost else ():
                if text.text in lost:
                    lost.remove(text.text)
                    wide_mm = string_width_mm(text.text, text.size_pt, text.bold)
                    y_mm, beyond_mm = text.y_mm - SOUND.struck_up * text.size_pt, SOUND.struck_beyond_mm
                    yield Rule(text.x_mm - beyond_mm, y_mm, text.x_mm + wide_mm + beyond_mm, y_mm, SOUND.struck_mm)

    def _code(self, place: int, code: str, fitted: bool) -> Text:
        """Return the code: bold where the piece is put on, light and grey where it is on already."""
        x_mm, size_pt = self._lanes["code"].x_mm + LANES.pad_mm, self.layout.letters.code
        grey = 0.0 if fitted else HOLD.again_grey
        return Text(x_mm, self._baseline(place), code, size_pt, bold=fitted, grey=grey)

    def _notes(self) -> Iterator[tuple[int, Text]]:
        """Return the notes on modelling, each on a row of its own transition, and the words for "off camera"."""
        lane, size_pt = self._lanes["code"], self.layout.letters.note
        said = [(frame - self.first, line) for frame, line in self._placed.lines]
        for off, run in groupby(self._places, lambda p: self._cells[p].piece is None):
            if off:
                said.append((next(iter(run)), self.words.off_camera))
        for at, line in said:
            # A note with a code or a number is replaced by a brief one if it does not fit; only other words are cut.
            text = shortened(line, lane.width_mm - LANES.pad_mm, size_pt)
            if text:
                yield at, Text(lane.x_mm + LANES.pad_mm, self._baseline(at), text, size_pt)

    @property
    def shortened(self) -> Iterator[tuple[int, str]]:
        """Yield the words too wide for any column, in full, with their frames, for the foot.

        Doubtful words are left out: the foot names them anyway.
        """
        for place, cell in enumerate(self._cells):
            if cell.begins and not all(heard.doubtful for heard in cell.begins):
                whole, shown = self._said(cell)
                if shown != whole:
                    yield self.first + place, whole

    @property
    def left_over(self) -> tuple[tuple[int, str], ...]:
        """The notes for which no row was free, each with its frame: for the page's foot."""
        return self._placed.left_over
