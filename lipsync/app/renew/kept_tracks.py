"""Tracks as the index keeps them: as JSON values, each sound by its place among the sounds that were fitted.

In: a planned shot. Out: its record; and from a record what is worn, for who counts, or the tracks whole, for who has
the jobs that they were fitted from (of the same code, shot_codes.py).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import Any

from lipsync.app.plan.alert_facts import AlertFacts
from lipsync.app.plan.planning import ShotPlan
from lipsync.app.plan.tracked import TrackedShot
from lipsync.fit.fit_job import Job
from lipsync.production.production_tables import Shot
from lipsync.production.values import Scene
from lipsync.track import FrameTrack, Lost, PieceTrack

Record = dict[str, Any]


def record_of(one: ShotPlan) -> Record:
    """Return what the index keeps of a planned shot.

    Of each character the runs of frames on which piece and sound stay: code, place of the sound, how many frames; and
    the sounds that are lost: place and reason.
    """
    cast = []
    for character in one.cast:
        track, place = character.track, {sound: at for at, sound in enumerate(character.job.sounds)}
        shown = (None if sound is None else place[sound] for sound in track.serves)
        runs = [[*key, len(list(run))] for key, run in groupby(zip(track.pieces, shown, strict=True))]
        cast.append([track.character, runs, [[place[lost.sound], lost.reason] for lost in track.lost]])
    facts = one.asked.alert_facts
    alerts = [facts.missing, facts.rejected, facts.waiting, facts.untold]
    return {"cast": cast, "filmed": sorted(one.filmed), "alerts": alerts}


def known_shot(scene: Scene, shot: Shot, record: Record) -> TrackedShot:
    """Return what is worn in a shot."""
    tracks = (PieceTrack(who, _codes(runs)) for who, runs, _ in record["cast"])
    missing, rejected, waiting, untold = map(tuple, record["alerts"])
    facts = AlertFacts(shot, missing, rejected, waiting, tuple((start, end) for start, end in untold))
    return TrackedShot(scene, shot, tuple(tracks), frozenset(record["filmed"]), facts)


def tracks_of(record: Record, jobs: Sequence[Job]) -> tuple[FrameTrack, ...]:
    """Return the tracks of a shot whole, from the jobs that they were fitted from."""
    tracks = []
    for job, (who, runs, missed) in zip(jobs, record["cast"], strict=True):
        serves = tuple(None if at is None else job.sounds[at] for _, at, count in runs for _ in range(count))
        lost = tuple(Lost(job.sounds[at], reason) for at, reason in missed)
        tracks.append(FrameTrack(who, _codes(runs), serves, lost))
    return tuple(tracks)


def _codes(runs: Sequence[tuple[str | None, int | None, int]]) -> tuple[str | None, ...]:
    return tuple(code for code, _, count in runs for _ in range(count))
