"""Why a frame wears the piece that it wears.

In come a job and a frame, out comes `Why`: the phonemes that compete for the frame, with their weights; for each
piece how unlike it is to them, and by how much the least cost of the whole shot rises if this frame has to wear it;
and in one sentence what decided (reason.py). The rise is exact: the shot is fitted again for each piece.

What a sound fills of a frame can be worked out by hand: it has the mouth from its start less its lead, which takes
at most half of the sound before it, to that of the next sound, where a silence has no lead and closures keep their
frames (closures.py). What it counts is another thing: `turns.eye_weight` times its overlap with a frame whose edges
are blurred by 10 ms (overlap.py) and shifted by 10 ms (20 ms between vowels, not at all for closures: schedule.py),
and, for a vowel, what consonants near by leave it of the lips: coarticulation.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import accumulate

from lipsync.fit.cost_matrix import FORBIDDEN, UNIT
from lipsync.fit.costs import Weighing
from lipsync.fit.fit_job import Job
from lipsync.fit.optimum import Solution, solve
from lipsync.fit.overlap import claims_on, overlaps
from lipsync.fit.reason import PieceCost, decided
from lipsync.fit.schedule import turns_of
from lipsync.fit.weighing import weigh
from lipsync.track import Sound


@dataclass(frozen=True, slots=True)
class Competing:
    """A sound, or a rest, with a claim on the frame.

    Attributes:
        sound: the sound; None for a rest.
        shape: the shape that it asks for.
        share: how much of the frame it fills, after its lead, up to 1: plain overlap. 0 for a sound near by.
        weight: how much its lips count on the frame.
        coarticulation: how much of that weight consonants leave to it, as to a vowel near by.
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
        decided: one sentence.
        competing: what has a claim on it, the strongest first.
        pieces: every piece, the cheapest over the whole shot first.
    """

    frame: int
    code: str
    decided: str
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
    claims: dict[int, float] = {}
    left: dict[int, float] = {}
    for over in weighing.overlaps:
        if over.frame == frame:
            for claim in claims_on(weighing.turns, over):
                claims[claim.turn] = claims.get(claim.turn, 0.0) + claim.weight
                if claim.turn != over.turn:
                    left[claim.turn] = left.get(claim.turn, 0.0) + claim.weight
    shares = _fills(weighing, frame)
    found = [
        Competing(
            weighing.turns[turn].sound,
            weighing.turns[turn].shape,
            shares.get(turn, 0.0),
            claims.get(turn, 0.0),
            left.get(turn, 0.0),
        )
        for turn in sorted({*claims, *shares})
    ]
    return tuple(sorted(found, key=lambda one: -one.weight))


def _fills(weighing: Weighing, frame: int) -> dict[int, float]:
    """Return how much of a frame each turn fills, after its lead."""
    due = accumulate((turn.due_us for turn in weighing.turns), max)
    plain = [replace(turn, start_us=due_us) for turn, due_us in zip(weighing.turns, due, strict=True)]
    return {over.turn: over.share for over in overlaps(plain, frame + 1, weighing.job.rate) if over.frame == frame}
