"""Places cues: sounds that are no words, between the words where they are heard.

In: a recording, the gap between two words and the cues that the text has there. Out: a `Cue` for each, in order.
A cue lies where the gap is loudest; with several cues, the loudest stretches are theirs in the order of the text;
where fewer are heard than written, the stretches are divided. Where nothing is heard they share the whole gap.
"""

from __future__ import annotations

from collections.abc import Sequence

from lipsync.listen.recording import Recording, heard, level_db, noise_floor_db
from lipsync.model import Cue

Span = tuple[int, int]

ABOVE_FLOOR_DB = 6.0  # chosen: what stands out from the room
SHORTEST_US = 60_000  # chosen: a click is shorter than any breath


def place_cues(recording: Recording, gap: Span, names: Sequence[str]) -> tuple[Cue, ...]:
    """Return the cues of one gap."""
    if not names:
        return ()
    threshold_db = noise_floor_db(recording) + ABOVE_FLOOR_DB
    stretches = [s for s in heard(recording, *gap, threshold_db) if s[1] - s[0] >= SHORTEST_US]
    loudest = sorted(stretches, key=lambda span: -level_db(recording, *span))[: len(names)]
    spans = _divided(sorted(loudest) or [gap], len(names))
    return tuple(Cue(name, *span) for name, span in zip(names, spans, strict=True))


def _divided(spans: list[Span], count: int) -> list[Span]:
    """Return `count` spans: the longest is halved until there are enough."""
    spans = list(spans)
    while len(spans) < count:
        longest = max(range(len(spans)), key=lambda i: spans[i][1] - spans[i][0])
        start_us, end_us = spans[longest]
        middle_us = (start_us + end_us) // 2
        spans[longest : longest + 1] = [(start_us, middle_us), (middle_us, end_us)]
    return spans
