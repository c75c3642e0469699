"""The numbers that the optimum is found for: what each choice of pieces costs. Nothing of speech.

The cost of a track, one piece a frame, is the sum of

    unlike[frame, piece]                       for each frame
    change[before, after]                      for each fitting but the first
    short_price * (shortest - frames)          for each hold of fewer frames than `shortest`
    long_price[frame]                          for each frame of a hold after its first `longest` ones
    demand.price                               for each demand of which no frame wears one of its pieces

Costs are whole numbers, so that sums are exact and the same on every machine.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
import numpy.typing as npt

Whole = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]

# Costs are counted in whole millionths of the unit of fit_settings.py.
UNIT = 1_000_000

# More than any track may cost; two of them still fit into 64 bits.
FORBIDDEN = 1 << 55


def whole(cost: float) -> int:
    """Return a cost in whole millionths."""
    return round(cost * UNIT)


class AllowedFittings(IntEnum):
    """Which fittings a frame allows."""

    ALL = 0
    CLOSURES = 1
    NONE = 2


@dataclass(frozen=True, slots=True)
class Demand:
    """One of these pieces is to be worn on at least one frame from `first` to `last`, else the price is paid."""

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
        closures: for each piece, whether Change.CLOSURES lets it come on or off.
        shortest: frames below which a hold is short.
        short_price: for each frame that is missing.
        longest: frames beyond which a hold is long.
        long_price: for each frame, what it costs if it lies beyond.
        demands: what must be worn somewhere.
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
