"""How often pieces were put on in takes that were thrown away: such takes wear pieces, though no film shows them.

In: a shot's record. Out: for each character and piece, how often it was put on. Frames that were unlocked because
they had been locked by mistake do not count. Parts that are no mouths stand on the print that was filmed from, not in
the record; where that print is missing, nothing is known of them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from lipsync.floor.as_filmed import filmed_cells
from lipsync.floor.prints import Prints
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


def parts_in_retakes(record: Filmed, prints: Prints, names: Mapping[str, str]) -> dict[str, Counter[str]]:
    """Return for each character how often each part was put on in takes that were thrown away.

    Args:
        record: what happened to the shot's frames.
        prints: the shot's prints.
        names: each character's name, by its id.
    """
    found: dict[str, Counter[str]] = {}
    for at, event in enumerate(record.events):
        if event.what != "refilm":
            continue
        gone = frames_in(event.frames)
        for character, take in filmed_cells(Filmed(record.shot, record.events[:at]), prints, names).items():
            parts = (part for frame, cell in take.cells.items() if frame in gone for part in cell.parts)
            found.setdefault(character, Counter()).update(part.code for part in parts if part.put_on)
    return found
