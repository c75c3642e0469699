"""The optimum equals exhaustive search: every track of small random problems is priced, in another way."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from lipsync.fit.cost_matrix import FORBIDDEN, AllowedFittings, CostMatrix, Demand
from lipsync.fit.optimum import Solution, _ForwardPass, solve, solve_each


def random_problem(seed: random.Random) -> CostMatrix:
    frames, pieces = seed.choice([(1, 3), (2, 4), (4, 4), (5, 3), (6, 3), (7, 2), (8, 2)])
    unlike = np.array([[seed.choice([0, 1, 2, 3, 5, 9]) for _ in range(pieces)] for _ in range(frames)])
    for frame in range(frames):
        ruled_out = seed.sample(range(pieces), seed.choice([0, 0, 0, 0, 1, pieces - 1]))
        unlike[frame, ruled_out] = FORBIDDEN
    longest = seed.randint(1, 4)
    demands = []
    for _ in range(seed.choice([0, 1, 2, 3, 4])):
        first = seed.randint(-1, frames - 1)
        last = first + seed.randint(0, 3)
        if last >= 0:
            worn = frozenset(seed.sample(range(pieces), seed.randint(1, pieces - 1)))
            demands.append(Demand(first, last, worn, seed.choice([2, 7, 1000])))
    whole = lambda: np.array([[seed.randint(0, 4) for _ in range(pieces)] for _ in range(pieces)])  # noqa: E731
    return CostMatrix(
        unlike=unlike.astype(np.int64),
        change=whole().astype(np.int64),
        unseen_change=whole().astype(np.int64),
        allowed=tuple(
            seed.choice([AllowedFittings.ALL, AllowedFittings.ALL, AllowedFittings.CLOSURES, AllowedFittings.NONE])
            for _ in range(frames)
        ),
        unseen=tuple(seed.random() < 0.1 for _ in range(frames)),
        closures=np.array([seed.random() < 0.4 for _ in range(pieces)]),
        shortest=seed.randint(1, longest),
        short_price=seed.randint(0, 4),
        longest=longest,
        long_price=np.array([seed.randint(0, 4) for _ in range(frames)], dtype=np.int64),
        demands=tuple(demands),
    )


def every_track(frames: int, pieces: int) -> np.ndarray:
    return np.array(list(product(range(pieces), repeat=frames)))


def exhaustive(problem: CostMatrix, tracks: np.ndarray) -> np.ndarray:
    """Return the cost of each track, FORBIDDEN or more where it is not allowed."""
    frames = tracks.shape[1]
    costs = problem.unlike[np.arange(frames), tracks].sum(axis=1)
    age = np.ones(len(tracks), dtype=np.int64)
    for at in range(1, frames):
        old, new = tracks[:, at - 1], tracks[:, at]
        changed = old != new
        price = (problem.unseen_change if problem.unseen[at] else problem.change)[old, new]
        allowed = {
            AllowedFittings.ALL: np.ones(len(tracks), dtype=bool),
            AllowedFittings.CLOSURES: problem.closures[old] | problem.closures[new],
            AllowedFittings.NONE: np.zeros(len(tracks), dtype=bool),
        }[problem.allowed[at]]
        short = np.maximum(0, problem.shortest - age) * problem.short_price
        costs = costs + np.where(changed, np.where(allowed, price + short, FORBIDDEN), 0)
        age = np.where(changed, 1, age + 1)
        costs = costs + np.where(age > problem.longest, problem.long_price[at], 0)
    costs = costs + np.maximum(0, problem.shortest - age) * problem.short_price
    for demand in problem.demands:
        span = tracks[:, max(0, demand.first) : demand.last + 1]
        met = np.isin(span, list(demand.pieces)).any(axis=1)
        costs = costs + np.where(met, 0, demand.price)
    return costs


def test_every_track_of_3000_small_problems() -> None:
    seed = random.Random(20)
    every = {}
    solvable = 0
    for _ in range(3000):
        problem = random_problem(seed)
        shape = problem.unlike.shape
        if shape not in every:
            every[shape] = every_track(*shape)
        costs = exhaustive(problem, every[shape])
        least = int(costs.min())
        found = solve(problem)
        if least >= FORBIDDEN:
            assert found.cost >= FORBIDDEN
            continue
        solvable += 1
        assert found.cost == least
        # The track itself costs what is said of it.
        assert int(exhaustive(problem, np.array([found.pieces]))[0]) == least
    assert solvable > 1500


def test_side_by_side_as_one_by_one() -> None:
    """Up to twelve variants of 300 small problems, each with some pieces ruled out: each costs the least there is."""
    seed = random.Random(21)
    every = {}
    solvable = 0
    for _ in range(300):
        problem = random_problem(seed)
        shape = problem.unlike.shape
        if shape not in every:
            every[shape] = every_track(*shape)
        unlikes = [problem.unlike.copy() for _ in range(seed.randint(1, 12))]
        for unlike in unlikes:
            unlike[:, seed.sample(range(shape[1]), seed.randint(0, shape[1] - 1))] = FORBIDDEN
        for unlike, found in zip(unlikes, solve_each(problem, unlikes), strict=True):
            alone = replace(problem, unlike=unlike)
            least = int(exhaustive(alone, every[shape]).min())
            assert (found.cost >= FORBIDDEN) == (least >= FORBIDDEN)
            if least < FORBIDDEN:
                solvable += 1
                assert found.cost == least == int(exhaustive(alone, np.array([found.pieces]))[0])
                assert found == solve(alone)
    assert solvable > 600


def test_memory_given_back_in_long_rests_changes_nothing() -> None:
    """Rests split the search; without them (two pieces alike in every way) it may not split. Both cost the same."""
    seed = random.Random(5)
    for _ in range(20):
        parts = []
        for _ in range(4):
            talk = [[seed.randint(0, 9), seed.randint(0, 9), seed.randint(0, 9)] for _ in range(12)]
            rest = [[0, FORBIDDEN, FORBIDDEN]] * seed.randint(4, 20)
            parts += talk + rest
        split = np.array(parts, dtype=np.int64)
        # A fourth piece that no fitting leads to or from, allowed everywhere: it never pays, but nothing is single.
        joined = np.hstack([split, np.full((len(split), 1), 1000)])

        def problem(unlike: np.ndarray) -> CostMatrix:
            pieces, frames = unlike.shape[1], len(unlike)
            return CostMatrix(
                unlike=unlike,
                change=np.full((pieces, pieces), 3, dtype=np.int64),
                unseen_change=np.full((pieces, pieces), 3, dtype=np.int64),
                allowed=(AllowedFittings.ALL,) * frames,
                unseen=(False,) * frames,
                closures=np.zeros(pieces, dtype=bool),
                shortest=2,
                short_price=1,
                longest=3,
                long_price=np.ones(frames, dtype=np.int64),
                demands=(Demand(5, 8, frozenset({2}), 50), Demand(6, 9, frozenset({1}), 50)),
            )

        one, other = solve(problem(split)), solve(problem(joined))
        assert one.cost == other.cost
        assert len(one.pieces) == len(other.pieces) == len(split)


def by_hand(unlike: list[list[int]], **more: int) -> CostMatrix:
    frames = len(unlike)
    return CostMatrix(
        unlike=np.array(unlike, dtype=np.int64),
        change=np.ones((2, 2), dtype=np.int64),
        unseen_change=np.ones((2, 2), dtype=np.int64),
        allowed=(AllowedFittings.ALL,) * frames,
        unseen=(False,) * frames,
        closures=np.zeros(2, dtype=bool),
        long_price=np.full(frames, 10, dtype=np.int64),
        **{"shortest": 1, "short_price": 0, "longest": 3, **more},
    )


def test_the_first_hold_is_short_like_any_other() -> None:
    found = solve(by_hand([[0, 100], [100, 0], [100, 0]], shortest=2, short_price=20))
    assert (found.pieces, found.cost) == ((0, 1, 1), 1 + 20)


def test_the_last_hold_is_short_like_any_other() -> None:
    found = solve(by_hand([[0, 100], [0, 100], [100, 0]], shortest=2, short_price=20))
    assert (found.pieces, found.cost) == ((0, 0, 1), 1 + 20)


def test_where_no_fitting_is_allowed_a_piece_put_on_before_stays_on() -> None:
    def solved(unlike: list[list[int]]) -> Solution:
        allowed = (AllowedFittings.ALL, AllowedFittings.ALL, AllowedFittings.NONE)
        return solve(replace(by_hand(unlike), allowed=allowed))

    assert solved([[0, 9], [9, 0], [9, 0]]) == Solution((0, 1, 1), 1)
    # Without the rule a fitting there and one back would cost 2. Put on for good, it costs a fitting and 9.
    assert solved([[0, 9], [9, 0], [0, 9]]) == Solution((0, 0, 0), 9)


def test_a_long_hold_costs_on_each_frame_beyond_the_limit() -> None:
    # Kept on over five frames, two of them are too many; taken off for one, it costs two fittings and that frame.
    assert solve(by_hand([[0, 50]] * 5)) == Solution((0, 0, 0, 0, 0), 20)
    found = solve(by_hand([[0, 3]] * 5))
    assert found.cost == 1 + 3 + 1
    assert sorted(found.pieces) == [0, 0, 0, 0, 1]


def searched(*unlikes: list[list[int]], demands: tuple[Demand, ...] = ()) -> Iterator[_ForwardPass]:
    """Yield the search after each frame, where a hold of more than three frames is long."""
    arrays = [np.array(unlike, dtype=np.int64) for unlike in unlikes]
    frames, pieces = arrays[0].shape
    problem = CostMatrix(
        unlike=arrays[0],
        change=np.ones((pieces, pieces), dtype=np.int64),
        unseen_change=np.ones((pieces, pieces), dtype=np.int64),
        allowed=(AllowedFittings.ALL,) * frames,
        unseen=(False,) * frames,
        closures=np.zeros(pieces, dtype=bool),
        shortest=1,
        short_price=0,
        longest=3,
        long_price=np.zeros(frames, dtype=np.int64),
        demands=demands,
    )
    search = _ForwardPass(problem, arrays)
    for frame in range(frames):
        search.step(frame)
        yield search


def kept_after_each_frame(*unlikes: list[list[int]], demands: tuple[Demand, ...] = ()) -> list[int]:
    """Return for how many frames costs are kept."""
    return [len(search._history) for search in searched(*unlikes, demands=demands)]


REST, TALK = [0, FORBIDDEN, FORBIDDEN], [0, 0, FORBIDDEN]


def test_no_more_costs_are_kept_than_there_are_states() -> None:
    """Variants, masks of the demands that are open, four rows, and the pieces that a variant may wear at all."""

    def shapes(*unlikes: list[list[int]], demands: tuple[Demand, ...] = ()) -> list[tuple[int, ...]]:
        return [search._history[-1].shape for search in searched(*unlikes, demands=demands)]

    assert shapes([TALK, REST]) == [(1, 1, 4, 2)] * 2  # the third is worn nowhere
    assert shapes([REST, REST]) == [(1, 1, 4, 1)] * 2
    assert shapes([REST], [TALK]) == [(2, 1, 4, 2)]  # the widest
    demands = (Demand(1, 2, frozenset({0}), 5), Demand(2, 3, frozenset({1}), 5))
    assert [shape[1] for shape in shapes([TALK] * 5, demands=demands)] == [1, 2, 4, 2, 1]


def test_memory_is_given_back_in_a_rest_of_four_frames_where_more_than_eight_are_kept() -> None:
    """A piece may have been on for one to three frames, or for more: after four frames of one piece that is over."""
    assert kept_after_each_frame([REST] * 20) == [*range(1, 9), *range(1, 9), *range(1, 5)]
    assert kept_after_each_frame([TALK] * 20) == list(range(1, 21))
    assert kept_after_each_frame([TALK] * 10 + [REST] * 14) == [*range(1, 14), *range(1, 9), 1, 2, 3]
    assert kept_after_each_frame(([TALK] * 10 + [REST] * 3) * 2) == list(range(1, 27))
    # Of variants side by side all must rest.
    assert kept_after_each_frame([REST] * 20, [TALK] * 20) == list(range(1, 21))
    assert kept_after_each_frame([REST] * 12, [[FORBIDDEN, 0, FORBIDDEN]] * 12) == [*range(1, 9), 1, 2, 3, 4]
    # And no demand may be open.
    open_ = (Demand(0, 10, frozenset({0}), 5),)
    assert kept_after_each_frame([REST] * 14, demands=open_) == [*range(1, 12), 1, 2, 3]


def test_shortest_above_longest_is_refused() -> None:
    with pytest.raises(ValueError, match="at most longest, not 3 and 2"):
        CostMatrix(
            unlike=np.zeros((1, 1), dtype=np.int64),
            change=np.zeros((1, 1), dtype=np.int64),
            unseen_change=np.zeros((1, 1), dtype=np.int64),
            allowed=(AllowedFittings.ALL,),
            unseen=(False,),
            closures=np.zeros(1, dtype=bool),
            shortest=3,
            short_price=0,
            longest=2,
            long_price=np.zeros(1, dtype=np.int64),
        )
