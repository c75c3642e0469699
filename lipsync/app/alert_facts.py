"""What must be known before paper is used: lines that are missing from it, words that are the old ones.

In: the production and its shots, planned or not. Out: sentences in the studio's words, for each page's black band.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from lipsync.app.jobs import ShotJobs
from lipsync.production.production_tables import Shot
from lipsync.production.values import Production


def alerts_of(production: Production, one: ShotJobs) -> Iterator[str]:
    """Yield what must be known of a shot."""
    words = production.file.sheet.words
    if one.missing:
        yield words.lines_missing.format(lines=", ".join(one.missing))
    if one.waiting:
        yield words.lines_old.format(lines=", ".join(one.waiting))


def alerts_over(production: Production, shots: Iterable[ShotJobs], left_out: Iterable[Shot] = ()) -> tuple[str, ...]:
    """Return what must be known of several shots, and of those that are left out, each with its id."""
    without = (f"{shot.id}: {production.file.sheet.words.shot_left_out}" for shot in left_out)
    return (*without, *(f"{one.shot.id}: {alert}" for one in shots for alert in alerts_of(production, one)))
