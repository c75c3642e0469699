"""How wide the texts of a shot's sheet are: measured once, in mm for each point of size, since width grows with size.

In come a job and its rows, out one `Measured`; columns.py makes widths from it for any size of letters and any page.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from lipsync.paper.lettering import composed, widest_mm
from lipsync.paper.notes import lines_in
from lipsync.paper.rows import Cell, Row
from lipsync.paper.sheet_job import SheetJob
from lipsync.paper.sheet_words import Words

# Any size would do; this one keeps rounding small.
_SIZE_PT = 10.0

# Blank between two phonemes of one row, in mm for each point.
PHONEME_GAP = 0.12


@dataclass(frozen=True, slots=True)
class MeasuredCharacter:
    """Widths for each point of size: the widest word, phonemes of a row, code and note; the name; what occurs."""

    word: float
    phonemes: float
    code: float
    note: float
    name_mm: float
    has_level: bool
    has_beats: bool
    has_doubts: bool


@dataclass(frozen=True, slots=True)
class Measured:
    """Widths for each point of size of a shot's numbers, and of each character's texts."""

    number: float
    feet: float
    timecode: float
    characters: tuple[MeasuredCharacter, ...]


def measured(job: SheetJob, rows: tuple[Row, ...], name_pt: float) -> Measured:
    """Return how wide the texts of a shot are."""
    # Digits are all of one width, so the last row's numbers are the widest.
    last = rows[-1]
    return Measured(
        number=_widest([str(last.number)], bold=True),
        feet=_widest([last.feet]),
        timecode=_widest([last.timecode]),
        characters=tuple(_character(job, rows, index, name_pt) for index in range(len(job.characters))),
    )


def _character(job: SheetJob, rows: tuple[Row, ...], index: int, name_pt: float) -> MeasuredCharacter:
    character, words = job.characters[index], job.settings.words
    cells = [row.cells[index] for row in rows]
    return MeasuredCharacter(
        word=_widest(said_in(cell, words) for cell in cells if cell.begins),
        phonemes=max((_phonemes(phonemes) for phonemes in {cell.phonemes for cell in cells}), default=0.0),
        code=_widest((code for code in set(character.track.pieces) if code is not None), bold=True),
        note=_widest([words.off_camera, *(line for cell in cells for line in lines_in(cell, words))]),
        name_mm=widest_mm([character.name], name_pt, bold=True),
        has_level=any(level is not None for level in character.level_db),
        has_beats=bool(character.beats),
        has_doubts=any(heard.doubtful for cell in cells for heard in cell.begins),
    )


def _widest(texts: Iterable[str], bold: bool = False) -> float:
    return widest_mm(texts, _SIZE_PT, bold) / _SIZE_PT


def _phonemes(phonemes: tuple[str, ...]) -> float:
    return sum(_widest([bare], stressed) + PHONEME_GAP for bare, stressed in map(stress_shown, phonemes))


def said_in(cell: Cell, words: Words) -> str:
    """Return the words, cues and pauses that begin on a row, as they are printed."""
    return composed(" ".join(words.pause if heard.kind == "pause" else heard.text for heard in cell.begins))


def stress_shown(phoneme: str) -> tuple[str, bool]:
    """Return a phoneme as it is printed: without its stress, and whether bold letters show that it is stressed.

    >>> stress_shown("AH1"), stress_shown("AH0"), stress_shown("M")
    (('AH', True), ('AH', False), ('M', False))
    """
    return phoneme.rstrip("012"), phoneme.endswith("1")
