"""Shots with what is worn in them: what counts, orders, boards and labels are made from.

A shot that was planned in this run (planning.py) tells it, and so does one whose tracks the index knows
(kept_tracks.py); whoever counts need not tell one from the other.
"""

from __future__ import annotations

from dataclasses import dataclass

from lipsync.app.alert_facts import AlertFacts
from lipsync.app.planning import Plans, ShotPlan
from lipsync.production.production_tables import Shot
from lipsync.production.values import Scene
from lipsync.report import Report
from lipsync.track import PieceTrack


@dataclass(frozen=True, slots=True)
class KnownShot:
    """A shot whose tracks are known, so that nothing of it was read.

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


TrackedShot = ShotPlan | KnownShot


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


AnyTracks = Plans | TrackedShots
