"""Which pieces are worth making: for each number of pieces the set that loses least.

In: a character's jobs over the whole production. Out: a row for each number of pieces, from 4 to all. The loss of a
set is the visual cost if each sound is served by the nearest piece of the set. Each occurrence of a sound is weighted
by how long it lasts and by how much the eye notices it (`turns.eye_weight`); fittings are not counted. Sounds that
must be seen are served only by a piece of their own shape, and the piece on which the character rests is always kept.
The choice is exact (integer_program.py).

Occurrences that ask for the same lips, to a hundredth, are pooled. Each row also has what the real tracks cost with
only the pieces of the set, and how many fittings they take.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lipsync.fit.cost_matrix import FORBIDDEN, Whole
from lipsync.fit.costs import Weighing
from lipsync.fit.fit_job import Job
from lipsync.fit.lips import LipsRow, row_distance, row_of
from lipsync.fit.mouthset import MouthSet
from lipsync.fit.optimum import solve_each
from lipsync.fit.overlap import overlaps
from lipsync.fit.schedule import turns_of
from lipsync.fit.weighing import weigh

_FEWEST = 4

# Lips that are asked for, and the shape that they must be served by; None if any shape may serve them.
_Asked = tuple[LipsRow, str | None]


@dataclass(frozen=True, slots=True)
class ReducedSet:
    """The best set with a given number of pieces.

    Attributes:
        pieces: the number of pieces.
        codes: their codes, in the order of the mouth set.
        loss: visual cost if each sound is served by the nearest piece of the set.
        next_brings: by how much the loss falls with one piece more; None for the whole set.
        visual: visual cost of the real tracks with this set.
        fittings: how often a piece is put on in these tracks.
        lost: how many sounds that must be seen are not seen in these tracks.
        worn: for each job, in order, the piece on each frame of its track with this set.
    """

    pieces: int
    codes: tuple[str, ...]
    loss: float
    next_brings: float | None
    visual: float
    fittings: int
    lost: int
    worn: tuple[tuple[str | None, ...], ...] = ()

    @property
    def not_worn(self) -> tuple[str, ...]:
        """The codes of its pieces that no frame of these tracks wears; none if the tracks are not known."""
        worn = {code for track in self.worn for code in track}
        return tuple(code for code in self.codes if code not in worn) if self.worn else ()


def reduced_sets(jobs: Sequence[Job]) -> tuple[ReducedSet, ...]:
    """Return the best set for each number of pieces; `jobs` are one character's, all with the same mouth set.

    Raises:
        ValueError: if there is no job, or they have different mouth sets.
    """
    if not jobs or any(job.mouth_set != jobs[0].mouth_set for job in jobs):
        raise ValueError("give at least one job, all with the same mouth set")
    from lipsync.workshop.integer_program import Median, medians  # loads the solver, which only this table needs

    mouth_set = jobs[0].mouth_set
    codes = list(mouth_set.by_code)
    weighings = [weigh(job, turns_of(job)) for job in jobs]
    costs = asked_costs(asked(weighings), mouth_set)
    rests = frozenset(codes.index(job.rests_on) for job in jobs)
    counts = range(min(_FEWEST, len(codes)), len(codes) + 1)
    chosen = medians(Median(costs, rests), counts)
    losses = {count: loss_of(costs, kept) for count, kept in chosen.items()}
    rows: list[ReducedSet] = []
    for (count, kept), real in zip(chosen.items(), _real(weighings, list(chosen.values())), strict=True):
        brings = losses[count] - losses[count + 1] if count + 1 in losses else None
        rows.append(ReducedSet(count, tuple(codes[at] for at in kept), losses[count], brings, *real))
    return tuple(rows)


def asked(weighings: Sequence[Weighing]) -> dict[_Asked, float]:
    """Return the lips that are asked for on camera, each with its weight: frames times how much the eye notices."""
    weights: defaultdict[_Asked, float] = defaultdict(float)
    for weighing in weighings:
        filled: defaultdict[int, float] = defaultdict(float)
        seen = weighing.job.seen
        for over in overlaps(weighing.turns, len(seen), weighing.job.rate):
            if seen[over.frame]:
                filled[over.turn] += over.share
        for index, frames in filled.items():
            turn = weighing.turns[index]
            lips = tuple(round(value, 2) for value in turn.lips)
            weights[lips, turn.shape if turn.must_be_seen else None] += frames * turn.weight
    return dict(weights)


def asked_costs(
    wanted: dict[_Asked, float], mouth_set: MouthSet
) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Return the loss of each piece on each pooled occurrence, (occurrences, pieces); infinity if not allowed."""
    return np.array(
        [
            [
                np.inf
                if shape is not None and piece.shape != shape
                else weight * row_distance(row_of(piece.lips), lips)
                for piece in mouth_set.piece
            ]
            for (lips, shape), weight in wanted.items()
        ]
    ).reshape(len(wanted), len(mouth_set.piece))


def loss_of(costs: np.ndarray[tuple[int, int], np.dtype[np.float64]], kept: Sequence[int]) -> float:
    """Return the loss of a set, with each occurrence served by its nearest piece; `kept` are column indices."""
    return float(costs[:, list(kept)].min(axis=1).sum())


# The real tracks with a set: visual cost, fittings, lost sounds, and the piece on each frame.
_Real = tuple[float, int, int, tuple[tuple[str | None, ...], ...]]


def _real(weighings: Sequence[Weighing], sets: Sequence[Sequence[int]]) -> list[_Real]:
    """Return for each set the real tracks made with only its pieces."""
    results: list[_Real] = [(0.0, 0, 0, ())] * len(sets)
    for weighing in weighings:
        own = len(weighing.job.mouth_set.piece)
        unlikes = (_only(weighing.problem.unlike, kept, own) for kept in sets)
        for at, solution in enumerate(solve_each(weighing.problem, unlikes)):
            pieces = weighing.pieces(solution.pieces)
            costs = weighing.costs(pieces)
            visual, fittings, lost, worn = results[at]
            results[at] = (
                visual + costs.visual,
                fittings + costs.fittings,
                lost + costs.missed,
                (*worn, tuple(pieces)),
            )
    return results


def _only(unlike: Whole, kept: Sequence[int], own: int) -> Whole:
    """Return the costs with all pieces forbidden that are not kept; pieces that are only on film stay allowed."""
    left = unlike.copy()
    left[:, [piece for piece in range(own) if piece not in kept]] = FORBIDDEN
    # Where nothing is allowed any more, the frame was filmed or pinned with a piece that is not kept.
    stuck = (left >= FORBIDDEN).all(axis=1)
    left[stuck] = unlike[stuck]
    return left
