"""Two parts of the search of optimum.py: demands from frame to frame, and the way back from its cheapest end.

`open_demands` says which demands are open on which frame. Each of them is a bit of a mask, 1 once it has been met;
`moved` takes a mask from one frame to the next. `pieces_before` goes back through the costs after each frame, from a
state to the pieces that led to it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from lipsync.fit.cost_matrix import FORBIDDEN, AllowedFittings, CostMatrix, Flags, Whole

# Demands that may be open on one frame; beyond that number the cheapest are given up. Chosen: so many sounds within
# three frames cannot all be seen, and each more would double the work.
_MOST_OPEN = 9


def open_demands(problem: CostMatrix) -> list[tuple[int, ...]]:
    """Return, for each frame, the indices of the demands that are open on it; if they are too many, the dearest."""
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
    """Return the mask on the next frame, and the price of the demands that end unmet.

    Args:
        problem: what is searched.
        mask: which demands have been met on the frame before.
        before: the demands open on the frame before, in the order of their bits.
        now: those open on the frame.
    """
    into = price = 0
    for bit, demand in enumerate(before):
        if demand in now:
            into |= (mask >> bit & 1) << now.index(demand)
        elif not mask >> bit & 1:
            price += problem.demands[demand].price
    return into, price


# Mask of the demands met, row (for how many frames the piece has been on, less 1), piece.
PathState = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Passed:
    """What the search for one variant has computed.

    Attributes:
        problem: what was searched.
        history: costs after each frame from `base` on: masks x rows x pieces.
        base: the first of these frames.
        open: for each frame of the problem, the demands that are open on it.
        changes: what a fitting costs, pieces x pieces, for each kind of allowed fittings and whether it is unseen;
            None where no fitting is allowed.
        short: for each row what it costs that a hold ends after so many frames.
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
    """Return the pieces on the frames after `base` up to a state; with that of `base` if it is the first frame."""
    found: list[int] = []
    while frame > passed.base:
        found.append(state[2])
        state = _before(passed, state, frame)
        frame -= 1
    if passed.base == 0:
        found.append(state[2])
    return found[::-1]


def _before(passed: Passed, state: PathState, frame: int) -> PathState:
    """Return the state on the frame before from which a state on this frame is reached most cheaply."""
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
    """Return the least cost of putting the piece on and the state before it; `from_` is a price and a mask."""
    change = passed.changes[passed.problem.allowed[frame], passed.problem.unseen[frame]]
    if change is None:
        return (2 * FORBIDDEN, 0, 0, 0)
    price, mask = from_
    ended = costs + passed.short + change[:, piece]
    row, before = np.unravel_index(int(ended.argmin()), ended.shape)
    return (int(ended[row, before]) + price, mask, int(row), int(before))
