"""The one door to fitting: from sounds in time to the piece on every frame.

Job -> turns (schedule.py) -> pieces (first_form.py) -> what each frame shows, what is lost (serving.py)
"""

from __future__ import annotations

from lipsync.fit.first_form import pieces_by_rule
from lipsync.fit.job import Job
from lipsync.fit.schedule import turns_of
from lipsync.fit.serving import track_of
from lipsync.model import FrameTrack


def fit(job: Job) -> FrameTrack:
    """Return the piece on each frame of a shot for one character, and the sound that each frame shows."""
    turns = turns_of(job)
    return track_of(job, turns, pieces_by_rule(job, turns))
