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
    PARTS,
    RATE_HZ,
    TICK_RATE_HZ,
    FirstPass,
    NotFoundError,
    RoughSpan,
    Samples,
    Symbols,
    beginning,
)
from lipsync.listen.voice import slowed

OUTER_S = 0.5  # chosen; measured with twice and half of it
WHOLE_S = 30  # chosen: 60 MB
PIECE_S = 15  # chosen: shorter ones would make the mean over a piece uncertain
MOST_S = 45  # chosen: 130 MB; what is longer without a silence is cut between two words
LONG_S = 300  # chosen: of what is longer, also the rough search is made a part at a time
PART_S, END_S = 40, 6  # chosen: its parts, and what of each is searched again, for there words may be cut off
WORDS_PER_S = 5  # chosen: nobody says more over most of a minute
CUT_TICKS = 10  # chosen: a shorter silence may be the closure of a stop


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
        spans, begun = _rough(samples, words, factor)
    except NotFoundError:
        if len(samples) > WHOLE_S * RATE_HZ:
            raise
        return (whole,)
    tick = RATE_HZ / TICK_RATE_HZ / factor
    trimmed = _trimmed(spans, whole, tick)
    if trimmed.end_sample - trimmed.first_sample <= WHOLE_S * RATE_HZ:
        return (replace(trimmed, rough=begun if trimmed == whole else None),)
    return tuple(_cut(spans, trimmed, tick))


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


def _rough(
    samples: Samples, words: Sequence[Sequence[Symbols]], factor: float
) -> tuple[tuple[RoughSpan, ...], FirstPass | None]:
    """Return about where the words are, and the search that found it where one was made of the whole."""
    sound = slowed(samples, factor)
    if len(sound) > LONG_S * RATE_HZ:
        try:
            return _by_parts(sound, words), None
        except NotFoundError:
            pass
    for beams in LADDER:
        try:
            found = FirstPass(sound, words, beams)
        except NotFoundError:
            continue
        return found.spans, found
    raise NotFoundError("the rough search finds no way through")


def _by_parts(sound: Samples, words: Sequence[Sequence[Symbols]]) -> tuple[RoughSpan, ...]:
    """Search a long sound a part at a time: the cost of one search grows with its words times its ticks.

    Raises:
        NotFoundError: if a part has none of the words, or all that are left before the last.
    """
    found: list[RoughSpan] = []
    tick, word, samples_per_tick = 0, 0, RATE_HZ // TICK_RATE_HZ
    while len(sound) - tick * samples_per_tick > 2 * PART_S * RATE_HZ:
        part = sound[tick * samples_per_tick :][: PART_S * RATE_HZ]
        own = _kept(beginning(part, words[word : word + PART_S * WORDS_PER_S], PARTS))
        found += _moved(own[:-1], word, tick)
        tick += (own[-1][1] + own[-1][2]) // 2 if own[-1][0] is None else own[-1][1]
        word += 1 + max(place for place, *_ in own[:-1] if place is not None)
        if word >= len(words):
            raise NotFoundError("the words end before the sound")
    return (*found, *_moved(FirstPass(sound[tick * samples_per_tick :], words[word:], PARTS).spans, word, tick))


def _kept(spans: Sequence[RoughSpan]) -> Sequence[RoughSpan]:
    """Return the spans of a part up to where it may be cut: its last silence, or word, before its end."""
    sure = [k for k, (_, start, _) in enumerate(spans) if start < (PART_S - END_S) * TICK_RATE_HZ]
    words = [k for k in sure if spans[k][0] is not None]
    silences = [k for k in sure if spans[k][0] is None and spans[k][2] - spans[k][1] >= CUT_TICKS]
    at = max((k for k in silences if words and k > words[0]), default=words[-1] if len(words) > 1 else None)
    if at is None:
        raise NotFoundError("a part has none of the words")
    return spans[: at + 1]


def _moved(spans: Sequence[RoughSpan], word: int, tick: int) -> list[RoughSpan]:
    return [(None if place is None else place + word, tick + start, tick + end) for place, start, end in spans]
