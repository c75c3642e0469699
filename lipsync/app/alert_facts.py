"""The alerts of printed pages: lines that are missing or doubtful, words of an older text, voice without text.

In: the production and its shots, planned or not. Out: sentences in the studio's words, for each page's black band.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from lipsync.app.jobs import ShotJobs
from lipsync.floor.spans import said
from lipsync.production.production_tables import Shot
from lipsync.production.values import Production
from lipsync.timing import frame_at


def alerts_of(production: Production, one: ShotJobs) -> Iterator[str]:
    """Yield the alerts of a shot."""
    words = production.file.sheet.words
    if one.missing:
        yield words.lines_missing.format(lines=", ".join(one.missing))
    if one.rejected:
        yield words.lines_rejected.format(lines=", ".join(one.rejected))
    if one.waiting:
        yield words.lines_old.format(lines=", ".join(one.waiting))
    if frames := _frames_of(production, one):
        yield words.voice_without_text.format(frames=said(frames, production.file.first_frame))


def _frames_of(production: Production, one: ShotJobs) -> set[int]:
    """Return the frames of a shot on which voice without text is heard."""
    spans = ((frame_at(start, production.rate), frame_at(end - 1, production.rate)) for start, end in one.untold)
    return {frame for first, last in spans for frame in range(max(0, first), min(last, one.shot.frames - 1) + 1)}


def alerts_over(production: Production, shots: Iterable[ShotJobs], left_out: Iterable[Shot] = ()) -> tuple[str, ...]:
    """Return the alerts of several shots, and one for each shot that is left out, each with the shot's id."""
    without = (f"{shot.id}: {production.file.sheet.words.shot_left_out}" for shot in left_out)
    return (*without, *(f"{one.shot.id}: {alert}" for one in shots for alert in alerts_of(production, one)))
