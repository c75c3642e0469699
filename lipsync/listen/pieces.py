"""Cuts a recording to what is worth a second look: long silences off its ends, and long lines into pieces.

In: the words of a line as found roughly, and how long its recording is. Out: pieces, each a stretch of time and its
words, in order. Silence before the first and after the last word is left out but for `OUTER_US`, for the mean of the
features is taken over all that is heard, and long silences shift it. What is longer than `WHOLE_US` is cut in the
middle of silences between words, or between two words where there is no silence for `MOST_US`: memory stays flat.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from lipsync.listen.first_look import WHOLE_US, RoughWord

OUTER_US = 500_000  # chosen; measured with twice and half of it
PIECE_US = 15_000_000  # chosen: shorter ones would make the mean over a piece uncertain
MOST_US = 45_000_000  # chosen: what is longer without a silence is cut between two words
CUT_US = 100_000  # chosen: a shorter silence may be the closure of a stop


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of a recording and the words in it, the first of them by its place in the line."""

    start_us: int
    end_us: int
    first: int
    words: tuple[RoughWord, ...]


def pieces_of(words: Sequence[RoughWord], duration_us: int) -> tuple[Piece, ...]:
    """Return the pieces of a recording from the words of its line."""
    start_us = max(0, words[0].start_us - OUTER_US)
    end_us = min(duration_us, words[-1].end_us + OUTER_US)
    first = 0
    found: list[Piece] = []
    for place, (before, word) in enumerate(pairwise(words), start=1):
        silent = word.start_us - before.end_us >= CUT_US
        at_us = (before.end_us + word.start_us) // 2 if silent else word.start_us
        if end_us - start_us > WHOLE_US and at_us - start_us >= (PIECE_US if silent else MOST_US):
            found.append(Piece(start_us, at_us, first, tuple(words[first:place])))
            start_us, first = at_us, place
    return (*found, Piece(start_us, end_us, first, tuple(words[first:])))
