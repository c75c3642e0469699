"""Which demands are open on which frame, and what becomes of them from one frame to the next.

Of the demands that are open on a frame, each is a bit of a mask: 1 once it has been met.

The way back through the costs that the search left behind: from its cheapest end to the pieces that led there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from lipsync.fit.cost_matrix import FORBIDDEN, AllowedFittings, CostMatrix, Flags, Whole

# Demands that may be open on one frame. Beyond it, the cheapest are given up: as many sounds as that within three
# frames cannot all be seen, and the work would double with each.
_MOST_OPEN = 9


def open_demands(problem: CostMatrix) -> list[tuple[int, ...]]:
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


def moved(problem: CostMatrix, mask: int, before: tuple[int, ...], now: tuple[int, ...]) -> tuple[int, int]:
    """Return the bits of the demands that stay open, and the price of those that close unmet."""
    into = price = 0
    for bit, demand in enumerate(before):
        if demand in now:
            into |= (mask >> bit & 1) << now.index(demand)
        elif not mask >> bit & 1:
            price += problem.demands[demand].price
    return into, price


# Demands met (bits), row (how long the piece has been on), piece.
PathState = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Passed:
    """What the search of one variant left behind.

    Attributes:
        problem: what was searched.
        history: costs after each frame from `base` on: demands met x row x piece.
        base: the first of these frames.
        open: for each frame of the problem, the demands that are open on it.
        changes: for each rule what a fitting costs; None where there is none.
        short: for each row what a hold costs that ends after so many frames.
        meets: demands x pieces, whether a piece meets a demand.
    """

    problem: CostMatrix
    history: Sequence[Whole]
    base: int
    open: Sequence[tuple[int, ...]]
    changes: Mapping[tuple[AllowedFittings, bool], Whole | None]
    short: Whole
    meets: Flags


def pieces_before(passed: Passed, state: PathState, frame: int) -> list[int]:
    """Return the pieces on the frames up to a state; without that of `base`, unless it is the first of all."""
    found: list[int] = []
    while frame > passed.base:
        found.append(state[2])
        state = _before(passed, state, frame)
        frame -= 1
    if passed.base == 0:
        found.append(state[2])
    return found[::-1]


def _before(passed: Passed, state: PathState, frame: int) -> PathState:
    """Return the state on the frame before from which a state on a frame is cheapest."""
    mask, row, piece = state
    costs = passed.history[frame - 1 - passed.base]
    last = costs.shape[1] - 1
    before, now = passed.open[frame - 1], passed.open[frame]
    if 0 < row < last and len(costs) == 1:
        return 0, row - 1, piece
    met = sum(1 << bit for bit, demand in enumerate(now) if passed.meets[demand, piece])
    best = (2 * FORBIDDEN, 0, 0, 0)
    for earlier in range(len(costs)):
        into, price = moved(passed.problem, earlier, before, now) if before else (0, 0)
        if into | met != mask:
            continue
        if row == 0:
            best = min(best, _put_on(passed, costs[earlier], piece, frame, (price, earlier)))
        else:
            for on in (row - 1, row) if row == last else (row - 1,):
                best = min(best, (int(costs[earlier, on, piece]) + price, earlier, on, piece))
    return best[1:]


def _put_on(
    passed: Passed, costs: Whole, piece: int, frame: int, from_: tuple[int, int]
) -> tuple[int, int, int, int]:
    """Return what it costs at least to have put the piece on, and from which state; `from_` is a price and a mask."""
    change = passed.changes[passed.problem.allowed[frame], passed.problem.unseen[frame]]
    if change is None:
        return (2 * FORBIDDEN, 0, 0, 0)
    price, mask = from_
    ended = costs + passed.short + change[:, piece]
    row, before = np.unravel_index(int(ended.argmin()), ended.shape)
    return (int(ended[row, before]) + price, mask, int(row), int(before))
