"""The whole shot of a line: what its other lines say and when, and the sound of all, mixed as in the preview.

In: the production, a line, and the records of the shot's lines. Out: plain tables with times in the shot's own time;
WAV files at 48 kHz. The mix is that of `preview/mixing.py`; the sound that accompanies the line is cut out of it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from lipsync import timing
from lipsync.app.hear.heard import PlacedLine
from lipsync.breakdown.breakdown_file import Kept
from lipsync.breakdown.corrections import label_of
from lipsync.desk.sound import wav_bytes
from lipsync.errors import LipsyncError
from lipsync.preview.mixing import RATE_HZ, Samples, mixed
from lipsync.preview.reel import Clip
from lipsync.production.values import Production
from lipsync.timing import US_PER_S

Table = dict[str, Any]


def others_view(production: Production, placed: PlacedLine, kept_of: Callable[[PlacedLine], Kept | None]) -> Table:
    """Return the shot's other lines with their words in time; instead, for a line with a faulty file, the fault."""
    lines = []
    for line in placed.shot.line:
        if line.id == placed.line.id:
            continue
        begins_us = production.begins_us(line, placed.shot)
        row: Table = {"id": line.id, "character": line.character, "text": line.text, "begins_us": begins_us}
        try:
            kept = kept_of(PlacedLine(placed.scene, placed.shot, line))
        except LipsyncError as error:
            lines.append(row | {"parts": [], "ends_us": begins_us, "reason": str(error)})
            continue
        parts = kept.breakdown.parts if kept else ()
        said = [[label_of(part), begins_us + part.start_us, begins_us + part.end_us] for part in parts]
        ends_us = begins_us + (kept.breakdown.duration_us if kept else 0)
        reason = "" if kept else "nobody has listened to it yet"
        lines.append(row | {"parts": said, "ends_us": ends_us, "reason": reason})
    return {"lines": lines, "frames": placed.shot.frames}


def shot_sound(production: Production, placed: PlacedLine) -> bytes:
    """Return the sound of a line's whole shot as a WAV file.

    Raises:
        LineError: if a recording of the shot cannot be read.
    """
    return wav_bytes(_mix(production, placed), RATE_HZ)


def sound_with_others(production: Production, placed: PlacedLine, duration_us: int) -> bytes:
    """Return a WAV file of all that is heard in the shot while a line lasts, the line included.

    Raises:
        LineError: if a recording of the shot cannot be read.
    """
    mix = _mix(production, placed)
    first = _sample(production.begins_us(placed.line, placed.shot))
    samples = np.zeros((_sample(duration_us), 2), np.float32)
    start, end = max(0, first), min(len(mix), first + len(samples))
    if start < end:
        samples[start - first : end - first] = mix[start:end]
    return wav_bytes(samples, RATE_HZ)


def _mix(production: Production, placed: PlacedLine) -> Samples:
    last_us = timing.frame_start_us(placed.shot.frames, production.rate)
    clips = [
        Clip(
            path=production.folder / line.recording,
            begins_us=production.begins_us(line, placed.shot),
            first_us=0,
            last_us=last_us,
            in_us=line.in_us,
            out_us=line.out_us,
        )
        for line in placed.shot.line
    ]
    return mixed(clips, _sample(last_us))


def _sample(time_us: int) -> int:
    return (2 * time_us * RATE_HZ + US_PER_S) // (2 * US_PER_S)
