"""The first form of fitting: each sound in its own shape and size, from the frame nearest to its time to the next's.

In comes a `Job` with its turns, out the piece on each frame. A sound too short for a frame yields to the one that
matters more to the eye: `turns.eye_weight` times overlap. Closed lips and lip to teeth get the frame on which they
are due, whatever the rule says. The optimum (lipsync/fit/optimum.py) is compared with it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lipsync.fit.fit_job import Job
from lipsync.fit.lips import row_distance, row_of
from lipsync.fit.overlap import overlaps
from lipsync.fit.schedule import ideal_frame
from lipsync.fit.serving import is_due_on_camera, window_frames
from lipsync.fit.turns import Turn


def pieces_by_rule(job: Job, turns: Sequence[Turn]) -> tuple[str | None, ...]:
    """Return the piece on each frame by the rule."""
    frames, seen = len(job.on_camera), job.seen
    filled = {(over.frame, over.turn): over.share for over in overlaps(turns, frames, job.rate)}
    due = _due(turns, filled, frames, job)
    for index, turn in enumerate(turns):
        choices = window_frames(turn, seen)
        if turn.must_be_seen and choices and is_due_on_camera(turn, job, seen):
            due[min(choices, key=lambda frame: abs(frame - ideal_frame(turn, job)))] = index
    return tuple(_piece(job, turns[due[frame]], frame) if on else None for frame, on in enumerate(seen))


def _due(turns: Sequence[Turn], filled: Mapping[tuple[int, int], float], frames: int, job: Job) -> list[int]:
    """Return for each frame the turn that is due on it: from its nearest frame to the next turn's."""
    begins: dict[int, list[int]] = {}
    for index, turn in enumerate(turns):
        begins.setdefault(max(0, ideal_frame(turn, job)), []).append(index)
    due: list[int] = []
    now = 0
    for frame in range(frames):
        short = begins.get(frame, [now])
        # The last that begins here goes on; the others are too short for a frame of their own and compete with it.
        now = short[-1]
        due.append(max(short, key=lambda index: turns[index].weight * filled.get((frame, index), 0.0)))
    return due


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
