"""Cues move: a laugh opens with each of its bursts, a scream and a sigh follow the level of the voice.

In come what lips do on each frame while a cue is heard as one held shape, and the level of the voice on each frame;
the opening is changed in place: closed to `_LEAST` of the shape where the cue is softest, open to `_MOST` of it, or
to `_WIDE` at least, where it is loudest. Chosen: a laugh's bursts come four to five a second (common knowledge in
phonetics, from memory), each with its own opening. A hum keeps the lips closed.
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
# What is quieter than this below a cue's loudest frame is its softest; and a cue that varies less hardly moves.
_SPAN_DB = 18.0
# Shapes less open than this are closed, and stay so.
_CLOSED = 0.15
_OPENING = list(AXES).index("opening")


def cue_moves(job: Job, rows: Floats, shares: Shares, turns: Sequence[Turn]) -> None:
    """Let the opening of `rows` (frames x AXES) follow the level while a cue is heard."""
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
        wanted = _LEAST * shape + loud * (max(_MOST * shape, min(_WIDE, 2 * shape)) - _LEAST * shape)
        here = (shares.gesture == index) & (shares.moment >= first) & (shares.moment < end)
        part = np.bincount(shares.moment[here] - first, shares.share[here], end - first)
        rows[first:end, _OPENING] += part * (wanted - shape)
