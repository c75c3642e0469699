"""Keys, and what is modelled between them: the animator's work beside putting pieces on.

In: a track and its job. Out: a `Key` for each fitting. If the next piece is far from the one that is on, the
clay is modelled toward it over the last frames of the hold, instead of an intermediate piece. A hold longer than the
studio's limit is kept alive by hand. (Both are common practice with replacement mouths in clay.)

A mouth is not modelled on the first frame on which it is worn, on a frame that shows closed lips or a lip under the
teeth, or before the frame after the one on which the last of its sounds begins. Filmed frames stay as they are. If
mouths change on every other frame, modelling begins on those frames only.
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

# A longer slide of the lips would be seen as a movement of its own. Chosen.
_MOST_FRAMES_MODELLED = 3


@dataclass(frozen=True, slots=True)
class Toward:
    """The clay is modelled on the puppet toward the next piece, `code`, from `frame` on, over `frames` frames."""

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
        toward: the modelling at the end of its hold; None if the next piece is near, or there is no frame for it.
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
    """Return the modelling between two fittings; None if there is none."""
    pieces = job.mouth_set.by_code
    # Hard pieces cannot be modelled; of a filmed piece that is not in the set it is not known what its lips do.
    if job.mouth_set.material == "hard" or one.code not in pieces or after.code not in pieces:
        return None
    if distance(pieces[one.code].lips, pieces[after.code].lips) <= job.settings.far:
        return None
    step = 1 if job.settings.on == "ones" else 2
    least = max(one.frame + 1, _done_on(track, one, after, job))
    first = after.frame
    # Backward from the next key, up to a frame off camera, a filmed frame or a closure.
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
    """Return the first frame on which every sound of a mouth has been heard for a frame.

    The sounds of a mouth are those that its frames show, and those of its shape that begin while it is worn, or on
    the frame after.
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
