"""The track of least cost over all possible tracks, by dynamic programming. This module knows nothing of speech.

In: a `CostMatrix`. Out: a `Solution`: the piece on each frame, as an index, and what it costs. It is exact,
except where more demands are open at once than `open_demands` follows (about four words in a frame): those beyond are
ignored.

A state of the search is the piece, for how many frames it has been on (up to one more than `longest`), and which of
the open demands have been met. Time and memory grow in proportion to the frames; memory is freed wherever only one
state is possible, as in any long rest.

Costs are kept as an array: variants x masks of the demands met x rows x pieces. A piece that has been on for n frames
is in row n - 1; the last row is for all that have been on for longer than `longest`. Variants (`solve_each`) are the
same problem with other pieces allowed; they go through the frames side by side, which is faster than one by one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np

from lipsync.fit.backtrace import Passed, moved, open_demands, pieces_before
from lipsync.fit.cost_matrix import FORBIDDEN, AllowedFittings, CostMatrix, Whole

# Variants that are solved side by side, and the numbers that they may keep for the way back. Both chosen: more
# variants are not faster, and an hour without a rest still fits into less than a gigabyte.
_AT_ONCE = 9
_MOST_NUMBERS = 60_000_000


@dataclass(frozen=True, slots=True)
class Solution:
    """The index of the piece on each frame, and the cost of the track in whole millionths."""

    pieces: tuple[int, ...]
    cost: int


def solve(problem: CostMatrix) -> Solution:
    """Return the track of least cost; of several with the same cost, always the same one."""
    return solve_each(problem, [problem.unlike])[0]


def solve_each(problem: CostMatrix, unlikes: Iterable[Whole]) -> tuple[Solution, ...]:
    """Return the track of least cost with each of these arrays in the place of `unlike`."""
    frames, pieces = problem.unlike.shape
    waiting, found = iter(unlikes), list[Solution]()
    numbers = max(1, frames * pieces * (problem.longest + 1))
    while group := list(islice(waiting, max(1, min(_AT_ONCE, _MOST_NUMBERS // numbers)))):
        if frames == 0:
            found += [Solution((), sum(demand.price for demand in problem.demands))] * len(group)
            continue
        search = _ForwardPass(problem, group)
        for frame in range(frames):
            search.step(frame)
        found += search.finish()
    return tuple(found)


class _ForwardPass:
    """Goes through the frames once, for all variants of a group.

    The columns of a variant are the pieces that it allows on at least one frame. A variant with fewer than the others
    is filled up with columns that are forbidden on all frames.
    """

    def __init__(self, problem: CostMatrix, unlikes: Sequence[Whole]) -> None:
        self._problem = problem
        self._rows = problem.longest + 1
        allowed = [np.flatnonzero((unlike < FORBIDDEN).any(axis=0)) for unlike in unlikes]
        widest = max(1, *(len(columns) for columns in allowed))
        self._columns = np.zeros((len(unlikes), widest), dtype=np.intp)
        self._unlike: Whole = np.full((len(problem.unlike), len(unlikes), 1, 1, widest), FORBIDDEN, dtype=np.int64)
        for at, (unlike, columns) in enumerate(zip(unlikes, allowed, strict=True)):
            self._columns[at, : len(columns)] = columns
            self._unlike[:, at, 0, 0, : len(columns)] = unlike[:, columns]
        missing = problem.shortest - np.arange(1, self._rows + 1)
        self._short: Whole = (np.maximum(missing, 0) * problem.short_price)[:, None].astype(np.int64)
        self._changes = _changes(problem, self._columns)
        self._long = [int(price) for price in problem.long_price]
        self._single = (np.count_nonzero(self._unlike < FORBIDDEN, axis=4) == 1).all(axis=(1, 2, 3))
        self._open = open_demands(problem)
        meeting = np.zeros((len(problem.demands), problem.unlike.shape[1]), dtype=np.bool_)
        for index, demand in enumerate(problem.demands):
            meeting[index, list(demand.pieces)] = True
        # demands x variants x 1 x 1 x columns: whether a column meets a demand.
        self._meets = meeting[:, self._columns][:, :, None, None]
        # Costs after each frame from `_base` on, for the way back; the paths up to `_base` are known.
        self._history: list[Whole] = []
        self._base = 0
        self._paths: list[list[int]] = [[] for _ in unlikes]
        self._singles = 0

    def step(self, frame: int) -> None:
        """Compute the costs after a frame from those before it; free memory if only one state is possible."""
        if frame == 0:
            shape = (len(self._columns), 1, self._rows, self._columns.shape[1])
            costs = np.full(shape, FORBIDDEN, dtype=np.int64)
            costs[:, :, :1] = self._unlike[0]
            costs = self._mark(costs, (), frame)
        else:
            costs = self._mark(self._worn_on(self._history[-1], frame), self._open[frame - 1], frame)
        np.minimum(costs, FORBIDDEN, out=costs)
        self._history.append(costs)
        self._singles = self._singles + 1 if self._single[frame] else 0
        if self._singles >= self._rows and not self._open[frame] and len(self._history) > 2 * self._rows:
            self._go_back(costs, frame)
            self._history, self._base = [costs], frame

    def _worn_on(self, before: Whole, frame: int) -> Whole:
        """Return the costs after a frame, demands left aside: every piece kept on, or put on."""
        after = np.empty_like(before)
        after[:, :, 1:] = before[:, :, :-1]
        np.minimum(after[:, :, -1], before[:, :, -1], out=after[:, :, -1])
        if self._long[frame]:
            after[:, :, -1] += self._long[frame]
        change = self._change(frame)
        if change is None:
            after[:, :, 0] = FORBIDDEN
        else:
            ended = (before + self._short).min(axis=2)
            after[:, :, 0] = (ended[:, :, :, None] + change).min(axis=2)
        after += self._unlike[frame]
        return after

    def _change(self, frame: int) -> Whole | None:
        return self._changes[self._problem.allowed[frame], self._problem.unseen[frame]]

    def _mark(self, costs: Whole, before: tuple[int, ...], frame: int) -> Whole:
        """Return the costs with demands: some end before the frame, some begin on it, some are met on it."""
        now = self._open[frame]
        variants, masks, *rest = costs.shape
        if before != now:
            into_now = np.full((variants, 1 << len(now), *rest), FORBIDDEN, dtype=np.int64)
            for mask in range(masks):
                into, price = moved(self._problem, mask, before, now)
                np.minimum(into_now[:, into], costs[:, mask] + price, out=into_now[:, into])
            costs = into_now
        for bit, demand in enumerate(now):
            pairs = costs.reshape(variants, -1, 2, 1 << bit, *rest)
            unmet, met, meets = pairs[:, :, 0], pairs[:, :, 1], self._meets[demand][:, None]
            np.minimum(met, unmet, out=met, where=meets)
            np.copyto(unmet, FORBIDDEN, where=meets)
        return costs

    def finish(self) -> list[Solution]:
        """Return the solution of each variant, after the last frame."""
        last = len(self._problem.unlike) - 1
        ends = self._history[-1] + self._short
        for mask in range(ends.shape[1]):
            ends[:, mask] += moved(self._problem, mask, self._open[last], ())[1]
        self._go_back(ends, last)
        opened = set().union(*map(set, self._open))
        dropped = sum(d.price for index, d in enumerate(self._problem.demands) if index not in opened)
        return [
            Solution(tuple(int(columns[piece]) for piece in path), int(end.min()) + dropped)
            for columns, path, end in zip(self._columns, self._paths, ends, strict=True)
        ]

    def _go_back(self, ends: Whole, frame: int) -> None:
        """Add to each variant's path the pieces on the frames up to this one, from its cheapest end."""
        for at, (path, end) in enumerate(zip(self._paths, ends, strict=True)):
            passed = Passed(
                self._problem,
                [costs[at] for costs in self._history],
                self._base,
                self._open,
                {rule: None if change is None else change[at, 0] for rule, change in self._changes.items()},
                self._short,
                self._meets[:, at, 0, 0],
            )
            mask, row, piece = (int(part) for part in np.unravel_index(int(end.argmin()), end.shape))
            path += pieces_before(passed, (mask, row, piece), frame)


def _changes(
    problem: CostMatrix, columns: np.ndarray[tuple[int, int], np.dtype[np.intp]]
) -> dict[tuple[AllowedFittings, bool], Whole | None]:
    """Return what a fitting costs, variants x 1 x columns x columns; None where none is allowed.

    The keys are the kind of allowed fittings, and whether the fitting is made off camera.
    """
    either = problem.closures[:, None] | problem.closures[None, :]
    found: dict[tuple[AllowedFittings, bool], Whole | None] = {}
    for unseen, change in ((False, problem.change), (True, problem.unseen_change)):
        every = change.copy()
        np.fill_diagonal(every, FORBIDDEN)
        for rule, costs in (
            (AllowedFittings.ALL, every),
            (AllowedFittings.CLOSURES, np.where(either, every, FORBIDDEN)),
        ):
            found[rule, unseen] = costs[columns[:, :, None], columns[:, None, :]][:, None]
        found[AllowedFittings.NONE, unseen] = None
    return found
