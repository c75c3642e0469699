"""A shot's tracks as they are counted: its mouths', and those of the parts that are listed by hand.

In: a production and a planned shot. Out: a `ShotTrack` for each character, and for each row of its parts.
"""

from __future__ import annotations

from collections.abc import Mapping

from lipsync.app.plan.tracked import TrackedShot
from lipsync.production.values import Production
from lipsync.track import PartTrack
from lipsync.workshop.counting import ShotTrack


def shot_tracks(
    production: Production,
    one: TrackedShot,
    filmed: frozenset[int] = frozenset(),
    retaken: Mapping[str, Mapping[str, int]] | None = None,
) -> list[ShotTrack]:
    """Return a shot's tracks.

    Args:
        production: the production.
        one: the shot.
        filmed: its frames that are in the can, where they are reckoned with.
        retaken: how often each character's pieces were put on in takes that were thrown away.
    """
    found = []
    for worn in one.tracks:
        again = (retaken or {}).get(worn.character, {})
        found.append(ShotTrack(one.scene.id, one.shot.id, worn, filmed, again))
        for part in production.parts_of(worn.character, one.shot):
            # A track for each row: a row that begins where another of the same part ends is put on again.
            codes = [part.code if part.first <= frame <= part.last else None for frame in range(one.shot.frames)]
            track = PartTrack(worn.character, tuple(codes))
            found.append(ShotTrack(one.scene.id, one.shot.id, track, filmed))
    return found
