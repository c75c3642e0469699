"""Cuts a long recording in its silences, for what finds phonemes costs time and memory with the square of the length.

In: samples and words; out: pieces, each a range of samples and a range of words, in order and without gaps. A line of
up to `WHOLE_S` is one piece. Longer ones are cut in the middle of silences that a rough search finds between words.
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

WHOLE_S = 30  # chosen: 60 MB
PIECE_S = 15  # chosen: shorter ones would make the mean over a piece uncertain
CUT_TICKS = 10  # chosen: a shorter silence may be the closure of a stop


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
    if len(samples) <= WHOLE_S * RATE_HZ:
        return (Piece(0, len(samples), 0, len(words)),)
    tick = RATE_HZ / TICK_RATE_HZ / factor
    pieces: list[Piece] = []
    sample = word = reached = 0
    for place, start, end in _rough(samples, words, factor):
        if place is not None:
            reached = place + 1
            continue
        middle = min(round((start + end) / 2 * tick), len(samples))
        long_enough = middle - sample >= PIECE_S * RATE_HZ and reached > word
        if end - start >= CUT_TICKS and long_enough and reached < len(words):
            pieces.append(Piece(sample, middle, word, reached))
            sample, word = middle, reached
    return (*pieces, Piece(sample, len(samples), word, len(words)))


def _rough(
    samples: Samples, words: Sequence[Sequence[Symbols]], factor: float
) -> tuple[tuple[int | None, int, int], ...]:
    sound = slowed(samples, factor)
    for beams in LADDER:
        try:
            return rough_spans(sound, words, beams)
        except NotFoundError:
            continue
    raise NotFoundError("the rough search finds no way through")
