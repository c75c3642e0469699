"""The fewest pressings of one piece that are enough, on whichever days of the plan each fitting falls.

In come the uses of a piece (board_uses.py) and how often it is put on over them; out comes the `Supply`. Of a
shot that a puppet begins in one row of the plan and goes on with in another, nobody knows beforehand how much falls
into which. Enough is what is enough for each way to share the fittings out; so the fewest is the most that any way
needs, and is found exactly: what is enough for more fittings is enough for fewer, so a whole box of ways
(fitting_shares.py) is settled where the way with the most in every row needs no more than one that was found; else
the box is cut in two. Nearly all ways are settled by what bounds them (quick_serving.py), few by an integer program.

Where that takes too long (`_MOST_WORK`, `_MOST_BOXES`), what is ordered is still enough, and `exact` says that it
may be too much.
"""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import count

from lipsync.workshop.board_uses import BoardUse, PressingLane, Rules, Serving
from lipsync.workshop.fitting_shares import Box, Way, at_most, first_ways, halves, middle, whole_box
from lipsync.workshop.quick_serving import Bounds, bounds, narrowed, settled
from lipsync.workshop.quick_serving import served as serve

# So much work goes into the integer program, and so many boxes are cut (chosen: a few seconds). The work of solving a
# way grows with the rows of the plan times the fittings that a piece lasts for, from some least on (measured).
_MOST_WORK, _LEAST_WORK, _MOST_BOXES = 11_000, 200, 400


@dataclass(frozen=True, slots=True)
class Fitted:
    """How often the piece is put on, in whichever of these uses (by their place) of one puppet."""

    uses: tuple[int, ...]
    times: int


@dataclass(frozen=True, slots=True)
class Supply:
    """How many pressings are enough.

    Attributes:
        to_make: pressings to make, spares among them.
        serving: pressings that serve, old ones and new ones; others are spares.
        at_least: that serve if none were ever used up, and all there were new.
        lanes: what each serves, where most are needed.
        exact: whether fewer would not be enough.
    """

    to_make: int
    serving: int
    at_least: int
    lanes: tuple[PressingLane, ...]
    exact: bool = True


def supply(uses: Sequence[BoardUse], fitted: Sequence[Fitted], rules: Rules) -> Supply:
    """Return the fewest pressings that are enough for all uses, with the spares asked for.

    >>> uses = (BoardUse("heron-1", 1, 4), BoardUse("heron-2", 3, 6), BoardUse("heron-1", 5, 9))
    >>> found = supply(uses, (Fitted((0, 2), 12), Fitted((1,), 3)), Rules(lasts=10))
    >>> found.to_make, found.at_least
    (3, 2)
    """
    return _supply(tuple(uses), tuple(sorted(fitted, key=lambda one: one.uses)), rules)


@lru_cache(maxsize=4096)
def _supply(uses: tuple[BoardUse, ...], fitted: tuple[Fitted, ...], rules: Rules) -> Supply:
    fresh = serve(uses, (0,) * len(uses), Rules(change_over=rules.change_over))
    found, exact = _Sharing(uses, fitted, rules).most()
    return Supply(found.to_make, found.serving, fresh.serving, found.lanes, exact)


class _Sharing:
    """The search for the way to share the fittings out that needs most.

    `_needed` is what some way (`_way`) needs at the least; no way needs more than the bound of the box that it is in,
    or than `_apart` takes.
    """

    def __init__(self, uses: tuple[BoardUse, ...], fitted: tuple[Fitted, ...], rules: Rules) -> None:
        self._uses, self._rules = uses, rules
        total = sum(one.times for one in fitted) + max((held.fitted for held in rules.held), default=0)
        wears = rules.lasts is not None and total > rules.lasts  # else it is the same wherever fittings fall
        self._open = [one for one in fitted if len(one.uses) > 1 and one.times and wears]
        self._shares = [(len(one.uses), one.times) for one in self._open]
        self._settled = [0] * len(uses)
        for one in fitted:
            if one not in self._open:
                self._settled[one.uses[0]] += one.times
        self._fitted = fitted
        self._bounds: dict[tuple[int, ...], Bounds] = {}
        self._worked, self._work = 0, _LEAST_WORK + len(uses) * (rules.lasts or 0)
        self._needed, self._way = -1, (0,) * len(uses)

    def most(self) -> tuple[Serving, bool]:
        """Return the serving of a way that needs most, and whether none needs less than what is returned."""
        for way in first_ways(self._shares):
            self._known(way)
        if not self._open:
            return serve(self._uses, self._way, self._rules), True
        apart = _Apart(self._uses, self._fitted, self._open, self._rules)
        whole, order = whole_box(self._shares), count()
        boxes = [(-self._known(at_most(whole), is_way=False).most, next(order), whole)]
        while boxes and min(-boxes[0][0], apart.ceiling(self._needed)) > self._needed:
            if self._worked >= _MOST_WORK or next(order) > _MOST_BOXES:
                return self._enough(boxes[0][2], apart), False
            _, _, box = heapq.heappop(boxes)
            parts = halves(box, self._shares)
            if self._exceeds(at_most(box), is_way=not parts):
                if parts:
                    self._exceeds(middle(box, self._shares), is_way=True)
                else:
                    self._solve(at_most(box), is_way=True)
                for half in parts:
                    heapq.heappush(boxes, (-self._known(at_most(half), is_way=False).most, next(order), half))
        return settled(self._uses, self._way, self._rules, self._bounds[self._way]), True

    def _exceeds(self, shares: Way, *, is_way: bool) -> bool:
        """Whether more is needed for it than a way that was found needs before; where that is open, solve it."""
        before, known, times = self._needed, self._known(shares, is_way=is_way), self._times(shares)
        if known.least <= before < known.most:
            self._bounds[times] = narrowed(self._uses, times, self._rules, known)
            known = self._known(shares, is_way=is_way)
        if known.least <= before < known.most:
            known = self._solve(shares, is_way=is_way)
        return known.most > before

    def _solve(self, shares: Way, *, is_way: bool) -> Bounds:
        """Return what it needs, found exactly."""
        known, times = self._known(shares, is_way=is_way), self._times(shares)
        if known.least < known.most:
            self._worked += self._work
            exact = settled(self._uses, times, self._rules, known, tidy=False)
            counted = exact.counted(self._rules)
            self._bounds[times] = Bounds(exact, counted, counted)
        return self._known(shares, is_way=is_way)

    def _known(self, shares: Way, *, is_way: bool = True) -> Bounds:
        """Return what bounds so many fittings; if they are a way to share all out, it may be what needs most."""
        times = self._times(shares)
        if times not in self._bounds:
            self._bounds[times] = bounds(self._uses, times, self._rules)
        found = self._bounds[times]
        if is_way and found.least > self._needed:
            self._needed, self._way = found.least, times
        return found

    def _enough(self, box: Box, apart: _Apart) -> Serving:
        """Return what is enough for every way, where the fewest that are were not found."""
        worst = self._known(at_most(box), is_way=False)
        return apart.serving() if apart.ceiling(self._needed) <= worst.most else worst.enough

    def _times(self, shares: Way) -> tuple[int, ...]:
        """Return how often the piece is put on in each use where so many of each open share fall into its uses."""
        times = [*self._settled]
        for one, own in zip(self._open, shares, strict=True):
            for use, falls in zip(one.uses, own, strict=True):
                times[use] += falls
        return tuple(times)


class _Apart:
    """Servings in which each puppet keeps what it has from a row to the one that goes on with it.

    They are enough on whichever days the fittings fall.
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
        """Return what is enough for every way; looked for longer where it may be no more than is needed."""
        if self._bounds.least <= needed < self._bounds.most:
            self._bounds = narrowed(self._uses, self._times, self._rules, self._bounds)
        if self._bounds.least <= needed < self._bounds.most:
            exact = settled(self._uses, self._times, self._rules, self._bounds, tidy=False)
            counted = exact.counted(self._rules)
            self._bounds = Bounds(exact, counted, counted)
        return self._bounds.most

    def serving(self) -> Serving:
        """Return such a serving, of the uses as they are."""
        made = self._bounds.enough
        lanes = (PressingLane(one.held, tuple((self._own_use[use], n) for use, n in one.stays)) for one in made.lanes)
        return Serving(tuple(lanes), made.spares_made)


def _hull(days: tuple[int, int], spans: Sequence[tuple[int, int]]) -> tuple[int, int]:
    """Return days with all spans that meet them, directly or through others."""
    while True:
        met = [span for span in spans if span[0] <= days[1] and days[0] <= span[1]]
        hull = min([days[0], *(first for first, _ in met)]), max([days[1], *(last for _, last in met)])
        if hull == days:
            return days
        days = hull
