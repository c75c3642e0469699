"""When lips are closed, and when the lower lip is under the teeth: one rule for P, B and M, and one for F and V.

    Closed lips are worn from the frame nearest to the start of their sound, on `hold.closed_lips` frames if the sound
    lasts that long; if it is shorter, up to the frame on which it ends; on one frame at least. The sound that follows
    is due when these frames are over, but not later than it is heard: only its lead is shortened. Closed lips, and a
    rest with closed lips, are not worn while other sounds are heard, except on the frame before the closure: lips
    close before their sound. Each frame that departs from this costs `price.closed_lips`.

    The lip is under the teeth only where F or V is due: elsewhere it looks like F or V, and each such frame costs
    `price.lip_to_teeth`.

Common practice, from memory: closed lips fall on the closure itself, and are held for about two frames if it lasts
that long; if frames are short, the neighbouring vowel loses one. So M from 13.01 to 15.80 frames is worn on 13 and 14
at least, B from 48.60 to 50.64 on 49 and 50, B from 26.84 to 28.42 on 27. Of real lips in running speech, two in
three or more are closed on the picture before P or B begins (tests/MEASURED.md).

In: turns. Out: the frames of each closure and what departing from them costs. That each closure is seen at
all, on some frame in the film tolerance, does not depend on prices (rules.py). To miss a stressed vowel costs more
than a frame that departs from the rule. A lip under the teeth right after a closure keeps its whole lead.
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

# Frames before a closure on which the lips may be closed already.
_ON_THE_WAY = 1
# A piece that opens less than this looks closed; chosen.
_CLOSED = 0.06


def is_closure(sound: Sound | None) -> bool:
    """Whether a sound closes the lips."""
    return sound is not None and sound.symbol in LIPS_CLOSED


def kept_until_us(job: Job, sound: Sound, due_us: int) -> int:
    """Return until when the lips stay closed for a sound: the start of the first frame after those of the closure."""
    return frame_start_us(_frames(job, sound, due_us).stop, job.rate) if job.settings.hold.closed_lips else due_us


def after_closure_us(due_us: int, kept_us: int, heard_us: int) -> int:
    """Return when a mouth is due after a closure that lasts until `kept_us`; it is not delayed beyond `heard_us`.

    >>> after_closure_us(due_us=60, kept_us=80, heard_us=100)
    80
    >>> after_closure_us(due_us=60, kept_us=80, heard_us=70)
    70
    """
    return max(due_us, min(kept_us, heard_us))


def frames_of(job: Job, turn: Turn) -> range:
    """Return the frames on which a closure is to be worn; some may lie outside the shot."""
    assert turn.sound is not None
    return _frames(job, turn.sound, turn.due_us)


def _frames(job: Job, sound: Sound, due_us: int) -> range:
    lasts_us, most = sound.end_us - sound.start_us, job.settings.hold.closed_lips
    first = nearest_frame(due_us, job.rate)
    if lasts_us >= frame_start_us(most, job.rate):
        return range(first, first + max(1, most))
    return range(first, max(first + 1, frame_at(due_us + lasts_us, job.rate)))


def closure_costs(job: Job, turns: Sequence[Turn], place: Mapping[int, int], codes: Sequence[str]) -> Whole:
    """Return frames on camera x pieces: what it costs to depart from the rule for closed lips, in whole millionths.

    Args:
        job: the job.
        turns: its turns.
        place: frame on camera -> its row.
        codes: the pieces, in the order of the columns.
    """
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
    """Return the frames on which, when their picture is taken, a sound is heard whose shapes are none of `shut`."""
    found: set[int] = set()
    for sound in job.sounds:
        if shut.isdisjoint(job.mouth_set.shapes_of(sound.symbol)):
            first, last = (frame_at(us - SHUTTER_US - 1, job.rate) for us in job.seen_us(sound))
            found.update(range(first + 1, last + 1))
    return found


def _closed(job: Job, codes: Sequence[str]) -> Flags:
    """Return for each piece whether it looks closed: of the shape of P, B or M, or the rest if it is closed."""
    shapes = {shape for symbol in LIPS_CLOSED for shape in job.mouth_set.shapes_of(symbol)}
    pieces = job.mouth_set.by_code
    rest = pieces[job.rests_on]
    shut = {rest.code} if rest.lips.opening < _CLOSED else set()
    return np.array([code in shut or (code in pieces and pieces[code].shape in shapes) for code in codes])


def lip_to_teeth_costs(
    job: Job, turns: Sequence[Turn], spans: Sequence[Overlap], place: Mapping[int, int], codes: Sequence[str]
) -> Whole:
    """Return frames on camera x pieces: what a lip under the teeth costs where no sound of its shape is due.

    In whole millionths; `place` and `codes` as for `closure_costs`, `spans` are the overlaps of frames and turns.
    """
    found = np.zeros((len(place), len(codes)), dtype=np.int64)
    due = {(over.frame, turns[over.turn].shape) for over in spans}
    for shape in {shape for symbol in LIP_TO_TEETH for shape in job.mouth_set.shapes_of(symbol)}:
        pieces = {piece.code for piece in job.mouth_set.sizes[shape] if piece.code != job.rests_on}
        columns = [at for at, code in enumerate(codes) if code in pieces]
        rows = [at for frame, at in place.items() if (frame, shape) not in due]
        found[np.ix_(rows, columns)] = whole(job.settings.price.lip_to_teeth)
    return found


def _heard_on(job: Job, turn: Turn) -> range:
    """Return the frames on which a closure is to be worn or is heard."""
    assert turn.sound is not None
    own = frames_of(job, turn)
    return range(own.start, max(own.stop, frame_at(job.seen_us(turn.sound)[1] - 1, job.rate) + 1))
