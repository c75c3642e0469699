"""From a job and its turns to the numbers that the optimum is found for.

In come a job and its turns, out comes a `Weighing` (costs.py), on the frames on camera only.

A mouth is the more unlike a frame's sounds the further it is from their lips (lips.py), each weighted by overlap and
by `turns.eye_weight`; a consonant leaves a part of the lips to the vowels around it (phonemes.py).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from lipsync.fit.closures import closure_costs, lip_to_teeth_costs
from lipsync.fit.cost_matrix import CostMatrix, Whole
from lipsync.fit.costs import UNIT, Distances, Weighing, whole
from lipsync.fit.fit_job import Job
from lipsync.fit.lips import AXES, row_of
from lipsync.fit.overlap import SPREAD_US, Overlap, claims_on, overlaps
from lipsync.fit.rules import allowed_on, closures_of, demands_of, resting, ruled
from lipsync.fit.turns import Turn


def weigh(job: Job, turns: Sequence[Turn]) -> Weighing:
    """Return a job as numbers."""
    seen = job.seen
    frames = tuple(frame for frame, on in enumerate(seen) if on)
    place = {frame: at for at, frame in enumerate(frames)}
    codes = tuple(dict.fromkeys([*job.mouth_set.by_code, *(code for code in job.filmed.values() if code)]))
    spans = tuple(over for over in overlaps(turns, len(seen), job.rate, SPREAD_US) if seen[over.frame])
    distances = _distances(job, turns, len(codes))
    main = _main_turns(turns, spans, len(seen))
    visual = _visual(turns, spans, place, distances)
    closed = closure_costs(job, turns, place, codes) + lip_to_teeth_costs(job, turns, spans, place, codes)
    demands, must = demands_of(job, turns, seen, place, codes)
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
    return Weighing(job, tuple(turns), frames, codes, distances, spans, visual, closed, must, problem)


def _distances(job: Job, turns: Sequence[Turn], columns: int) -> Distances:
    """Return how unlike each piece is to each turn's lips; 0 for pieces that are only on film."""
    pieces = np.array([row_of(piece.lips) for piece in job.mouth_set.piece])
    lips = np.array([turn.lips for turn in turns])
    squares = np.zeros((len(turns), len(pieces)))
    for axis, weight in enumerate(AXES.values()):
        squares += weight * (lips[:, axis, None] - pieces[None, :, axis]) ** 2
    found = np.zeros((len(turns), columns))
    found[:, : len(pieces)] = np.sqrt(squares)
    return found


def _main_turns(turns: Sequence[Turn], spans: Sequence[Overlap], frames: int) -> list[int]:
    """Return for each frame the turn that matters most to the eye."""
    best = [(0.0, 0)] * frames
    for over in spans:
        claim = turns[over.turn].weight * over.share
        if claim > best[over.frame][0]:
            best[over.frame] = (claim, over.turn)
    return [turn for _, turn in best]


def _visual(turns: Sequence[Turn], spans: Sequence[Overlap], place: Mapping[int, int], distances: Distances) -> Whole:
    """Return frames x pieces: how unlike each piece is to what the lips do on the frame."""
    found = np.zeros((len(place), distances.shape[1]))
    claims = [claim for over in spans for claim in claims_on(turns, over)]
    if claims:
        rows = np.array([claim.weight for claim in claims])[:, None] * distances[[claim.turn for claim in claims]]
        np.add.at(found, [place[claim.frame] for claim in claims], rows)
    return np.rint(found * UNIT).astype(np.int64)


def _change(job: Job, codes: Sequence[str]) -> tuple[Whole, Whole]:
    """Return what it costs to put one piece on after another: on camera, and off camera, where no leap is seen."""
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
    """Return what each frame costs beyond a long hold: nothing in silence or while one sound lasts."""
    return np.array(
        [
            price if at >= longest and main[at - longest] != turn and turns[turn].sound is not None else 0
            for at, turn in enumerate(main)
        ],
        dtype=np.int64,
    )
