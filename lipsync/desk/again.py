"""Listens again to a part of a line: for a word typed differently, a pronunciation chosen, or a word added in a gap.

In: the recording, the breakdown, the index of the part, and its words with their pronunciations. Out: the words in
time, in place of that part. The sound that is searched reaches from the part before to the part after, but not
further than `REACH_US` into silence; the parts beside it do not change.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lipsync.align.aligning import align
from lipsync.align.line import pronunciations_of
from lipsync.align.settings import LineSettings
from lipsync.audio.features import RATE_HZ
from lipsync.audio.recording import Recording
from lipsync.breakdown.corrections import label_of
from lipsync.breakdown.rebase import later
from lipsync.desk.boundaries import part_at, refuse
from lipsync.errors import InputError, LineError
from lipsync.model import Breakdown, Part, Rejection, Word
from lipsync.text.morphology import Pronunciation
from lipsync.text.script import CueToken, SpokenWord, Token, tokens_of
from lipsync.timing import sample_of_us, us_of_sample
from lipsync.wording import phrase

# Why words are not found where a person says that they are said -> the kind of the sentence that says so.
_REASONS = {Rejection.TOO_FAST: "not there: too fast", Rejection.STOPPED: "not there: stopped"}

# How far into the silence beside a part the search goes (chosen: a boundary that is further away is moved by hand).
REACH_US = 300_000

# How far from the chosen place an added word is searched for (chosen: longer than nearly any word).
GAP_US = 1_500_000


def stretch_of(breakdown: Breakdown, index: int) -> tuple[int, int]:
    """Return the stretch of sound in which a part can be."""
    part = part_at(breakdown, index)
    before_us = breakdown.parts[index - 1].end_us if index else 0
    last = index == len(breakdown.parts) - 1
    after_us = breakdown.duration_us if last else breakdown.parts[index + 1].start_us
    return max(before_us, part.start_us - REACH_US), min(after_us, part.end_us + REACH_US)


def ways_of(word: str, settings: LineSettings) -> tuple[Pronunciation, ...]:
    """Return the pronunciations of a word as spelt in a text, including those of the speaker's accent.

    Raises:
        InputError: if the text is not a single word, or its pronunciation is not known.
    """
    try:
        tokens = tokens_of(word)
        if len(tokens) != 1 or isinstance(tokens[0], CueToken):
            raise refuse("not one word", f'"{word}"')
        (ways,) = pronunciations_of(tokens, settings)
        return tuple(ways)
    except LineError as error:
        raise _refused(word, error) from None


def typed_again(
    recording: Recording, breakdown: Breakdown, index: int, text: str, settings: LineSettings
) -> tuple[Part, ...]:
    """Return the words of a text, found in the sound in place of a part.

    Raises:
        InputError: if they are not found there.
    """
    return found_between(
        recording, breakdown, stretch_of(breakdown, index), *said_of(text, settings, breakdown.parts[index + 1 :])
    )


def word_added(
    recording: Recording, breakdown: Breakdown, at_us: int, text: str, settings: LineSettings
) -> tuple[Part, ...]:
    """Return the words of a text, found in the silence around a time; the parts before and after do not change.

    Raises:
        InputError: if something is heard there already, or they are not found there.
    """
    parts = breakdown.parts
    there = next((part for part in parts if part.start_us <= at_us < part.end_us), None)
    if there is not None:
        raise refuse("word over another part", f'"{text}"', part=label_of(there))
    before_us = max((part.end_us for part in parts if part.end_us <= at_us), default=0)
    after_us = min((part.start_us for part in parts if part.start_us > at_us), default=breakdown.duration_us)
    stretch = max(before_us, at_us - GAP_US), min(after_us, at_us + GAP_US)
    later_parts = [part for part in parts if part.start_us > at_us]
    return found_between(recording, breakdown, stretch, *said_of(text, settings, later_parts))


def spoken_again(recording: Recording, breakdown: Breakdown, index: int, symbols: Sequence[str]) -> tuple[Part, ...]:
    """Return the word at `index`, found again in its sound with the pronunciation `symbols`.

    Raises:
        InputError: if it is not found there.
    """
    text = label_of(part_at(breakdown, index))
    word = SpokenWord(text, ((text.lower(),),))
    said = [(Pronunciation(tuple(symbols), "hand"),)]
    return found_between(recording, breakdown, stretch_of(breakdown, index), [word], said)


def said_of(
    text: str, settings: LineSettings, following: Sequence[Part]
) -> tuple[list[SpokenWord], list[Sequence[Pronunciation]]]:
    """Return the words of a text, and the pronunciations of each.

    Args:
        text: the text.
        settings: the pronunciations and the accent of the line.
        following: the parts behind it: in some accents R is spoken only before a vowel.

    Raises:
        InputError: if the text holds no word, or holds a cue, or cannot be read.
    """
    try:
        tokens = tokens_of(text)
        if any(isinstance(token, CueToken) for token in tokens):
            raise refuse("cue among words", f'"{text}"')
        words = [token for token in tokens if isinstance(token, SpokenWord)]
        if not words:
            raise refuse("no word typed", f'"{text}"')
        return words, pronunciations_of([*words, *_next(following)], settings)[: len(words)]
    except LineError as error:
        raise _refused(text, error) from None


def _next(following: Sequence[Part]) -> list[Token]:
    """Return the next word as a token of a text; nothing if a cue comes next, or a word that cannot be read."""
    if not following or not isinstance(following[0], Word):
        return []
    try:
        return list(tokens_of(following[0].text))
    except LineError:
        return []


def found_between(
    recording: Recording,
    breakdown: Breakdown,
    stretch_us: tuple[int, int],
    words: Sequence[SpokenWord],
    said: Sequence[Sequence[Pronunciation]],
) -> tuple[Part, ...]:
    """Return words found in a stretch of the sound, in the line's time.

    Raises:
        InputError: if they are not found there.
    """
    start_us, end_us = stretch_us
    first, last = sample_of_us(start_us, RATE_HZ), sample_of_us(end_us, RATE_HZ)
    samples = recording.samples[first:last]
    begin_us = us_of_sample(first, RATE_HZ)
    duration_us = min(us_of_sample(len(samples), RATE_HZ), end_us - begin_us)
    if duration_us <= 0:
        raise refuse("after the recording", f'"{words[0].text}"')
    stretch = replace(recording, samples=samples, duration_us=duration_us)
    text = " ".join(word.text for word in words)
    try:
        line = align(stretch, words, said, text, breakdown.voice_factor, told=True)
    except LineError as error:
        raise _not_there(text, "; ".join(problem.text for problem in error.problems)) from None
    if line.rejection is not None:
        raise _not_there(text, phrase(_REASONS.get(line.rejection, "not there: not heard")))
    return tuple(later(part, begin_us) for part in line.parts)


def _not_there(text: str, reason: str) -> InputError:
    return refuse("not found there", f'"{text}"', reason=reason)


def _refused(text: str, error: LineError) -> InputError:
    """Return the first fault of words that were typed, as a refusal that names these words."""
    return InputError([replace(error.problems[0], file="", place=f'"{text}"')])
