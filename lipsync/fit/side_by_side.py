"""What changes when a table changes: two mouth sets, or two settings, on the same scene.

In come the same characters in the same shots twice, with the one and with the other mouth set or settings; out comes
`SideBySide`. Both tracks' visual cost is measured by the lips that the first one's mouth set asks for: by its own
measure a poor set is always near to what it asks for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lipsync.fit.costs import UNIT, Weighing
from lipsync.fit.job import Job
from lipsync.fit.lips import Row, row_distance, row_of
from lipsync.fit.optimum import solve
from lipsync.fit.overlap import claims_on
from lipsync.fit.schedule import turns_of
from lipsync.fit.serving import track_of
from lipsync.fit.weighing import weigh
from lipsync.track import FrameTrack


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two.

    Attributes:
        fittings: how often a piece is put on.
        visual: how unlike its mouths are to what the first mouth set asks for.
        cost: visual cost, and its fittings at the price that the first one gives them.
        lost: sounds that must be seen and are not.
        pieces_needed: for each character the pieces that it needs, over all its puppets.
        tracks: what each job came to.
    """

    fittings: int
    visual: float
    cost: float
    lost: int
    pieces_needed: Mapping[str, int]
    tracks: tuple[FrameTrack, ...]


@dataclass(frozen=True, slots=True)
class SideBySide:
    """Two ways of fitting the same scene.

    Attributes:
        one: the first, by whose mouth set both are measured.
        other: the second.
        frames: frames on camera, over all characters.
        frames_that_differ: those on which the pieces have different codes.
        distance: mean distance between the two mouths over all frames (lips.py).
    """

    one: Side
    other: Side
    frames: int
    frames_that_differ: int
    distance: float


def side_by_side(one: Sequence[Job], other: Sequence[Job], puppets: Mapping[str, int]) -> SideBySide:
    """Return two ways of fitting side by side; the jobs stand in the same order, `puppets` by character.

    Raises:
        ValueError: if they are not the same characters in shots of the same length.
    """
    pairs = list(zip(one, other, strict=False))
    alike = all((a.character, a.on_camera) == (b.character, b.on_camera) for a, b in pairs)
    if len(one) != len(other) or not alike:
        raise ValueError("both sides need the same characters on the same frames, in the same order")
    measures = [weigh(job, turns_of(job)) for job in one]
    weighings = [measures, [weigh(job, turns_of(job)) for job in other]]
    first, second = (_side(side, measures, puppets) for side in weighings)
    differ = frames = 0
    apart = 0.0
    for (a, b), track, against in zip(pairs, first.tracks, second.tracks, strict=True):
        lips, others = _lips(a), _lips(b)
        for code, instead in zip(track.pieces, against.pieces, strict=True):
            if code is None or instead is None:
                continue
            frames += 1
            differ += code != instead
            if code in lips and instead in others:
                apart += row_distance(lips[code], others[instead])
    return SideBySide(first, second, frames, differ, apart / frames if frames else 0.0)


def _lips(job: Job) -> dict[str, Row]:
    return {piece.code: row_of(piece.lips) for piece in job.mouth_set.piece}


def _side(weighings: Sequence[Weighing], measures: Sequence[Weighing], puppets: Mapping[str, int]) -> Side:
    fittings = lost = 0
    visual = cost = 0.0
    worn: dict[str, set[str]] = {}
    tracks: list[FrameTrack] = []
    for weighing, measure in zip(weighings, measures, strict=True):
        solution = solve(weighing.problem)
        track = track_of(weighing.job, weighing.turns, weighing.pieces(solution.pieces))
        own = weighing.costs(track.pieces)
        tracks.append(track)
        fittings += own.fittings
        lost += own.missed
        unlike = _measured(track, weighing.job, measure)
        visual += unlike
        cost += unlike + measure.job.settings.price.fitting * own.fittings
        worn.setdefault(track.character, set()).update(code for code in track.pieces if code is not None)
    needed = {character: len(codes) * puppets.get(character, 1) for character, codes in worn.items()}
    return Side(fittings, visual, cost, lost, needed, tuple(tracks))


def _measured(track: FrameTrack, job: Job, measure: Weighing) -> float:
    """Return how unlike a track is to what the measuring mouth set asks for."""
    lips = _lips(job)
    total = 0
    for over in measure.overlaps:
        code = track.pieces[over.frame]
        if code in lips:
            for claim in claims_on(measure.turns, over):
                total += round(claim.weight * row_distance(lips[code], measure.turns[claim.turn].lips) * UNIT)
    return total / UNIT
