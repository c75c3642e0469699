"""The numbers that the optimum is found for: what each choice of pieces costs. This module knows nothing of speech.

The cost of a track, one piece a frame, is the sum of

    unlike[frame, piece]                       for each frame
    change[before, after]                      for each fitting but the first
    short_price * (shortest - frames)          for each hold of fewer frames than `shortest`
    long_price[frame]                          for each frame of a hold after its first `longest` ones
    demand.price                               for each demand that is not met

Costs are whole numbers, so that sums are exact and the same on every machine.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
import numpy.typing as npt

Whole = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]

# Costs are counted in whole millionths of the unit of fit_settings.py (1 is one frame with a wholly wrong mouth).
UNIT = 1_000_000

# The cost of what is not allowed: more than any track may cost; the sum of two still fits into 64 bits.
FORBIDDEN = 1 << 55


def whole(cost: float) -> int:
    """Return a cost in whole millionths."""
    return round(cost * UNIT)


class AllowedFittings(IntEnum):
    """Which fittings a frame allows: all, those to or from a closure, or none."""

    ALL = 0
    CLOSURES = 1
    NONE = 2


@dataclass(frozen=True, slots=True)
class Demand:
    """One of `pieces` is to be worn on at least one frame from `first` to `last`; otherwise `price` is added."""

    first: int
    last: int
    pieces: frozenset[int]
    price: int


@dataclass(frozen=True, slots=True)
class CostMatrix:
    """What each choice costs.

    Attributes:
        unlike: frames x pieces; FORBIDDEN where a piece may not be worn.
        change: pieces x pieces, from the piece before to the one after.
        unseen_change: the same, for a fitting made off camera.
        allowed: for each frame, which fittings it allows.
        unseen: for each frame, whether the character was off camera right before it.
        closures: for each piece, whether `AllowedFittings.CLOSURES` lets it be put on or replaced.
        shortest: a hold of fewer frames is short.
        short_price: what each frame costs that a hold is too short.
        longest: a hold of more frames is long.
        long_price: for each frame, what it costs if its hold has become too long.
        demands: which pieces are to be worn somewhere.
    """

    unlike: Whole
    change: Whole
    unseen_change: Whole
    allowed: tuple[AllowedFittings, ...]
    unseen: tuple[bool, ...]
    closures: Flags
    shortest: int
    short_price: int
    longest: int
    long_price: Whole
    demands: tuple[Demand, ...] = ()

    def __post_init__(self) -> None:
        if not 1 <= self.shortest <= self.longest:
            raise ValueError(
                f"shortest must be 1 or more and at most longest, not {self.shortest} and {self.longest}"
            )
