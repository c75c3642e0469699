"""How loud each phoneme is that was moved or placed by hand, measured in the line's sound.

In: the breakdown before and the one that is wanted, and a function that reads the sound. Out: the wanted one, with a
level in dB below full scale for each phoneme whose times changed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from lipsync.audio.recording import Recording, levels_db
from lipsync.errors import LineError
from lipsync.model import Breakdown, Cue, Part, Phoneme


def measured(before: Breakdown, wanted: Breakdown, recording: Callable[[], Recording]) -> Breakdown:
    """Return the wanted breakdown with the levels of phonemes whose times changed measured anew.

    Where the sound cannot be read the old levels stay: placing words by hand must work without it.
    """
    known = {p for word in before.words for p in word.phonemes}
    moved = [p for word in wanted.words for p in word.phonemes if p not in known]
    if not moved:
        return wanted
    try:
        levels = dict(zip(moved, levels_db(recording(), [(p.start_us, p.end_us) for p in moved]), strict=True))
    except LineError:
        return wanted
    return replace(wanted, parts=tuple(_with_levels(part, levels) for part in wanted.parts))


def _with_levels(part: Part, levels: Mapping[Phoneme, float]) -> Part:
    if isinstance(part, Cue):
        return part
    phonemes = tuple(replace(p, level_db=levels[p]) if p in levels else p for p in part.phonemes)
    return replace(part, phonemes=phonemes)
