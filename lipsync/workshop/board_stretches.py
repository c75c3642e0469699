"""For which days of one puppet a pressing may be kept: uses that it may serve one after the other.

In come the uses of a puppet by their days, sorted; out come clusters of those that meet, and the stretches of each.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

# First day, last day, which use.
Days = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Stretch:
    """Uses that a pressing may serve in turn; `own`: the days that it is kept, where one use lies within another."""

    uses: tuple[Days, ...]
    of: int
    own: tuple[int, int] | None = None


def clusters(own: Sequence[Days]) -> Iterator[list[Days]]:
    """Yield the uses of a puppet that meet, directly or through others."""
    cluster: list[Days] = []
    for use in own:
        if cluster and use[0] > max(last for _, last, _ in cluster):
            yield cluster
            cluster = []
        cluster.append(use)
    if cluster:
        yield cluster


def in_step(cluster: Sequence[Days]) -> bool:
    """Whether none lies within another: the one that begins later does not end earlier."""
    return all(before[1] <= after[1] for before, after in pairwise(cluster))


def stretches(cluster: Sequence[Days]) -> Iterator[Stretch]:
    """Yield the stretches of a cluster: one, or where one use lies within another one for each first and last day."""
    if in_step(cluster):
        yield Stretch(tuple(cluster), len(cluster))
        return
    for first in sorted({use[0] for use in cluster}):
        for last in sorted({use[1] for use in cluster}):
            if inside := tuple(use for use in cluster if first <= use[0] and use[1] <= last):
                yield Stretch(inside, len(cluster), (first, last))
