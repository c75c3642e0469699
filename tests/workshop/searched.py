"""The fewest pressings by search: every way to share fittings out, to serve the rows and to hand pressings on.

By no means of the program's: pressings are told apart by the rows that they may yet serve and how often they were put
on, and all ways are tried. A pressing may serve two rows if both are one puppet's, or if the change-over lies between
them.
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


# A pressing in use: the later rows that it may still serve, each a bit, and how often it was put on.
Pressing = tuple[int, int]


@dataclass(frozen=True, slots=True)
class So:
    """How far a search is: pressings in use, which of those there are not (by their place), how many of them are."""

    used: tuple[Pressing, ...] = ()
    idle: tuple[int, ...] = ()
    old: int = 0


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
    both = [
        sum(1 << later for later in range(at + 1, len(rows)) if may_serve_both(row, rows[later], change_over))
        for at, row in enumerate(rows)
    ]
    # What is used up may still lie on a board where it is not put on.
    unworn = sum(1 << at for at, puts in enumerate(times) if not puts)
    reaches = [
        sum(
            1 << at
            for at, row in enumerate(rows)
            if not held.puppet or held.puppet == row.puppet or row.first - held.until > change_over
        )
        for held in there
    ]
    every = (1 << len(rows)) - 1

    @cache
    def best(at: int, so: So) -> tuple[int, int]:
        if at == len(rows):
            return max(0, spares - (len(there) - so.old)), so.old
        found: list[tuple[int, int]] = []
        for made, after in served(at, so):
            more, old = best(at + 1, after)
            found.append((made + more, old))
        return min(found)

    def served(at: int, so: So) -> set[tuple[int, So]]:
        """Return how many are made for a row, and how far it is then, in every way that differs."""
        puts = times[at] if lasts is not None else 0
        # What may serve it: a pressing in use, one there with its place, a new one.
        bins: list[tuple[Pressing, int | None, str]] = [(one, None, "used") for one in so.used if one[0] >> at & 1]
        bins += [((reaches[one], there[one].fitted), one, "there") for one in so.idle if reaches[one] >> at & 1]
        bins += [((every, 0), None, "new")] * max(1, puts)
        rooms = [(lasts - worn if lasts is not None else 0) for (_, worn), _, _ in bins]
        alike = [bins[place] == bins[place - 1] for place in range(len(bins))]
        takes = shares(puts, rooms, alike) if puts else one_of(alike)
        found: set[tuple[int, So]] = set()
        for way in takes:
            used = [one for one in so.used if not one[0] >> at & 1]
            idle, made, old = [*so.idle], 0, so.old
            for ((reach, worn), place, kind), taken in zip(bins, way, strict=True):
                if taken is None:
                    used += [(reach, worn)] if kind == "used" else []
                    continue
                used.append((reach & both[at], worn + taken))
                made += kind == "new"
                if place is not None:
                    idle.remove(place)
                    old += 1
            found.add((made, So(tuple(sorted(filter(None, (left(at, *one) for one in used)))), tuple(idle), old)))
        return found

    def left(at: int, reach: int, worn: int) -> Pressing | None:
        """Return what a pressing may serve after a row, or None if nothing."""
        reach &= every << (at + 1)
        reach &= unworn if lasts is not None and worn >= lasts else every
        return (reach, worn if lasts is not None else 0) if reach else None

    return best(0, So(idle=tuple(range(len(there)))))


def one_of(alike: Sequence[bool]) -> Iterator[tuple[int | None, ...]]:
    """Yield each way to take one without putting it on; of those that are alike one is enough."""
    for at in range(len(alike)):
        if at == 0 or not alike[at]:
            yield tuple(0 if at == place else None for place in range(len(alike)))


def shares(total: int, rooms: Sequence[int], alike: Sequence[bool]) -> Iterator[tuple[int | None, ...]]:
    """Yield each way to put so many on what has room for them; of those that are alike the first takes most."""

    def rest(at: int, left: int, before: int) -> Iterator[tuple[int | None, ...]]:
        if at == len(rooms):
            if not left:
                yield ()
            return
        for puts in range(min(left, rooms[at], before if at and alike[at] else left) + 1):
            for more in rest(at + 1, left - puts, puts):
                yield (puts or None, *more)

    yield from rest(0, total, total)


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
