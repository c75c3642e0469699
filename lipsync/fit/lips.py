"""How unlike two mouths are to the eye: a distance between what the lips do.

In: `Lips` or rows of five numbers in the order of `AXES`. Out: a distance: 0 for the same mouth, about 1
between closed lips and a mouth wide open. It is the root of a weighted sum of squares, a metric.

The weights are chosen. Opening has the largest, because the eye follows the jaw; then width, which changes the whole
outline; then rounding, which goes with width, since lips that are pushed out are drawn in too; teeth and tongue are
small and inside. That lip-readers tell vowels apart by opening and rounding of the lips is common knowledge in
phonetics (from memory). What real lips do is known for opening and width; for the other three there are only the
studio's shapes, so these weigh less.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

from lipsync.fit.mouthset import Lips

# What the lips do (a field of `Lips`) -> weight of a difference in it.
AXES: dict[str, float] = {"opening": 1.0, "width": 0.8, "rounding": 0.4, "teeth": 0.15, "tongue": 0.15}

# Mouths nearer to each other than this cannot be told apart by eye. Chosen: no set that ships has two pieces so near.
ALIKE = 0.05

# A mouth as a row of numbers, in the order of AXES.
LipsRow = tuple[float, ...]


def row_of(lips: Lips) -> LipsRow:
    """Return what the lips do as a row of numbers."""
    return tuple(getattr(lips, axis) for axis in AXES)


def row_distance(one: Sequence[float], other: Sequence[float]) -> float:
    """Return how unlike two mouths are, given as rows in the order of AXES.

    >>> row_distance((0, 0.5, 0, 0, 0), (1, 0.5, 0, 0, 0))
    1.0
    """
    return sqrt(sum(w * (a - b) ** 2 for w, a, b in zip(AXES.values(), one, other, strict=True)))


def distance(one: Lips, other: Lips) -> float:
    """Return how unlike two mouths are."""
    return row_distance(row_of(one), row_of(other))
