"""The alerts of printed pages: lines that are missing or doubtful, words of an older text, voice without text.

In: the production and the facts of its shots. Out: sentences in the studio's words, for each page's black band.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from lipsync.floor.spans import said
from lipsync.paper.rows import rows_between
from lipsync.production.production_tables import Shot
from lipsync.production.values import Production


@dataclass(frozen=True, slots=True)
class AlertFacts:
    """What the alerts of a shot tell.

    Attributes:
        shot: the shot.
        missing: the ids of its lines that could not be done.
        rejected: of its lines whose sound and text do not match: all their words are doubtful.
        waiting: of its lines whose words are of an older computation, since a newer one waits to be taken.
        untold: start and end of each stretch of voice without text, in order, in microseconds of the shot.
    """

    shot: Shot
    missing: tuple[str, ...]
    rejected: tuple[str, ...]
    waiting: tuple[str, ...]
    untold: tuple[tuple[int, int], ...]


def alerts_of(production: Production, facts: AlertFacts) -> Iterator[str]:
    """Yield the alerts of a shot."""
    words = production.file.sheet.words
    if facts.missing:
        yield words.lines_missing.format(lines=", ".join(facts.missing))
    if facts.rejected:
        yield words.lines_rejected.format(lines=", ".join(facts.rejected))
    if facts.waiting:
        yield words.lines_old.format(lines=", ".join(facts.waiting))
    if frames := _frames_of(production, facts):
        yield words.voice_without_text.format(frames=said(frames, production.file.first_frame))


def _frames_of(production: Production, facts: AlertFacts) -> set[int]:
    """Return the frames of a shot on whose rows voice without text stands."""
    rows = (rows_between(start, end, facts.shot.frames, production.rate) for start, end in facts.untold)
    return {frame for span in rows for frame in span}


def alerts_over(production: Production, shots: Iterable[AlertFacts], left_out: Iterable[Shot]) -> tuple[str, ...]:
    """Return the alerts of several shots, and one for each shot that is left out.

    Each begins with the shot's id, and with its scene where other scenes have that id too.
    """
    ids = Counter(shot.id for _, shot in production.shots())
    named = {id(shot): f"{scene.id}/{shot.id}" for scene, shot in production.shots() if ids[shot.id] > 1}
    told = [(shot, production.file.sheet.words.shot_left_out) for shot in left_out]
    told += [(facts.shot, alert) for facts in shots for alert in alerts_of(production, facts)]
    return tuple(f"{named.get(id(shot), shot.id)}: {alert}" for shot, alert in told)
