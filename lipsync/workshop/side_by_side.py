"""Compares two mouth sets, or two settings, on the same scene.

In: the same characters in the same shots twice, with the first and with the second mouth set or settings. Out: a
`SideBySide`. Even a poor set comes near to the lips that it asks for itself. So the visual cost of both tracks is
measured twice: by the lips that the first mouth sets ask for, and by those that the second ones ask for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from lipsync.fit.cost_matrix import UNIT
from lipsync.fit.costs import Weighing
from lipsync.fit.fit_job import Job
from lipsync.fit.lips import ALIKE, AXES, LipsRow, row_distance, row_of
from lipsync.fit.optimum import solve
from lipsync.fit.schedule import turns_of
from lipsync.fit.serving import track_of
from lipsync.fit.weighing import unlike, weigh
from lipsync.track import FrameTrack


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two ways to fit the scene.

    Attributes:
        fittings: how often a piece is put on.
        visual: visual cost, measured by the lips that the first mouth sets ask for.
        cost: visual cost plus the price of the fittings, by the first settings.
        lost: how many sounds that must be seen are not.
        pieces_needed: for each character the number of pieces that unfilmed frames need, over all its puppets.
        tracks: the track of each job.
        visual_tried: the same, measured by the lips that the second mouth sets ask for; None if these are the first.
    """

    fittings: int
    visual: float
    cost: float
    lost: int
    pieces_needed: Mapping[str, int]
    tracks: tuple[FrameTrack, ...]
    visual_tried: float | None = None


@dataclass(frozen=True, slots=True)
class SideBySide:
    """Two ways of fitting the same scene.

    Attributes:
        one: the first way.
        other: the second way.
        frames: frames on camera, over all characters.
        distance: mean distance between the two mouths over all frames (lips.py).
        differing: for each pair of tracks the frames on which the mouths differ.
    """

    one: Side
    other: Side
    frames: int
    distance: float
    differing: tuple[frozenset[int], ...]

    @property
    def frames_that_differ(self) -> int:
        """The number of frames, over all characters, on which the mouths differ."""
        return sum(map(len, self.differing))


def side_by_side(one: Sequence[Job], other: Sequence[Job], puppets: Mapping[str, int]) -> SideBySide:
    """Return two ways of fitting the same scene, compared.

    Args:
        one: the jobs of the first way.
        other: the jobs of the second way, in the same order.
        puppets: how many puppets there are of each character.

    Raises:
        ValueError: if they are not the same characters in shots of the same length.
    """
    pairs = list(zip(one, other, strict=False))
    alike = all((a.character, a.on_camera) == (b.character, b.on_camera) for a, b in pairs)
    if len(one) != len(other) or not alike:
        raise ValueError("both sides need the same characters on the same frames, in the same order")
    ways = [[weigh(job, turns_of(job)) for job in way] for way in (one, other)]
    asked = ways if any(a.mouth_set != b.mouth_set for a, b in pairs) else ways[:1]
    first, second = (_side(way, asked, puppets) for way in ways)
    differing: list[frozenset[int]] = []
    frames = 0
    apart = 0.0
    for (a, b), track, against in zip(pairs, first.tracks, second.tracks, strict=True):
        mouths, others = _Mouths(a, a), _Mouths(b, a)
        differ: set[int] = set()
        for frame, (code, instead) in enumerate(zip(track.pieces, against.pieces, strict=True)):
            if code is None or instead is None:
                continue
            frames += 1
            lips, other_lips = mouths.on(frame, code), others.on(frame, instead)
            unlike = 0.0 if lips is None or other_lips is None else row_distance(lips, other_lips)
            apart += unlike
            if code != instead if a.mouth_set == b.mouth_set else unlike >= ALIKE:
                differ.add(frame)
        differing.append(frozenset(differ))
    return SideBySide(first, second, frames, apart / frames if frames else 0.0, tuple(differing))


class _Mouths:
    """The lips of a job's pieces; on filmed frames those of the first way, with which they were filmed."""

    def __init__(self, job: Job, first: Job) -> None:
        self._filmed = job.filmed
        self._own, self._first = (
            {piece.code: row_of(piece.lips) for piece in one.mouth_set.piece} for one in (job, first)
        )

    def on(self, frame: int, code: str) -> LipsRow | None:
        """Return the lips of a piece on a frame; None if the set does not have it, because it is only on film."""
        return (self._first if frame in self._filmed else self._own).get(code)


def _side(weighings: Sequence[Weighing], asked: Sequence[Sequence[Weighing]], puppets: Mapping[str, int]) -> Side:
    """Return one way, its visual cost measured by one or two ways in `asked`; the first of these is the present."""
    fittings = lost = 0
    visual, cost = [0.0] * len(asked), 0.0
    worn: dict[str, set[str]] = {}
    tracks: list[FrameTrack] = []
    for weighing, *measures in zip(weighings, *asked, strict=True):
        solution = solve(weighing.problem)
        track = track_of(weighing, weighing.pieces(solution.pieces))
        own = weighing.costs(track.pieces)
        tracks.append(track)
        fittings += own.fittings
        lost += own.missed
        mouths = _Mouths(weighing.job, measures[0].job)
        unlike = [_measured(track, mouths, measure) for measure in measures]
        visual = [before + more for before, more in zip(visual, unlike, strict=True)]
        cost += unlike[0] + measures[0].job.settings.price.fitting * own.fittings
        to_come = {code for frame, code in enumerate(track.pieces) if code and frame not in weighing.job.filmed}
        worn.setdefault(track.character, set()).update(to_come)
    needed = {character: len(codes) * puppets.get(character, 1) for character, codes in worn.items()}
    return Side(fittings, visual[0], cost, lost, needed, tuple(tracks), visual[1] if len(visual) > 1 else None)


def _measured(track: FrameTrack, mouths: _Mouths, measure: Weighing) -> float:
    """Return the visual cost of a track, measured by the lips that another mouth set asks for."""
    unknown = (np.nan,) * len(AXES)
    worn = [mouths.on(frame, str(track.pieces[frame])) or unknown for frame in measure.frames]
    rows = np.array(worn).reshape(-1, 1, len(AXES))
    return float(np.rint(unlike(measure.asked, measure.turns, rows, measure.frames) * UNIT).sum()) / UNIT
