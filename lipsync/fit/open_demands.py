"""Which demands are open on which frame, and what becomes of them from one frame to the next.

Of the demands that are open on a frame, each is a bit of a mask: 1 once it has been met.
"""

from __future__ import annotations

from lipsync.fit.problem import Problem

# Demands that may be open on one frame. Beyond it, the cheapest are given up: as many sounds as that within three
# frames cannot all be seen, and the work would double with each.
_MOST_OPEN = 9


def open_demands(problem: Problem) -> list[tuple[int, ...]]:
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


def moved(problem: Problem, mask: int, before: tuple[int, ...], now: tuple[int, ...]) -> tuple[int, int]:
    """Return the bits of the demands that stay open, and the price of those that close unmet."""
    into = price = 0
    for bit, demand in enumerate(before):
        if demand in now:
            into |= (mask >> bit & 1) << now.index(demand)
        elif not mask >> bit & 1:
            price += problem.demands[demand].price
    return into, price
