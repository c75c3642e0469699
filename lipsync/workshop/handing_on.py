"""The fewest pressings of one piece that are enough, on whichever days of the plan each fitting falls.

In come the uses of a piece (board_uses.py) and how often it is put on over them; out comes the `Supply`. Of a
shot that a puppet begins in one row of the plan and goes on with in another, nobody knows beforehand how much falls
into which. Enough is what is enough for each way to share the fittings out; so the fewest is the most that any way
needs, and is found exactly: what is enough for more fittings is enough for fewer, so a whole box of ways is settled
where the way with the most in every row needs no more than one that was found; else the box is cut in two.

Where that takes too long (`_MOST_WAYS`), what is ordered is still enough, and `exact` says that it may be too much.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import count

from lipsync.workshop.board_uses import BoardUse, PressingLane, Rules, Serving
from lipsync.workshop.quick_serving import fewest_served as fewest
from lipsync.workshop.quick_serving import served as serve

# So many ways to share fittings out are tried (chosen: a few seconds).
_MOST_WAYS = 24


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


# For each share of the fittings the least and the most that may fall into a use.
_Range = tuple[int, int]
_Box = tuple[tuple[_Range, ...], ...]


class _Sharing:
    def __init__(self, uses: tuple[BoardUse, ...], fitted: tuple[Fitted, ...], rules: Rules) -> None:
        self._uses, self._rules = uses, rules
        total = sum(one.times for one in fitted) + max((held.fitted for held in rules.held), default=0)
        wears = rules.lasts is not None and total > rules.lasts  # else it is the same wherever fittings fall
        self._open = [one for one in fitted if len(one.uses) > 1 and one.times and wears]
        self._settled = [0] * len(uses)
        for one in fitted:
            if one not in self._open:
                self._settled[one.uses[0]] += one.times
        self._fitted = fitted
        self._known: dict[tuple[int, ...], int] = {}

    def most(self) -> tuple[Serving, bool]:
        """Return the serving of a way that needs most, and whether none needs less than what is returned."""
        best = max((self._times(way) for way in self._first_ways()), key=self._value)
        if not self._open:
            return serve(self._uses, best, self._rules), True
        apart, times_apart, lanes_of = self._apart()
        ceiling = fewest(apart, times_apart, self._rules)
        order = count()
        whole = tuple(tuple((0, one.times) for _ in one.uses) for one in self._open)
        boxes = [(-self._value(self._at_most(whole)), next(order), whole)]
        while boxes and min(-boxes[0][0], ceiling) > self._value(best):
            if len(self._known) >= _MOST_WAYS:
                return self._enough(boxes[0][2], ceiling, lanes_of(serve(apart, times_apart, self._rules))), False
            _, _, box = heapq.heappop(boxes)
            best = max(best, self._times(self._middle(box)), key=self._value)
            for half in self._halves(box):
                heapq.heappush(boxes, (-self._value(self._at_most(half)), next(order), half))
        return serve(self._uses, best, self._rules), True

    def _enough(self, box: _Box, ceiling: int, apart: Serving) -> Serving:
        """Return what is enough for every way, where the fewest that are were not found."""
        worst = self._at_most(box)
        return apart if ceiling <= self._value(worst) else serve(self._uses, worst, self._rules)

    def _value(self, times: tuple[int, ...]) -> int:
        if times not in self._known:
            self._known[times] = fewest(self._uses, times, self._rules)
        return self._known[times]

    def _times(self, shares: Sequence[Sequence[int]]) -> tuple[int, ...]:
        """Return how often the piece is put on in each use where so many of each open share fall into its uses."""
        times = [*self._settled]
        for one, own in zip(self._open, shares, strict=True):
            for use, falls in zip(one.uses, own, strict=True):
                times[use] += falls
        return tuple(times)

    def _first_ways(self) -> list[list[list[int]]]:
        """Return ways to begin with: all in the first use of each, all in the last, and evenly."""
        first = [[one.times, *(0 for _ in one.uses[1:])] for one in self._open]
        even = [
            [one.times * (at + 1) // len(one.uses) - one.times * at // len(one.uses) for at in range(len(one.uses))]
            for one in self._open
        ]
        return [first, [own[::-1] for own in first], even]

    def _at_most(self, box: _Box) -> tuple[int, ...]:
        return self._times([[high for _, high in own] for own in box])

    def _apart(self) -> tuple[list[BoardUse], list[int], Callable[[Serving], Serving]]:
        """Return uses and fittings where each puppet keeps what it has from a row to the one that goes on with it.

        That is enough on whichever days the fittings fall. With them comes what says it of the uses as they are.
        """
        spans: dict[str, list[tuple[int, int]]] = {}
        for one in self._open:
            own = [self._uses[at] for at in one.uses]
            span = min(use.first for use in own), max(use.last for use in own)
            spans.setdefault(own[0].puppet, []).append(span)
        joined = [
            BoardUse(use.puppet, *_hull((use.first, use.last), spans.get(use.puppet, []))) for use in self._uses
        ]
        uses = list(dict.fromkeys(joined))
        times = [0] * len(uses)
        for each in self._fitted:
            times[uses.index(joined[each.uses[0]])] += each.times
        own_use = {uses.index(use): at for at, use in reversed(list(enumerate(joined)))}

        def as_they_are(made: Serving) -> Serving:
            lanes = tuple(
                PressingLane(one.held, tuple((own_use[use], n) for use, n in one.stays)) for one in made.lanes
            )
            return Serving(lanes, made.spares_made)

        return uses, times, as_they_are

    def _middle(self, box: _Box) -> list[list[int]]:
        shares: list[list[int]] = []
        for one, own in zip(self._open, box, strict=True):
            left = one.times - sum(low for low, _ in own)
            share = [low for low, _ in own]
            room = sum(high - low for low, high in own)
            for at, (low, high) in enumerate(own):
                add = min(left, -(-left * (high - low) // room)) if room else 0
                share[at] += add
                left, room = left - add, room - (high - low)
            shares.append(share)
        return shares

    def _halves(self, box: _Box) -> list[_Box]:
        """Return a box cut in two where it is widest; nothing if it is a single way."""
        width, which, at = max(
            (high - low, which, at) for which, own in enumerate(box) for at, (low, high) in enumerate(own)
        )
        if not width:
            return []
        low, high = box[which][at]
        middle = (low + high) // 2
        found: list[_Box] = []
        for part in ((low, middle), (middle + 1, high)):
            own = (*box[which][:at], part, *box[which][at + 1 :])
            if tight := _tightened(own, self._open[which].times):
                found.append((*box[:which], tight, *box[which + 1 :]))
        return found


def _hull(days: tuple[int, int], spans: Sequence[tuple[int, int]]) -> tuple[int, int]:
    """Return days with all spans that meet them, directly or through others."""
    while True:
        met = [span for span in spans if span[0] <= days[1] and days[0] <= span[1]]
        hull = min([days[0], *(first for first, _ in met)]), max([days[1], *(last for _, last in met)])
        if hull == days:
            return days
        days = hull


def _tightened(own: tuple[_Range, ...], times: int) -> tuple[_Range, ...]:
    """Return ranges as far as they can come to so many in all; nothing if they cannot."""
    while True:
        lows, highs = sum(low for low, _ in own), sum(high for _, high in own)
        if lows > times or highs < times:
            return ()
        tight = tuple((max(low, times - highs + high), min(high, times - lows + low)) for low, high in own)
        if tight == own:
            return own
        own = tight
