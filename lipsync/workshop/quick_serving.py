"""Pressings dealt out by simple rules, and the fewest that there can be in any case: if these agree, both are exact.

In: uses, how often the piece is put on in each, and the `Rules` (board_uses.py). Out: `Bounds`: a `Serving` that is
enough, and a number that no serving can be below. If they differ, an integer program finds the fewest
(hand_over_network.py), which takes a thousand times as long.
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from lipsync.workshop.board_uses import BoardUse, Lying, PressingLane, Rules, Serving, lying
from lipsync.workshop.hand_over_network import at_least, serve

# Ways to deal out that are tried beside the named ones, by the same random numbers each time: at first, and where the
# bounds differ (chosen: a few ms, and a tenth of what the integer program takes).
_MORE_WAYS, _MANY_WAYS = 20, 300


@dataclass(frozen=True, slots=True)
class Bounds:
    """A serving that is enough, its `Serving.counted` (`most`), and a lower bound for any serving (`least`)."""

    enough: Serving
    most: int
    least: int


def served(uses: Sequence[BoardUse], times: Sequence[int], rules: Rules) -> Serving:
    """Return a way to serve all uses that makes the fewest pressings; among such ways, one that uses the fewest.

    Args:
        uses: uses of puppets whose heads take the same mouths.
        times: how often the piece is put on in each use.
        rules: the rules by which pressings are counted.
    """
    return settled(uses, times, rules, bounds(uses, times, rules))


def settled(
    uses: Sequence[BoardUse], times: Sequence[int], rules: Rules, quick: Bounds, *, tidy: bool = True
) -> Serving:
    """Return the same as `served` from quick bounds that are known already; with `tidy`, with few hand-overs."""
    if quick.most > quick.least:
        quick = narrowed(uses, times, rules, quick)
    if quick.most == quick.least:
        return quick.enough
    if any(held.fitted or held.puppet for held in rules.held):
        return serve(uses, times, rules, tidy=tidy)
    return _with_unused(serve(uses, times, replace(rules, held=(), spares=0), tidy=tidy), rules)


def narrowed(uses: Sequence[BoardUse], times: Sequence[int], rules: Rules, quick: Bounds) -> Bounds:
    """Return narrower bounds, which take longer to find."""
    least = max(quick.least, at_least(uses, times, rules))
    if quick.most == least:
        return replace(quick, least=least)
    more = _dealt_best(uses, times, rules, least, _MANY_WAYS)
    return Bounds(more.enough, more.most, least) if more.most < quick.most else replace(quick, least=least)


def _with_unused(fresh: Serving, rules: Rules) -> Serving:
    """Return a serving in which existing pressings that are unused take the place of new ones."""
    unused = [which for which, held in enumerate(rules.held) for _ in range(held.count)]
    left = max(0, len(unused) - fresh.serving)
    origins = [*unused, *([None] * fresh.serving)]
    lanes = (replace(lane, held=held) for lane, held in zip(fresh.lanes, origins, strict=False))
    return Serving(tuple(lanes), max(0, rules.spares - left))


def bounds(uses: Sequence[BoardUse], times: Sequence[int], rules: Rules) -> Bounds:
    """Return bounds that are found quickly."""
    return _dealt_best(uses, times, rules, _least(uses, times, rules), _MORE_WAYS)


def _dealt_best(uses: Sequence[BoardUse], times: Sequence[int], rules: Rules, least: int, more_ways: int) -> Bounds:
    """Return the best of several ways to deal out; the first that reaches `least` ends the search."""
    found: list[tuple[int, Serving]] = []
    for choice in _choices(len(times), more_ways):
        serving = _as_serving(_dealt(uses, times, rules, choice), rules)
        found.append((serving.counted(rules), serving))
        if found[-1][0] == least:
            break
    most, enough = min(found, key=lambda one: one[0])
    return Bounds(enough, most, least)


def _least(uses: Sequence[BoardUse], times: Sequence[int], rules: Rules) -> int:
    """Return a lower bound of `Serving.counted`, from the uses at the same time and from the fittings in all."""
    must, there = _must(uses, times, rules), sum(held.count for held in rules.held)
    made = max(0, must - there, must + rules.spares - there)
    if rules.lasts is not None:
        left = sum(times) - sum(held.count * max(0, rules.lasts - held.fitted) for held in rules.held)
        made = max(made, -(-left // rules.lasts))
    return made * (there + 1) + max(0, must - made)


@dataclass(slots=True)
class _InUse:
    """A pressing that is being dealt out; it changes with each use that it serves.

    Attributes:
        stays: the uses that it has served, with its fittings in each.
        worn: how often it was put on.
        lies: where it lies.
        held: the index in `Rules.held` if it exists already.
    """

    stays: list[tuple[int, int]] = field(default_factory=list)
    worn: int = 0
    lies: Lying = field(default_factory=Lying)
    held: int | None = None


def _as_serving(dealt: Sequence[_InUse], rules: Rules) -> Serving:
    lanes = tuple(PressingLane(one.held, tuple(one.stays)) for one in dealt if one.stays)
    left = sum(held.count for held in rules.held) - sum(lane.held is not None for lane in lanes)
    return Serving(lanes, max(0, rules.spares - left))


# The order in which free pressings are taken for a use: the one with the least key first.
_Choice = Callable[[_InUse, BoardUse], tuple[float, ...]]

# Those on the use's own board first, then the most or the least worn; existing ones before new ones.
_NAMED: tuple[_Choice, ...] = (
    lambda one, use: (one.lies.puppet != use.puppet, -one.worn),
    lambda one, use: (one.lies.puppet != use.puppet, one.worn),
    lambda one, _: (-one.worn,),
    lambda one, use: (one.lies.puppet == use.puppet, one.worn),
)


def _choices(uses: int, more_ways: int) -> list[_Choice]:
    chance = random.Random(0)
    if uses < 2:
        return [*_NAMED]

    def by_chance(one: _InUse, use: BoardUse) -> tuple[float, ...]:
        return (one.lies.puppet != use.puppet and chance.random() < 0.5, chance.random())

    return [*_NAMED, *([by_chance] * more_ways)]


def _must(uses: Sequence[BoardUse], times: Sequence[int], rules: Rules) -> int:
    """Return how many pressings there must be if all were new, from uses at the same time and from all fittings."""
    lasts = rules.lasts or max(1, sum(times))
    busiest = 0
    for day in {use.first for use in uses}:
        boards: defaultdict[str, int] = defaultdict(int)
        for use, each in zip(uses, times, strict=True):
            # What is on a board is on no other until the change-over days have passed.
            if use.first <= day <= use.last + rules.change_over:
                boards[use.puppet] = max(boards[use.puppet], 1, -(-each // lasts))
        busiest = max(busiest, sum(boards.values()))
    return max(busiest, -(-sum(times) // lasts))


def _dealt(uses: Sequence[BoardUse], times: Sequence[int], rules: Rules, choice: _Choice) -> list[_InUse]:
    """Return pressings that serve all uses, dealt out use by use in the order of first days; existing ones first."""
    worn_out = rules.lasts or max(1, sum(times)) + max((held.fitted for held in rules.held), default=0)
    pressings = [
        _InUse(worn=held.fitted, lies=lying(held, rules), held=which)
        for which, held in enumerate(rules.held)
        for _ in range(held.count)
    ]
    for at in sorted(range(len(uses)), key=lambda at: (uses[at].first, uses[at].last)):
        use, left, begun = uses[at], times[at], False
        free = [one for one in pressings if one.lies.reaches(use, rules)]
        ready = sorted((one for one in free if one.worn < worn_out or not left), key=lambda one: choice(one, use))
        while left or not begun:
            one = ready.pop(0) if ready else _InUse()
            if one.held is None and not one.stays:
                pressings.append(one)
            puts = min(left, max(0, worn_out - one.worn))
            one.stays.append((at, puts))
            one.worn, one.lies, left, begun = one.worn + puts, one.lies.after(use), left - puts, True
    return pressings
