"""The tiles of a mouth chart: for each shape its pieces side by side, and below them the sounds that it serves.

In come a `ChartJob`, the width of a piece and that of the page between its margins; out come the tiles,
set in lines, how high they are together, and their marks. All sizes of letters follow from the width of a piece.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from lipsync.fit.mouthset import MouthSet, Piece
from lipsync.paper.lettering import composed, shortened, widest_mm
from lipsync.paper.marks import MM_PER_POINT, Mark, Rule, Text
from lipsync.paper.mouth_drawing import HEIGHT
from lipsync.paper.page_forms import MARGIN_X_MM
from lipsync.paper.pdf import string_width_mm
from lipsync.paper.piece_pictures import Art, mark_of
from lipsync.paper.served import Served, served_by
from lipsync.paper.sheet_words import Words

# A tile with sounds is wide enough to read them.
_LEAST_TEXT_MM = 26.0


@dataclass(frozen=True, slots=True)
class ChartJob:
    """A chart, and how it is printed."""

    production: str
    character: str
    mouth_set: MouthSet
    page: str = "A4"
    art: Mapping[str, Art] = field(default_factory=dict)
    dated: datetime.date | None = None
    words: Words = field(default_factory=Words)


@dataclass(frozen=True)
class _Tile:
    """A shape: its pieces, its sounds, and the width that it takes."""

    shape: str
    pieces: tuple[Piece, ...]
    lines: tuple[tuple[Served, ...], ...]
    width_mm: float


@dataclass(frozen=True)
class Tiles:
    """The tiles of a chart, set in lines with pieces of one width."""

    job: ChartJob
    cell_mm: float
    inner_mm: float

    @property
    def _roomy(self) -> bool:
        """Whether pieces are few enough for white space between them."""
        return self.cell_mm >= 22

    @property
    def _gap_mm(self) -> float:
        return 6.0 if self._roomy else 4.0

    @property
    def _shape_mm(self) -> float:
        """Height of a shape's name."""
        return 7.0 if self._roomy else 5.0

    @property
    def _shape_pt(self) -> float:
        return 11.0 if self._roomy else 9.0

    @property
    def _sounds_pt(self) -> float:
        return (12.0 if self.cell_mm >= 40 else 10.0) if self._roomy else 7.5

    @cached_property
    def _code_pt(self) -> float:
        """The largest size, from 28 to 7, at which the widest code fits its piece."""
        codes = list(self.job.mouth_set.by_code)
        fits = self.cell_mm * 0.94 / widest_mm(codes, 1.0, bold=True)
        return max(7.0, min(28.0, self.cell_mm * 0.5, int(fits * 2) / 2))

    @property
    def _name_pt(self) -> float:
        return 9.0 if self._roomy else 7.0

    @property
    def _line_mm(self) -> float:
        return self._sounds_pt * 0.46

    @property
    def _picture_mm(self) -> float:
        return 0.86 * self.cell_mm

    @property
    def _piece_mm(self) -> float:
        """Height of a piece: its picture, its code and its name."""
        return self._picture_mm * HEIGHT + (self._code_pt + self._name_pt) * 1.25 * MM_PER_POINT

    def _tile(self, shape: str, pieces: tuple[Piece, ...]) -> _Tile:
        served = served_by(self.job.mouth_set, shape)
        if shape == self.job.mouth_set.rest:
            served = (Served("", self.job.words.at_rest), *served)
        name_mm = string_width_mm(composed(shape), self._shape_pt, True)
        sounds_mm = max((self._sound_mm(sound) for sound in served), default=0.0)
        width_mm = max(len(pieces) * self.cell_mm, min(name_mm, 60.0), _LEAST_TEXT_MM if served else 0.0, sounds_mm)
        lines: list[list[Served]] = [[]]
        used_mm = 0.0
        for sound in served:
            sound_mm = self._sound_mm(sound)
            if lines[-1] and used_mm + sound_mm > width_mm:
                lines.append([])
                used_mm = 0.0
            lines[-1].append(sound)
            used_mm += sound_mm + self._sounds_pt * 0.30
        return _Tile(shape, pieces, tuple(tuple(line) for line in lines if line), width_mm)

    def _sound_mm(self, sound: Served) -> float:
        """Return the width of a symbol and its example word."""
        gap_mm = self._sounds_pt * 0.09 if sound.symbol and sound.example else 0.0
        symbol_mm = string_width_mm(sound.symbol, self._sounds_pt, True)
        return symbol_mm + gap_mm + string_width_mm(sound.example, self._sounds_pt)

    @cached_property
    def _lines(self) -> list[list[_Tile]]:
        found: list[list[_Tile]] = [[]]
        used_mm = 0.0
        for shape, pieces in self.job.mouth_set.sizes.items():
            tile = self._tile(shape, pieces)
            if found[-1] and used_mm + tile.width_mm > self.inner_mm:
                found.append([])
                used_mm = 0.0
            found[-1].append(tile)
            used_mm += tile.width_mm + self._gap_mm
        return found

    def _high_mm(self, line: list[_Tile]) -> float:
        sounds = max(len(tile.lines) for tile in line)
        white_mm = 6.0 if self._roomy else 3.0
        return self._shape_mm + self._piece_mm + sounds * self._line_mm + white_mm

    @cached_property
    def height_mm(self) -> float | None:
        """How high all tiles are together; None where one is wider than the page."""
        if any(tile.width_mm > self.inner_mm for line in self._lines for tile in line):
            return None
        return sum(self._high_mm(line) for line in self._lines)

    def marks(self, y_mm: float) -> Iterator[Mark]:
        """Return all tiles from a height on, each line of them spread over the width of the page."""
        for line in self._lines:
            spare_mm = self.inner_mm - sum(tile.width_mm for tile in line) - self._gap_mm * (len(line) - 1)
            # The last line stays as close as those above it.
            more_mm = spare_mm / len(line) if line is not self._lines[-1] else min(spare_mm / len(line), 12.0)
            x_mm = MARGIN_X_MM
            for tile in line:
                yield from self._drawn(tile, x_mm, y_mm, tile.width_mm + more_mm)
                x_mm += tile.width_mm + more_mm + self._gap_mm
            y_mm += self._high_mm(line)

    def _drawn(self, tile: _Tile, x_mm: float, y_mm: float, width_mm: float) -> Iterator[Mark]:
        yield Rule(x_mm, y_mm, x_mm + width_mm, y_mm, 0.5)
        name = shortened(tile.shape, width_mm, self._shape_pt, True)
        yield Text(x_mm, y_mm + 1.0 + self._shape_pt * 0.345, name, self._shape_pt, bold=True)
        y_mm += self._shape_mm
        cell_mm = width_mm / len(tile.pieces)
        high_mm = self._picture_mm * HEIGHT
        code_mm = y_mm + high_mm + self._code_pt * 0.95 * MM_PER_POINT
        name_mm = code_mm + self._name_pt * 1.3 * MM_PER_POINT
        for place, piece in enumerate(tile.pieces):
            middle_mm = x_mm + (place + 0.5) * cell_mm
            left_mm = middle_mm - self._picture_mm / 2
            yield mark_of(piece, self.job.art, left_mm, y_mm + high_mm / 2, self._picture_mm)
            yield Text(middle_mm, code_mm, piece.code, self._code_pt, bold=True, align="centre")
            text = shortened(piece.name, cell_mm - 1.0, self._name_pt)
            if text:
                yield Text(middle_mm, name_mm, text, self._name_pt, align="centre")
        y_mm += self._piece_mm + 2.0
        for number, line in enumerate(tile.lines):
            at_mm, base_mm = x_mm, y_mm + number * self._line_mm + self._sounds_pt * 0.3
            for sound in line:
                end_mm = at_mm + self._sound_mm(sound)
                if sound.symbol:
                    yield Text(at_mm, base_mm, sound.symbol, self._sounds_pt, bold=True)
                if sound.example:
                    yield Text(end_mm, base_mm, sound.example, self._sounds_pt, align="right")
                at_mm = end_mm + self._sounds_pt * 0.30
