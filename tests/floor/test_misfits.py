"""Where the sound no longer fits what is filmed, however little of it is on camera."""

from dataclasses import replace

import pytest

from lipsync.fit.fitting import fit
from lipsync.floor.misfits import misfits
from tests.fit.build import job_of, sounds_from


@pytest.mark.parametrize("on_camera", [(0, 24), (10, 11), (10, 12), (10, 13), (0, 1), (23, 24)])
def test_closed_lips_filmed_under_an_open_vowel_are_told_on_every_frame_seen(on_camera):
    """AA for a second; beside the frames on camera nothing is asked for, and that is no reason to pass them over."""
    seen = range(*on_camera)
    job = job_of(sounds_from("AA1:1000"))
    job = replace(job, on_camera=tuple(frame in seen for frame in range(len(job.on_camera))))
    job = replace(job, filmed={frame: "SHUT" if frame in seen else None for frame in range(24)})
    found = misfits(job, fit(job))
    assert [frame for one in found for frame in range(one.span[0], one.span[1] + 1)] == list(seen)
    assert {one.worn for one in found} == {("SHUT",)}
