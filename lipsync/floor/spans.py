"""Runs of frames: from single frames to spans and back, and in words.

A span is the first and the last frame of a run, both included, counted from 0 in the shot. Only `said` uses the
numbers that the production gives to frames.
"""

from __future__ import annotations

from collections.abc import Iterable

Span = tuple[int, int]


def spans_of(frames: Iterable[int]) -> tuple[Span, ...]:
    """Return the fewest spans that hold exactly these frames, in order.

    >>> spans_of([3, 1, 2, 7])
    ((1, 3), (7, 7))
    """
    found: list[list[int]] = []
    for frame in sorted(set(frames)):
        if found and frame == found[-1][1] + 1:
            found[-1][1] = frame
        else:
            found.append([frame, frame])
    return tuple((first, last) for first, last in found)


def frames_in(spans: Iterable[Span]) -> frozenset[int]:
    """Return the frames of spans: the inverse of `spans_of`."""
    return frozenset(frame for first, last in spans for frame in range(first, last + 1))


def said(frames: Iterable[int], first_frame: int) -> str:
    """Return frames as a person says them, in the production's numbers.

    >>> said([0], 1), said(range(48), 1), said([0, 1, 5, 8, 9], 1001)
    ('frame 1', 'frames 1 to 48', 'frames 1001 to 1002, 1006 and 1009 to 1010')
    """
    spans = spans_of(frames)
    parts = [
        f"{first + first_frame}" if first == last else f"{first + first_frame} to {last + first_frame}"
        for first, last in spans
    ]
    single = len(spans) == 1 and spans[0][0] == spans[0][1]
    joined = " and ".join([", ".join(parts[:-1]), parts[-1]]) if len(parts) > 1 else "".join(parts)
    return f"{'frame' if single else 'frames'} {joined}"
