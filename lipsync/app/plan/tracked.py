"""Shots with what is worn in them: what counts, orders, boards and labels are made from.

They are made of plans (planning.py), or of what the index knows (kept_tracks.py); whoever counts need not tell one
from the other.
"""

from __future__ import annotations

from dataclasses import dataclass

from lipsync.app.plan.alert_facts import AlertFacts, alerts_over
from lipsync.production.production_tables import Shot
from lipsync.production.values import Production, Scene
from lipsync.report import Report
from lipsync.track import PieceTrack


@dataclass(frozen=True, slots=True)
class TrackedShot:
    """A shot with what is worn in it.

    Attributes:
        scene: its scene.
        shot: the shot.
        tracks: what each of its characters wears.
        filmed: its frames that are in the can, from 0.
        alert_facts: what its alerts tell.
    """

    scene: Scene
    shot: Shot
    tracks: tuple[PieceTrack, ...]
    filmed: frozenset[int]
    alert_facts: AlertFacts


@dataclass(frozen=True, slots=True)
class TrackedShots:
    """Shots with what is worn in them, in order.

    Attributes:
        shots: the shots.
        report: what is to be said.
        left_out: the shots that could not be planned.
    """

    shots: tuple[TrackedShot, ...]
    report: Report
    left_out: tuple[Shot, ...] = ()

    def alerts(self, production: Production) -> tuple[str, ...]:
        """Return what must be known before a page about these shots is used."""
        return alerts_over(production, (one.alert_facts for one in self.shots), self.left_out)
