"""The ways that pressings of one piece can go from board to board, as a network for the integer program.

In: the uses of a piece, each with how often it is put on, and the pressings that exist already. Out: which pressing
serves which use. The flow in the network is pressings. A node is a place, a day, and how often a pressing was put on:

    board    before a use, on the board of its puppet; from one use of a puppet a pressing can go on to its next
    serving  in a use: each fitting takes the pressing to the node with one fitting more
    box      shared by all puppets with the same heads: what is taken off a board is there after the change-over days

So wear adds up along each path, and no pressing is put on more often than it lasts. If pieces are not used up, one
node stands for all numbers of fittings. The model has the form of the arc-flow model of cutting stock (Valério de
Carvalho 1999, from memory), and the solver's answer is exact.

A pressing that serves a use stays on that board until the use's last day. Uses of one puppet may share days, and one
may lie within another: there, each stretch of uses (board_stretches.py) has nodes of its own.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import gcd

from lipsync.workshop.board_stretches import Stretch, clusters, in_step, stretches
from lipsync.workshop.board_uses import BoardUse, PressingLane, Rules, Serving
from lipsync.workshop.integer_program import Sums, bound, least

_NO_END = float("inf")

# How long the solver looks for fewer hand-overs, in nodes of its search; by then the number of pressings is exact.
_TIDYING = 200


def serve(uses: Sequence[BoardUse], times: Sequence[int], rules: Rules, *, tidy: bool = True) -> Serving:
    """Return a way to serve all uses that makes the fewest pressings; among such ways, one that uses the fewest.

    With `tidy`, it also looks for a way with fewer hand-overs.
    """
    return _Network(uses, times, rules).solved(tidy=tidy)


def at_least(uses: Sequence[BoardUse], times: Sequence[int], rules: Rules) -> int:
    """Return a lower bound of `Serving.counted` for what `serve` returns: ten times as fast, and often equal."""
    return _Network(uses, times, rules).bound()


# A node: the place (with its day), and how often the pressing was put on.
_Node = tuple[tuple[object, ...], int]


@dataclass(frozen=True, slots=True)
class _Arc:
    tail: _Node | None
    head: _Node
    cost: int = 0
    upper: float = _NO_END
    fits: int | None = None
    stays: int | None = None
    held: int | None = None


class _Network:
    def __init__(self, uses: Sequence[BoardUse], times: Sequence[int], rules: Rules) -> None:
        self._uses, self._rules = uses, rules
        worn = [held.fitted for held in rules.held if held.count]
        lasts = rules.lasts
        self._wears = lasts is not None and sum(times) + max(worn, default=0) > lasts
        # All numbers of fittings are divided by their common divisor: the same answer from a smaller network.
        self._unit = gcd(lasts, *times, *worn) if self._wears and lasts is not None else 1
        self._lasts = lasts // self._unit if self._wears and lasts is not None else 0
        self._times = [each // self._unit for each in times]
        self._full_times = times
        self._days = sorted({use.first for use in uses})
        self._arcs: list[_Arc] = []
        for puppet in dict.fromkeys(use.puppet for use in uses):
            self._lay_board(puppet)
        for level in range(self._lasts + 1):
            for day, later in pairwise(self._days):
                self._lay((("box", day), level), (("box", later), level))
        self._lay_sources()

    def _lay(self, tail: _Node, head: _Node, stays: int | None = None) -> None:
        self._arcs.append(_Arc(tail, head, stays=stays))

    def _lay_board(self, puppet: str) -> None:
        own = sorted((use.first, use.last, at) for at, use in enumerate(self._uses) if use.puppet == puppet)
        at = 0
        for cluster in clusters(own):
            for stretch in stretches(cluster):
                self._lay_stretch(("board", puppet), at, stretch)
            at += len(cluster)
            if len(cluster) > 1 and not in_step(cluster):
                for level in range(self._lasts + 1):
                    self._lay((("board", puppet, at - len(cluster)), level), (("board", puppet, at), level))

    def _lay_stretch(self, board: tuple[object, ...], at: int, stretch: Stretch) -> None:
        """Add the arcs for the uses of a stretch, one after the other, from the board's node number `at` on."""
        end = at + stretch.of
        for place, (first, last, use) in enumerate(stretch.uses):
            # A stretch that is one of several for the same uses has nodes of its own between its ends.
            here = (*board, at + place) if not stretch.own or not place else (*board, at, stretch.own, place)
            after = (*board, at + place + 1) if not stretch.own else (*board, at, stretch.own, place + 1)
            serving = ("use", use, *(stretch.own or ()))
            begins, ends = stretch.own or (first, last)
            inside = (*board, at, stretch.own, 0) if stretch.own else here
            if stretch.own and not place:
                for level in range(self._lasts + 1):
                    self._lay((here, level), (inside, level))
                here = inside
            free = next((day for day in self._days if day > ends + self._rules.change_over), None)
            for level in range(self._lasts + 1):
                self._lay((here, level), (serving, level), stays=use)
                self._lay((here, level), (after, level))
                self._lay((serving, level), (after, level))
                if stretch.own:
                    self._lay((serving, level), ((*board, end), level))
                if free is not None:
                    self._arcs.append(_Arc((serving, level), (("box", free), level), cost=1))
                if not stretch.own or not place:
                    self._lay((("box", begins), level), (here, level))
                if level < self._lasts:
                    step = _Arc((serving, level), (serving, level + 1), upper=self._times[use], fits=use)
                    self._arcs.append(step)

    def _lay_sources(self) -> None:
        box = ("box", self._days[0])
        self._arcs.append(_Arc(None, (box, 0), upper=len(self._uses) + sum(self._times)))
        served = {use.puppet for use in self._uses}
        for which, held in enumerate(self._rules.held):
            level = held.fitted // self._unit if self._wears else 0
            source = ("held", which), level
            self._arcs.append(_Arc(None, source, upper=held.count, held=which))
            if held.puppet in served:
                self._lay(source, (("board", held.puppet, 0), level))
            free = self._rules.since + self._rules.change_over if held.puppet else self._days[0] - 1
            day = next((day for day in self._days if day > free), None)
            if day is not None:
                self._arcs.append(_Arc(source, (("box", day), level), cost=1 if held.puppet else 0))

    def _counting(self) -> list[int]:
        """Return the cost of each number: a pressing that is made costs more than all existing ones together."""
        dear = sum(held.count for held in self._rules.held) + 1
        return [*((dear if arc.held is None else 1) if arc.tail is None else 0 for arc in self._arcs), dear]

    def _found(self) -> tuple[Sums, tuple[int, ...], int]:
        sums, counting = self._sums(), self._counting()
        found = least(sums, counting)
        assert found is not None  # new pressings serve any uses
        return sums, found, sum(cost * value for cost, value in zip(counting, found, strict=True))

    def bound(self) -> int:
        return bound(self._sums(), self._counting())

    def solved(self, *, tidy: bool) -> Serving:
        sums, found, counted = self._found()
        if tidy:
            found = self._tidied(sums, self._counting(), counted) or found
        return Serving(self._lanes(list(found[:-1])), found[-1])

    def _sums(self) -> Sums:
        """Return the integer program: a number for each arc (its flow), and the last for the spares that are made."""
        nodes: dict[_Node, int] = {}
        for arc in self._arcs:
            for node in (arc.tail, arc.head):
                if node is not None:
                    nodes.setdefault(node, len(nodes))
        bounds = [(0.0, _NO_END)] * len(nodes)
        fitted, present, spare = len(nodes), len(nodes) + len(self._uses), len(nodes) + 2 * len(self._uses)
        bounds += [(each, each) if self._wears else (0.0, _NO_END) for each in self._times]
        bounds += [(1.0, _NO_END)] * len(self._uses)
        there = sum(held.count for held in self._rules.held)
        bounds.append((self._rules.spares - there, _NO_END))
        parts: list[list[tuple[int, float]]] = []
        for arc in self._arcs:
            own = [(nodes[arc.head], 1.0)]
            own += [(nodes[arc.tail], -1.0)] if arc.tail is not None else []
            own += [(fitted + arc.fits, 1.0)] if arc.fits is not None else []
            own += [(present + arc.stays, 1.0)] if arc.stays is not None else []
            own += [(spare, -1.0)] if arc.held is not None else []
            parts.append(own)
        parts.append([(spare, 1.0)])
        return Sums([*(arc.upper for arc in self._arcs), float(self._rules.spares)], bounds, parts)

    def _tidied(self, sums: Sums, counting: Sequence[int], fewest: int) -> tuple[int, ...] | None:
        """Return a flow with as few pressings and fewer hand-overs, or None if none is found soon."""
        held_to = len(sums.bounds)
        parts = [
            [*own, (held_to, float(cost))] if cost else own for own, cost in zip(sums.parts, counting, strict=True)
        ]
        tighter = Sums(sums.upper, [*sums.bounds, (0.0, float(fewest))], parts)
        return least(tighter, [*(arc.cost for arc in self._arcs), 0], _TIDYING)

    def _lanes(self, flow: list[int]) -> tuple[PressingLane, ...]:
        leaving: defaultdict[_Node, list[int]] = defaultdict(list)
        sources: list[int] = []
        for which, arc in enumerate(self._arcs):
            if flow[which] and arc.tail is None:
                sources.append(which)
            elif flow[which] and arc.tail is not None:
                leaving[arc.tail].append(which)
        ways: list[tuple[int | None, dict[int, int]]] = []
        for source in sources:
            for _ in range(flow[source]):
                ways.append((self._arcs[source].held, self._way(self._arcs[source].head, leaving, flow)))
        return tuple(_needed(ways, self._full_times, wears=self._wears, unit=self._unit, uses=self._uses))

    def _way(self, node: _Node, leaving: dict[_Node, list[int]], flow: list[int]) -> dict[int, int]:
        """Follow one pressing from a node on, taking it off `flow`; return its uses, each with its fittings."""
        served: dict[int, int] = {}
        while True:
            which = next((one for one in leaving.get(node, ()) if flow[one]), None)
            if which is None:
                return served
            flow[which] -= 1
            arc = self._arcs[which]
            if arc.stays is not None:
                served[arc.stays] = 0
            if arc.fits is not None:
                served[arc.fits] += 1
            node = arc.head


def _needed(
    ways: Sequence[tuple[int | None, dict[int, int]]],
    times: Sequence[int],
    *,
    wears: bool,
    unit: int,
    uses: Sequence[BoardUse],
) -> Iterator[PressingLane]:
    """Yield the lanes, without the stays in which nothing is put on although another pressing is on the board too."""
    boards: defaultdict[int, int] = defaultdict(int)
    for _, served in ways:
        for use in served:
            boards[use] += 1
    for held, served in ways:
        stays: list[tuple[int, int]] = []
        for use, fitted in sorted(served.items(), key=lambda one: (uses[one[0]].first, uses[one[0]].last)):
            if boards[use] > 1 and not fitted:
                boards[use] -= 1
                continue
            stays.append((use, fitted * unit if wears else times[use]))
        if stays:
            yield PressingLane(held, tuple(stays))
