"""Ways to share fittings out, and boxes of them, against all ways, one by one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

import pytest

from lipsync.workshop.fitting_shares import Box, Share, Way, at_most, first_ways, halves, middle, whole_box

SHARES: list[tuple[Share, ...]] = [
    ((2, 1),),
    ((2, 5),),
    ((3, 4),),
    ((4, 3),),
    ((2, 2), (3, 3)),
    ((3, 2), (2, 4)),
    ((2, 1), (2, 1), (2, 3)),
]
each_shares = pytest.mark.parametrize("shares", SHARES, ids=str)


def ways(shares: Sequence[Share]) -> set[Way]:
    """Return all ways to share fittings out."""
    own = [[way for way in product(range(times + 1), repeat=uses) if sum(way) == times] for uses, times in shares]
    return set(product(*own))


def ways_in(box: Box, shares: Sequence[Share]) -> set[Way]:
    """Return the ways in a box."""
    return {
        way
        for way in ways(shares)
        if all(
            low <= n <= high
            for ranges, own in zip(box, way, strict=True)
            for (low, high), n in zip(ranges, own, strict=True)
        )
    }


def boxes_of(shares: Sequence[Share]) -> Iterator[Box]:
    """Yield the box of all ways and every box that it is cut into, down to single ways."""
    waiting = [whole_box(shares)]
    while waiting:
        yield (box := waiting.pop())
        waiting += halves(box, shares)


@each_shares
def test_the_whole_box_holds_all_ways(shares: tuple[Share, ...]) -> None:
    assert ways_in(whole_box(shares), shares) == ways(shares)


@each_shares
def test_a_box_is_cut_in_two_where_it_is_widest_until_it_is_one_way(shares: tuple[Share, ...]) -> None:
    for box in boxes_of(shares):
        inside, parts = ways_in(box, shares), halves(box, shares)
        if not parts:
            assert inside == {at_most(box)}
            continue
        one, other = (ways_in(part, shares) for part in parts)
        assert one
        assert other
        assert one | other == inside
        assert not one & other
        # Where the box is widest, one part has the lower half of the range, the middle included, and one the rest.
        widest = max(high - low for own in box for low, high in own)
        cuts = [
            (low + high) // 2
            for which, own in enumerate(box)
            for at, (low, high) in enumerate(own)
            if high - low == widest
            and all(way[which][at] <= (low + high) // 2 for way in one)
            and all(way[which][at] > (low + high) // 2 for way in other)
        ]
        assert cuts


@each_shares
def test_each_least_and_each_most_of_a_box_is_that_of_a_way_in_it(shares: tuple[Share, ...]) -> None:
    for box in boxes_of(shares):
        inside = ways_in(box, shares)
        for which, own in enumerate(box):
            for at, (low, high) in enumerate(own):
                assert {low, high} <= {way[which][at] for way in inside}
        assert at_most(box) == tuple(
            tuple(max(way[which][at] for way in inside) for at in range(len(own))) for which, own in enumerate(box)
        )


@each_shares
def test_the_middle_of_a_box_is_a_way_in_it_that_takes_each_use_as_far_as_the_others(
    shares: tuple[Share, ...],
) -> None:
    """From its least on, each use gets its part of what is left, to within a fitting for each use of its share."""
    for box in boxes_of(shares):
        way = middle(box, shares)
        assert way in ways_in(box, shares)
        for own, ranges, (uses, times) in zip(way, box, shares, strict=True):
            left, room = times - sum(low for low, _ in ranges), sum(high - low for low, high in ranges)
            for n, (low, high) in zip(own, ranges, strict=True):
                assert abs((n - low) * room - left * (high - low)) < max(1, room) * uses


def test_the_middle_is_rounded_up_use_by_use() -> None:
    # 5 over three uses: a third is 1.67, so 2; half of the 3 that are left 1.5, so 2; and 1.
    assert middle((((0, 5), (0, 5), (0, 5)),), [(3, 5)]) == ((2, 2, 1),)
    # From the least on, 1 and 0, 3 are left, in room for 2 and 4: a third of 3 is 1, and 2.
    assert middle((((1, 3), (0, 4)),), [(2, 4)]) == ((2, 2),)
    # From 5 and 5, 10 are left, in room for 10 and 10: half for each.
    assert middle((((5, 15), (5, 15)),), [(2, 20)]) == ((10, 10),)


@each_shares
def test_the_first_ways_are_ways(shares: tuple[Share, ...]) -> None:
    first, last, even = first_ways(shares)
    assert {first, last, even} <= ways(shares)
    for own, behind, spread, (_, times) in zip(first, last, even, shares, strict=True):
        assert own[0] == times == behind[-1]
        assert max(spread) - min(spread) <= 1
