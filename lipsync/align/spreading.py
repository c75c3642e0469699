"""Spreads words that no search finds over the voice that is heard, by how long their phonemes usually last.

In: a recording and the phonemes of each word. Out: for each word the start of each phoneme and the end of the last,
in microseconds: in order, no phoneme empty, each word within one stretch of sound.

A stretch of sound is a part of the recording that is `ABOVE_FLOOR_DB` louder than the room; if there is none, it is
the whole recording. Each stretch takes a share of the words according to its length, and they fill it.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate, pairwise

from lipsync.align.durations import usual_us
from lipsync.align.recogniser import Symbols
from lipsync.audio.recording import Recording, heard, noise_floor_db
from lipsync.errors import LineError

ABOVE_FLOOR_DB = 12.0  # chosen: a voice is louder than the room by this much; most breaths are not
SHORTEST_US = 80_000  # chosen: a shorter sound holds no word

Span = tuple[int, int]


def spread(recording: Recording, words: Sequence[Symbols]) -> list[tuple[int, ...]]:
    """Return for each word the start of each phoneme and the end of the last, in microseconds.

    Raises:
        LineError: if there are more phonemes than microseconds.
    """
    count = sum(len(word) for word in words)
    if recording.duration_us < count:
        raise LineError.one(recording.path, "text", f"has {count} phonemes, more than could be laid in its recording")
    spans = [span for span in voiced_spans(recording) if span[1] - span[0] >= count] or [(0, recording.duration_us)]
    lengths = [[usual_us(symbol) for symbol in word] for word in words]
    edges: list[tuple[int, ...]] = []
    for span, own_lengths in zip(spans, _shared_out(spans, lengths), strict=True):
        edges += _filled(span, own_lengths)
    return edges


def voiced_spans(recording: Recording) -> list[Span]:
    """Return the stretches of sound that are long enough to be a voice; if there is none, the whole recording."""
    whole = (0, recording.duration_us)
    spans = heard(recording, *whole, noise_floor_db(recording) + ABOVE_FLOOR_DB)
    return [span for span in spans if span[1] - span[0] >= SHORTEST_US] or [whole]


def _shared_out(spans: Sequence[Span], lengths: Sequence[list[int]]) -> list[list[list[int]]]:
    """Return for each span the usual lengths of its words: of those whose middle falls into the span.

    For this, the words are stretched evenly over all spans, as if there were no gaps between these.

    >>> _shared_out([(0, 10), (50, 60)], [[3], [3], [6]])
    [[[3], [3]], [[6]]]
    """
    ends = list(accumulate(end - start for start, end in spans))
    whole = sum(map(sum, lengths))
    shared: list[list[list[int]]] = [[] for _ in spans]
    begun = 0
    for word in lengths:
        middle = (begun + sum(word) / 2) / whole * ends[-1]
        shared[next(k for k, end in enumerate(ends) if middle <= end)].append(word)
        begun += sum(word)
    return shared


def _filled(span: Span, words: Sequence[list[int]]) -> list[tuple[int, ...]]:
    """Return the edges of words that fill a span, each phoneme in proportion to its length, at least 1 microsecond.

    >>> _filled((100, 200), [[30, 10], [60]])
    [(100, 130, 140), (140, 200)]
    """
    start_us, end_us = span
    phonemes = [length for word in words for length in word]
    edges = [0, *accumulate(phonemes)]
    spare_us = end_us - start_us - len(phonemes)
    times = [start_us + k + spare_us * edge // max(1, edges[-1]) for k, edge in enumerate(edges)]
    places = [0, *accumulate(len(word) for word in words)]
    return [tuple(times[first : last + 1]) for first, last in pairwise(places)]
