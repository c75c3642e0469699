"""Where the sound no longer fits what is filmed, however little of it is on camera."""

from dataclasses import replace

import pytest

from lipsync.fit.fit_settings import FittingSettings
from lipsync.fit.fitting import fit
from lipsync.fit.lips import distance
from lipsync.floor.misfits import Misfit, _asked, _is_far, _misfit, misfits
from lipsync.track import FrameTrack
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


def test_what_is_asked_for_one_frame_earlier_or_later_counts():
    pieces = ("A", "B", None, "D", "E")
    assert [_asked(pieces, frame) for frame in (0, 1, 2, 4)] == [
        ("A", "B"),
        ("A", "B", None),
        ("B", None, "D"),
        ("D", "E"),
    ]


@pytest.mark.parametrize(("beyond", "is_far"), [(-1e-9, True), (0, False), (1e-9, False)])
def test_a_mouth_is_far_beyond_the_setting_and_not_at_it(beyond, is_far):
    job = job_of(sounds_from("AA1:1000"))
    apart = distance(job.mouth_set.by_code["SHUT"].lips, job.mouth_set.by_code["OPEN2"].lips)
    job = replace(job, settings=FittingSettings(far=apart + beyond))
    assert _is_far(job, "SHUT", ["OPEN2", None]) == is_far
    assert not _is_far(job, "SHUT", ["OPEN2", "SHUT"])


def test_a_piece_that_is_asked_for_fits_however_little_is_far():
    job = replace(job_of(sounds_from("AA1:300 M120 UW1:300")), settings=FittingSettings(far=0))
    track = fit(job)
    filmed = replace(job, filmed=dict(enumerate(track.pieces)))
    assert misfits(filmed, track) == ()


@pytest.mark.parametrize(
    ("closed", "told"), [((), True), ((7,), False), ((8,), False), ((10,), False), ((11,), True)]
)
def test_closed_lips_that_were_filmed_open_are_told_however_near_the_mouth_is(closed, told):
    """M is due on frames 8 and 9, between vowels; closed lips one frame before or after it are seen."""
    job = replace(job_of(sounds_from("IH1:333 M83 IH1:333")), settings=FittingSettings(far=2))
    free = fit(job)
    due = [frame for frame, sound in enumerate(free.serves) if sound is not None and sound.symbol == "M"]
    assert due == [8, 9]
    worn = {f: "SHUT" if f in closed else "OPEN1" for f in range(len(free.pieces))}
    filmed = replace(job, filmed=worn)
    found = misfits(filmed, fit(filmed))
    assert [(one.span, one.worn, one.asked) for one in found] == [((8, 9), ("OPEN1",), ("SHUT",))] * told


def test_a_misfit_names_what_is_worn_asked_for_and_heard_on_its_frames():
    ah, oh, oo = (replace(sounds_from("AA1:100")[0], text=text) for text in ("ah", "oh", "oo"))
    track = FrameTrack("heron", ("A", "B", "B", "C", "D"), (None,) * 5)
    free = FrameTrack("heron", ("E", "F", "G", "F", "H"), (oo, ah, None, oh, oo))
    found = _misfit(free, track, (1, 3))
    assert found == Misfit((1, 3), ("B", "C"), ("F", "G"), ("ah", "oh"))
    assert str(found) == "B, C on, F, G asked for (“ah oh”)"
    assert str(replace(found, words=())) == "B, C on, F, G asked for"
