"""Keys and what is modelled between them: what an animator does beside putting pieces on.

In comes a track, out comes a `Key` for each fitting. Pieces give key positions only. Where the next key is far off,
the clay is modelled toward it over the last frames of the hold, instead of another piece; a hold longer than the
studio's limit is kept alive by hand. (Both common practice with replacement mouths in clay.) Closed lips and a lip
under the teeth are never modelled away: they are there to be seen.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from itertools import pairwise

from lipsync.fit.fit_settings import FittingSettings
from lipsync.fit.lips import distance
from lipsync.fit.mouthset import MouthSet
from lipsync.phonemes import MUST_BE_SEEN
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


def keys(
    track: FrameTrack, mouth_set: MouthSet, settings: FittingSettings, filmed: Collection[int] = ()
) -> tuple[Key, ...]:
    """Return the keys of a track, in order; nothing is to be modelled on frames that are filmed."""
    return tuple(_keys(track, mouth_set, settings, filmed))


def _keys(
    track: FrameTrack, mouth_set: MouthSet, settings: FittingSettings, filmed: Collection[int]
) -> Iterator[Key]:
    fittings = track.fittings
    longest = settings.hold.longest
    for one, after in pairwise([*fittings, None]):
        assert one is not None
        worn = _frames(track, one)
        toward = _toward(track, (one, after), mouth_set, settings, filmed) if after else None
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


def _toward(
    track: FrameTrack,
    pair: tuple[Fitting, Fitting],
    mouth_set: MouthSet,
    settings: FittingSettings,
    filmed: Collection[int],
) -> Toward | None:
    pieces, (one, after) = mouth_set.by_code, pair
    # Hard pieces cannot be modelled; a piece that is only on film has no lips to go by.
    if mouth_set.material == "hard" or one.code not in pieces or after.code not in pieces:
        return None
    if distance(pieces[one.code].lips, pieces[after.code].lips) <= settings.far:
        return None
    frames = 0
    # Back from the next key: never the first frame of the hold, nor across a time off camera, a closure or a filmed
    # frame.
    for frame in range(after.frame - 1, one.frame, -1):
        sound = track.serves[frame]
        closed = sound is not None and sound.symbol in MUST_BE_SEEN
        if track.pieces[frame] is None or closed or frames == _MOST_FRAMES_MODELLED or frame in filmed:
            break
        frames += 1
    return Toward(after.frame - frames, after.code, frames) if frames else None
