"""Lips that close and lips that touch the teeth are seen, at every rate, on random dictionary words.

Source of the tolerance: the film standards as quoted in ITU-R Report BS.1204, picture at most two frames ahead of its
sound and one behind. Which phonemes: the IPA chart's bilabial stops and nasals, and labiodentals, written out here.
"""

from __future__ import annotations

import gzip
import random
from dataclasses import replace
from fractions import Fraction
from functools import cache
from importlib.resources import files

import pytest

from lipsync.fit.fit_job import Job
from lipsync.fit.fit_settings import FittingSettings
from lipsync.fit.fitting import fit
from lipsync.timing import US_PER_S
from lipsync.track import FrameTrack, Sound
from tests.fit.build import job_of, sounds_from, speech

CLASSES = {"P": "shut", "B": "shut", "M": "shut", "F": "tuck", "V": "tuck"}
RATES = [Fraction(24), Fraction(25), Fraction(30)]


@cache
def dictionary() -> list[list[str]]:
    data = gzip.decompress((files("lipsync") / "text" / "data" / "cmudict.dict.gz").read_bytes()).decode()
    return [line.split()[1:] for line in data.splitlines()]


@cache
def texts() -> list[tuple[Sound, ...]]:
    seed = random.Random(500)
    return [speech(seed.choices(dictionary(), k=seed.randint(3, 8)), seed) for _ in range(60)]


def frames_in_tolerance(sound: Sound, rate: Fraction) -> list[int]:
    """Every frame whose mouth is due at most two frames before the sound and one after, in exact arithmetic."""
    start = Fraction(sound.start_us) * rate / US_PER_S
    around = range(int(start) - 5, int(start) + 6)
    return [frame for frame in around if -2 <= frame - start <= 1]


def unseen(job: Job, track: FrameTrack) -> list[Sound]:
    by_code = job.mouth_set.by_code
    missing = []
    for sound in job.sounds:
        if sound.symbol in CLASSES:
            frames = [f for f in frames_in_tolerance(sound, job.rate) if 0 <= f < len(track.pieces)]
            if not any(by_code[str(track.pieces[f])].shape == CLASSES[sound.symbol] for f in frames):
                missing.append(sound)
    return missing


@pytest.mark.parametrize("rate", RATES, ids=str)
@pytest.mark.parametrize(("on", "mouth_set"), [("ones", "tideline"), ("mixed", "driftwood")])
def test_every_one_of_60_texts(on: str, mouth_set: str, rate: Fraction) -> None:
    sounds_seen = 0
    for sounds in texts():
        job = job_of(sounds, mouth_set, rate, FittingSettings(on=on))  # type: ignore[arg-type]
        track = fit(job)
        assert unseen(job, track) == []
        assert track.lost == ()
        # Each has a frame of its own, or shares a hold with a neighbour of its class.
        for index, sound in enumerate(sounds):
            if sound.symbol in CLASSES and sound not in track.serves:
                neighbours = [*sounds[max(0, index - 1) : index], *sounds[index + 1 : index + 2]]
                assert any(CLASSES.get(s.symbol) == CLASSES[sound.symbol] for s in neighbours)
            sounds_seen += sound.symbol in CLASSES
    assert sounds_seen > 200


@pytest.mark.parametrize("rate", RATES, ids=str)
def test_on_twos_what_is_not_seen_is_named(rate: Fraction) -> None:
    named = 0
    for sounds in texts():
        job = job_of(sounds, "tideline", rate, FittingSettings(on="twos"))
        track = fit(job)
        assert {lost.sound for lost in track.lost if lost.sound.symbol in CLASSES} == set(unseen(job, track))
        assert all(lost.sound.symbol in CLASSES or lost.sound.stress == 1 for lost in track.lost)
        assert all("twos only" in lost.reason for lost in track.lost)
        changes = [fitting.frame for fitting in track.fittings[1:]]
        assert all(frame % 2 == 0 for frame in changes)
        named += len(track.lost)
    assert named < 20


def test_more_sounds_than_frames_are_named() -> None:
    """Lips closed and lip to teeth on the one frame on camera: one of the two is lost."""
    job = job_of(sounds_from("AA0:300 P10 F10 AA0:300"))
    job = replace(job, on_camera=tuple(frame == 7 for frame in range(len(job.on_camera))))
    track = fit(job)
    (lost,) = track.lost
    assert lost.sound.symbol in CLASSES
    assert lost.reason.startswith("there are fewer frames than sounds that must be seen; its frames wear ")
    everyone = job_of(sounds_from("AA1:300 P10 M10 B10 P10 M10 B10 AA1:300"))
    assert fit(everyone).lost == ()  # one hold serves them all
