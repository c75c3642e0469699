"""Lays words that no search finds: by how long their phonemes usually last, over the voice that is heard.

In: a recording and the phonemes of each word. Out: for each word the start of each phoneme and the end of the last,
in microseconds: in order, none empty, each word whole within one stretch of sound where there is room.

What is heard is what stands `ABOVE_FLOOR_DB` out of the room; where nothing does, it is the whole recording. Each
stretch of it takes as much of the words as its share of all that is heard, and they fill it.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate, pairwise

from lipsync.align.durations import usual_us
from lipsync.align.recogniser import Symbols
from lipsync.audio.recording import Recording, heard, noise_floor_db
from lipsync.errors import LineError

ABOVE_FLOOR_DB = 12.0  # chosen: a voice stands out so far from the room; breaths mostly do not
SHORTEST_US = 80_000  # chosen: what is heard for less time holds no word

Span = tuple[int, int]


def spread(recording: Recording, words: Sequence[Symbols]) -> list[tuple[int, ...]]:
    """Return the edges of the phonemes of each word.

    Raises:
        LineError: if there are more phonemes than microseconds.
    """
    count = sum(len(word) for word in words)
    if recording.duration_us < count:
        raise LineError.one(recording.path, "text", f"has {count} phonemes, more than could be laid in its recording")
    spans = [span for span in voiced_spans(recording) if span[1] - span[0] >= count] or [(0, recording.duration_us)]
    lengths = [[usual_us(symbol) for symbol in word] for word in words]
    found: list[tuple[int, ...]] = []
    for span, some in zip(spans, _shared_out(spans, lengths), strict=True):
        found += _filled(span, some)
    return found


def voiced_spans(recording: Recording) -> list[Span]:
    """Return the stretches in which something is heard for long enough to be a voice; all of it if there is none."""
    whole = (0, recording.duration_us)
    spans = heard(recording, *whole, noise_floor_db(recording) + ABOVE_FLOOR_DB)
    return [span for span in spans if span[1] - span[0] >= SHORTEST_US] or [whole]


def _shared_out(spans: Sequence[Span], lengths: Sequence[list[int]]) -> list[list[list[int]]]:
    """Return the words of each span: those whose middle falls into its share of all that is heard.

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
    """Return the edges of words that fill a span, each phoneme by its share, and a microsecond at least.

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
