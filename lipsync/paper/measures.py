"""How wide the texts of a shot's sheet are: measured once, in mm for each point of size, since width grows with size.

In: a job and its rows. Out: one `Measured`; columns.py makes widths from it for any size of letters and any page.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from lipsync.paper.lettering import composed, widest_mm
from lipsync.paper.notes import lines_in
from lipsync.paper.piece_pictures import height_of
from lipsync.paper.rows import Cell, Row
from lipsync.paper.sheet_job import SheetJob
from lipsync.paper.sheet_measures import SOUND
from lipsync.paper.sheet_settings import FACE, PART_COLUMNS
from lipsync.paper.sheet_words import Words

# Any size would do; this one keeps rounding small.
_SIZE_PT = 10.0


@dataclass(frozen=True, slots=True)
class MeasuredCharacter:
    """One character's texts: the widest of each kind, in mm for each point of size, and what occurs.

    Attributes:
        word: the words that begin on a row.
        phonemes: the phonemes of a row, with the blanks between them.
        code: the code of a piece.
        note: a note on modelling, in full.
        brief_note: a note on modelling, in brief.
        name: the character's name.
        has_level: whether its voice was measured.
        has_beats: whether it has strong beats.
        has_doubts: whether a word is doubtful.
        acts: whether it has brows and eyes of its own.
    """

    word: float
    phonemes: float
    code: float
    note: float
    brief_note: float
    name: float
    has_level: bool
    has_beats: bool
    has_doubts: bool
    acts: bool


@dataclass(frozen=True, slots=True)
class Measured:
    """Widths for each point of size of a shot's numbers and of each character's texts.

    Attributes:
        number: width of frame numbers.
        feet: width of feet and frames.
        timecode: width of timecode.
        characters: the characters from left to right.
        picture: width of a picture for each mm of a row's height, the same for all pieces: chosen so that no picture
            is higher than the rows on which its piece stays on, or than two rows.
    """

    number: float
    feet: float
    timecode: float
    characters: tuple[MeasuredCharacter, ...]
    picture: float


def measured(job: SheetJob, rows: tuple[Row, ...]) -> Measured:
    """Return how wide the texts of a shot are."""
    # All digits have the same width, so the numbers of the last row are the widest.
    last = rows[-1]
    return Measured(
        number=_widest([str(last.number)], bold=True),
        feet=_widest([last.feet]),
        timecode=_widest([last.timecode]),
        characters=tuple(_character(job, rows, index) for index in range(len(job.characters))),
        picture=picture_part(job),
    )


def _character(job: SheetJob, rows: tuple[Row, ...], index: int) -> MeasuredCharacter:
    character, words = job.characters[index], job.settings.words
    cells = [row.cells[index] for row in rows]
    noted = [cell for cell in cells if cell.toward is not None or cell.keep_alive]
    return MeasuredCharacter(
        word=_widest(said_in(cell, words) for cell in cells if cell.begins),
        phonemes=max((_phonemes(phonemes) for phonemes in {cell.phonemes for cell in cells}), default=0.0),
        code=_widest((code for code in set(character.track.pieces) if code is not None), bold=True),
        note=_widest([words.off_camera, *(line for cell in noted for line in lines_in(cell, words, brief=False))]),
        brief_note=_widest(line for cell in noted for line in lines_in(cell, words, brief=True)),
        name=_widest([character.name], bold=True),
        has_level=any(level is not None for level in character.level_db),
        has_beats=bool(character.beats),
        has_doubts=any(heard.doubtful for cell in cells for heard in cell.begins),
        acts=bool(character.sounds)
        or character.track.character in job.settings.faces
        or any(PART_COLUMNS[part.kind] in FACE for part in character.parts),
    )


def picture_part(job: SheetJob, starts: Iterable[int] = ()) -> float:
    """Return the width of pictures for each mm of a row's height; `starts` are rows that begin a bank."""
    cut = set(starts)
    parts = [1.0]
    for character in job.characters:
        shortest: dict[str, int] = {}
        pieces = character.track.pieces
        for fitting in character.track.fittings:
            beside = fitting.frame + 1
            alone = beside >= len(pieces) or beside in cut or pieces[beside] != fitting.code
            shortest[fitting.code] = 1 if alone else shortest.get(fitting.code, 2)
        for code, rows in shortest.items():
            piece = character.mouth_set.by_code.get(code)
            if piece is not None:
                parts.append(rows / height_of(piece, character.art))
    return min(parts[1:], default=parts[0])


def _widest(texts: Iterable[str], bold: bool = False) -> float:
    return widest_mm(texts, _SIZE_PT, bold) / _SIZE_PT


def _phonemes(phonemes: tuple[str, ...]) -> float:
    return sum(_widest([bare], stressed) + SOUND.phoneme_gap for bare, stressed in map(stress_shown, phonemes))


def said_in(cell: Cell, words: Words) -> str:
    """Return the words, cues and pauses that begin on a row, as they are printed."""
    return composed(" ".join(words.pause if heard.kind == "pause" else heard.text for heard in cell.begins))


def stress_shown(phoneme: str) -> tuple[str, bool]:
    """Return a phoneme as it is printed: without its stress, and whether bold letters show that it is stressed.

    >>> stress_shown("AH1"), stress_shown("AH0"), stress_shown("M")
    (('AH', True), ('AH', False), ('M', False))
    """
    return phoneme.rstrip("012"), phoneme.endswith("1")
