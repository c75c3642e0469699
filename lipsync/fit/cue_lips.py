"""Lets the opening of the lips follow the level of the voice in cues: each burst of a laugh opens them.

In: what lips do on each frame, with each cue as one held shape, and the level of the voice on each frame. Out: their
opening, changed in place: where the cue is softest, to `_LEAST` of its shape's; where it is loudest, to `_MOST` of
its shape's, or to `_WIDE` if that is more, but to twice its shape's at most. All chosen: a laugh's bursts come four
to five a second (common knowledge in phonetics, from memory), each with its own opening. A hum keeps the lips closed.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lipsync.fit.fit_job import Job
from lipsync.fit.lips import AXES
from lipsync.fit.lips_in_time import Floats, Shares
from lipsync.fit.turns import Turn
from lipsync.timing import frame_at

_LEAST, _MOST, _WIDE = 0.3, 1.3, 0.6
_MOST_TIMES_SHAPE = 2
# A frame that is so much quieter than the cue's loudest counts as its softest; a cue that varies less moves less.
_SPAN_DB = 18.0
# A shape that opens less than this is closed, and stays closed.
_CLOSED = 0.15
_OPENING = list(AXES).index("opening")


def cue_moves(job: Job, rows: Floats, shares: Shares, turns: Sequence[Turn]) -> None:
    """Let the opening of each cue's gesture follow the level, in place.

    Args:
        job: the job; nothing is changed if it has no levels.
        rows: frames x AXES, what lips do on each frame; changed.
        shares: each turn's share of the opening.
        turns: the job's turns.
    """
    if not job.levels_db:
        return
    levels = np.array(job.levels_db)
    for index, turn in enumerate(turns):
        sound = turn.sound
        if sound is None or not sound.is_cue or turn.lips[_OPENING] < _CLOSED:
            continue
        first, end = (
            max(0, frame_at(sound.start_us, job.rate)),
            min(len(levels), frame_at(sound.end_us, job.rate) + 1),
        )
        if end - first < 2:
            continue
        own = levels[first:end]
        loud = np.clip(1 + (own - own.max()) / _SPAN_DB, 0.0, 1.0)
        shape = turn.lips[_OPENING]
        wanted = _LEAST * shape + loud * (max(_MOST * shape, min(_WIDE, _MOST_TIMES_SHAPE * shape)) - _LEAST * shape)
        # Lips open before the sound and close after it: there they do as on the first and the last frame of it.
        own_shares = shares.gesture == index
        at = shares.moment[own_shares]
        moved = shares.share[own_shares] * (wanted - shape)[np.clip(at, first, end - 1) - first]
        rows[:, _OPENING] += np.bincount(at, moved, len(rows))
