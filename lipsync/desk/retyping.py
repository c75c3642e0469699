"""Words and cues changed by hand: changing phonemes, splitting, joining, adding, taking out.

In: a breakdown and a change. Out: the changed breakdown, its changed parts marked as corrected. A change that cannot
be made is refused with a sentence.
"""

from __future__ import annotations

from dataclasses import replace

from lipsync.breakdown.corrections import label_of
from lipsync.breakdown.laying import LEAST_US
from lipsync.desk.boundaries import part_at, refuse, with_parts
from lipsync.model import Breakdown, Cue, Phoneme, Word
from lipsync.phonemes import split_stress
from lipsync.timing import seconds_of

# Words further apart than this have a pause between them; they cannot be joined, for a word contains no silence
# (chosen: the same as on the sheet).
_PAUSE_US = 250_000


def word_at(breakdown: Breakdown, index: int) -> Word:
    """Return a word.

    Raises:
        InputError: if that part is not a word.
    """
    part = part_at(breakdown, index)
    if isinstance(part, Cue):
        raise refuse("cue without phonemes", f"part {index}", cue=label_of(part))
    return part


def _phoneme_at(word: Word, index: int) -> Phoneme:
    if index >= len(word.phonemes):
        raise refuse("no such phoneme", f'"{word.text}"', count=len(word.phonemes))
    return word.phonemes[index]


def phoneme_set(breakdown: Breakdown, part: int, index: int, symbol: str) -> Breakdown:
    """Return the breakdown with a phoneme replaced by another one."""
    word = word_at(breakdown, part)
    bare, stress = split_stress(symbol)
    phonemes = list(word.phonemes)
    phonemes[index] = replace(_phoneme_at(word, index), symbol=bare, stress=stress)
    return with_parts(breakdown, part, 1, replace(word, phonemes=tuple(phonemes), origin="hand"))


def phoneme_split(breakdown: Breakdown, part: int, index: int, at_us: int, symbol: str) -> Breakdown:
    """Return the breakdown with a phoneme that ends earlier, and another after it within its time."""
    word = word_at(breakdown, part)
    old = _phoneme_at(word, index)
    if not old.start_us + LEAST_US <= at_us <= old.end_us - LEAST_US:
        span_s = {"start": seconds_of(old.start_us), "end": seconds_of(old.end_us)}
        raise refuse("phoneme not divided there", f'"{word.text}"', symbol=old.symbol, **span_s)
    bare, stress = split_stress(symbol)
    two = (replace(old, end_us=at_us), Phoneme(bare, at_us, old.end_us, stress, old.level_db))
    phonemes = (*word.phonemes[:index], *two, *word.phonemes[index + 1 :])
    return with_parts(breakdown, part, 1, replace(word, phonemes=phonemes, origin="hand"))


def phoneme_dropped(breakdown: Breakdown, part: int, index: int) -> Breakdown:
    """Return the breakdown without a phoneme; its time goes to its neighbour."""
    word = word_at(breakdown, part)
    old = _phoneme_at(word, index)
    if len(word.phonemes) == 1:
        raise refuse("only phoneme", f'"{word.text}"')
    phonemes = [*word.phonemes[:index], *word.phonemes[index + 1 :]]
    if index:
        phonemes[index - 1] = replace(phonemes[index - 1], end_us=old.end_us)
    else:
        phonemes[0] = replace(phonemes[0], start_us=old.start_us)
    return with_parts(breakdown, part, 1, replace(word, phonemes=tuple(phonemes), origin="hand"))


def word_split(breakdown: Breakdown, part: int, index: int, first: str, second: str) -> Breakdown:
    """Return the breakdown with a word split in two; the second begins with the phoneme `index` of the word."""
    word = word_at(breakdown, part)
    if not 0 < index < len(word.phonemes):
        raise refuse("word not split there", f'"{word.text}"')
    one = replace(word, text=first, phonemes=word.phonemes[:index])
    return with_parts(breakdown, part, 1, one, replace(word, text=second, phonemes=word.phonemes[index:]))


def words_joined(breakdown: Breakdown, part: int, text: str) -> Breakdown:
    """Return the breakdown with two neighbouring words joined; the last phoneme of the first takes a short gap."""
    first = word_at(breakdown, part)
    if part + 1 >= len(breakdown.parts):
        raise refuse("no word to join", f'"{first.text}"')
    second = word_at(breakdown, part + 1)
    if second.start_us - first.end_us > _PAUSE_US:
        pause = seconds_of(second.start_us - first.end_us)
        raise refuse("pause between words", f'"{first.text}"', pause=pause)
    last = replace(first.phonemes[-1], end_us=second.start_us)
    phonemes = (*first.phonemes[:-1], last, *second.phonemes)
    return with_parts(breakdown, part, 2, replace(first, text=text, phonemes=phonemes))


def cue_added(breakdown: Breakdown, name: str, start_us: int, end_us: int) -> Breakdown:
    """Return the breakdown with a cue where nothing else is heard."""
    if not start_us + LEAST_US <= end_us <= breakdown.duration_us:
        raise refuse("cue not in the recording", f"[{name}]", end=seconds_of(breakdown.duration_us))
    for part in breakdown.parts:
        if part.start_us < end_us and start_us < part.end_us:
            span_s = {"start": seconds_of(part.start_us), "end": seconds_of(part.end_us)}
            raise refuse("cue over another part", f"[{name}]", part=label_of(part), **span_s)
    before = sum(part.end_us <= start_us for part in breakdown.parts)
    return with_parts(breakdown, before, 0, Cue(name, start_us, end_us))
