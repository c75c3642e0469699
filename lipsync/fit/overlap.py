"""Which turns each frame of a shot overlaps, and by how much.

In come turns in order and a count of frames; out comes, frame by frame and in order within each, the index of every
turn that fills a part of the frame, and that part, above 0 up to 1.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from lipsync.fit.schedule import Turn
from lipsync.timing import frame_start_us


@dataclass(frozen=True, slots=True)
class Overlap:
    """A turn that fills a part of a frame."""

    frame: int
    turn: int
    share: float


def overlaps(turns: Sequence[Turn], frames: int, rate: Fraction) -> Iterator[Overlap]:
    """Yield what each frame overlaps."""
    first = 0
    begin_us = 0
    for frame in range(frames):
        end_us = frame_start_us(frame + 1, rate)
        while first + 1 < len(turns) and turns[first + 1].start_us <= begin_us:
            first += 1
        index = first
        while index < len(turns) and (index == first or turns[index].start_us < end_us):
            from_us = max(begin_us, turns[index].start_us)
            to_us = min(end_us, turns[index + 1].start_us) if index + 1 < len(turns) else end_us
            if to_us > from_us:
                yield Overlap(frame, index, (to_us - from_us) / (end_us - begin_us))
            index += 1
        begin_us = end_us
