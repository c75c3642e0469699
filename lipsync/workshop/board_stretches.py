"""The uses that one pressing may serve one after the other, while it is kept on one puppet's board.

In: the uses of a puppet by their days, sorted. Out: clusters of uses that share days, and the stretches of each
cluster: runs of uses that one pressing can serve.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

# First day, last day, index of the use.
Days = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Stretch:
    """Uses that one pressing may serve in turn.

    Attributes:
        uses: the uses, in order.
        of: how many uses its cluster has.
        own: the days that the pressing is kept, where one use of the cluster lies within another; else None.
    """

    uses: tuple[Days, ...]
    of: int
    own: tuple[int, int] | None = None


def clusters(own: Sequence[Days]) -> Iterator[list[Days]]:
    """Yield groups of uses of a puppet that share days, directly or through other uses."""
    cluster: list[Days] = []
    for use in own:
        if cluster and use[0] > max(last for _, last, _ in cluster):
            yield cluster
            cluster = []
        cluster.append(use)
    if cluster:
        yield cluster


def in_step(cluster: Sequence[Days]) -> bool:
    """Return whether no use lies within another: none that begins later ends earlier."""
    return all(before[1] <= after[1] for before, after in pairwise(cluster))


def stretches(cluster: Sequence[Days]) -> Iterator[Stretch]:
    """Yield the stretches of a cluster: a single one, or, if a use lies within another, one for each pair of days.

    A pair is a day on which a use begins and one on which a use ends.
    """
    if in_step(cluster):
        yield Stretch(tuple(cluster), len(cluster))
        return
    for first in sorted({use[0] for use in cluster}):
        for last in sorted({use[1] for use in cluster}):
            if inside := tuple(use for use in cluster if first <= use[0] and use[1] <= last):
                yield Stretch(inside, len(cluster), (first, last))
