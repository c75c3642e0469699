"""The tiles of a mouth chart: for each shape its pieces side by side, and below them the sounds that it serves.

In: a `ChartJob`, the width of a piece and that of the page between its margins. Out: the tiles,
set in lines, how high they are together, and their marks. All sizes of letters follow from the width of a piece, so
that a larger page has larger pictures and larger letters.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from lipsync.fit.mouthset import MouthSet, Piece
from lipsync.paper.lettering import composed, sized, widest_mm
from lipsync.paper.marks import MM_PER_POINT, Mark, Rule, Text
from lipsync.paper.mouth_drawing import HEIGHT
from lipsync.paper.page_forms import LEAST_PT, MARGIN_X_MM
from lipsync.paper.pdf import string_width_mm
from lipsync.paper.piece_pictures import Art, mark_of
from lipsync.paper.sheet_words import Words
from lipsync.phonemes import PHONEMES


@dataclass(frozen=True, slots=True)
class TileMeasures:
    """The measures of tiles whose pieces are `from_mm` wide or wider; chosen by eye."""

    from_mm: float
    gap_mm: float
    white_mm: float
    shape_mm: float
    shape_pt: float
    sounds_pt: float
    name_pt: float


# From the widest pieces to the narrowest.
TILES = (
    TileMeasures(from_mm=80, gap_mm=9, white_mm=9, shape_mm=10, shape_pt=16, sounds_pt=18, name_pt=14),
    TileMeasures(from_mm=55, gap_mm=8, white_mm=8, shape_mm=9, shape_pt=14, sounds_pt=15, name_pt=11),
    TileMeasures(from_mm=40, gap_mm=6, white_mm=6, shape_mm=7, shape_pt=11, sounds_pt=12, name_pt=9),
    TileMeasures(from_mm=22, gap_mm=6, white_mm=6, shape_mm=7, shape_pt=11, sounds_pt=10, name_pt=9),
    TileMeasures(from_mm=0, gap_mm=4, white_mm=3, shape_mm=5, shape_pt=9, sounds_pt=7.5, name_pt=7),
)


@dataclass(frozen=True, slots=True)
class ChartMeasures:
    """The measures of a mouth chart's page that are the same for all sizes; parts are of a piece's width."""

    heading_mm: float = 18.0
    name_pt: float = 22.0
    title_pt: float = 13.0
    facts_pt: float = 10.5
    dated_pt: float = 9.0
    name_base_mm: float = 7.0
    title_base_mm: float = 6.6
    facts_base_mm: float = 12.8
    facts_gap_mm: float = 5.0
    name_part: float = 0.6
    title_part: float = 0.35
    rule_mm: float = 0.5
    picture_part: float = 0.86
    code_part: float = 0.94
    code_pt_a_mm: float = 0.5
    most_code_pt: float = 44.0
    # A tile with sounds is wide enough to read them, and a long name does not make it wider than that.
    least_text_mm: float = 26.0
    most_name_mm: float = 60.0
    last_line_more_mm: float = 12.0
    shape_down_mm: float = 1.0
    shape_base: float = 0.345
    sound_line: float = 0.46
    sound_base: float = 0.3
    sound_gap: float = 0.30
    example_gap: float = 0.09
    letters_high: float = 1.25
    code_base: float = 0.95
    name_base: float = 1.3
    name_pad_mm: float = 1.0
    sounds_down_mm: float = 2.0
    # Rows are moved apart to fill the page, by no more than this part of their own height.
    most_spread: float = 0.6


CHART = ChartMeasures()


@dataclass(frozen=True, slots=True)
class Served:
    """A sound that a shape serves, and a word in which it is heard; a cue has none."""

    symbol: str
    example: str


def served_by(mouth_set: MouthSet, shape: str) -> tuple[Served, ...]:
    """Return the sounds that a shape serves, in the order of the table of phonemes, then cues.

    A diphthong of two shapes has dots on the side of the part that the other shape serves: "AW…" is its first part,
    "…AW" its second.
    """
    found: list[Served] = []
    for symbol, row in PHONEMES.items():
        shapes = mouth_set.phonemes[symbol]
        for place, name in enumerate(shapes):
            if name == shape and shapes.index(name) == place:
                first, second = place == 0 and set(shapes) != {shape}, place == 1
                shown = f"{symbol}…" if len(shapes) > 1 and first else f"…{symbol}" if second else symbol
                found.append(Served(shown, row.example))
    found += [Served(f"[{cue}]", "") for cue, name in mouth_set.cues.items() if name == shape]
    return tuple(found)


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
    def _of_size(self) -> TileMeasures:
        return next(one for one in TILES if self.cell_mm >= one.from_mm)

    @cached_property
    def _code_pt(self) -> float:
        """The largest size of letters, 7 points or more, at which the widest code fits its piece."""
        codes = list(self.job.mouth_set.by_code)
        fits = self.cell_mm * CHART.code_part / widest_mm(codes, 1.0, bold=True)
        return max(LEAST_PT, min(CHART.most_code_pt, self.cell_mm * CHART.code_pt_a_mm, int(fits * 2) / 2))

    @property
    def _line_mm(self) -> float:
        return self._of_size.sounds_pt * CHART.sound_line

    @property
    def _picture_mm(self) -> float:
        return CHART.picture_part * self.cell_mm

    @property
    def _piece_mm(self) -> float:
        """Height of a piece: its picture, its code and its name."""
        return self._picture_mm * HEIGHT + (self._code_pt + self._of_size.name_pt) * CHART.letters_high * MM_PER_POINT

    def _tile(self, shape: str, pieces: tuple[Piece, ...]) -> _Tile:
        served = served_by(self.job.mouth_set, shape)
        if shape == self.job.mouth_set.rest:
            served = (Served("", self.job.words.at_rest), *served)
        name_mm = string_width_mm(composed(shape), self._of_size.shape_pt, True)
        sounds_mm = max((self._sound_mm(sound) for sound in served), default=0.0)
        width_mm = max(len(pieces) * self.cell_mm, min(name_mm, CHART.most_name_mm), sounds_mm)
        width_mm = max(width_mm, CHART.least_text_mm if served else 0.0)
        lines: list[list[Served]] = [[]]
        used_mm = 0.0
        for sound in served:
            sound_mm = self._sound_mm(sound)
            if lines[-1] and used_mm + sound_mm > width_mm:
                lines.append([])
                used_mm = 0.0
            lines[-1].append(sound)
            used_mm += sound_mm + self._of_size.sounds_pt * CHART.sound_gap
        return _Tile(shape, pieces, tuple(tuple(line) for line in lines if line), width_mm)

    def _sound_mm(self, sound: Served) -> float:
        """Return the width of a symbol and its example word."""
        gap_mm = self._of_size.sounds_pt * CHART.example_gap if sound.symbol and sound.example else 0.0
        symbol_mm = string_width_mm(sound.symbol, self._of_size.sounds_pt, True)
        return symbol_mm + gap_mm + string_width_mm(sound.example, self._of_size.sounds_pt)

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
            used_mm += tile.width_mm + self._of_size.gap_mm
        return found

    def _high_mm(self, line: list[_Tile]) -> float:
        sounds = max(len(tile.lines) for tile in line)
        return self._of_size.shape_mm + self._piece_mm + sounds * self._line_mm + self._of_size.white_mm

    @cached_property
    def height_mm(self) -> float | None:
        """How high all tiles are together; None where one is wider than the page."""
        if any(tile.width_mm > self.inner_mm for line in self._lines for tile in line):
            return None
        return sum(self._high_mm(line) for line in self._lines)

    def marks(self, y_mm: float, room_mm: float) -> Iterator[Mark]:
        """Return all tiles from a height on, each line of them spread over the width of the page.

        Lines are moved apart so that they fill the room, as far as they still belong together.
        """
        gap_mm = self._of_size.gap_mm
        spare_mm = max(0.0, room_mm - (self.height_mm or room_mm)) / max(1, len(self._lines) - 1)
        for line in self._lines:
            wider_mm = self.inner_mm - sum(tile.width_mm for tile in line) - gap_mm * (len(line) - 1)
            # Tiles of the last line stand as close together as those above it.
            more_mm = wider_mm / len(line)
            more_mm = more_mm if line is not self._lines[-1] else min(more_mm, CHART.last_line_more_mm)
            x_mm = MARGIN_X_MM
            for tile in line:
                yield from self._drawn(tile, x_mm, y_mm, tile.width_mm + more_mm)
                x_mm += tile.width_mm + more_mm + gap_mm
            high_mm = self._high_mm(line)
            y_mm += high_mm + min(spare_mm, CHART.most_spread * high_mm)

    def _drawn(self, tile: _Tile, x_mm: float, y_mm: float, width_mm: float) -> Iterator[Mark]:
        sizes = self._of_size
        yield Rule(x_mm, y_mm, x_mm + width_mm, y_mm, CHART.rule_mm)
        name, size_pt = sized(tile.shape, width_mm, sizes.shape_pt, True)
        yield Text(x_mm, y_mm + CHART.shape_down_mm + sizes.shape_pt * CHART.shape_base, name, size_pt, bold=True)
        y_mm += sizes.shape_mm
        cell_mm = width_mm / len(tile.pieces)
        high_mm = self._picture_mm * HEIGHT
        code_mm = y_mm + high_mm + self._code_pt * CHART.code_base * MM_PER_POINT
        name_mm = code_mm + sizes.name_pt * CHART.name_base * MM_PER_POINT
        for place, piece in enumerate(tile.pieces):
            middle_mm = x_mm + (place + 0.5) * cell_mm
            left_mm = middle_mm - self._picture_mm / 2
            yield mark_of(piece, self.job.art, left_mm, y_mm + high_mm / 2, self._picture_mm)
            yield Text(middle_mm, code_mm, piece.code, self._code_pt, bold=True, align="centre")
            text, name_pt = sized(piece.name, cell_mm - CHART.name_pad_mm, sizes.name_pt)
            if text:
                yield Text(middle_mm, name_mm, text, name_pt, align="centre")
        yield from self._sounds(tile, x_mm, y_mm + self._piece_mm + CHART.sounds_down_mm)

    def _sounds(self, tile: _Tile, x_mm: float, y_mm: float) -> Iterator[Mark]:
        """Return a tile's sounds, each with its example, from a height on."""
        size_pt = self._of_size.sounds_pt
        for number, line in enumerate(tile.lines):
            at_mm, base_mm = x_mm, y_mm + number * self._line_mm + size_pt * CHART.sound_base
            for sound in line:
                end_mm = at_mm + self._sound_mm(sound)
                if sound.symbol:
                    yield Text(at_mm, base_mm, sound.symbol, size_pt, bold=True)
                if sound.example:
                    yield Text(end_mm, base_mm, sound.example, size_pt, align="right")
                at_mm = end_mm + self._of_size.sounds_pt * CHART.sound_gap
