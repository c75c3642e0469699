"""Leaves out the doubts of a breakdown that a person has settled.

In: what stands of a line, whether a person has marked the line as checked, and where a person says that nothing is
said. Out: the same without the doubts that are settled. A checked line has no doubts. A line of which a person placed
every part has no rejection. Voice without text is settled where a part covers it, or where nothing is said.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from lipsync.model import UNTOLD_US, Breakdown, Part, UntoldVoice, Word


def settled(stands: Breakdown, *, checked: bool, nothing_said: Sequence[UntoldVoice] = ()) -> Breakdown:
    """Return what stands of a line without the doubts that a person has settled."""
    if checked:
        return replace(stands, parts=tuple(map(_heard_right, stands.parts)), rejection=None, voice_without_text=())
    placed = bool(stands.parts) and all(part.corrected for part in stands.parts)
    rejection = None if placed else stands.rejection
    return replace(stands, rejection=rejection, voice_without_text=tuple(_uncovered(stands, nothing_said)))


def _heard_right(part: Part) -> Part:
    if isinstance(part, Word) and part.confidence is not None:
        return replace(part, confidence=1.0)
    return part


def _uncovered(stands: Breakdown, nothing_said: Sequence[UntoldVoice]) -> Iterator[UntoldVoice]:
    """Yield the stretches of voice without text that are not settled; too short remainders are left out."""
    covers = sorted((one.start_us, one.end_us) for one in (*stands.parts, *nothing_said))
    for stretch in stands.voice_without_text:
        reached_us = stretch.start_us
        for start_us, end_us in covers:
            if end_us <= reached_us or start_us >= stretch.end_us:
                continue
            yield from _long_enough(reached_us, start_us, stretch)
            reached_us = end_us
        yield from _long_enough(reached_us, stretch.end_us, stretch)


def _long_enough(start_us: int, end_us: int, stretch: UntoldVoice) -> Iterator[UntoldVoice]:
    whole = (start_us, end_us) == (stretch.start_us, stretch.end_us)
    if whole or end_us - start_us >= UNTOLD_US:
        yield UntoldVoice(start_us, end_us)
