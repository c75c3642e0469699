"""Ways to share fittings out over the rows (uses) of a plan in which they may fall, in boxes.

In: shares; each says how many uses it is spread over, and how many fittings these have together. Out: ways and boxes.
A way says for each share how many fittings fall into each of its uses. A box gives the least and the most for each
use, and stands for all ways between.
"""

from __future__ import annotations

from collections.abc import Sequence

# For each share, for each of its uses: the least and the most fittings that may fall into it.
_Range = tuple[int, int]
Box = tuple[tuple[_Range, ...], ...]

# For each share: how many fittings fall into each of its uses.
Way = tuple[tuple[int, ...], ...]

# The number of uses that a share is spread over, two or more, and the number of its fittings.
Share = tuple[int, int]


def whole_box(shares: Sequence[Share]) -> Box:
    """Return the box that holds all ways."""
    return tuple(((0, times),) * uses for uses, times in shares)


def first_ways(shares: Sequence[Share]) -> tuple[Way, ...]:
    """Return ways to begin with: all fittings in the first use of each share, all in the last, and evenly spread.

    >>> first_ways([(2, 3)])
    (((3, 0),), ((0, 3),), ((1, 2),))
    """
    first = tuple((times, *(0,) * (uses - 1)) for uses, times in shares)
    even = tuple(tuple(times * (at + 1) // uses - times * at // uses for at in range(uses)) for uses, times in shares)
    return first, tuple(own[::-1] for own in first), even


def at_most(box: Box) -> Way:
    """Return the most that can fall into each use; the sum exceeds the fittings, except in a box of a single way."""
    return tuple(tuple(high for _, high in own) for own in box)


def middle(box: Box, shares: Sequence[Share]) -> Way:
    """Return a way in the middle of a box."""
    found: list[tuple[int, ...]] = []
    for (_, times), own in zip(shares, box, strict=True):
        left = times - sum(low for low, _ in own)
        share = [low for low, _ in own]
        room = sum(high - low for low, high in own)
        for at, (low, high) in enumerate(own):
            add = min(left, -(-left * (high - low) // room)) if room else 0
            share[at] += add
            left, room = left - add, room - (high - low)
        found.append(tuple(share))
    return tuple(found)


def halves(box: Box, shares: Sequence[Share]) -> list[Box]:
    """Return a box cut in two where it is widest; nothing if it is a single way.

    >>> halves((((0, 3), (0, 3)),), [(2, 3)])
    [(((2, 3), (0, 1)),), (((0, 1), (2, 3)),)]
    """
    width, which, at = max(
        (high - low, which, at) for which, own in enumerate(box) for at, (low, high) in enumerate(own)
    )
    if not width:
        return []
    low, high = box[which][at]
    cut = (low + high) // 2
    found: list[Box] = []
    for part in ((low, cut), (cut + 1, high)):
        own = (*box[which][:at], part, *box[which][at + 1 :])
        found.append((*box[:which], _tightened(own, shares[which][1]), *box[which + 1 :]))
    return found


def _tightened(own: tuple[_Range, ...], times: int) -> tuple[_Range, ...]:
    """Return ranges narrowed to what is possible if they sum to `times`.

    Of narrowed ranges each least and each most is part of a way. So there are ways in both parts of one that is cut,
    and nothing is left to narrow after once.
    """
    lows, highs = sum(low for low, _ in own), sum(high for _, high in own)
    return tuple((max(low, times - highs + high), min(high, times - lows + low)) for low, high in own)
