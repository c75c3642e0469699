"""Which sound each frame shows, and which sounds are lost, once the pieces are chosen.

In: a shot's numbers and the piece on every frame. Out: a `FrameTrack`. Of the sounds that fill a part of a
frame, it shows the one with the largest claim: weight to the eye (`turns.eye_weight`) times that part, less the
further the piece is from its lips. A sound that must be seen is shown only by a piece of its shape, from the first
frame of its window on. It counts as seen if any frame of its window wears such a piece: neighbours of one class may
share a hold.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from math import isnan

import numpy as np

from lipsync.fit.costs import Weighing
from lipsync.fit.fit_job import Job
from lipsync.fit.lips import AXES, LipsRow, row_distance, row_of
from lipsync.fit.lips_in_time import Floats
from lipsync.fit.overlap import Overlap, overlaps
from lipsync.fit.schedule import ideal_frame
from lipsync.fit.turns import Turn
from lipsync.timing import frame_at
from lipsync.track import FrameTrack, Lost, Sound

# How fast a sound's claim on a frame falls with the distance of the piece from its lips. Chosen: at 0.5 it is halved.
_CLAIM_FALLS = 2.0

# A vowel is seen in a piece that is as near as this to what lips do: about the standard deviation of real lips from
# the model (data/lips.toml).
_AS_GOOD = 0.2

# Frames before and after one that are looked at for other sounds in its order; chosen: more than any window.
_NEAR = 8


def track_of(weighing: Weighing, pieces: Sequence[str | None]) -> FrameTrack:
    """Return the track of a shot: its pieces, what each frame shows, and what is lost."""
    job, turns = weighing.job, weighing.turns
    shows = _shown(job, turns, pieces)
    _give_frames_to_the_seen(job, turns, pieces, shows)
    serves: list[Sound | None] = [None if index is None else turns[index].sound for index in shows]
    return FrameTrack(job.character, tuple(pieces), tuple(serves), tuple(lost_of(weighing, pieces)))


def seen_in(job: Job, turns: Sequence[Turn], lips: Floats) -> tuple[frozenset[str], ...]:
    """Return for each turn the codes of the pieces in which it is seen.

    They are those of its shape. For a vowel they are also those that, on the frame of its largest share, are at least
    as near to what lips do as the nearest of its shape, or nearer than `_AS_GOOD`.

    Args:
        job: the job.
        turns: its turns.
        lips: turns x AXES, what lips do on the frame of each turn's largest share; nan for a turn without one.
    """
    pieces = job.mouth_set.piece
    codes = np.array([piece.code for piece in pieces])
    shapes = {shape: frozenset(piece.code for piece in own) for shape, own in job.mouth_set.sizes.items()}
    own = {shape: np.isin(codes, list(found)) for shape, found in shapes.items()}
    rows = np.array([row_of(piece.lips) for piece in pieces])
    far = np.sqrt(((lips[:, None] - rows) ** 2 * np.array(list(AXES.values()))).sum(axis=2))
    return tuple(
        shapes[turn.shape]
        if turn.must_be_seen or turn.sound is None or turn.sound.is_cue or isnan(away[0])
        else shapes[turn.shape] | {str(code) for code in codes[away <= max(_AS_GOOD, away[own[turn.shape]].min())]}
        for turn, away in zip(turns, far, strict=True)
    )


def wears(job: Job, code: str | None, shape: str) -> bool:
    """Whether a piece is of a shape."""
    pieces = job.mouth_set.by_code
    return code in pieces and pieces[code].shape == shape


def is_due_on_camera(turn: Turn, job: Job, seen: Sequence[bool]) -> bool:
    """Whether a sound is heard, or its mouth due, while the character is seen.

    If no frame of its window is on camera, only the frame on which it begins counts.
    """
    if turn.sound is None:
        return False
    first = frame_at(turn.sound.start_us, job.rate)
    frames = {first}
    if window_frames(turn, seen):
        frames |= {ideal_frame(turn, job), *range(first, frame_at(turn.sound.end_us - 1, job.rate) + 1)}
    return any(0 <= frame < len(seen) and seen[frame] for frame in frames)


def window_frames(turn: Turn, seen: Sequence[bool]) -> tuple[int, ...]:
    """Return the frames on camera of a turn's window."""
    if turn.window is None:
        return ()
    first, last = turn.window
    return tuple(frame for frame in range(max(0, first), min(last, len(seen) - 1) + 1) if seen[frame])


def _shown(job: Job, turns: Sequence[Turn], pieces: Sequence[str | None]) -> list[int | None]:
    lips = {piece.code: row_of(piece.lips) for piece in job.mouth_set.piece}
    unlike: dict[tuple[str, LipsRow], float] = {}
    best: list[tuple[float, int] | None] = [None] * len(pieces)
    for over in overlaps(turns, len(pieces), job.rate):
        code = pieces[over.frame]
        if code is None or not _may_show(job, turns[over.turn], over, code):
            continue
        turn = turns[over.turn]
        pair = code, turn.lips
        if pair not in unlike:
            unlike[pair] = row_distance(lips[code], turn.lips) if code in lips else 0.0
        claim = turn.weight * over.share / (1 + _CLAIM_FALLS * unlike[pair])
        found = best[over.frame]
        if found is None or claim > found[0]:
            best[over.frame] = (claim, over.turn)
    return [None if found is None else found[1] for found in best]


def _may_show(job: Job, turn: Turn, over: Overlap, code: str) -> bool:
    if turn.window is not None and over.frame < turn.window[0]:
        return False
    return not turn.must_be_seen or wears(job, code, turn.shape)


def _give_frames_to_the_seen(
    job: Job, turns: Sequence[Turn], pieces: Sequence[str | None], shows: list[int | None]
) -> None:
    """Give each sound that is seen but has no frame yet a frame that wears its shape, where the order allows it."""
    seen = job.seen
    has_frame = {index for index in shows if index is not None}
    on_frames = Counter(shows)
    for index, turn in enumerate(turns):
        if not turn.must_be_seen or index in has_frame:
            continue
        frames = [frame for frame in window_frames(turn, seen) if wears(job, pieces[frame], turn.shape)]
        for frame in sorted(frames, key=lambda f: abs(f - ideal_frame(turn, job))):
            now = shows[frame]
            only = now is not None and turns[now].must_be_seen and on_frames[now] == 1
            if not only and _in_order(shows, frame, index, len(turns)):
                on_frames.subtract([now])
                on_frames[index] += 1
                shows[frame] = index
                break


def _in_order(shows: Sequence[int | None], frame: int, index: int, turns: int) -> bool:
    """Whether a frame may show a turn with no later one shown before it and no earlier one after."""
    before = next((shown for shown in reversed(shows[max(0, frame - _NEAR) : frame]) if shown is not None), -1)
    after = next((shown for shown in shows[frame + 1 : frame + 1 + _NEAR] if shown is not None), turns)
    return before <= index <= after


def lost_of(weighing: Weighing, pieces: Sequence[str | None]) -> Iterator[Lost]:
    """Yield the sounds that must be seen, and the stressed vowels and cues, that are not seen in their window.

    A vowel or cue is left out if a frame of its window wears a filmed piece that is not in the set: it may be seen.
    """
    job, seen = weighing.job, weighing.job.seen
    for index, turn in enumerate(weighing.turns):
        if turn.sound is None or turn.window is None or not (turn.must_be_seen or turn.stressed):
            continue
        frames = window_frames(turn, seen)
        shows_it = weighing.seen_in[index]
        if any(pieces[frame] in shows_it for frame in frames) or not is_due_on_camera(turn, job, seen):
            continue
        if not turn.must_be_seen and any(pieces[frame] not in job.mouth_set.by_code for frame in frames):
            continue
        yield Lost(turn.sound, _reason(job, turn, frames, pieces))


def _reason(job: Job, turn: Turn, frames: Sequence[int], pieces: Sequence[str | None]) -> str:
    if not frames:
        return "the character is on camera on none of the frames on which it could be seen"
    worn = ", ".join(dict.fromkeys(str(pieces[frame]) for frame in frames))
    fixed: tuple[tuple[str, Mapping[int, object]], ...] = (
        ("filmed", job.filmed),
        ("pinned by hand", job.pinned),
        ("ruled by hand", job.forbidden),
    )
    for what, kept in fixed:
        if all(frame in kept for frame in frames):
            return f"the frames on which it could be seen are {what}, and wear {worn}"
    if all(any(frame in kept for _, kept in fixed) for frame in frames):
        return f"the frames on which it could be seen are filmed or ruled by hand, and wear {worn}"
    if job.settings.on == "twos":
        return f"mouths change on twos only, and its frames wear {worn}"
    if not turn.must_be_seen:
        return f"it is too short beside what is seen around it; its frames wear {worn}"
    return f"there are fewer frames than sounds that must be seen; its frames wear {worn}"
