"""The first form of fitting: each frame shows the sound that matters most to the eye, in its own shape and size.

In comes a `Job` with its turns, out the piece on each frame. One rule decides where sounds compete for a frame:
`schedule.eye_weight` times overlap. Closed lips and lip to teeth get the frame on which they are due, whatever the
rule says. The optimum (optimum.py) has taken its place; it stays to be compared with.
"""

from __future__ import annotations

from collections.abc import Sequence

from lipsync.fit.job import Job
from lipsync.fit.lips import row_distance, row_of
from lipsync.fit.overlap import overlaps
from lipsync.fit.schedule import Turn, ideal_frame
from lipsync.fit.serving import is_due_on_camera, window_frames


def pieces_by_rule(job: Job, turns: Sequence[Turn]) -> tuple[str | None, ...]:
    """Return the piece on each frame by the rule."""
    frames = len(job.on_camera)
    shown: list[tuple[float, int]] = [(0.0, 0)] * frames
    for over in overlaps(turns, frames, job.rate):
        shown[over.frame] = max(shown[over.frame], (turns[over.turn].weight * over.share, over.turn))
    due = [index for _, index in shown]
    seen = job.seen
    for index, turn in enumerate(turns):
        choices = window_frames(turn, seen)
        if turn.must_be_seen and choices and is_due_on_camera(turn, job, seen):
            due[min(choices, key=lambda frame: abs(frame - ideal_frame(turn, job)))] = index
    return tuple(_piece(job, turns[due[frame]], frame) if on else None for frame, on in enumerate(seen))


def _piece(job: Job, turn: Turn, frame: int) -> str:
    """Return the piece of a turn's shape that is nearest to its lips, if a person left it free."""
    fixed = job.filmed.get(frame) or job.pinned.get(frame)
    if fixed:
        return fixed
    if turn.sound is None:
        return job.rests_on
    ruled_out = job.forbidden.get(frame, frozenset())
    pieces = [piece for piece in job.mouth_set.sizes[turn.shape] if piece.code not in ruled_out]
    pieces = pieces or [piece for piece in job.mouth_set.piece if piece.code not in ruled_out]
    return min(pieces, key=lambda piece: row_distance(row_of(piece.lips), turn.lips)).code
