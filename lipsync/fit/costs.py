"""What a track costs: the studio's prices and what the lips do, as numbers for the optimum.

In come a job and its turns, out comes a `Weighing`: the numbers that optimum.py solves, on the frames on camera only,
and for any track its `Costs`, item by item. Costs are in the unit of settings.py; inside, in whole millionths of it.

A mouth is the more unlike a frame's sounds the further it is from their lips (lips.py), each weighted by overlap and
by `turns.eye_weight`. Whatever the prices: what is filmed stays; then what a person pinned or forbade holds; in a
silence that is long enough the mouth rests; and closed lips and lip to teeth are seen wherever frames allow it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
import numpy.typing as npt

from lipsync.fit.job import Job
from lipsync.fit.lips import AXES, row_of
from lipsync.fit.optimum import FORBIDDEN, Change, Demand, Flags, Problem, Whole
from lipsync.fit.overlap import SPREAD_US, Overlap, claims_on, overlaps
from lipsync.fit.schedule import ideal_frame
from lipsync.fit.serving import is_due_on_camera, window_frames
from lipsync.fit.turns import Turn
from lipsync.phonemes import MUST_BE_SEEN

UNIT = 1_000_000

Distances = npt.NDArray[np.float64]

# The price of a sound that must be seen and is not: above anything that prices up to their limits could save.
_MUST_PRICE = 10_000 * UNIT


def whole(cost: float) -> int:
    """Return a cost in whole millionths."""
    return round(cost * UNIT)


@dataclass(frozen=True, slots=True)
class Costs:
    """What a track costs, in the unit of settings.py.

    Attributes:
        visual: how unlike its mouths are to what is said, over all frames.
        fittings: how often a piece is put on, the first included.
        fitting: what these cost, the first excluded: it is on before the shot begins.
        jump: what leaps between shapes cost.
        short_hold: what holds cost that are too short.
        long_hold: what holds cost that are too long.
        missed_stress: what stressed vowels cost that are not seen.
        missed: how many sounds that must be seen are not.
    """

    visual: float
    fittings: int
    fitting: float
    jump: float
    short_hold: float
    long_hold: float
    missed_stress: float
    missed: int

    @property
    def total(self) -> float:
        """What the optimum makes least, once no more sounds can be seen."""
        return self.visual + self.fitting + self.jump + self.short_hold + self.long_hold + self.missed_stress


@dataclass(frozen=True, slots=True)
class Weighing:
    """A job as numbers.

    Attributes:
        job: the job.
        turns: its turns.
        frames: the frames on camera.
        codes: the pieces that its columns stand for; those of the mouth set, then those that are only on film.
        distances: turns x pieces, how unlike each piece is to each turn's lips.
        overlaps: which turns the frames overlap.
        visual: frames x pieces, how unlike each piece is to what a frame shows, in whole millionths.
        must: for each demand of the problem whether it is for sounds that must be seen.
        problem: what optimum.py solves.
    """

    job: Job
    turns: tuple[Turn, ...]
    frames: tuple[int, ...]
    codes: tuple[str, ...]
    distances: Distances
    overlaps: tuple[Overlap, ...]
    visual: Whole
    must: tuple[bool, ...]
    problem: Problem

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
        holds = [(piece, len(list(frames))) for piece, frames in groupby(worn)]
        short = long = jump = begin = 0
        for index, (piece, length) in enumerate(holds):
            short += max(0, problem.shortest - length) * problem.short_price
            long += sum(int(problem.long_price[begin + n]) for n in range(problem.longest, length))
            if index and not problem.unseen[begin]:
                jump += int(problem.change[holds[index - 1][0], piece]) - whole(price.fitting)
            begin += length
        unmet = [not any(worn[at] in d.pieces for at in _span(d, len(worn))) for d in problem.demands]
        missed = sum(n for n, must in zip(unmet, self.must, strict=True) if must)
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
            stress / UNIT,
            missed,
        )


def _span(demand: Demand, frames: int) -> range:
    return range(max(0, demand.first), min(frames - 1, demand.last) + 1)


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
    demands, must = _demands(job, turns, seen, place, codes)
    price, hold = job.settings.price, job.settings.hold
    change, unseen_change = _change(job, codes)
    problem = Problem(
        unlike=_ruled(job, _resting(job, turns, place), place, codes, visual),
        change=change,
        unseen_change=unseen_change,
        allowed=tuple(_allowed(job, seen, frame) for frame in frames),
        unseen=tuple(at > 0 and frames[at - 1] != frame - 1 for at, frame in enumerate(frames)),
        closures=_closures(job, codes),
        shortest=hold.shortest,
        short_price=whole(price.short_hold),
        longest=hold.longest,
        long_price=_long_price([main[frame] for frame in frames], turns, hold.longest, whole(price.long_hold)),
        demands=demands,
    )
    return Weighing(job, tuple(turns), frames, codes, distances, spans, visual, must, problem)


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


def _ruled(job: Job, resting: Iterable[int], place: Mapping[int, int], codes: Sequence[str], visual: Whole) -> Whole:
    """Return the visual costs with FORBIDDEN for what may not be worn, the strongest rule last."""
    column = {code: at for at, code in enumerate(codes)}
    own = len(job.mouth_set.piece)
    ruled = visual.copy()
    ruled[:, own:] = FORBIDDEN

    def only(frame: int, code: str) -> None:
        ruled[place[frame]] = FORBIDDEN
        ruled[place[frame], column[code]] = visual[place[frame], column[code]]

    for frame in resting:
        only(frame, job.rests_on)
    for frame, ruled_out in job.forbidden.items():
        if frame in place:
            ruled[place[frame], :own] = visual[place[frame], :own]
            ruled[place[frame], [column[code] for code in ruled_out if code in column]] = FORBIDDEN
    for fixed in (job.pinned, job.filmed):
        for frame, code in fixed.items():
            if frame in place and code is not None:
                only(frame, code)
    return ruled


def _resting(job: Job, turns: Sequence[Turn], place: Mapping[int, int]) -> Iterator[int]:
    """Yield the frames on which nothing is said, so that the mouth rests.

    Where changes fall on every other frame only, the first and the last frame of a rest are left open.
    """
    frames = len(job.on_camera)
    margin = 0 if job.settings.on == "ones" else 1
    for turn, after in zip(turns, [*turns[1:], None], strict=True):
        if turn.sound is None:
            first = max(0, ideal_frame(turn, job))
            end = frames if after is None else min(frames, ideal_frame(after, job))
            first, end = first + (margin if first > 0 else 0), end - (margin if end < frames else 0)
            yield from (frame for frame in range(first, end) if frame in place)


def _demands(
    job: Job, turns: Sequence[Turn], seen: Sequence[bool], place: Mapping[int, int], codes: Sequence[str]
) -> tuple[tuple[Demand, ...], tuple[bool, ...]]:
    """Return what must be seen, and for each whether it must or all but must; those that are alike as one."""
    spans: list[tuple[int, int, str, bool]] = []
    for turn in turns:
        if (turn.must_be_seen or turn.stressed) and is_due_on_camera(turn, job, seen):
            frames = window_frames(turn, seen)
            if frames:
                spans.append((place[frames[0]], place[frames[-1]], turn.shape, turn.must_be_seen))
    stress = whole(job.settings.price.missed_stress)
    worn = {
        shape: frozenset(at for at, code in enumerate(codes) if code in {piece.code for piece in pieces})
        for shape, pieces in job.mouth_set.sizes.items()
    }
    found = Counter(_in_order(spans))
    demands = tuple(
        Demand(first, last, worn[shape], times * (_MUST_PRICE if must else stress))
        for (first, last, shape, must), times in found.items()
    )
    return demands, tuple(must for _, _, _, must in found)


def _in_order(spans: Sequence[tuple[int, int, str, bool]]) -> Iterator[tuple[int, int, str, bool]]:
    """Yield the spans, those of vowels without the frames that the closures around them need to keep the order."""
    for index, (first, last, shape, must) in enumerate(spans):
        if not must:
            before = spans[index - 1] if index else None
            after = spans[index + 1] if index + 1 < len(spans) else None
            first = max(first, before[0] + 1) if before and before[3] else first
            last = min(last, after[1] - 1) if after and after[3] else last
        if first <= last:
            yield first, last, shape, must


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


def _allowed(job: Job, seen: Sequence[bool], frame: int) -> Change:
    """Return which fittings a frame allows; a person's choice may begin and end on any."""
    back = frame > 0 and not seen[frame - 1]
    by_hand = any(f in fixed for f in (frame - 1, frame) for fixed in (job.filmed, job.pinned, job.forbidden))
    if job.settings.on == "ones" or frame % 2 == 0 or by_hand or back:
        return Change.ALL
    return Change.CLOSURES if job.settings.on == "mixed" else Change.NONE


def _closures(job: Job, codes: Sequence[str]) -> Flags:
    shapes = {shape for symbol in MUST_BE_SEEN for shape in job.mouth_set.shapes_of(symbol)}
    by_code = job.mouth_set.by_code
    return np.array([code in by_code and by_code[code].shape in shapes for code in codes])


def _long_price(main: Sequence[int], turns: Sequence[Turn], longest: int, price: int) -> Whole:
    """Return what each frame costs beyond a long hold: nothing in silence or while one sound lasts."""
    return np.array(
        [
            price if at >= longest and main[at - longest] != turn and turns[turn].sound is not None else 0
            for at, turn in enumerate(main)
        ],
        dtype=np.int64,
    )
