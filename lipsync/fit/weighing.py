"""Makes the numbers that the optimum is found for.

In: a job and its turns. Out: a `Weighing` (costs.py), for the frames on camera only.

How unlike a piece is to what a frame should show: its distance (lips.py) from what lips do on that frame
(asked_lips.py), reduced where that is unsure, times how much the frame's sounds matter to the eye
(`turns.eye_weight`, each sound by its share of the lips).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lipsync.fit.asked_lips import AskedLips, asked_lips
from lipsync.fit.closures import closure_costs, lip_to_teeth_costs
from lipsync.fit.cost_matrix import UNIT, CostMatrix, Whole, whole
from lipsync.fit.costs import Weighing
from lipsync.fit.fit_job import Job
from lipsync.fit.lips import AXES, row_of
from lipsync.fit.lips_in_time import Floats
from lipsync.fit.overlap import SPREAD_US, overlaps
from lipsync.fit.rules import allowed_on, closures_of, demands_of, resting, ruled
from lipsync.fit.serving import seen_in
from lipsync.fit.turns import Turn


def weigh(job: Job, turns: Sequence[Turn]) -> Weighing:
    """Return a job as numbers, with the problem that optimum.py solves."""
    seen = job.seen
    frames = tuple(frame for frame, on in enumerate(seen) if on)
    place = {frame: at for at, frame in enumerate(frames)}
    codes = tuple(dict.fromkeys([*job.mouth_set.by_code, *(code for code in job.filmed.values() if code)]))
    spans = tuple(over for over in overlaps(turns, len(seen), job.rate, SPREAD_US) if seen[over.frame])
    asked = asked_lips(job, turns)
    main = _main_turns(asked)
    visual = np.rint(unlike(asked, turns, lips_of_pieces(job, codes), frames) * UNIT).astype(np.int64)
    closed = closure_costs(job, turns, place, codes) + lip_to_teeth_costs(job, turns, spans, place, codes)
    shown_by = seen_in(job, turns, asked.at_most(len(turns)))
    demands, must = demands_of(job, turns, shown_by, place, codes)
    price, hold = job.settings.price, job.settings.hold
    change, unseen_change = _change(job, codes)
    problem = CostMatrix(
        unlike=ruled(job, resting(job, turns, place), place, codes, visual + closed),
        change=change,
        unseen_change=unseen_change,
        allowed=tuple(allowed_on(job, seen, frame) for frame in frames),
        unseen=tuple(at > 0 and frames[at - 1] != frame - 1 for at, frame in enumerate(frames)),
        closures=closures_of(job, codes),
        shortest=hold.shortest,
        short_price=whole(price.short_hold),
        longest=hold.longest,
        long_price=_long_price([main[frame] for frame in frames], turns, hold.longest, whole(price.long_hold)),
        demands=demands,
    )
    return Weighing(job, tuple(turns), frames, codes, asked, shown_by, spans, visual, closed, must, problem)


def lips_of_pieces(job: Job, codes: Sequence[str]) -> Floats:
    """Return codes x AXES: what the lips of each piece do; nan for filmed pieces that are not in the set."""
    pieces = job.mouth_set.by_code
    unknown = (np.nan,) * len(AXES)
    return np.array([row_of(pieces[code].lips) if code in pieces else unknown for code in codes])


def unlike(asked: AskedLips, turns: Sequence[Turn], pieces: Floats, frames: Sequence[int]) -> Floats:
    """Return frames x pieces: how unlike pieces are to what lips do on these frames, 0 for pieces without known lips.

    With d the distance of a piece from what lips do, and s the standard deviation of what lips do, this is
    sqrt(d² + s²) - s. So a small distance counts little where s is large; a large distance counts nearly in full
    everywhere.

    Args:
        asked: what lips do.
        turns: the turns of the shot.
        pieces: pieces x AXES, or frames x pieces x AXES if other pieces are compared on each frame.
        frames: the frames of the shot that are compared.
    """
    rows, unsure = asked.rows[list(frames), None], asked.unsure[list(frames), None]
    squares = ((rows - pieces) ** 2 * np.array(list(AXES.values()))).sum(axis=2)
    matter = asked.opening_shares.sum_of(np.array([turn.weight for turn in turns]), len(asked.rows))
    return np.asarray(np.nan_to_num(matter[list(frames), None] * (np.sqrt(squares + unsure**2) - unsure)))


def _main_turns(asked: AskedLips) -> list[int]:
    """Return for each frame the index of the turn with the largest share of the opening; -1 if there is none."""
    shares = asked.opening_shares
    found = np.full(len(asked.rows), -1, dtype=np.intp)
    order = np.lexsort((shares.gesture, shares.share))
    found[shares.moment[order]] = shares.gesture[order]
    return [int(turn) for turn in found]


def _change(job: Job, codes: Sequence[str]) -> tuple[Whole, Whole]:
    """Return pieces x pieces: what a fitting costs on camera, and what it costs off camera, where no leap is seen."""
    rows = np.zeros((len(codes), len(AXES)))
    for at, piece in enumerate(job.mouth_set.piece):
        rows[at] = row_of(piece.lips)
    squares = sum(w * (rows[:, None, axis] - rows[None, :, axis]) ** 2 for axis, w in enumerate(AXES.values()))
    leap = np.maximum(0.0, np.sqrt(squares) - job.settings.far)
    known = np.arange(len(codes)) < len(job.mouth_set.piece)
    leap[~known] = leap[:, ~known] = 0.0
    price = job.settings.price
    unseen = np.full(leap.shape, whole(price.fitting), dtype=np.int64)
    return unseen + np.rint(price.jump * leap * UNIT).astype(np.int64), unseen


def _long_price(main: Sequence[int], turns: Sequence[Turn], longest: int, price: int) -> Whole:
    """Return what each frame costs beyond the longest hold: 0 in a rest, and while the main sound has not changed."""
    return np.array(
        [
            price
            if at >= longest and main[at - longest] != turn and turn >= 0 and turns[turn].sound is not None
            else 0
            for at, turn in enumerate(main)
        ],
        dtype=np.int64,
    )
