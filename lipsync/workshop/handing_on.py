"""The fewest pressings of one piece that are enough, whichever days of the plan its fittings fall on.

In: the uses of a piece (board_uses.py) and how often it is put on over them. Out: the `Supply`.

If a puppet begins a shot in one row of the plan and goes on with it in another, nobody knows beforehand how many of
the shot's fittings fall into which row. The order must be enough for every way to share the fittings out, so it is
the number that the most demanding way needs. That number is found exactly. Pressings that are enough for more
fittings are enough for fewer. So a whole box of ways (fitting_shares.py) is settled if its upper corner, which has
the most fittings in every row, needs no more than a way that was looked at already; if not, the box is cut in two.
A box is settled too if the lanes of a way that was looked at serve all its ways (standing_lanes.py). For nearly all
ways the bounds of quick_serving.py are enough, few need an integer program.

The search ends, but in a plan full of breaks it can take minutes. Whoever does not want to wait asks for what is
found soon (`_SOON`): that number is enough too, and `exact` says whether it is the fewest.
"""

from __future__ import annotations

import heapq
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import count

from lipsync.workshop.board_uses import BoardUse, PressingLane, Rules, Serving
from lipsync.workshop.fitting_shares import Box, Way, at_most, first_ways, halves, middle, whole_box
from lipsync.workshop.quick_serving import Bounds, bounds, narrowed, settled
from lipsync.workshop.quick_serving import served as serve
from lipsync.workshop.standing_lanes import StandingLanes

# What is found soon: at most so much work goes into the integer program, and so many boxes are cut (chosen: a few
# seconds). The work of solving a way grows with the rows of the plan times the fittings that a piece lasts for, and
# has a least (measured).
_Limit = tuple[int, int]
_SOON, _NO_LIMIT = (11_000, 400), (sys.maxsize, sys.maxsize)
_LEAST_WORK = 200

# So many servings are remembered, to try them on other boxes (chosen).
_REMEMBERED = 40


@dataclass(frozen=True, slots=True)
class Fitted:
    """Fittings of the piece that may fall into any of these uses of one puppet; `uses` are indices."""

    uses: tuple[int, ...]
    times: int


@dataclass(frozen=True, slots=True)
class Supply:
    """How many pressings are enough.

    Attributes:
        to_make: how many pressings to make, spares included.
        serving: how many pressings serve, old and new; all others are spares.
        at_least: how many would have to serve if no pressing were ever used up, and all existing ones were new.
        lanes: what each pressing serves in the most demanding way to share the fittings out.
        exact: whether it is certain that fewer would not be enough.
    """

    to_make: int
    serving: int
    at_least: int
    lanes: tuple[PressingLane, ...]
    exact: bool = True


def supply(uses: Sequence[BoardUse], fitted: Sequence[Fitted], rules: Rules, *, fewest: bool = True) -> Supply:
    """Return the fewest pressings that are enough for all uses, with the spares asked for.

    Without `fewest` the search ends after some seconds; it may be more than the fewest then.

    >>> uses = (BoardUse("heron-1", 1, 4), BoardUse("heron-2", 3, 6), BoardUse("heron-1", 5, 9))
    >>> found = supply(uses, (Fitted((0, 2), 12), Fitted((1,), 3)), Rules(lasts=10))
    >>> found.to_make, found.at_least
    (3, 2)
    """
    return _supply(
        tuple(uses), tuple(sorted(fitted, key=lambda one: one.uses)), rules, _NO_LIMIT if fewest else _SOON
    )


@lru_cache(maxsize=4096)
def _supply(uses: tuple[BoardUse, ...], fitted: tuple[Fitted, ...], rules: Rules, limit: _Limit) -> Supply:
    fresh = serve(uses, (0,) * len(uses), Rules(change_over=rules.change_over))
    found, exact = _Sharing(uses, fitted, rules).most(limit)
    return Supply(found.to_make, found.serving, fresh.serving, found.lanes, exact)


class _Sharing:
    """The search for the way to share the fittings out that needs most pressings (by `Serving.counted`).

    `_needed` is the highest lower bound found so far, that of `_way`. No way needs more than the upper corner of the
    box that it is in, nor more than the servings of `_apart`.
    """

    def __init__(self, uses: tuple[BoardUse, ...], fitted: tuple[Fitted, ...], rules: Rules) -> None:
        self._uses, self._rules = uses, rules
        total = sum(one.times for one in fitted) + max((held.fitted for held in rules.held), default=0)
        wears = rules.lasts is not None and total > rules.lasts  # if not, it does not matter where fittings fall
        self._open = [one for one in fitted if len(one.uses) > 1 and one.times and wears]
        self._shares = [(len(one.uses), one.times) for one in self._open]
        self._settled = [0] * len(uses)
        for one in fitted:
            if one not in self._open:
                self._settled[one.uses[0]] += one.times
        self._fitted = fitted
        self._bounds: dict[tuple[int, ...], Bounds] = {}
        self._standing: list[StandingLanes] = []  # those that served last come first
        self._worked, self._work = 0, _LEAST_WORK + len(uses) * (rules.lasts or 0)
        self._needed, self._way = -1, (0,) * len(uses)

    def most(self, limit: _Limit) -> tuple[Serving, bool]:
        """Return the serving of the most demanding way, and whether it is exact; if not, it is more than enough."""
        most_work, most_boxes = limit
        for way in first_ways(self._shares):
            self._known(way)
        if not self._open:
            return serve(self._uses, self._way, self._rules), True
        apart = _Apart(self._uses, self._fitted, self._open, self._rules)
        for way in first_ways(self._shares):
            self._keep_lanes(way)
        whole, order = whole_box(self._shares), count()
        boxes = [(-self._known(at_most(whole), is_way=False).most, next(order), whole)]
        while boxes and min(-boxes[0][0], apart.ceiling(self._needed)) > self._needed:
            if self._worked >= most_work or next(order) > most_boxes:
                return self._enough(boxes[0][2], apart), False
            _, _, box = heapq.heappop(boxes)
            if self._stands(box):
                continue
            parts = halves(box, self._shares)
            if self._exceeds(at_most(box), is_way=not parts):
                if parts:
                    way = middle(box, self._shares)
                    self._exceeds(way, is_way=True)
                    self._keep_lanes(way)
                else:
                    self._solve(at_most(box), is_way=True)
                for half in parts:
                    heapq.heappush(boxes, (-self._known(at_most(half), is_way=False).most, next(order), half))
        return settled(self._uses, self._way, self._rules, self._bounds[self._way]), True

    def _keep_lanes(self, way: Way) -> None:
        """Remember how a way is served, for boxes that the same lanes may serve."""
        lanes = StandingLanes(self._known(way).enough, self._uses, self._rules)
        if lanes.few_enough:
            self._standing.insert(0, lanes)
            del self._standing[_REMEMBERED:]

    def _stands(self, box: Box) -> bool:
        """Return whether lanes that are known serve all ways of a box with no more pressings than are needed."""
        spread = [(one.uses, one.times) for one in self._open]
        for at, lanes in enumerate(self._standing):
            if lanes.counted <= self._needed and lanes.serve(self._settled, spread, box):
                self._standing.insert(0, self._standing.pop(at))
                return True
        return False

    def _exceeds(self, shares: Way, *, is_way: bool) -> bool:
        """Return whether `shares` need more than the most demanding way so far; solve them if bounds do not tell."""
        before, known, times = self._needed, self._known(shares, is_way=is_way), self._times(shares)
        if known.least <= before < known.most:
            self._bounds[times] = narrowed(self._uses, times, self._rules, known)
            known = self._known(shares, is_way=is_way)
        if known.least <= before < known.most:
            known = self._solve(shares, is_way=is_way)
        return known.most > before

    def _solve(self, shares: Way, *, is_way: bool) -> Bounds:
        """Return what `shares` need, found exactly by the integer program."""
        known, times = self._known(shares, is_way=is_way), self._times(shares)
        if known.least < known.most:
            self._worked += self._work
            exact = settled(self._uses, times, self._rules, known, tidy=False)
            counted = exact.counted(self._rules)
            self._bounds[times] = Bounds(exact, counted, counted)
        return self._known(shares, is_way=is_way)

    def _known(self, shares: Way, *, is_way: bool = True) -> Bounds:
        """Return quick bounds of what `shares` need; a way (`is_way`) may turn out to be the most demanding."""
        times = self._times(shares)
        if times not in self._bounds:
            self._bounds[times] = bounds(self._uses, times, self._rules)
        found = self._bounds[times]
        if is_way and found.least > self._needed:
            self._needed, self._way = found.least, times
        return found

    def _enough(self, box: Box, apart: _Apart) -> Serving:
        """Return a serving that is enough for every way, when the search ends before the fewest are found."""
        worst = self._known(at_most(box), is_way=False)
        return apart.serving() if apart.ceiling(self._needed) <= worst.most else worst.enough

    def _times(self, shares: Way) -> tuple[int, ...]:
        """Return how often the piece is put on in each use, for one way to share out what is not fixed."""
        times = [*self._settled]
        for one, own in zip(self._open, shares, strict=True):
            for use, falls in zip(one.uses, own, strict=True):
                times[use] += falls
        return tuple(times)


class _Apart:
    """Servings in which each puppet keeps its pressings from a row of the plan to the one that continues a shot.

    They are enough whichever days the fittings fall on.
    """

    def __init__(
        self, uses: Sequence[BoardUse], fitted: Sequence[Fitted], broken: Sequence[Fitted], rules: Rules
    ) -> None:
        spans: dict[str, list[tuple[int, int]]] = {}
        for one in broken:
            own = [uses[at] for at in one.uses]
            span = min(use.first for use in own), max(use.last for use in own)
            spans.setdefault(own[0].puppet, []).append(span)
        joined = [BoardUse(use.puppet, *_hull((use.first, use.last), spans.get(use.puppet, []))) for use in uses]
        self._rules, self._uses = rules, list(dict.fromkeys(joined))
        self._times = [0] * len(self._uses)
        for each in fitted:
            self._times[self._uses.index(joined[each.uses[0]])] += each.times
        self._own_use = {self._uses.index(use): at for at, use in reversed(list(enumerate(joined)))}
        self._bounds = bounds(self._uses, self._times, rules)

    def ceiling(self, needed: int) -> int:
        """Return a number (`Serving.counted`) that is enough for every way; look longer if it may equal `needed`."""
        if self._bounds.least <= needed < self._bounds.most:
            self._bounds = narrowed(self._uses, self._times, self._rules, self._bounds)
        if self._bounds.least <= needed < self._bounds.most:
            exact = settled(self._uses, self._times, self._rules, self._bounds, tidy=False)
            counted = exact.counted(self._rules)
            self._bounds = Bounds(exact, counted, counted)
        return self._bounds.most

    def serving(self) -> Serving:
        """Return such a serving, with its lanes in terms of the original uses."""
        made = self._bounds.enough
        lanes = (PressingLane(one.held, tuple((self._own_use[use], n) for use, n in one.stays)) for one in made.lanes)
        return Serving(tuple(lanes), made.spares_made)


def _hull(days: tuple[int, int], spans: Sequence[tuple[int, int]]) -> tuple[int, int]:
    """Return days extended by all spans that share days with them, directly or through other spans."""
    while True:
        met = [span for span in spans if span[0] <= days[1] and days[0] <= span[1]]
        hull = min([days[0], *(first for first, _ in met)]), max([days[1], *(last for _, last in met)])
        if hull == days:
            return days
        days = hull
