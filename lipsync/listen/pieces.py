"""Cuts a recording to what is worth searching: long silences off its ends, and long lines into pieces.

In: samples and words; out: pieces, each a range of samples and a range of words, in order. A rough search finds about
where the words are. Silence before the first and after the last is left out but for `OUTER_S`, for the features' mean
is taken over all that is heard, and long silences shift it. What is longer than `WHOLE_S` is cut in the middle of
silences between words, for finding phonemes costs time and memory with the square of the length.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lipsync.listen.align_pocketsphinx import (
    LADDER,
    RATE_HZ,
    TICK_RATE_HZ,
    NotFoundError,
    Samples,
    Symbols,
    rough_spans,
)
from lipsync.listen.voice import slowed

OUTER_S = 0.5  # chosen; measured with twice and half of it
WHOLE_S = 30  # chosen: 60 MB
PIECE_S = 15  # chosen: shorter ones would make the mean over a piece uncertain
CUT_TICKS = 10  # chosen: a shorter silence may be the closure of a stop

RoughSpan = tuple[int | None, int, int]  # word or None, first tick, tick after the last


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of a line: from a sample to before another, from a word to before another."""

    first_sample: int
    end_sample: int
    first_word: int
    end_word: int


def pieces_of(samples: Samples, words: Sequence[Sequence[Symbols]], factor: float) -> tuple[Piece, ...]:
    """Return the pieces of a line.

    Raises:
        NotFoundError: if the line is long and its words are not found.
    """
    whole = Piece(0, len(samples), 0, len(words))
    try:
        rough = _rough(samples, words, factor)
    except NotFoundError:
        if len(samples) > WHOLE_S * RATE_HZ:
            raise
        return (whole,)
    tick = RATE_HZ / TICK_RATE_HZ / factor
    trimmed = _trimmed(rough, whole, tick)
    if trimmed.end_sample - trimmed.first_sample <= WHOLE_S * RATE_HZ:
        return (trimmed,)
    return tuple(_cut(rough, trimmed, tick))


def _trimmed(rough: Sequence[RoughSpan], whole: Piece, tick: float) -> Piece:
    spoken = [(start, end) for place, start, end in rough if place is not None]
    outer = round(OUTER_S * RATE_HZ)
    first = max(0, int(spoken[0][0] * tick) - outer)
    end = min(whole.end_sample, int(spoken[-1][1] * tick) + outer)
    return Piece(first, end, 0, whole.end_word)


def _cut(rough: Sequence[RoughSpan], piece: Piece, tick: float) -> list[Piece]:
    found: list[Piece] = []
    sample, word, reached = piece.first_sample, 0, 0
    for place, start, end in rough:
        if place is not None:
            reached = place + 1
            continue
        middle = round((start + end) / 2 * tick)
        long_enough = middle - sample >= PIECE_S * RATE_HZ and word < reached < piece.end_word
        if end - start >= CUT_TICKS and long_enough:
            found.append(Piece(sample, middle, word, reached))
            sample, word = middle, reached
    return [*found, Piece(sample, piece.end_sample, word, piece.end_word)]


def _rough(samples: Samples, words: Sequence[Sequence[Symbols]], factor: float) -> tuple[RoughSpan, ...]:
    sound = slowed(samples, factor)
    for beams in LADDER:
        try:
            return rough_spans(sound, words, beams)
        except NotFoundError:
            continue
    raise NotFoundError("the rough search finds no way through")
