"""What pieces are compared with on each frame: the lips of the model, mixed with the studio's own shapes.

In: a job and its turns. Out: `AskedLips`: for each frame a row of what lips do (lips.py), how unsure that
is, and the share of each turn.

Opening and width come from the model of lips in time (lips_in_time.py), scaled to the measure of pieces: a speaker's
wide opening is `WIDE`, the middle of a speaker's width is `MIDDLE_WIDTH`, and one standard deviation of it is
`WIDTH_STEP`. Rounding, teeth and tongue could not be measured: they are those of the shapes that the studio's table
gives to the sounds, each by its share. The table counts in opening and width too: the target of a sound lies between
the model's lips and its own shape, by `OWN_SHARE` toward the shape. From a length of `RUNNING_US` on the part of the
shape grows, until from `HELD_US` on the shape alone is the target. Cues and rests have the lips of their shape.

A lead moves a sound's whole gesture; at 0 a frame shows what a camera would have filmed on it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from lipsync.fit.cue_lips import cue_moves
from lipsync.fit.fit_job import SHUTTER_US, Job
from lipsync.fit.lips import AXES
from lipsync.fit.lips_in_time import (
    Floats,
    Gesture,
    LipsInTime,
    Shares,
    keys_of,
    lips_in_time,
    opened_by,
    shipped_model,
)
from lipsync.fit.schedule import FIRST_SHARE_PERCENT
from lipsync.fit.turns import Turn
from lipsync.phonemes import SILENCE, VOWELS
from lipsync.timing import frame_start_us

# From the measure of the model to that of pieces. Chosen: spoken vowels get the middle sizes of the open mouth and
# the widest is left for a shout; and the widths of the pieces in the sets that ship, 0.1 to 0.95, are two standard
# deviations to either side.
WIDE = 0.8
MIDDLE_WIDTH, WIDTH_STEP = 0.55, 0.21

# The part of a sound's own shape in its target, the rest being the lips of the model: chosen, see tests/MEASURED.md.
OWN_SHARE = 0.05
# Chosen: sounds in running speech last up to about 0.2 s; a vowel of half a second is held.
RUNNING_US, HELD_US = 200_000, 500_000

_FOR_EVER_US = 1 << 60  # the end of a rest that nothing follows

_OPENING, _WIDTH = list(AXES).index("opening"), list(AXES).index("width")
_BY_WIDTH = ("rounding",)  # the axes that follow the shares of the width; all others those of the opening


@dataclass(frozen=True, slots=True)
class AskedLips:
    """What lips do on each frame.

    Attributes:
        rows: frames x AXES.
        unsure: for each frame the standard deviation of what lips do, as a distance (lips.py).
        opening_shares: each turn's share of the opening.
        width_shares: each turn's share of the width.
    """

    rows: Floats
    unsure: Floats
    opening_shares: Shares
    width_shares: Shares

    def at_most(self, turns: int) -> Floats:
        """Return turns x AXES: what lips do on the frame of each turn's largest share; nan for a turn without one."""
        order = np.lexsort((-self.opening_shares.moment, self.opening_shares.share))
        found = np.full((turns, self.rows.shape[1]), np.nan)
        # Of several values for one turn the last is kept: that of the largest share, and of equal ones the first
        # frame.
        found[self.opening_shares.gesture[order]] = self.rows[self.opening_shares.moment[order]]
        return found

    def weights_on(self, frame: int) -> dict[int, float]:
        """Return turn -> its share of the opening on a frame; the opening counts, since the eye follows the jaw."""
        found: dict[int, float] = {}
        for at in np.flatnonzero(self.opening_shares.moment == frame):
            turn = int(self.opening_shares.gesture[at])
            found[turn] = found.get(turn, 0.0) + float(self.opening_shares.share[at])
        return found


def asked_lips(job: Job, turns: Sequence[Turn]) -> AskedLips:
    """Return what lips do on each frame of a shot."""
    frames = len(job.on_camera)
    moments_us = [frame_start_us(frame, job.rate) + SHUTTER_US for frame in range(frames)]
    pairs = sorted(_gestures(job, turns), key=lambda pair: (pair[1].start_us, pair[1].end_us))
    turn_of = np.array([turn for turn, _ in pairs], dtype=np.intp)
    lips = lips_in_time([gesture for _, gesture in pairs], moments_us, shipped_model())
    opening, width = (
        replace(shares, gesture=turn_of[shares.gesture]) for shares in (lips.opening_shares, lips.width_shares)
    )
    rows = np.zeros((frames, len(AXES)))
    shapes = np.array([turn.lips for turn in turns])
    for at, axis in enumerate(AXES):
        rows[:, at] = (width if axis in _BY_WIDTH else opening).sum_of(shapes[:, at], frames)
    rows[:, _OPENING] = WIDE * lips.opening
    rows[:, _WIDTH] = MIDDLE_WIDTH + WIDTH_STEP * lips.width
    cue_moves(job, rows, opening, turns)
    return AskedLips(np.clip(rows, 0.0, 1.0), _unsure(lips), opening, width)


def _unsure(lips: LipsInTime) -> Floats:
    weights = list(AXES.values())
    opening, width = WIDE * lips.opening_unsure, WIDTH_STEP * lips.width_unsure
    return np.asarray(np.sqrt(weights[_OPENING] * opening**2 + weights[_WIDTH] * width**2))


def _gestures(job: Job, turns: Sequence[Turn]) -> Iterator[tuple[int, Gesture]]:
    """Yield each gesture, with the index of the turn whose shape it takes."""
    over_us = turns[0].due_us
    for index, turn in enumerate(turns):
        if turn.sound is None:
            after = turns[index + 1] if index + 1 < len(turns) else None
            end_us = _FOR_EVER_US if after is None or after.sound is None else job.seen_us(after.sound)[0]
            yield index, Gesture(SILENCE, over_us, max(over_us, end_us), target=_target(turn))
        else:
            over_us = max(over_us, job.seen_us(turn.sound)[1])
            if not turn.second:
                yield from _of_sound(job, turns, index)


def _of_sound(job: Job, turns: Sequence[Turn], index: int) -> Iterator[tuple[int, Gesture]]:
    turn = turns[index]
    sound = turn.sound
    assert sound is not None
    begin_us, end_us = job.seen_us(sound)
    if sound.is_cue:
        yield index, Gesture("AH", begin_us, end_us, target=_target(turn))
        return
    keys = keys_of(sound.symbol, sound.stress)
    after = index + 1 if index + 1 < len(turns) and turns[index + 1].second else index
    middle_us = begin_us + (end_us - begin_us) * FIRST_SHARE_PERCENT // 100
    parts = (
        [(index, begin_us, middle_us), (after, middle_us, end_us)] if len(keys) == 2 else [(index, begin_us, end_us)]
    )
    for key, (own, from_us, to_us) in zip(keys, parts, strict=True):
        yield own, Gesture(key, from_us, to_us, target=_blend(key, turns[own], end_us - begin_us))


def _target(turn: Turn) -> tuple[float, float]:
    """Return opening and width of a turn's shape in the measure of the model."""
    return turn.lips[_OPENING] / WIDE, (turn.lips[_WIDTH] - MIDDLE_WIDTH) / WIDTH_STEP


def _blend(key: str, turn: Turn, lasts_us: int) -> tuple[float, float]:
    """Return the target of a sound: between the model's lips and its shape's.

    The longer the sound lasts, the nearer it is to the shape.

    The model's lips are opened by the size of the mouth; the lips of the turn are already those of that size.
    """
    assert turn.sound is not None
    held = min(1.0, max(0.0, (lasts_us - RUNNING_US) / (HELD_US - RUNNING_US)))
    own = OWN_SHARE + (1 - OWN_SHARE) * held
    model = shipped_model()
    (opening, width), (own_opening, own_width) = model.targets[key], _target(turn)
    if turn.sound.symbol in VOWELS:
        opening += opened_by(turn.size, model)
    return (1 - own) * opening + own * own_opening, (1 - own) * width + own * own_width
