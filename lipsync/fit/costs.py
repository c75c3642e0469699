"""What a track costs, item by item, in the unit of fit_settings.py.

In: a `Weighing`, a job as numbers in whole millionths of that unit (weighing.py makes it), and a track. Out: come
its `Costs`. They are counted along the track, independently of how the optimum counts (optimum.py).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from lipsync.fit.asked_lips import AskedLips
from lipsync.fit.cost_matrix import UNIT, CostMatrix, Demand, Whole, whole
from lipsync.fit.fit_job import Job
from lipsync.fit.overlap import Overlap
from lipsync.fit.turns import Turn


@dataclass(frozen=True, slots=True)
class Costs:
    """What a track costs, in the unit of fit_settings.py.

    Attributes:
        visual: how unlike its mouths are to what the lips do, over all frames.
        fittings: how often a piece is put on, the first time included.
        fitting: cost of these fittings but the first, whose piece is on before the shot begins.
        jump: cost of leaps between shapes.
        short_hold: cost of holds that are too short.
        long_hold: cost of holds that are too long.
        closed_lips: cost of frames on which closed lips, or a lip under the teeth, depart from their sound.
        missed_stress: cost of stressed vowels and cues that are not seen.
        missed: how many of the sounds that must be seen are not seen.
    """

    visual: float
    fittings: int
    fitting: float
    jump: float
    short_hold: float
    long_hold: float
    closed_lips: float
    missed_stress: float
    missed: int

    @property
    def total(self) -> float:
        """The cost that the optimum makes least, among the tracks that miss the fewest sounds that must be seen."""
        holds = self.short_hold + self.long_hold
        return self.visual + self.fitting + self.jump + holds + self.closed_lips + self.missed_stress


@dataclass(frozen=True, slots=True)
class Weighing:
    """A job as numbers.

    Attributes:
        job: the job.
        turns: its turns.
        frames: the frames on camera.
        codes: the pieces of the columns: those of the mouth set, then those that were filmed and are not in it.
        asked: what lips do on each frame of the shot.
        seen_in: for each turn the codes of the pieces in which it is seen.
        overlaps: which turns fill a part of which frames.
        visual: frames x pieces, how unlike each piece is to what a frame shows, in whole millionths.
        closed: frames x pieces, what it costs that closed lips, or a lip under the teeth, depart from their sound, in
            whole millionths.
        must: for each demand of the problem how many sounds it is for that must be seen; 0 if it is for others.
        problem: what optimum.py solves.
    """

    job: Job
    turns: tuple[Turn, ...]
    frames: tuple[int, ...]
    codes: tuple[str, ...]
    asked: AskedLips
    seen_in: tuple[frozenset[str], ...]
    overlaps: tuple[Overlap, ...]
    visual: Whole
    closed: Whole
    must: tuple[int, ...]
    problem: CostMatrix

    def pieces(self, columns: Sequence[int]) -> tuple[str | None, ...]:
        """Return the code on each frame of the shot, from the column chosen on each frame on camera."""
        found: list[str | None] = [None] * len(self.job.on_camera)
        for frame, column in zip(self.frames, columns, strict=True):
            found[frame] = self.codes[column]
        return tuple(found)

    def costs(self, pieces: Sequence[str | None]) -> Costs:
        """Return what a track costs, counted along it."""
        column = {code: index for index, code in enumerate(self.codes)}
        worn = [column[str(pieces[frame])] for frame in self.frames]
        problem, price = self.problem, self.job.settings.price
        visual = sum(int(self.visual[at, piece]) for at, piece in enumerate(worn))
        closed = sum(int(self.closed[at, piece]) for at, piece in enumerate(worn))
        holds = [(piece, len(list(frames))) for piece, frames in groupby(worn)]
        short = long = jump = begin = 0
        for index, (piece, length) in enumerate(holds):
            short += max(0, problem.shortest - length) * problem.short_price
            long += sum(int(problem.long_price[begin + n]) for n in range(problem.longest, length))
            if index and not problem.unseen[begin]:
                jump += int(problem.change[holds[index - 1][0], piece]) - whole(price.fitting)
            begin += length
        unmet = [not any(worn[at] in d.pieces for at in _span(d, len(worn))) for d in problem.demands]
        missed = sum(must for no, must in zip(unmet, self.must, strict=True) if no)
        stress = sum(
            d.price for d, no, must in zip(problem.demands, unmet, self.must, strict=True) if no and not must
        )
        return Costs(
            visual / UNIT,
            len(holds),
            max(0, len(holds) - 1) * whole(price.fitting) / UNIT,
            jump / UNIT,
            short / UNIT,
            long / UNIT,
            closed / UNIT,
            stress / UNIT,
            missed,
        )


def _span(demand: Demand, frames: int) -> range:
    return range(max(0, demand.first), min(frames - 1, demand.last) + 1)
