"""The track of least cost over all possible tracks, by dynamic programming. Knows numbers only, nothing of speech.

In comes a `Problem`, out comes a `Solution`: the piece on each frame, as an index, and what it costs. It is exact.

What has been worn is remembered in as much as it bears on what follows: the piece, for how many frames it has been on
(up to one more than `longest`), and which of the open demands have been met. Time and memory grow in proportion to
frames; memory is given back wherever only one such state is possible, as in any long rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lipsync.fit.problem import FORBIDDEN, Change, Problem, Whole

# Demands that may be open on one frame. Beyond it, the cheapest are given up: as many sounds as that within three
# frames cannot all be seen, and the work would double with each.
_MOST_OPEN = 9


@dataclass(frozen=True, slots=True)
class Solution:
    """The piece on each frame, and the cost of the whole."""

    pieces: tuple[int, ...]
    cost: int


def solve(problem: Problem) -> Solution:
    """Return the track of least cost; of several, always the same one."""
    frames = len(problem.unlike)
    if frames == 0:
        return Solution((), sum(demand.price for demand in problem.demands))
    search = _Search(problem)
    for frame in range(frames):
        search.step(frame)
    return search.finish()


class _Search:
    """Goes through the frames once. Costs are kept as an array: demands met (bits) x frames on x piece.

    A piece that has been on for n frames stands in row n - 1; the last row holds all that have been on for longer
    than `longest`.
    """

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._rows = problem.longest + 1
        missing = problem.shortest - np.arange(1, self._rows + 1)
        self._short: Whole = (np.maximum(missing, 0) * problem.short_price)[:, None].astype(np.int64)
        self._changes = _changes(problem)
        self._single = np.count_nonzero(problem.unlike < FORBIDDEN, axis=1) == 1
        self._open = _open_demands(problem)
        self._dropped = sum(d.price for d in problem.demands) - sum(
            problem.demands[d].price for d in set().union(*map(set, self._open))
        )
        # Costs after each frame since `_base`, for the way back; the path up to there is known.
        self._history: list[Whole] = []
        self._base = 0
        self._path: list[int] = []
        self._singles = 0

    def step(self, frame: int) -> None:
        problem = self._problem
        if frame == 0:
            costs = np.full((1, self._rows, problem.unlike.shape[1]), FORBIDDEN, dtype=np.int64)
            costs[0, 0] = problem.unlike[0]
            costs = self._mark(costs, (), frame)
        else:
            costs = self._mark(self._worn_on(self._history[-1], frame), self._open[frame - 1], frame)
        np.minimum(costs, FORBIDDEN, out=costs)
        self._history.append(costs)
        self._singles = self._singles + 1 if self._single[frame] else 0
        if self._singles >= self._rows and not self._open[frame] and len(self._history) > 2 * self._rows:
            self._settle(frame)

    def _worn_on(self, before: Whole, frame: int) -> Whole:
        """Return the costs on a frame: every piece kept on, or put on."""
        after = np.empty_like(before)
        after[:, 1:] = before[:, :-1]
        np.minimum(after[:, -1], before[:, -1], out=after[:, -1])
        after[:, -1] += self._problem.long_price[frame]
        change = self._change(frame)
        if change is None:
            after[:, 0] = FORBIDDEN
        else:
            ended = (before + self._short).min(axis=1)
            after[:, 0] = (ended[:, :, None] + change).min(axis=1)
        after += self._problem.unlike[frame]
        return after

    def _change(self, frame: int) -> Whole | None:
        return self._changes[self._problem.allowed[frame], self._problem.unseen[frame]]

    def _mark(self, costs: Whole, before: tuple[int, ...], frame: int) -> Whole:
        """Close the demands that end before a frame, open those that begin on it, mark those that are met on it."""
        now = self._open[frame]
        if not before and not now:
            return costs
        if before != now:
            moved = np.full((1 << len(now), *costs.shape[1:]), FORBIDDEN, dtype=np.int64)
            for mask in range(len(costs)):
                into, price = self._moved(mask, before, now)
                np.minimum(moved[into], costs[mask] + price, out=moved[into])
            costs = moved
        for bit, demand in enumerate(now):
            pieces = list(self._problem.demands[demand].pieces)
            pairs = costs.reshape(-1, 2, 1 << bit, *costs.shape[1:])
            unmet, met = pairs[:, 0], pairs[:, 1]
            met[..., pieces] = np.minimum(met[..., pieces], unmet[..., pieces])
            unmet[..., pieces] = FORBIDDEN
        return costs

    def _moved(self, mask: int, before: tuple[int, ...], now: tuple[int, ...]) -> tuple[int, int]:
        """Return the bits of the demands that stay open, and the price of those that close unmet."""
        into = price = 0
        for bit, demand in enumerate(before):
            if demand in now:
                into |= (mask >> bit & 1) << now.index(demand)
            elif not mask >> bit & 1:
                price += self._problem.demands[demand].price
        return into, price

    def _settle(self, frame: int) -> None:
        """Go back over the history from the only state that a frame allows, and forget all but that state."""
        costs = self._history[-1]
        self._go_back(np.unravel_index(int(costs.argmin()), costs.shape), frame)
        self._history = [costs]
        self._base = frame

    def finish(self) -> Solution:
        last = len(self._problem.unlike) - 1
        ends = self._history[-1] + self._short
        for mask in range(len(ends)):
            ends[mask] += self._moved(mask, self._open[last], ())[1]
        least = int(ends.min())
        self._go_back(np.unravel_index(int(ends.argmin()), ends.shape), last)
        return Solution(tuple(self._path), least + self._dropped)

    def _go_back(self, state: Sequence[np.integer], frame: int) -> None:
        mask, row, piece = (int(part) for part in state)
        found: list[int] = []
        while frame > self._base:
            found.append(piece)
            mask, row, piece = self._before(mask, row, piece, frame)
            frame -= 1
        if self._base == 0:
            found.append(piece)
        self._path += reversed(found)

    def _before(self, mask: int, row: int, piece: int, frame: int) -> tuple[int, int, int]:
        """Return the state on the frame before from which a state on a frame is cheapest."""
        costs = self._history[frame - 1 - self._base]
        before, now = self._open[frame - 1], self._open[frame]
        met = sum(1 << bit for bit, demand in enumerate(now) if piece in self._problem.demands[demand].pieces)
        best = (2 * FORBIDDEN, 0, 0, 0)
        for earlier in range(len(costs)):
            into, price = self._moved(earlier, before, now) if before else (0, 0)
            if into | met != mask:
                continue
            if row == 0:
                best = min(best, self._put_on(costs[earlier], piece, frame, price, earlier))
            else:
                for on in (row - 1, row) if row == self._rows - 1 else (row - 1,):
                    best = min(best, (int(costs[earlier, on, piece]) + price, earlier, on, piece))
        return best[1:]

    def _put_on(self, costs: Whole, piece: int, frame: int, price: int, mask: int) -> tuple[int, int, int, int]:
        change = self._change(frame)
        if change is None:
            return (2 * FORBIDDEN, 0, 0, 0)
        ended = costs + self._short + change[:, piece]
        row, before = np.unravel_index(int(ended.argmin()), ended.shape)
        return (int(ended[row, before]) + price, mask, int(row), int(before))


def _changes(problem: Problem) -> dict[tuple[Change, bool], Whole | None]:
    """Return, for each rule, what a fitting costs; None where there is none."""
    either = problem.closures[:, None] | problem.closures[None, :]
    found: dict[tuple[Change, bool], Whole | None] = {}
    for unseen, change in ((False, problem.change), (True, problem.unseen_change)):
        every = change.copy()
        np.fill_diagonal(every, FORBIDDEN)
        found[Change.ALL, unseen] = every
        found[Change.CLOSURES, unseen] = np.where(either, every, FORBIDDEN)
        found[Change.NONE, unseen] = None
    return found


def _open_demands(problem: Problem) -> list[tuple[int, ...]]:
    """Return, for each frame, the demands that are open on it, the dearest where they are too many."""
    frames = len(problem.unlike)
    found: list[list[int]] = [[] for _ in range(frames)]
    dearest_first = sorted(range(len(problem.demands)), key=lambda d: -problem.demands[d].price)
    for index in dearest_first:
        demand = problem.demands[index]
        span = range(max(0, demand.first), min(frames - 1, demand.last) + 1)
        if all(len(found[frame]) < _MOST_OPEN for frame in span):
            for frame in span:
                found[frame].append(index)
    return [tuple(sorted(indices)) for indices in found]
