"""What changes when a table changes: two mouth sets, or two settings, on the same scene.

In come the same characters in the same shots twice, with the one and with the other mouth set or settings; out comes
`SideBySide`. A set is near to what it asks for itself, however poor it is; so both tracks' visual cost is measured
twice, by the lips that the first one's mouth sets ask for and by those that the second one's do.
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
    """One of the two.

    Attributes:
        fittings: how often a piece is put on.
        visual: how unlike its mouths are to what the first mouth sets ask for.
        cost: visual cost, and its fittings at the price that the first one gives them.
        lost: sounds that must be seen and are not.
        pieces_needed: for each character the pieces that frames not yet filmed need, over all its puppets.
        tracks: what each job came to.
        visual_tried: how unlike its mouths are to what the second mouth sets ask for; None where they are the first.
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
        one: the first.
        other: the second.
        frames: frames on camera, over all characters.
        distance: mean distance between the two mouths over all frames (lips.py).
        differing: for each pair of tracks the frames on which another mouth is worn.
    """

    one: Side
    other: Side
    frames: int
    distance: float
    differing: tuple[frozenset[int], ...]

    @property
    def frames_that_differ(self) -> int:
        """On how many frames, over all characters, another mouth is worn."""
        return sum(map(len, self.differing))


def side_by_side(one: Sequence[Job], other: Sequence[Job], puppets: Mapping[str, int]) -> SideBySide:
    """Return two ways of fitting side by side; the jobs stand in the same order, `puppets` by character.

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
    """What the lips do in a job's pieces; what is filmed was filmed in the first way's, whatever is tried."""

    def __init__(self, job: Job, first: Job) -> None:
        self._filmed = job.filmed
        self._own, self._first = (
            {piece.code: row_of(piece.lips) for piece in one.mouth_set.piece} for one in (job, first)
        )

    def on(self, frame: int, code: str) -> LipsRow | None:
        """Return the lips of a piece on a frame; None where the set does not have it, for it is only on film."""
        return (self._first if frame in self._filmed else self._own).get(code)


def _side(weighings: Sequence[Weighing], asked: Sequence[Sequence[Weighing]], puppets: Mapping[str, int]) -> Side:
    """Return one way, its visual cost by what each of one or two ways asks for; the first is the present one."""
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
    """Return how unlike a track is to what the measuring mouth set asks for."""
    unknown = (np.nan,) * len(AXES)
    worn = [mouths.on(frame, str(track.pieces[frame])) or unknown for frame in measure.frames]
    rows = np.array(worn).reshape(-1, 1, len(AXES))
    return float(np.rint(unlike(measure.asked, measure.turns, rows, measure.frames) * UNIT).sum()) / UNIT
