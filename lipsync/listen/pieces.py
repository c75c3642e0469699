"""Cuts a recording to what is worth searching: long silences off its ends, and long lines into pieces.

In: samples and words; out: pieces, each a range of samples and a range of words, in order. A rough search finds about
where the words are. Silence before the first and after the last is left out but for `OUTER_S`, for the features' mean
is taken over all that is heard, and long silences shift it. What is longer than `WHOLE_S` is cut in the middle of
silences between words, or between two words where there is no silence for `MOST_S`: finding phonemes costs time and
memory with the square of the length.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from lipsync.listen.align_pocketsphinx import (
    LADDER,
    RATE_HZ,
    TICK_RATE_HZ,
    FirstPass,
    NotFoundError,
    Samples,
    Symbols,
)
from lipsync.listen.voice import slowed

OUTER_S = 0.5  # chosen; measured with twice and half of it
WHOLE_S = 30  # chosen: 60 MB
PIECE_S = 15  # chosen: shorter ones would make the mean over a piece uncertain
MOST_S = 45  # chosen: 130 MB; what is longer without a silence is cut between two words
CUT_TICKS = 10  # chosen: a shorter silence may be the closure of a stop

RoughSpan = tuple[int | None, int, int]  # word or None, first tick, tick after the last


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of a line: from a sample to before another, from a word to before another.

    `rough` is the search that found it where that was of just this part, so that none is made again.
    """

    first_sample: int
    end_sample: int
    first_word: int
    end_word: int
    rough: FirstPass | None = field(default=None, compare=False)


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
    trimmed = _trimmed(rough.spans, whole, tick)
    if trimmed == whole:
        trimmed = replace(whole, rough=rough)
    if trimmed.end_sample - trimmed.first_sample <= WHOLE_S * RATE_HZ:
        return (trimmed,)
    return tuple(_cut(rough.spans, replace(trimmed, rough=None), tick))


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
        silent = place is None and end - start >= CUT_TICKS
        at = round((start + end if silent else 2 * start) / 2 * tick)
        long_enough = at - sample >= (PIECE_S if silent else MOST_S) * RATE_HZ
        if long_enough and word < reached < piece.end_word:
            found.append(Piece(sample, at, word, reached))
            sample, word = at, reached
        if place is not None:
            reached = place + 1
    return [*found, Piece(sample, piece.end_sample, word, piece.end_word)]


def _rough(samples: Samples, words: Sequence[Sequence[Symbols]], factor: float) -> FirstPass:
    sound = slowed(samples, factor)
    for beams in LADDER:
        try:
            return FirstPass(sound, words, beams)
        except NotFoundError:
            continue
    raise NotFoundError("the rough search finds no way through")
