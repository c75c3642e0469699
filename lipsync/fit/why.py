"""Why a frame wears its piece.

In: a job and a frame. Out: `Why`: the sounds that compete for the frame, with their weights; for each piece
how unlike it is to what the lips do, and by how much the least cost of the whole shot rises if this frame has to wear
it; and in one sentence what decided (reason.py). The rise is exact: the shot is fitted again for each piece.

Two numbers of a sound differ. The part of the frame that it fills can be worked out by hand: a sound has the mouth
from its start less its lead up to that of the next sound; a lead takes at most half of the sound before it, a silence
has no lead, and closures keep their frames (closures.py). Its weight is its share of the opening of the lips when the
frame's picture is taken (asked_lips.py); the weights of all sounds sum to 1. A sound with a weight that fills nothing
of the frame begins later or has ended before: that is coarticulation.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import accumulate

from lipsync.fit.cost_matrix import FORBIDDEN, UNIT
from lipsync.fit.costs import Weighing
from lipsync.fit.fit_job import Job
from lipsync.fit.lips import AXES
from lipsync.fit.optimum import Solution, solve
from lipsync.fit.overlap import overlaps
from lipsync.fit.reason import PieceCost, decided, lips_on
from lipsync.fit.schedule import turns_of
from lipsync.fit.weighing import weigh
from lipsync.track import Sound

# A sound with a smaller weight that fills nothing of the frame is left out. Chosen.
_LEAST_SHOWN = 0.02


@dataclass(frozen=True, slots=True)
class Competing:
    """A sound, or a rest, that competes for the frame.

    Attributes:
        sound: the sound; None for a rest.
        shape: the shape that the mouth set gives it.
        share: the part of the frame that it fills, its lead included, 0 to 1.
        weight: its share of the opening of the lips, 0 to 1.
        coarticulation: its weight if it fills nothing of the frame; else 0.
    """

    sound: Sound | None
    shape: str
    share: float
    weight: float
    coarticulation: float = 0.0


@dataclass(frozen=True, slots=True)
class Why:
    """What decided on a frame.

    Attributes:
        frame: the frame, from 0 in the shot.
        code: the piece that it wears.
        decided: why it wears the piece, in one sentence.
        lips: what the lips do on it, in one sentence.
        asked: what the lips do on it, as numbers by the names of AXES.
        competing: the sounds that compete for it, the largest weight first.
        pieces: every piece, the one with which the whole shot costs least first.
    """

    frame: int
    code: str
    decided: str
    lips: str
    asked: Mapping[str, float]
    competing: tuple[Competing, ...]
    pieces: tuple[PieceCost, ...]


def why(job: Job, frame: int) -> Why:
    """Return why a frame wears its piece.

    Raises:
        ValueError: if the shot has no such frame, or the character is off camera on it.
    """
    if not 0 <= frame < len(job.on_camera):
        raise ValueError(f"there is no frame {frame}; the shot has frames 0 to {len(job.on_camera) - 1}")
    if not job.seen[frame]:
        raise ValueError(f"{job.character} is off camera on frame {frame}, so no piece is chosen for it")
    weighing = weigh(job, turns_of(job))
    best = solve(weighing.problem)
    at = weighing.frames.index(frame)
    pieces = [_piece_cost(weighing, best, at, column) for column in range(len(weighing.codes))]
    chosen = best.pieces[at]
    return Why(
        frame,
        weighing.codes[chosen],
        decided(weighing, best, at, pieces),
        lips_on(weighing, frame),
        {axis: float(value) for axis, value in zip(AXES, weighing.asked.rows[frame], strict=True)},
        _competing(weighing, frame),
        tuple(
            sorted(pieces, key=lambda p: (p.more is None, p.more or 0.0, p.code != weighing.codes[chosen], p.unlike))
        ),
    )


def _piece_cost(weighing: Weighing, best: Solution, at: int, column: int) -> PieceCost:
    code, unlike = weighing.codes[column], int(weighing.visual[at, column]) / UNIT
    if best.pieces[at] == column:
        return PieceCost(code, unlike, 0.0)
    if weighing.problem.unlike[at, column] >= FORBIDDEN:
        return PieceCost(code, unlike, None)
    forced = weighing.problem.unlike.copy()
    forced[at] = FORBIDDEN
    forced[at, column] = weighing.problem.unlike[at, column]
    cost = solve(replace(weighing.problem, unlike=forced)).cost
    return PieceCost(code, unlike, None if cost >= FORBIDDEN else (cost - best.cost) / UNIT)


def _competing(weighing: Weighing, frame: int) -> tuple[Competing, ...]:
    weights, fills = weighing.asked.weights_on(frame), _fills(weighing, frame)
    found = [
        Competing(
            weighing.turns[turn].sound,
            weighing.turns[turn].shape,
            fills.get(turn, 0.0),
            weights.get(turn, 0.0),
            0.0 if turn in fills else weights.get(turn, 0.0),
        )
        for turn in sorted({*(turn for turn, weight in weights.items() if weight >= _LEAST_SHOWN), *fills})
    ]
    return tuple(sorted(found, key=lambda one: -one.weight))


def _fills(weighing: Weighing, frame: int) -> dict[int, float]:
    """Return turn -> the part of a frame that it fills, its lead included."""
    due = accumulate((turn.due_us for turn in weighing.turns), max)
    plain = [replace(turn, start_us=due_us) for turn, due_us in zip(weighing.turns, due, strict=True)]
    return {over.turn: over.share for over in overlaps(plain, frame + 1, weighing.job.rate) if over.frame == frame}
