"""The way back from a state to the one before, on costs written by hand."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from lipsync.fit.backtrace import Passed, PathState, _before, moved
from lipsync.fit.cost_matrix import FORBIDDEN, AllowedFittings, Demand


def passed(costs: np.ndarray, open_now: tuple[int, ...] = (0,)) -> Passed:
    """Two frames of two pieces; a demand for piece 1, at a price of 50, is open on both, or on the first alone."""
    change = np.array([[FORBIDDEN, 3], [7, FORBIDDEN]])
    problem = SimpleNamespace(
        demands=[Demand(0, 1, frozenset({1}), 50)], allowed=[AllowedFittings.ALL] * 2, unseen=[False] * 2
    )
    return Passed(
        problem,  # type: ignore[arg-type]
        [costs],
        0,
        [(0,), open_now],
        {(AllowedFittings.ALL, False): change},
        np.array([[4], [0], [0], [0]]),  # a hold of one frame is short
        np.array([[False, True]]),
    )


@pytest.mark.parametrize(
    ("costs", "state", "before"),
    [
        # Piece 0 has been on for two frames: for one before, however cheap two would have been.
        ({(0, 0, 0): 10, (0, 1, 0): 1}, (0, 1, 0), (0, 0, 0)),
        # In the last row it has been on for three frames or for more: the cheaper.
        ({(0, 2, 0): 5, (0, 3, 0): 4}, (0, 3, 0), (0, 3, 0)),
        ({(0, 2, 0): 4, (0, 3, 0): 5}, (0, 3, 0), (0, 2, 0)),
        # The demand was met before: only from there.
        ({(0, 0, 0): 1, (1, 0, 0): 9}, (1, 1, 0), (1, 0, 0)),
        # Piece 1 meets it now; met before or not, the cheaper.
        ({(0, 0, 1): 8, (1, 0, 1): 9}, (1, 1, 1), (0, 0, 1)),
        ({(0, 0, 1): 9, (1, 0, 1): 8}, (1, 1, 1), (1, 0, 1)),
        # Piece 1 is put on: 3, and 4 more after a hold of one frame.
        ({(0, 0, 0): 10, (0, 1, 0): 13}, (1, 0, 1), (0, 1, 0)),
        ({(0, 0, 0): 10, (0, 1, 0): 15}, (1, 0, 1), (0, 0, 0)),
        ({(0, 1, 0): 15, (1, 1, 0): 14}, (1, 0, 1), (1, 1, 0)),
    ],
)
def test_the_cheapest_state_before(costs: dict[PathState, int], state: PathState, before: PathState) -> None:
    array = np.full((2, 4, 2), FORBIDDEN)
    for at, cost in costs.items():
        array[at] = cost
    assert _before(passed(array), state, 1) == before


@pytest.mark.parametrize(("unmet", "met", "mask"), [(10, 61, 0), (10, 59, 1), (5, 59, 0)])
def test_a_demand_that_ends_unmet_is_paid_on_the_way(unmet: int, met: int, mask: int) -> None:
    """It costs 50: 10 and it are less than 61, and more than 59."""
    array = np.full((2, 4, 2), FORBIDDEN)
    array[0, 0, 0], array[1, 0, 0] = unmet, met
    assert _before(passed(array, ()), (0, 1, 0), 1) == (mask, 0, 0)


def test_which_demands_go_on_and_what_those_that_end_cost() -> None:
    problem = SimpleNamespace(demands=[Demand(0, 1, frozenset(), price) for price in (1, 10, 100, 1000)])

    def to(mask: int, before: tuple[int, ...], now: tuple[int, ...]) -> tuple[int, int]:
        return moved(problem, mask, before, now)  # type: ignore[arg-type]

    assert to(0b101, (0, 1, 2), (0, 1, 2)) == (0b101, 0)
    assert to(0b101, (0, 1, 2), (2, 3)) == (0b01, 10)  # 0 was met, 1 was not, and 2 is the first of those now
    assert to(0b010, (0, 1, 2), (1, 2)) == (0b01, 1)
    assert to(0b000, (0, 2), ()) == (0, 101)
    assert to(0b11, (0, 2), ()) == (0, 0)
    assert to(0, (), (0, 1)) == (0, 0)


def test_where_nothing_may_be_put_on_there_is_no_way_and_a_state_all_the_same() -> None:
    """A shot in which nothing may be worn is searched to its end, and its cost says that it cannot be."""
    without = passed(np.full((2, 4, 2), FORBIDDEN))
    nothing = replace(without, changes={(AllowedFittings.ALL, False): None})
    assert _before(nothing, (0, 0, 0), 1) == (0, 0, 0)
