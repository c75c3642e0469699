"""The fewest pressings by search: every way to share fittings out, to serve the rows and to hand pressings on.

By no means of the program's: pressings are told apart by the rows that they serve and how often they were put on, and
all ways are tried. A pressing may serve two rows if both are one puppet's, or if the change-over lies between them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import combinations_with_replacement, pairwise, product


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a plan: puppet, first and last day."""

    puppet: str
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class There:
    """A pressing that is there: how often it was put on, and whose it is, if anybody's, up to a day."""

    fitted: int = 0
    puppet: str = ""
    until: int = 0


# A pressing: which of those there (-1: new), the rows that it serves, how often it was put on.
Pressing = tuple[int, frozenset[int], int]


def may_serve_both(one: Row, other: Row, change_over: int) -> bool:
    """Whether one pressing may serve two rows."""
    if one.puppet == other.puppet:
        return True
    early, late = sorted((one, other), key=lambda row: row.first)
    return late.first - early.last > change_over


def fewest(
    rows: Sequence[Row],
    times: Sequence[int],
    lasts: int | None,
    change_over: int,
    there: Sequence[There],
    spares: int,
) -> tuple[int, int]:
    """Return how many are made, and how many of those that are there then serve at the least."""

    def fits(served: frozenset[int], at: int) -> bool:
        return all(may_serve_both(rows[at], rows[other], change_over) for other in served)

    def reached(held: There, at: int) -> bool:
        row = rows[at]
        return not held.puppet or held.puppet == row.puppet or row.first - held.until > change_over

    @cache
    def best(at: int, used: tuple[Pressing, ...]) -> tuple[int, int]:
        if at == len(rows):
            new = sum(which < 0 for which, _, _ in used)
            old = len(used) - new
            return new + max(0, spares - (len(there) - old)), old
        found = None
        for after in served(at, used):
            tried = best(at + 1, after)
            if found is None or tried < found:
                found = tried
        assert found is not None
        return found

    def served(at: int, used: tuple[Pressing, ...]) -> Iterator[tuple[Pressing, ...]]:
        """Yield the pressings after a row, in every way that differs."""
        taken = {which for which, _, _ in used}
        fresh: list[Pressing] = [
            (which, frozenset(), held.fitted) for which, held in enumerate(there) if which not in taken
        ]
        fresh = [one for one in fresh if reached(there[one[0]], at)]
        ready = [one for one in used if fits(one[1], at) and (one[0] < 0 or reached(there[one[0]], at))]
        keep = [one for one in used if one not in ready]
        seen: set[tuple[Pressing, ...]] = set()
        if lasts is None or not times[at]:
            for one in [*ready, *fresh, (-1, frozenset[int](), 0)]:
                after = list(used)
                if one in after:
                    after.remove(one)
                yield tuple(sorted([*after, (one[0], one[1] | {at}, one[2])], key=str))
            return
        news = [(-1, frozenset[int](), 0)] * times[at]  # perhaps more than it takes, for what comes later
        able = [one for one in [*ready, *fresh] if one[2] < lasts] + news
        idle = [one for one in ready if one[2] >= lasts]
        for takes in shares(times[at], [lasts - one[2] for one in able]):
            after = keep + idle
            for one, puts in zip(able, takes, strict=True):
                if puts:
                    after.append((one[0], one[1] | {at}, one[2] + puts))
                elif one in ready:
                    after.append(one)
            made = tuple(sorted(after, key=str))
            if made not in seen:
                seen.add(made)
                yield made

    def shares(total: int, rooms: Sequence[int]) -> Iterator[tuple[int, ...]]:
        if not rooms:
            if not total:
                yield ()
            return
        for puts in range(min(total, rooms[0]) + 1):
            for rest in shares(total - puts, rooms[1:]):
                yield (puts, *rest)

    return best(0, ())


def ways_to_share(total: int, parts: int) -> Iterator[tuple[int, ...]]:
    """Yield every way in which so many fittings fall into so many rows."""
    for cuts in combinations_with_replacement(range(total + 1), parts - 1):
        bounds = (0, *cuts, total)
        yield tuple(high - low for low, high in pairwise(bounds))


def most_of_fewest(
    rows: Sequence[Row],
    fitted: Sequence[tuple[Sequence[int], int]],
    lasts: int | None,
    change_over: int,
    there: Sequence[There],
    spares: int,
) -> tuple[int, int]:
    """Return what is made where fittings fall so that most is needed; `fitted`: rows, and how many in any of them."""
    most = (0, 0)
    for way in product(*(ways_to_share(total, len(own)) for own, total in fitted)):
        times = [0] * len(rows)
        for (own, _), falls in zip(fitted, way, strict=True):
            for row, share in zip(own, falls, strict=True):
                times[row] += share
        most = max(most, fewest(rows, times, lasts, change_over, there, spares))
    return most
