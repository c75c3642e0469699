"""Which turns fill a part of each frame of a shot, and how much of it.

In: turns in order and a count of frames. Out: comes, frame by frame and in order within each, the index of every
turn that fills a part of the frame, and that part, above 0 up to 1.

For costs, a frame is taken to begin `SPREAD_US` earlier and to end `SPREAD_US` later: boundaries in speech are no
sharper than that (two people place them within 20 ms of each other in 93.78 % of cases, Hosom 2009), and the choice
of a piece should not depend on less.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from lipsync.fit.turns import Turn
from lipsync.timing import frame_start_us

SPREAD_US = 10_000


@dataclass(frozen=True, slots=True)
class Overlap:
    """A turn that fills a part of a frame."""

    frame: int
    turn: int
    share: float


def overlaps(turns: Sequence[Turn], frames: int, rate: Fraction, spread_us: int = 0) -> Iterator[Overlap]:
    """Yield the overlaps of turns with each frame, whose span is widened by `spread_us` at both ends."""
    first = 0
    begins_us = [frame_start_us(frame, rate) for frame in range(frames + 1)]
    for frame in range(frames):
        begin_us, end_us = begins_us[frame] - spread_us, begins_us[frame + 1] + spread_us
        while first + 1 < len(turns) and turns[first + 1].start_us <= begin_us:
            first += 1
        index = first
        while index < len(turns) and (index == first or turns[index].start_us < end_us):
            from_us = max(begin_us, turns[index].start_us)
            to_us = min(end_us, turns[index + 1].start_us) if index + 1 < len(turns) else end_us
            if to_us > from_us:
                yield Overlap(frame, index, (to_us - from_us) / (end_us - begin_us))
            index += 1
