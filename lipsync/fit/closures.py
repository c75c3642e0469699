"""When lips are closed, and the lower one is under the teeth: the one rule for P, B and M, and one for F and V.

    Closed lips are worn from the frame nearest to the start of their sound, on `hold.closed_lips` frames if it lasts
    that long; if it is shorter, up to the frame on which it ends; on one frame at least. What follows is due when
    these frames are over, or when it is heard: its lead, not more, gives way. They are not worn, nor is a rest with
    closed lips, while other sounds are heard, but for the frame before: lips close before their sound. Each frame
    that departs from this costs `price.closed_lips`.

    The lip is under the teeth where F or V is due only: elsewhere it reads as one, and each frame costs
    `price.lip_to_teeth`.

Common practice, from memory: closed lips fall on the closure itself, and are held about two frames where it lasts
that long, rather at the neighbouring vowel's cost. So M from 13.01 to 15.80 frames is worn on 13 and 14 at least, B
from 48.60 to 50.64 on 49 and 50, B from 26.84 to 28.42 on 27. Of real lips in running speech two in three or more are
closed on the picture before P or B begins (tests/MEASURED.md).

In come turns, out come the frames of each closure and what departing from them costs. That each is seen at all, on
some frame in the film tolerance, is no matter of price (rules.py). A stressed vowel that would be missed for it is
dearer than a frame that departs from the rule, and a lip under the teeth right after it keeps to its whole lead.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet

import numpy as np

from lipsync.fit.cost_matrix import Flags, Whole, whole
from lipsync.fit.fit_job import SHUTTER_US, Job
from lipsync.fit.overlap import Overlap
from lipsync.fit.turns import Turn
from lipsync.phonemes import LIP_TO_TEETH, LIPS_CLOSED
from lipsync.timing import frame_at, frame_start_us, nearest_frame
from lipsync.track import Sound

# Frames before a closure on which the lips may be on their way to it.
_ON_THE_WAY = 1
# A piece that is less open than this reads as closed.
_CLOSED = 0.06


def is_closure(sound: Sound | None) -> bool:
    """Whether a sound closes the lips."""
    return sound is not None and sound.symbol in LIPS_CLOSED


def kept_until_us(job: Job, sound: Sound, due_us: int) -> int:
    """Return until when nothing that follows a closure takes the lips from it: a frame's start."""
    return frame_start_us(_frames(job, sound, due_us).stop, job.rate) if job.settings.hold.closed_lips else due_us


def after_closure_us(due_us: int, kept_us: int, heard_us: int) -> int:
    """Return when a mouth is due that is heard at `heard_us`: its lead, not more, gives way to a closure before it.

    >>> after_closure_us(due_us=60, kept_us=80, heard_us=100)
    80
    >>> after_closure_us(due_us=60, kept_us=80, heard_us=70)
    70
    """
    return max(due_us, min(kept_us, heard_us))


def frames_of(job: Job, turn: Turn) -> range:
    """Return the frames of the shot, or around it, on which a closure is to be worn."""
    assert turn.sound is not None
    return _frames(job, turn.sound, turn.due_us)


def _frames(job: Job, sound: Sound, due_us: int) -> range:
    lasts_us, most = sound.end_us - sound.start_us, job.settings.hold.closed_lips
    first = nearest_frame(due_us, job.rate)
    if lasts_us >= frame_start_us(most, job.rate):
        return range(first, first + max(1, most))
    return range(first, max(first + 1, min(first + most, frame_at(due_us + lasts_us, job.rate))))


def closure_costs(job: Job, turns: Sequence[Turn], place: Mapping[int, int], codes: Sequence[str]) -> Whole:
    """Return frames on camera x pieces: what departing from the rule costs, in whole millionths."""
    found = np.zeros((len(place), len(codes)), dtype=np.int64)
    if not job.settings.hold.closed_lips:
        return found
    price = whole(job.settings.price.closed_lips)
    closures = [turn for turn in turns if is_closure(turn.sound)]
    free: set[int] = set()
    for turn in closures:
        free.update(range(frames_of(job, turn).start - _ON_THE_WAY, _heard_on(job, turn).stop))
    closed = _closed(job, codes)
    shut = {job.mouth_set.by_code[code].shape for code, is_closed in zip(codes, closed, strict=True) if is_closed}
    for frame in _spoken_on(job, shut) - free:
        if frame in place:
            found[place[frame], closed] = price
    for turn in closures:
        shape = {piece.code for piece in job.mouth_set.sizes[turn.shape]}
        others = [at for at, code in enumerate(codes) if code not in shape]
        for frame in frames_of(job, turn):
            if frame in place:
                found[place[frame], others] = price
    return found


def _spoken_on(job: Job, shut: AbstractSet[str]) -> set[int]:
    """Return the frames on which a sound of other shapes than these is heard when their picture is taken."""
    found: set[int] = set()
    for sound in job.sounds:
        if shut.isdisjoint(job.mouth_set.shapes_of(sound.symbol)):
            first, last = (frame_at(us - SHUTTER_US - 1, job.rate) for us in job.seen_us(sound))
            found.update(range(first + 1, last + 1))
    return found


def _closed(job: Job, codes: Sequence[str]) -> Flags:
    """Return for each piece whether it reads as closed lips: P's, B's or M's shape, or a rest as closed."""
    shapes = {shape for symbol in LIPS_CLOSED for shape in job.mouth_set.shapes_of(symbol)}
    pieces = job.mouth_set.by_code
    rest = pieces[job.rests_on]
    shut = {rest.code} if rest.lips.opening < _CLOSED else set()
    return np.array([code in shut or (code in pieces and pieces[code].shape in shapes) for code in codes])


def lip_to_teeth_costs(
    job: Job, turns: Sequence[Turn], spans: Sequence[Overlap], place: Mapping[int, int], codes: Sequence[str]
) -> Whole:
    """Return frames on camera x pieces: what a lip under the teeth costs where no sound of its shape is due."""
    found = np.zeros((len(place), len(codes)), dtype=np.int64)
    due = {(over.frame, turns[over.turn].shape) for over in spans}
    for shape in {shape for symbol in LIP_TO_TEETH for shape in job.mouth_set.shapes_of(symbol)}:
        pieces = {piece.code for piece in job.mouth_set.sizes[shape] if piece.code != job.rests_on}
        columns = [at for at, code in enumerate(codes) if code in pieces]
        rows = [at for frame, at in place.items() if (frame, shape) not in due]
        found[np.ix_(rows, columns)] = whole(job.settings.price.lip_to_teeth)
    return found


def _heard_on(job: Job, turn: Turn) -> range:
    """Return the frames on which a closure is worn or heard, however long."""
    assert turn.sound is not None
    own = frames_of(job, turn)
    return range(own.start, max(own.stop, frame_at(job.seen_us(turn.sound)[1] - 1, job.rate) + 1))
