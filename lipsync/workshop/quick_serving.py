"""Pressings served out by simple rules, and how many there must be in any case: where these agree, all is found.

In come uses, how often the piece is put on in each and what is reckoned with (board_uses.py), nothing there yet but
unused pressings; out comes a `Serving`, or None where a better one may be.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from lipsync.workshop.board_uses import BoardUse, PressingLane, Rules, Serving
from lipsync.workshop.hand_over_network import fewest, serve


def served(uses: Sequence[BoardUse], times: Sequence[int], rules: Rules) -> Serving:
    """Return how all uses are served with the fewest pressings made, of those ways with the fewest that serve.

    Args:
        uses: of puppets whose heads take the same mouths.
        times: how often the piece is put on in each.
        rules: what is reckoned with.
    """
    if any(held.fitted or held.puppet for held in rules.held):
        return serve(uses, times, rules)
    fresh = replace(rules, held=(), spares=0)
    return _with_unused(_quick(uses, times, fresh) or serve(uses, times, fresh), rules)


def fewest_served(uses: Sequence[BoardUse], times: Sequence[int], rules: Rules) -> int:
    """Return what is counted of `served` (`Serving.counted`)."""
    if any(held.fitted or held.puppet for held in rules.held):
        return fewest(uses, times, rules)
    fresh = replace(rules, held=(), spares=0)
    quick = _quick(uses, times, fresh)
    serving = fewest(uses, times, fresh) if quick is None else quick.serving
    there = sum(held.count for held in rules.held)
    return max(0, serving + rules.spares - there) * (there + 1) + min(serving, there)


def _with_unused(fresh: Serving, rules: Rules) -> Serving:
    """Return a serving in which unused pressings that are there go first; they are as good as new ones."""
    unused = [which for which, held in enumerate(rules.held) for _ in range(held.count)]
    left = max(0, len(unused) - fresh.serving)
    origins = [*unused, *([None] * fresh.serving)]
    lanes = (replace(lane, held=held) for lane, held in zip(fresh.lanes, origins, strict=False))
    return Serving(tuple(lanes), max(0, rules.spares - left))


@dataclass(slots=True)
class _InUse:
    """A pressing, and what it has served so far."""

    stays: list[tuple[int, int]] = field(default_factory=list)
    worn: int = 0
    puppet: str = ""
    until: int = 0


# Which of the pressings that are free is taken rather than another: its own board's, then the most or least worn.
_CHOICES: tuple[Callable[[_InUse, BoardUse], tuple[int, ...]], ...] = (
    lambda one, use: (one.puppet != use.puppet, -one.worn),
    lambda one, use: (one.puppet != use.puppet, one.worn),
    lambda one, _: (-one.worn,),
    lambda one, use: (one.puppet == use.puppet, one.worn),
)


def _quick(uses: Sequence[BoardUse], times: Sequence[int], rules: Rules) -> Serving | None:
    must = _at_least(uses, times, rules)
    for choice in _CHOICES:
        lanes = _dealt(uses, times, rules, choice)
        if len(lanes) == must:
            return Serving(tuple(PressingLane(None, tuple(one.stays)) for one in lanes), 0)
    return None


def _at_least(uses: Sequence[BoardUse], times: Sequence[int], rules: Rules) -> int:
    """Return how many there must be: for those at work at once, and for all fittings."""
    lasts = rules.lasts or max(1, sum(times))
    busiest = 0
    for day in {use.first for use in uses}:
        boards: defaultdict[str, int] = defaultdict(int)
        for use, each in zip(uses, times, strict=True):
            # A board waits for the change-over before anything of it is on another.
            if use.first <= day <= use.last + rules.change_over:
                boards[use.puppet] = max(boards[use.puppet], 1, -(-each // lasts))
        busiest = max(busiest, sum(boards.values()))
    return max(busiest, -(-sum(times) // lasts))


def _dealt(
    uses: Sequence[BoardUse],
    times: Sequence[int],
    rules: Rules,
    choice: Callable[[_InUse, BoardUse], tuple[int, ...]],
) -> list[_InUse]:
    """Return pressings that serve all uses, dealt out by the first day of each."""
    lasts = rules.lasts or max(1, sum(times))
    made: list[_InUse] = []
    for at in sorted(range(len(uses)), key=lambda at: (uses[at].first, uses[at].last)):
        use, left, begun = uses[at], times[at], False
        free = [one for one in made if one.puppet == use.puppet or one.until + rules.change_over < use.first]
        ready = sorted((one for one in free if one.worn < lasts or not left), key=lambda one: choice(one, use))
        while left or not begun:
            one = ready.pop(0) if ready else _InUse()
            if not one.stays:
                made.append(one)
            puts = min(left, lasts - one.worn)
            one.stays.append((at, puts))
            one.until = max(one.until, use.last) if one.puppet == use.puppet else use.last
            one.worn, one.puppet, left, begun = one.worn + puts, use.puppet, left - puts, True
    return made
