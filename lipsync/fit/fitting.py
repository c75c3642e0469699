"""The entrance to this room: from a character's sounds in a shot to the piece on every frame.

Job -> turns (schedule.py) -> what lips do on each frame (asked_lips.py) -> costs (weighing.py) -> pieces (optimum.py)
-> what each frame shows, and what is lost (serving.py)
"""

from __future__ import annotations

from lipsync.fit.fit_job import Job
from lipsync.fit.optimum import solve
from lipsync.fit.schedule import turns_of
from lipsync.fit.serving import track_of
from lipsync.fit.weighing import weigh
from lipsync.track import FrameTrack


def fit(job: Job) -> FrameTrack:
    """Return the piece on each frame of a shot for one character, and the sound that each frame shows.

    It is the track of least cost, by the studio's settings, over all possible tracks.
    """
    weighing = weigh(job, turns_of(job))
    return track_of(weighing, weighing.pieces(solve(weighing.problem).pieces))
