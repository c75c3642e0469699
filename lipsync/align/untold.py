"""Finds voice without text: stretches of voice that no word and no cue covers.

In: a recording, its words and cues in time, and where more was heard than the text has (`mending.py`). Out: stretches
of `LEAST_US` or more, in order, outside all words and cues.

Sound is voice if it is voiced (as `acoustic_fit.voicing` measures it) and no more than `BELOW_DB` softer than the
line's own words. It is not counted if it is voiced for less than `LEAST_US`, or within `DECAY_US` behind a word,
where the word's own sound dies away. Where `mending.py` heard more than the text has, it need not be voiced.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from lipsync.align.acoustic_fit import voicing
from lipsync.audio.features import STEP_US, Floats, mel_powers
from lipsync.audio.recording import Recording
from lipsync.model import Part, UntoldVoice

LEAST_US = 120_000  # three frames at 25 fps: as long as a short word
JOINED_US = 60_000  # chosen: a shorter gap, such as a stop's closure, is part of what is said
BELOW_DB = 15.0  # chosen: below the level of the words; somebody else in the room is softer
VOICED = 0.5  # chosen: the least voicing; a pure tone has 1
DECAY_US = 60_000  # chosen: so long a voice sounds on in a room

Span = tuple[int, int]


def untold_voice(recording: Recording, parts: Sequence[Part], inserted: Sequence[Span]) -> tuple[UntoldVoice, ...]:
    """Return the stretches; those that touch are joined.

    Args:
        recording: the sound.
        parts: its words and cues, in order.
        inserted: where something is said that the text does not have, as (start, end) in microseconds.
    """
    covered = [(part.start_us, part.end_us) for part in parts]
    gaps = list(_between(covered, recording.duration_us))
    spans = [span for gap in gaps for one in inserted if (span := _common(one, gap))]
    if parts:
        spans += _voiced(recording, covered, gaps)
    joined: list[Span] = []
    for start_us, end_us in sorted(spans):
        if joined and start_us <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], end_us))
        else:
            joined.append((start_us, end_us))
    return tuple(UntoldVoice(*span) for span in joined if span[1] - span[0] >= LEAST_US)


def _between(covered: Sequence[Span], duration_us: int) -> Iterator[Span]:
    """Yield the gaps before, between and after spans.

    >>> list(_between([(10, 20), (20, 30)], 50))
    [(0, 10), (30, 50)]
    """
    reached = 0
    for start_us, end_us in (*covered, (duration_us, duration_us)):
        if start_us > reached:
            yield reached, start_us
        reached = max(reached, end_us)


def _common(one: Span, other: Span) -> Span | None:
    """Return the part that two spans have in common, if any."""
    start_us, end_us = max(one[0], other[0]), min(one[1], other[1])
    return (start_us, end_us) if start_us < end_us else None


def _voiced(recording: Recording, covered: Sequence[Span], gaps: Sequence[Span]) -> Iterator[Span]:
    """Yield the voiced stretches of the gaps that are nearly as loud as the words."""
    level, voiced = _levels_db(recording), voicing(recording.samples)
    count = min(len(level), len(voiced))
    steps = np.arange(count) * STEP_US
    in_words = np.zeros(count, bool)
    for start_us, end_us in covered:
        in_words |= (steps >= start_us) & (steps < end_us)
    if not in_words.any():
        return
    loud = level[:count] >= np.percentile(level[:count][in_words], 75) - BELOW_DB
    heard = loud & (voiced[:count] >= VOICED)
    for start_us, end_us in gaps:
        begin_us = start_us + (DECAY_US if start_us else 0)
        rows = np.flatnonzero(heard & (steps >= begin_us) & (steps < end_us))
        yield from _runs(rows.tolist())


def _runs(rows: Iterable[int]) -> Iterator[Span]:
    """Yield the runs of voiced steps that are long enough, as (start, end) in microseconds.

    A gap of `JOINED_US` or less does not end a run.
    """
    run: list[int] = []
    for row in [*rows, 10**9]:
        if run and (row - run[-1]) * STEP_US > JOINED_US:
            if len(run) * STEP_US >= LEAST_US:
                yield run[0] * STEP_US, (run[-1] + 1) * STEP_US
            run = []
        run.append(row)


def _levels_db(recording: Recording) -> Floats:
    """Return the level of each step in decibels, smoothed over 45 ms."""
    level = 10 * np.log10(mel_powers(recording.samples).sum(axis=1) + 1.0)
    smooth: Floats = np.convolve(level, np.ones(9) / 9, "same")
    return smooth
