"""The least width of each column of a sheet, and the width that it would like, from what is printed in it.

In: a job, how wide its texts are, a form and sizes of letters. Out: a `Need` for each column from left to right, and
for a character one for each of its lanes. Words and phonemes need only the width of what is said. Columns for brows
and eyes are beside each character that speaks, or that the settings name (`faces`), wide enough to write in by hand.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lipsync.paper.lettering import widest_mm
from lipsync.paper.measures import Measured, MeasuredCharacter
from lipsync.paper.page_forms import LEAST_PT, Form, Letters
from lipsync.paper.sheet_job import SheetJob
from lipsync.paper.sheet_measures import HEADS, LANES
from lipsync.paper.sheet_settings import FACE
from lipsync.paper.sheet_words import Words

# Columns to write in -> the least and the wished width in mm (chosen: in handwriting, a letter and a number take 14,
# a word takes 20).
FREE = {
    "brows": (14.0, 16.0),
    "eyes": (14.0, 16.0),
    "hands": (14.0, 16.0),
    "action": (20.0, 34.0),
    "camera": (20.0, 24.0),
    "notes": (20.0, 30.0),
}

# Columns of numbers, which every part of a sheet has; columns to write in are on the last part.
NUMBERS = ("frame", "feet", "timecode", "filmed")


@dataclass(frozen=True, slots=True)
class Need:
    """The least width of a column or lane, and the width that it would like."""

    name: str
    least_mm: float
    wish_mm: float
    character: int | None = None


def needs_of(job: SheetJob, texts: Measured, names: list[str], form: Form, letters: Letters) -> Iterator[Need]:
    """Yield the needs of the columns of these names, from left to right."""
    words = job.settings.words
    numbers_mm = {
        "frame": texts.number * letters.number,
        "feet": texts.feet * letters.feet,
        "timecode": texts.timecode * letters.timecode,
        "filmed": LANES.filmed_mm,
    }
    each_acts = any(character.acts for character in texts.characters)
    for name in names:
        if name == "character":
            faces = [name for name in names if name in FACE]
            for index, character in enumerate(texts.characters):
                yield from _lanes(index, character, words, (form, letters, texts.picture))
                for face in faces if character.acts else ():
                    yield _free(face, words, letters, index)
        elif name in FREE:
            if not (name in FACE and each_acts):
                yield _free(name, words, letters)
        else:
            wide_mm = max(numbers_mm[name], label_mm(getattr(words, name), letters)) + 2 * LANES.pad_mm
            yield Need(name, wide_mm, wide_mm)


def label_mm(label: str, letters: Letters) -> float:
    """Return the width of a column's head: of its longest word, since the next word may go on the next line."""
    return min(HEADS.most_label_mm, widest_mm(label.split(), letters.label))


def _free(name: str, words: Words, letters: Letters, index: int | None = None) -> Need:
    least_mm, wish_mm = FREE[name]
    least_mm = max(least_mm, label_mm(getattr(words, name), letters) + LANES.pad_mm)
    return Need(name, least_mm, max(least_mm, wish_mm), index)


def _lanes(index: int, texts: MeasuredCharacter, words: Words, page: tuple[Form, Letters, float]) -> Iterator[Need]:
    """Yield the needs of one character's lanes, from left to right; `page` is (form, letters, `Measured.picture`)."""
    form, letters, picture = page
    scale, pad_mm = letters.scale, LANES.pad_mm
    level_mm = (LANES.level_mm if texts.has_level else LANES.beat_mm if texts.has_beats else pad_mm) * scale
    doubt_mm = LANES.doubt_mm * scale + LANES.doubt_pad_mm if texts.has_doubts else pad_mm
    said_mm = max(texts.word * letters.word, label_mm(words.word, letters))
    word_mm = min(said_mm, LANES.most_word_mm * scale) + LANES.word_pad_mm
    phoneme_mm = max(texts.phonemes * letters.phoneme, LANES.least_phoneme_mm * scale) + pad_mm
    picture_mm, most_picture_mm = _pictures_mm(form, letters, picture)
    code_mm, most_code_mm = _codes_mm(texts, words, letters)
    needs = [
        Need("level", level_mm, level_mm, index),
        Need("doubt", doubt_mm, doubt_mm, index),
        Need("word", word_mm, word_mm, index),
        Need("phoneme", phoneme_mm, phoneme_mm, index),
        Need("picture", picture_mm + pad_mm, most_picture_mm + pad_mm, index),
        Need("code", code_mm, most_code_mm, index),
    ]
    # The character's name is printed above all lanes, uncut: the lane of words grows if the name needs it.
    name_mm = min(texts.name * LEAST_PT, LANES.most_name_mm) + 2 * pad_mm
    missing_mm = max(0.0, name_mm - sum(need.least_mm for need in needs))
    for need in needs:
        more_mm = missing_mm if need.name == "word" else 0.0
        yield Need(need.name, need.least_mm + more_mm, max(need.wish_mm, need.least_mm + more_mm), index)


def _pictures_mm(form: Form, letters: Letters, part: float) -> tuple[float, float]:
    """Return the least and the wished width of pictures."""
    fits_mm = LANES.picture_row_part * form.pitch_mm * part
    most_mm = min(LANES.most_picture_mm * letters.scale, fits_mm)
    return min(LANES.least_picture_mm * letters.scale, fits_mm), most_mm


def _codes_mm(texts: MeasuredCharacter, words: Words, letters: Letters) -> tuple[float, float]:
    """Return the least and the wished width of codes, with the notes that stand below them."""
    scale, pads_mm = letters.scale, 2 * LANES.pad_mm
    note_mm = min(texts.note * letters.note, LANES.most_note_mm * scale)
    brief_mm = texts.brief_note * letters.note
    least_mm = max(texts.code * letters.code, note_mm, brief_mm, label_mm(words.piece, letters)) + pads_mm
    wish_mm = texts.note * letters.code * LANES.note_part + pads_mm
    return least_mm, max(least_mm, min(wish_mm, LANES.wished_note_mm * scale))
