"""Pressings handed on: never one short, never one too many, against search over every way (searched.py)."""

from __future__ import annotations

import random

import pytest

from lipsync.workshop import handing_on
from lipsync.workshop.board_uses import BoardUse, Held, Rules
from lipsync.workshop.handing_on import Fitted, supply
from lipsync.workshop.quick_serving import served
from tests.workshop.random_plans import differs
from tests.workshop.searched import Row, There, fewest, most_of_fewest


def test_random_plans_agree_with_the_search() -> None:
    chance = random.Random(2026)
    for _ in range(40):
        verdict, told = differs(chance)
        assert verdict == "agrees", told


def test_the_search_knows_what_can_be_counted_by_hand() -> None:
    one, two, later = Row("heron-1", 1, 3), Row("heron-2", 3, 5), Row("heron-2", 5, 6)
    assert fewest([one, two], [1, 1], None, 0, [], 0) == (2, 0)
    assert fewest([one, later], [1, 1], None, 0, [], 0) == (1, 0)
    assert fewest([one, later], [1, 1], None, 2, [], 0) == (2, 0)
    assert fewest([one, later], [2, 2], 3, 0, [], 0) == (2, 0)
    # Three fittings in all, and a piece lasts for two.
    rows = [Row("heron-1", 1, 1), Row("heron-1", 3, 3), Row("heron-2", 2, 2)]
    assert most_of_fewest(rows, [((0, 1), 2), ((2,), 1)], 2, 0, [], 0) == (2, 0)


def test_a_break_is_not_booked_to_its_first_row() -> None:
    """The heron's shot goes on after the break: whichever row its fittings fall in, there is a piece to put on."""
    uses = (BoardUse("heron-1", 1, 2), BoardUse("heron-1", 6, 7), BoardUse("heron-2", 3, 5))
    found = supply(uses, (Fitted((0, 1), 4), Fitted((2,), 4)), Rules(lasts=4))
    assert (found.to_make, found.exact) == (2, True)


def test_a_break_over_three_rows_is_searched_to_the_end() -> None:
    """21 ways to share the five out, twenty of which bounds leave open: none is one short, and none too many."""
    rows = [Row("heron-1", 1, 4), Row("heron-1", 5, 6), Row("heron-1", 8, 9), Row("heron-2", 1, 5)]
    fitted, worn = [((0, 1, 2), 5), ((1,), 2), ((2,), 4)], [There(2, "", 0)] * 2
    uses = [BoardUse(row.puppet, row.first, row.last) for row in rows]
    rules = Rules(lasts=3, spares=2, held=(Held(1, 2), Held(1, 2)))
    found = supply(uses, [Fitted(own, times) for own, times in fitted], rules)
    assert (found.to_make, found.exact) == (most_of_fewest(rows, fitted, 3, 0, worn, 2)[0], True)


def test_a_search_that_is_to_end_soon_finds_enough_and_says_that_it_may_be_too_many(monkeypatch) -> None:
    """The same plan as above."""
    uses = [BoardUse("heron-1", *days) for days in ((1, 4), (5, 6), (8, 9))] + [BoardUse("heron-2", 1, 5)]
    fitted = [Fitted((0, 1, 2), 5), Fitted((1,), 2), Fitted((2,), 4)]
    rules = Rules(lasts=3, spares=2, held=(Held(1, 2), Held(1, 2)))
    exact = supply(uses, fitted, rules)
    monkeypatch.setattr(handing_on, "_SOON", (0, 0))
    soon = supply(uses, fitted, rules, fewest=False)
    assert (exact.exact, soon.exact) == (True, False)
    assert soon.to_make >= exact.to_make


def test_no_more_than_one_puppet_has_a_piece() -> None:
    uses = (BoardUse("heron-1", 1, 4), BoardUse("heron-2", 5, 9), BoardUse("heron-1", 10, 12))
    (lane,) = served(uses, (3, 3, 3), Rules()).lanes
    assert [use for use, _ in lane.stays] == [0, 1, 2]
    assert len(served(uses, (3, 3, 3), Rules(change_over=1)).lanes) == 2


@pytest.mark.parametrize(("there", "made"), [((), 3), ((Held(1, 9),), 3), ((Held(1, 4),), 2), ((Held(3),), 0)])
def test_what_is_there_is_used_as_far_as_it_lasts(there: tuple[Held, ...], made: int) -> None:
    """25 fittings on one board; a piece lasts for 10."""
    uses = (BoardUse("heron-1", 1, 4),)
    assert supply(uses, (Fitted((0,), 25),), Rules(lasts=10, held=there)).to_make == made


def test_a_spare_is_what_serves_nowhere() -> None:
    uses = (BoardUse("heron-1", 1, 4),)
    assert supply(uses, (Fitted((0,), 3),), Rules(spares=2, held=(Held(2),))).to_make == 1
    assert supply(uses, (Fitted((0,), 3),), Rules(spares=2, held=(Held(4),))).to_make == 0


def test_a_mutated_rule_is_noticed() -> None:
    """With a rule left out, the program's answer is another than the search's: the test above can fail."""
    rows = [Row("heron-1", 1, 3), Row("heron-2", 5, 6)]
    uses = [BoardUse(row.puppet, row.first, row.last) for row in rows]
    told = supply(uses, (Fitted((0,), 1), Fitted((1,), 1)), Rules(change_over=0)).to_make
    assert told != most_of_fewest(rows, [((0,), 1), ((1,), 1)], None, 2, [], 0)[0]
