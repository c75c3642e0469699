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


def around(way: Sequence[int], times: int, chance: random.Random) -> tuple[tuple[int, int], ...]:
    """Return ranges that a way of one share lies in."""
    return tuple((chance.randint(0, falls), chance.randint(falls, times)) for falls in way)


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
        box = tuple(around([first := chance.randint(0, times), times - first], times, chance) for _, times in spread)
        every = all(
            can_be_put_on([settled[0] + a, settled[1] + c, settled[2] + b, settled[3] + d], on, rules.lasts or 0)
            for a, b, c, d in ways(box, [times for _, times in spread])
        )
        found = StandingLanes(Serving(tuple(lane(*own) for own in on), 0), USES, rules).serve(settled, spread, box)
        told.add(found)
        assert found == every, (settled, spread, box, on, rules)
    assert told == {True, False}


def test_random_boxes_agree_where_pressings_serve_some_rows_of_a_share() -> None:
    """heron-1's own pressings serve both its rows; those of heron-2 come to it for the last."""
    uses = (*USES[:1], *USES[2:3], BoardUse("heron-2", 1, 2))
    chance, told = random.Random(8), set()
    for _ in range(300):
        rules = Rules(lasts=chance.randint(2, 4))
        on = [(0, 1)] * chance.randint(1, 2) + [(2, 1)] * chance.randint(1, 2)
        times, settled = chance.randint(0, 8), [chance.randint(0, 2) for _ in uses]
        first = chance.randint(0, times)
        box = (around([first, times - first], times, chance),)
        every = all(
            can_be_put_on([settled[0] + a, settled[1] + b, settled[2]], on, rules.lasts or 0)
            for a, b in ways(box, [times])
        )
        lanes = StandingLanes(Serving(tuple(lane(*own) for own in on), 0), uses, rules)
        told.add(lanes.serve(settled, [((0, 1), times)], box))
        assert lanes.serve(settled, [((0, 1), times)], box) == every, (settled, times, box, on, rules)
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


def test_what_is_used_up_serves_nothing() -> None:
    lanes = StandingLanes(Serving((lane(0, held=0),), 0), USES[:1], Rules(lasts=4, held=(Held(1, 4),)))
    assert lanes.serve([0], [], ())
    assert not lanes.serve([1], [], ())


def test_on_one_board_nothing_changes_over() -> None:
    """Rows of heron-1 on following days: its pressing stays where it is, however long changing over takes."""
    uses = (BoardUse("heron-1", 1, 1), BoardUse("heron-1", 2, 2))
    lanes = StandingLanes(Serving((lane(0),), 0), uses, Rules(lasts=4, change_over=5))
    assert lanes.serve([0, 0], [((0, 1), 4)], (((0, 4), (0, 4)),))


def test_a_pressing_stays_on_a_board_to_the_end_of_the_longer_row() -> None:
    """heron-1's second row lies within its first one, so what serves both is free on day 7."""
    long, short = BoardUse("heron-1", 1, 6), BoardUse("heron-1", 2, 3)
    for day, reached in ((6, False), (7, True)):
        uses = (long, short, BoardUse("heron-2", day, 9))
        assert StandingLanes(Serving((lane(0, 1),), 0), uses, Rules(lasts=4)).few_enough == reached


@pytest.mark.parametrize(("change_over", "reached"), [(0, True), (1, False)])
def test_what_exists_already_begins_on_its_own_board(change_over: int, reached: bool) -> None:
    """It lies with heron-2 on the evening of day 0; heron-1 needs it on day 1, and on day 9 heron-2 has it again."""
    rules = Rules(lasts=4, change_over=change_over, held=(Held(1, 0, "heron-2"),))
    uses = (BoardUse("heron-1", 1, 1), BoardUse("heron-2", 9, 9))
    assert StandingLanes(Serving((lane(1, held=0),), 0), uses, rules).few_enough == reached
