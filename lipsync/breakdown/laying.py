"""Lays corrections over a computed breakdown.

In: a computed breakdown and corrections of it. Out: a valid breakdown in which each corrected part stands exactly as
it was corrected, and the other computed parts stand between them in their order. A computed part that overlaps a
corrected one is shortened, its phonemes in proportion; no phoneme is made shorter than `LEAST_US` unless it was
computed shorter. Where there is no room even for that, computed parts are left out: first those that overlap the free
room least.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from lipsync.breakdown.corrections import Correction
from lipsync.model import Breakdown, Cue, Part

LEAST_US = 1000  # chosen: far too short for a frame of its own, yet the phoneme is still there to be corrected


@dataclass(frozen=True, slots=True)
class Laid:
    """A breakdown with corrections laid over it.

    Attributes:
        parts: what stands, in order of time.
        origins: for each part, which computed part it is; None where it is corrected.
        owners: for each part, which correction it belongs to; None where it is computed.
        squeezed: indices of the computed parts that were shortened to the shortest allowed.
        left_out: indices of the computed parts for which there is no room.
    """

    parts: tuple[Part, ...]
    origins: tuple[int | None, ...]
    owners: tuple[int | None, ...]
    squeezed: tuple[int, ...]
    left_out: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Wall:
    """A corrected part, the index of its correction, and of the first computed part that this replaces, if any."""

    part: Part
    owner: int
    index: int | None


def lay(computed: Breakdown, corrections: Sequence[Correction]) -> Laid:
    """Return a computed breakdown with corrections laid over it.

    The corrected parts must not overlap, must end within the recording and must be in the order of the parts that
    they replace; `Kept` checks it.
    """
    walls = walls_of(corrections)
    replaced = {ref.index for correction in corrections for ref in correction.replaces}
    rooms: list[list[int]] = [[] for _ in range(len(walls) + 1)]
    for index, part in enumerate(computed.parts):
        if index not in replaced:
            rooms[_room_of(index, part, walls)].append(index)
    standing: list[tuple[Part, int | None, int | None]] = []
    left_out: list[int] = []
    edges = [0, *(edge for wall in walls for edge in (wall.part.start_us, wall.part.end_us)), computed.duration_us]
    for room, indexes in enumerate(rooms):
        placed = _shortened({i: computed.parts[i] for i in indexes}, edges[2 * room], edges[2 * room + 1])
        standing += [(part, index, None) for index, part in placed.items()]
        left_out += [index for index in indexes if index not in placed]
        if room < len(walls):
            standing.append((walls[room].part, None, walls[room].owner))
    parts, origins, owners = zip(*standing, strict=True) if standing else ((), (), ())
    squeezed = tuple(i for part, i, _ in standing if i is not None and _is_squeezed(part, computed.parts[i]))
    return Laid(parts, origins, owners, squeezed, tuple(left_out))


def walls_of(corrections: Sequence[Correction]) -> list[Wall]:
    """Return the corrected parts in order of time."""
    walls = [
        Wall(part, owner, correction.replaces[0].index if correction.replaces else None)
        for owner, correction in enumerate(corrections)
        for part in correction.parts
    ]
    return sorted(walls, key=lambda wall: (wall.part.start_us, wall.part.end_us))


def _room_of(index: int, part: Part, walls: Sequence[Wall]) -> int:
    """Return how many walls are before a computed part: by index, or by the middle where a wall replaces nothing."""
    first = max((k + 1 for k, wall in enumerate(walls) if wall.index is not None and wall.index < index), default=0)
    last = min(
        (k for k, wall in enumerate(walls) if wall.index is not None and wall.index > index), default=len(walls)
    )
    return max(
        [first, *(k + 1 for k in range(first, last) if _middle_doubled_us(walls[k].part) <= _middle_doubled_us(part))]
    )


def _middle_doubled_us(part: Part) -> int:
    return part.start_us + part.end_us


def _shortened(parts: dict[int, Part], left_us: int, right_us: int) -> dict[int, Part]:
    """Return the parts that have room between two walls, shortened where needed."""
    parts = dict(parts)
    while parts and sum(map(least_us, parts.values())) > right_us - left_us:
        within_us = {i: min(p.end_us, right_us) - max(p.start_us, left_us) for i, p in parts.items()}
        del parts[min(within_us, key=lambda i: within_us[i])]
    spans = {}
    for index, part in parts.items():  # from the left: begin after the part before, keep the shortest length
        start_us = max(part.start_us, left_us)
        left_us = max(part.end_us, start_us + least_us(part))
        spans[index] = (start_us, left_us)
    for index, part in reversed(parts.items()):  # from the right: end before the part after
        end_us = min(spans[index][1], right_us)
        right_us = min(spans[index][0], end_us - least_us(part))
        spans[index] = (right_us, end_us)
    return {index: stretched(part, *spans[index]) for index, part in parts.items()}


def least_us(part: Part) -> int:
    """Return the shortest length that a part can be given, in microseconds."""
    if isinstance(part, Cue):
        return min(LEAST_US, part.end_us - part.start_us)
    return sum(min(LEAST_US, phoneme.end_us - phoneme.start_us) for phoneme in part.phonemes)


def _is_squeezed(part: Part, computed: Part) -> bool:
    length_us = part.end_us - part.start_us
    return length_us < computed.end_us - computed.start_us and length_us == least_us(computed)


def stretched(part: Part, start_us: int, end_us: int) -> Part:
    """Return a part with another start and end, its phonemes in proportion.

    No phoneme becomes shorter than `LEAST_US`, unless it was shorter already.

    >>> from lipsync.model import Phoneme, Word
    >>> word = Word("may", (Phoneme("M", 0, 20_000), Phoneme("EY", 20_000, 100_000, stress=1)))
    >>> [(p.symbol, p.start_us, p.end_us) for p in stretched(word, 50_000, 100_000).phonemes]
    [('M', 50000, 60000), ('EY', 60000, 100000)]

    Raises:
        ValueError: if there is less room than `least_us`.
    """
    if (start_us, end_us) == (part.start_us, part.end_us):
        return part
    if end_us - start_us < least_us(part):
        raise ValueError(f"{end_us - start_us} us are too short for {part}")
    if isinstance(part, Cue):
        return replace(part, start_us=start_us, end_us=end_us)
    old_us, new_us = part.end_us - part.start_us, end_us - start_us
    ends = [start_us + (p.end_us - part.start_us) * new_us // old_us for p in part.phonemes]
    leasts = [min(LEAST_US, p.end_us - p.start_us) for p in part.phonemes]
    reached_us = start_us
    for k, least in enumerate(leasts):
        ends[k] = reached_us = max(ends[k], reached_us + least)
    ends[-1] = end_us
    for k in range(len(ends) - 2, -1, -1):
        ends[k] = min(ends[k], ends[k + 1] - leasts[k + 1])
    starts = [start_us, *ends[:-1]]
    timed = zip(part.phonemes, starts, ends, strict=True)
    return replace(part, phonemes=tuple(replace(p, start_us=start, end_us=end) for p, start, end in timed))


def breakdown_of(computed: Breakdown, laid: Laid) -> Breakdown:
    """Return the computed breakdown with the laid parts in the place of its own."""
    return replace(computed, parts=laid.parts)
