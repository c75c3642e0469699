"""The best paths through chains are the best of all paths, each looked at by itself."""

import itertools
import math

import numpy as np
import pytest

from lipsync.align.chains import Chains

TICKS, STATES = 8, {"P": (0, 1), "AA": (2, 3), "T": (1, 4)}  # P and T share a state, as phones of a model do
CHAIN = ("P", "AA", "T")


@pytest.fixture(params=range(4))
def sound(request):
    """Scores of five states, and the probability of staying in each."""
    chance = np.random.default_rng(request.param)
    return chance.normal(0, 3, (5, TICKS)), chance.uniform(0.05, 0.95, 5)


def all_paths(sound, phones, first, end):
    """Yield each path from tick `first` to before `end`: its log likelihood, and the tick at which each state begins.

    By the definition: the scores of all ticks, staying for each further tick in a state, leaving each state once.
    """
    scores, stay = sound
    states = [state for phone in phones for state in STATES[phone]]
    for cuts in itertools.combinations(range(first + 1, end), len(states) - 1):
        begins, ends = (first, *cuts), (*cuts, end)
        value = 0.0
        for state, begin, stop in zip(states, begins, ends, strict=True):
            value += scores[state, begin:stop].sum()
            value += (stop - begin - 1) * math.log(stay[state]) + math.log(1 - stay[state])
        yield value, begins


def best(sound, phones, first, end):
    return max(all_paths(sound, phones, first, end), default=(-math.inf, ()))


def test_ahead_is_the_best_of_all_paths_that_begin_with_the_sound(sound):
    chains = Chains.scored(*sound, STATES)
    reached = chains.begin()
    for count, phone in enumerate(CHAIN, start=1):
        reached = chains.ahead([phone], reached)
        expected = [best(sound, CHAIN[:count], 0, end)[0] for end in range(TICKS + 1)]
        assert reached[0] == pytest.approx(expected)


def test_back_is_the_best_of_all_paths_that_end_with_the_sound(sound):
    chains = Chains.scored(*sound, STATES)
    rest = chains.end()
    for place in reversed(range(len(CHAIN))):
        rest = chains.back([CHAIN[place]], rest)
        expected = [best(sound, CHAIN[place:], first, TICKS)[0] for first in range(TICKS + 1)]
        assert rest[0] == pytest.approx(expected)


def test_a_path_may_begin_wherever_it_was_reached(sound):
    """From several ticks, each with a price: the best is over all of them."""
    prices = np.array([[0.0, -2.0, 1.0, -np.inf, 0.5, -1.0, 0.0, 2.0, 3.0]])
    found = Chains.scored(*sound, STATES).ahead(["AA"], prices)
    for end in range(TICKS + 1):
        each = (prices[0, first] + best(sound, ["AA"], first, end)[0] for first in range(end))
        assert found[0, end] == pytest.approx(max(each, default=-math.inf))


def test_the_first_tick_is_that_of_the_best_path(sound):
    chains, prices = Chains.scored(*sound, STATES), np.array([[0.0, -2.0, 1.0, 0.3, 0.5, -1.0, 0.0, 2.0, 3.0]])
    for end in range(5, TICKS + 1):
        first = max(range(end), key=lambda tick: prices[0, tick] + best(sound, ["P", "AA"], tick, end)[0])
        assert chains.first_tick(["P", "AA"], prices, end) == first


def test_rows_are_followed_each_by_itself_and_one_row_serves_all(sound):
    chains = Chains.scored(*sound, STATES)
    start = chains.ahead(["P"], chains.begin())
    both = chains.ahead(["AA", "T"], start)
    assert both.shape == (2, TICKS + 1)
    assert both[0] == pytest.approx(chains.ahead(["AA"], start)[0])
    assert both[1] == pytest.approx(chains.ahead(["T"], start)[0])
    on = chains.back(["T"], both)
    assert on[1] == pytest.approx(chains.back(["T"], both[1:])[0])


def test_within_fewer_ticks_it_is_as_if_there_were_no_others(sound):
    scores, stay = sound
    part, alone = Chains.scored(scores, stay, STATES).within(slice(2, 7)), Chains.scored(scores[:, 2:7], stay, STATES)
    assert part.begin().shape == part.end().shape == (1, 6)
    assert part.ahead(["AA"], part.begin())[0] == pytest.approx(alone.ahead(["AA"], alone.begin())[0])
    assert part.back(["AA"], part.end())[0] == pytest.approx(alone.back(["AA"], alone.end())[0])
