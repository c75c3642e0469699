"""How often pieces were put on in takes that were thrown away: such takes wear pieces, though no film shows them.

In: a shot's record. Out: for each character and piece, how often it was put on. Frames that were unlocked because
they had been locked by mistake do not count.
"""

from __future__ import annotations

from collections import Counter

from lipsync.floor.record import Filmed
from lipsync.floor.spans import frames_in


def fitted_in_retakes(record: Filmed) -> dict[str, Counter[str]]:
    """Return for each character how often each piece was put on in takes that were thrown away."""
    found: dict[str, Counter[str]] = {}
    for at, event in enumerate(record.events):
        if event.what != "refilm":
            continue
        gone = frames_in(event.frames)
        for character, frames in Filmed(record.shot, record.events[:at]).worn.items():
            on = None
            for frame, worn in frames.items():
                if worn.code is None:
                    continue
                if frame in gone and worn.code != on:
                    found.setdefault(character, Counter())[worn.code] += 1
                on = worn.code
    return found
