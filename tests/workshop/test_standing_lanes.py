"""Lanes that serve a box of ways, against a search that puts each fitting on a pressing, for each way of the box."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from itertools import product

import pytest

from lipsync.workshop.board_uses import BoardUse, Held, PressingLane, Rules, Serving
from lipsync.workshop.fitting_shares import Box
from lipsync.workshop.standing_lanes import StandingLanes

USES = (BoardUse("heron-1", 1, 1), BoardUse("heron-2", 2, 2), BoardUse("heron-1", 3, 3), BoardUse("heron-2", 4, 4))


def lane(*uses: int, held: int | None = None) -> PressingLane:
    return PressingLane(held, tuple((use, 0) for use in uses))


def ways(box: Box, times: Sequence[int]) -> Iterator[list[int]]:
    """Yield, for each way of a box, how many fittings fall into each use of its shares, one after the other."""
    for way in product(*(product(*(range(low, high + 1) for low, high in own)) for own in box)):
        if all(sum(own) == each for own, each in zip(way, times, strict=True)):
            yield [falls for own in way for falls in own]


def can_be_put_on(falls: Sequence[int], on: Sequence[tuple[int, ...]], lasts: int) -> bool:
    """Return whether each fitting finds a pressing that is there (a matching; Kuhn 1955)."""
    places = [own for own in on for _ in range(lasts)]
    taken: dict[int, int] = {}

    def finds(use: int, tried: set[int]) -> bool:
        for place, own in enumerate(places):
            if use in own and place not in tried:
                tried.add(place)
                if place not in taken or finds(taken[place], tried):
                    taken[place] = use
                    return True
        return False

    return all(finds(use, set()) for use, each in enumerate(falls) for _ in range(each))


def test_random_boxes_agree_with_the_search() -> None:
    """With four days of change-over nothing goes on to the other puppet, so the lanes are those that are given."""
    chance, told = random.Random(7), set()
    for _ in range(300):
        rules = Rules(lasts=chance.randint(2, 4), change_over=4)
        on = [chance.choice([(0, 2), (1, 3)]) for _ in range(chance.randint(1, 3))] + [(0, 2), (1, 3)]
        spread = [((0, 2), chance.randint(0, 5)), ((1, 3), chance.randint(0, 5))]
        settled = [chance.randint(0, 2) for _ in USES]
        box = tuple(tuple((0, chance.randint((times + 1) // 2, times)) for _ in own) for own, times in spread)
        every = all(
            can_be_put_on([settled[0] + a, settled[1] + c, settled[2] + b, settled[3] + d], on, rules.lasts or 0)
            for a, b, c, d in ways(box, [times for _, times in spread])
        )
        found = StandingLanes(Serving(tuple(lane(*own) for own in on), 0), USES, rules).serve(settled, spread, box)
        told.add(found)
        assert found == every, (settled, spread, box, on, rules)
    assert told == {True, False}


def test_a_share_over_rows_of_which_pressings_serve_some() -> None:
    """heron-1's pressing reaches both its rows; the second one only the last: 6 may all fall into the first."""
    uses = (*USES[:1], *USES[2:3], BoardUse("heron-2", 1, 2))
    lanes = StandingLanes(Serving((lane(0, 1), lane(2)), 0), uses, Rules(lasts=4))
    spread = [((0, 1), 6)]
    assert not lanes.serve([0, 0, 1], spread, (((0, 6), (0, 6)),))
    assert lanes.serve([0, 0, 1], spread, (((0, 4), (2, 6)),))
    # Nine fittings, and two pressings that last for four each.
    assert not lanes.serve([0, 0, 3], spread, (((0, 4), (2, 6)),))


def test_a_pressing_lies_on_every_board_that_it_can_reach() -> None:
    """One goes from heron-1 to heron-2 and back over night: its four fittings may fall anywhere."""
    spread, box = [((0, 1, 2, 3), 4)], (((0, 4),) * 4,)
    serving = Serving((lane(0),), 0)
    assert StandingLanes(serving, USES, Rules(lasts=4)).serve([0] * 4, spread, box)
    assert not StandingLanes(serving, USES, Rules(lasts=3)).serve([0] * 4, spread, box)
    assert not StandingLanes(serving, USES, Rules(lasts=4, change_over=1)).few_enough


@pytest.mark.parametrize(("worn", "enough"), [(0, True), (1, False)])
def test_what_exists_already_lasts_for_what_is_left_of_it(worn: int, enough: bool) -> None:
    lanes = StandingLanes(Serving((lane(0, held=0),), 0), USES[:1], Rules(lasts=4, held=(Held(1, worn),)))
    assert lanes.serve([0], [((0,), 4)], (((0, 4),),)) == enough
