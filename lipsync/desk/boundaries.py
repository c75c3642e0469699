"""Boundaries of a line moved by hand.

In: a breakdown and where a boundary is to go. Out: the breakdown with that boundary, its changed parts marked as
corrected. Two parts that touch share their boundary: it moves for both, unless the change asks for one part alone. No
phoneme is made shorter than `LEAST_US`. A change that cannot be made exactly is refused with a sentence.
"""

from __future__ import annotations

from dataclasses import replace

from lipsync.breakdown.corrections import by_hand, label_of, times_of
from lipsync.breakdown.laying import LEAST_US, stretched
from lipsync.errors import InputError
from lipsync.message import Where
from lipsync.model import Breakdown, Cue, Part
from lipsync.timing import seconds_of


def refuse(kind: str, place: str = "", **facts: object) -> InputError:
    """Return the error that says why a change cannot be made, in the words of a kind of `wording.SENTENCES`."""
    return InputError.of(kind, Where(place=place), **facts)


def part_at(breakdown: Breakdown, index: int) -> Part:
    """Return a part.

    Raises:
        InputError: if there is none of that number.
    """
    if index >= len(breakdown.parts):
        raise refuse("no such part", f"part {index}", count=len(breakdown.parts))
    return breakdown.parts[index]


def with_parts(breakdown: Breakdown, first: int, count: int, *parts: Part) -> Breakdown:
    """Return the breakdown with other parts in place of `count` parts from `first` on, marked as corrected."""
    old = breakdown.parts
    return replace(breakdown, parts=(*old[:first], *map(by_hand, parts), *old[first + count :]))


def with_boundary(part: Part, boundary: int, to_us: int) -> Part:
    """Return a part with one of its boundaries moved; it must stay between the boundaries beside it."""
    if isinstance(part, Cue):
        return replace(part, start_us=to_us) if boundary == 0 else replace(part, end_us=to_us)
    phonemes = list(part.phonemes)
    if boundary > 0:
        phonemes[boundary - 1] = replace(phonemes[boundary - 1], end_us=to_us)
    if boundary < len(phonemes):
        phonemes[boundary] = replace(phonemes[boundary], start_us=to_us)
    return replace(part, phonemes=tuple(phonemes))


def neighbour(breakdown: Breakdown, part: int, boundary: int, *, alone: bool) -> int | None:
    """Return the part that shares the boundary and moves with it, if any does."""
    times = times_of(breakdown.parts[part])
    if alone or 0 < boundary < len(times) - 1:
        return None
    beside = part - 1 if boundary == 0 else part + 1
    if not 0 <= beside < len(breakdown.parts):
        return None
    theirs = times_of(breakdown.parts[beside])
    return beside if (theirs[-1] if boundary == 0 else theirs[0]) == times[boundary] else None


def room(breakdown: Breakdown, part: int, boundary: int, *, alone: bool = False) -> tuple[int, int]:
    """Return the earliest and the latest place to which a boundary can go."""
    times = times_of(breakdown.parts[part])
    shared = neighbour(breakdown, part, boundary, alone=alone)
    if boundary > 0:
        earliest = times[boundary - 1] + LEAST_US
    elif shared is not None:
        earliest = times_of(breakdown.parts[shared])[-2] + LEAST_US
    else:
        earliest = breakdown.parts[part - 1].end_us if part else 0
    if boundary < len(times) - 1:
        latest = times[boundary + 1] - LEAST_US
    elif shared is not None:
        latest = times_of(breakdown.parts[shared])[1] - LEAST_US
    else:
        last = part == len(breakdown.parts) - 1
        latest = breakdown.duration_us if last else breakdown.parts[part + 1].start_us
    return earliest, latest


def boundary_moved(breakdown: Breakdown, part: int, boundary: int, to_us: int, *, alone: bool) -> Breakdown:
    """Return the breakdown with a boundary moved.

    Raises:
        InputError: if there is no such boundary, or no room at its new place.
    """
    moved = part_at(breakdown, part)
    place = f'"{label_of(moved)}"'
    if boundary >= len(times_of(moved)):
        raise refuse("no such boundary", place, count=len(times_of(moved)))
    earliest, latest = room(breakdown, part, boundary, alone=alone)
    if not earliest <= to_us <= latest:
        room_s = {"earliest": seconds_of(earliest), "latest": seconds_of(latest)}
        raise refuse("no room for a boundary", place, to=seconds_of(to_us), **room_s)
    shared = neighbour(breakdown, part, boundary, alone=alone)
    here = with_boundary(moved, boundary, to_us)
    if shared is None:
        return with_parts(breakdown, part, 1, here)
    theirs = breakdown.parts[shared]
    if shared < part:
        return with_parts(breakdown, shared, 2, with_boundary(theirs, len(times_of(theirs)) - 1, to_us), here)
    return with_parts(breakdown, part, 2, here, with_boundary(theirs, 0, to_us))


def part_moved(breakdown: Breakdown, part: int, start_us: int, end_us: int) -> Breakdown:
    """Return the breakdown with a whole part moved, its inner boundaries in proportion.

    Raises:
        InputError: if there is no room for it.
    """
    moved = part_at(breakdown, part)
    place = f'"{label_of(moved)}"'
    earliest = breakdown.parts[part - 1].end_us if part else 0
    last = part == len(breakdown.parts) - 1
    latest = breakdown.duration_us if last else breakdown.parts[part + 1].start_us
    if not earliest <= start_us < end_us <= latest:
        room_s = {"earliest": seconds_of(earliest), "latest": seconds_of(latest)}
        raise refuse("no room for a part", place, start=seconds_of(start_us), end=seconds_of(end_us), **room_s)
    try:
        return with_parts(breakdown, part, 1, stretched(moved, start_us, end_us))
    except ValueError:
        raise refuse("too short for phonemes", place, lasts=seconds_of(end_us - start_us)) from None
