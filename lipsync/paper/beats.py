"""Strong beats: the stressed syllables that are loudest and highest, where head and brows may move.

In: a character's sounds in a shot, and the pitch of each where it was measured. Out: frames. A syllable is judged by
its vowel: by how far level and pitch are above those of the character's other stressed vowels in the shot, each
divided by its spread. That listeners hear prominence from pitch and loudness together is common knowledge in
phonetics (from memory). Each line has a beat on its most prominent syllable, and one on any other that is prominent
enough. Of beats closer together than a nod takes, only one is kept. A beat is printed on the row of its vowel
(rows.py).
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import log2
from statistics import fmean, pstdev

from lipsync.timing import nearest_frame
from lipsync.track import Sound

# A vowel is prominent enough from this many spreads above the middle, level and pitch together (chosen).
_STANDS_OUT = 1.5

# Two beats are at least this far apart (chosen: a nod takes about a third of a second).
_APART_US = 300_000

# The least spread that is assumed for levels and pitches; else an even voice would have beats by chance.
_LEAST_SPREAD_DB = 3.0
_LEAST_SPREAD_SEMITONES = 2.0


def beats_of(sounds: Sequence[Sound], rate: Fraction, pitches_hz: Sequence[float | None] = ()) -> tuple[int, ...]:
    """Return the frames, from 0 in the shot, on which strong beats begin.

    Args:
        sounds: a character's sounds in a shot.
        rate: frames a second.
        pitches_hz: the pitch of each sound; empty if none was measured, None for a sound that has none.

    >>> loud, soft = (Sound("a", n, "AA", "ah", n * 10**6, n * 10**6 + 200_000, 1, -10.0 - 20 * n) for n in (0, 1))
    >>> beats_of([loud, soft], Fraction(24))
    (0,)
    """
    heights = list(pitches_hz) or [None] * len(sounds)
    stressed = [(s, hz) for s, hz in zip(sounds, heights, strict=True) if s.stress == 1 and s.level_db is not None]
    if not stressed:
        return ()
    levels = _above([s.level_db for s, _ in stressed], _LEAST_SPREAD_DB)
    pitches = _above([None if hz is None else 12 * log2(hz) for _, hz in stressed], _LEAST_SPREAD_SEMITONES)
    strengths = {s: level + pitch for (s, _), level, pitch in zip(stressed, levels, pitches, strict=True)}
    lines = {s.line for s in strengths}
    strongest = {max((s for s in strengths if s.line == line), key=strengths.__getitem__) for line in lines}
    candidates = [s for s in strengths if s in strongest or strengths[s] >= _STANDS_OUT]
    chosen: list[Sound] = []
    for sound in sorted(candidates, key=lambda s: (-strengths[s], s.start_us)):
        if all(abs(sound.start_us - other.start_us) >= _APART_US for other in chosen):
            chosen.append(sound)
    return tuple(sorted({nearest_frame(sound.start_us, rate) for sound in chosen if sound.start_us >= 0}))


def _above(values: Sequence[float | None], least_spread: float) -> list[float]:
    """Return how far each value is above the median, divided by the spread; 0 for a value that is not known."""
    known = [value for value in values if value is not None]
    if not known:
        return [0.0] * len(values)
    middle, spread = fmean(known), max(pstdev(known), least_spread)
    return [0.0 if value is None else (value - middle) / spread for value in values]
