"""What each column of a sheet takes at least, and what it would like: made from what is printed in it.

In come a job, how wide its texts are, a form and sizes of letters; out come `Need`s, from left to right, and for a
character those of its lanes. Words may be shortened, but not below what a word of ten letters takes;
columns to write in keep a finger's breadth.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lipsync.paper.lettering import widest_mm
from lipsync.paper.measures import Measured, MeasuredCharacter
from lipsync.paper.mouth_drawing import HEIGHT
from lipsync.paper.page_forms import Form, Letters
from lipsync.paper.sheet_job import SheetJob

# Columns that stay empty, to be written in -> the width that is wished for, in mm (chosen).
FREE = {"brows": 15.0, "eyes": 15.0, "hands": 15.0, "action": 34.0, "camera": 18.0, "notes": 30.0}
_LEAST_FREE_MM = 9.0

# Blank between a text and the rule beside it.
PAD_MM = 1.0
WORD_PAD_MM = 2.6
DOUBT_PAD_MM = 1.2

# The most that a word of 13-point codes asks for: some forty letters; beyond it one is shortened (chosen).
_MOST_WORD_MM = 75.0

# The longest that a label may make its column; a longer one is shortened.
_LABEL_MM = 24.0

# How large a note is where its column is wide enough for it, in sizes of codes (chosen: 10 points at 13).
NOTE_PART = 10 / 13

# How much of a row a picture takes.
PICTURE_PART = 0.94


@dataclass(frozen=True, slots=True)
class Need:
    """What a column or lane takes at least, and what it would like."""

    name: str
    least_mm: float
    wish_mm: float
    character: int | None = None


def needs_of(job: SheetJob, texts: Measured, names: list[str], form: Form, letters: Letters) -> Iterator[Need]:
    """Yield what the columns of these names take, from left to right."""
    words = job.settings.words
    numbers_mm = {
        "frame": texts.number * letters.number,
        "feet": texts.feet * letters.feet,
        "timecode": texts.timecode * letters.timecode,
        "filmed": 4.0,
    }
    for name in names:
        if name == "character":
            for index, character in enumerate(texts.characters):
                yield from _lanes(job, index, character, form, letters)
            continue
        label_mm = min(widest_mm([getattr(words, name)], letters.label), _LABEL_MM)
        if name in FREE:
            least_mm = max(_LEAST_FREE_MM, label_mm + PAD_MM)
            yield Need(name, least_mm, max(least_mm, FREE[name]))
        else:
            wide_mm = max(numbers_mm[name], label_mm) + 2 * PAD_MM
            yield Need(name, wide_mm, wide_mm)


def _lanes(job: SheetJob, index: int, texts: MeasuredCharacter, form: Form, letters: Letters) -> Iterator[Need]:
    """What one character's lanes take, from left to right."""
    words = job.settings.words
    scale = letters.code / 13
    level_mm = (4.4 if texts.has_level else 2.6 if texts.has_beats else PAD_MM) * scale
    doubt_mm = 3.4 * scale + DOUBT_PAD_MM if texts.has_doubts else PAD_MM
    phoneme_mm = max(min(texts.phonemes * letters.phoneme, letters.most_sounds_mm), 7.0 * scale) + PAD_MM
    one_row_mm = PICTURE_PART * form.pitch_mm / HEIGHT
    picture_mm = min(one_row_mm, 7.0 * scale)
    wished_mm = max(picture_mm, min(2 * one_row_mm, 9.5 * scale))
    label_mm = min(widest_mm([words.piece], letters.label), _LABEL_MM)
    code_mm = max(texts.code * letters.code, min(texts.note * letters.note, 22.0 * scale), label_mm) + 2 * PAD_MM
    others_mm = level_mm + doubt_mm + phoneme_mm + picture_mm + code_mm
    word_mm = max(texts.word * letters.word, widest_mm([words.word], letters.label))
    # The name stands above all lanes; a long one is shortened.
    least_mm = max(min(word_mm, letters.least_word_mm), min(texts.name_mm, 45.0) - others_mm) + WORD_PAD_MM
    yield Need("level", level_mm, level_mm, index)
    yield Need("doubt", doubt_mm, doubt_mm, index)
    yield Need("word", least_mm, max(least_mm, min(word_mm, _MOST_WORD_MM * scale) + WORD_PAD_MM), index)
    yield Need("phoneme", phoneme_mm, phoneme_mm, index)
    yield Need("picture", picture_mm + PAD_MM, wished_mm + PAD_MM, index)
    note_mm = texts.note * letters.code * NOTE_PART + 2 * PAD_MM
    yield Need("code", code_mm, max(code_mm, min(note_mm, 30.0 * scale)), index)
