"""Keys and what is modelled between them: what an animator does beside putting pieces on.

In come a track and its job, out comes a `Key` for each fitting. Pieces give key positions only. Where the next key is
far off, the clay is modelled toward it over the last frames of the hold, instead of another piece; a hold longer than
the studio's limit is kept alive by hand. (Both common practice with replacement mouths in clay.)

A mouth is modelled away only when it has done its work: not on the first frame on which it is worn, not on a frame
that shows closed lips or a lip under the teeth, and not before every sound that it is for has begun a frame ago. What
is filmed stays as it is. Where mouths change on every other frame, so does what is modelled: in whole pairs.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from lipsync.fit.fit_job import Job
from lipsync.fit.lips import distance
from lipsync.phonemes import MUST_BE_SEEN
from lipsync.timing import frame_at
from lipsync.track import Fitting, FrameTrack

# Beyond it, a slow slide of the lips would say something of its own. Chosen.
_MOST_FRAMES_MODELLED = 3


@dataclass(frozen=True, slots=True)
class Toward:
    """From a frame on, over so many frames, the clay is modelled on the puppet toward the piece that comes next."""

    frame: int
    code: str
    frames: int


@dataclass(frozen=True, slots=True)
class Key:
    """A fitting, and what is modelled while the piece is on.

    Attributes:
        frame: the frame on which the piece is put on.
        code: the piece.
        hold: for how many frames on camera it is worn.
        toward: the modelling at its end; None if the next key is near, or there is no frame for it.
        alive_from: the frame from which it is to be kept alive by hand; None if the hold is within the limit.
    """

    frame: int
    code: str
    hold: int
    toward: Toward | None = None
    alive_from: int | None = None


def keys(track: FrameTrack, job: Job) -> tuple[Key, ...]:
    """Return the keys of a job's track, in order."""
    return tuple(_keys(track, job))


def _keys(track: FrameTrack, job: Job) -> Iterator[Key]:
    fittings = track.fittings
    longest = job.settings.hold.longest
    for one, after in pairwise([*fittings, None]):
        assert one is not None
        worn = _frames(track, one)
        toward = _toward(track, one, after, job) if after else None
        yield Key(one.frame, one.code, one.hold, toward, worn[longest] if one.hold > longest else None)


def _frames(track: FrameTrack, fitting: Fitting) -> list[int]:
    """Return the frames on camera on which a fitting is worn."""
    found: list[int] = []
    frame = fitting.frame
    while len(found) < fitting.hold:
        if track.pieces[frame] is not None:
            found.append(frame)
        frame += 1
    return found


def _toward(track: FrameTrack, one: Fitting, after: Fitting, job: Job) -> Toward | None:
    pieces = job.mouth_set.by_code
    # Hard pieces cannot be modelled; a piece that is only on film has no lips to go by.
    if job.mouth_set.material == "hard" or one.code not in pieces or after.code not in pieces:
        return None
    if distance(pieces[one.code].lips, pieces[after.code].lips) <= job.settings.far:
        return None
    step = 1 if job.settings.on == "ones" else 2
    least = max(one.frame + 1, _done_on(track, one, after, job))
    first = after.frame
    # Back from the next key, not across a time off camera, a filmed frame or a closure.
    for frame in range(after.frame - 1, least - 1, -1):
        sound = track.serves[frame]
        closed = sound is not None and sound.symbol in MUST_BE_SEEN
        if (
            track.pieces[frame] is None
            or closed
            or frame in job.filmed
            or after.frame - frame > _MOST_FRAMES_MODELLED
        ):
            break
        if frame % step == 0:
            first = frame
    return Toward(first, after.code, after.frame - first) if first < after.frame else None


def _done_on(track: FrameTrack, one: Fitting, after: Fitting, job: Job) -> int:
    """Return the first frame on which every sound that a mouth is for has begun a frame ago.

    A mouth is for the sounds that its frames show, and for those of its shape that begin while it is worn, or in the
    frame after.
    """
    shape = job.mouth_set.by_code[one.code].shape
    span = range(one.frame, after.frame)
    shown = {sound for frame in span if (sound := track.serves[frame]) is not None}
    own = {
        sound
        for sound in job.sounds
        if shape in job.mouth_set.shapes_of(sound.symbol)
        and one.frame <= frame_at(sound.start_us, job.rate) <= after.frame
    }
    return max((frame_at(sound.start_us, job.rate) + 1 for sound in shown | own), default=0)
