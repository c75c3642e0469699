"""Sizes follow loudness, stress and length; a whisper stays small and a shout goes large. Worked out by hand."""

from __future__ import annotations

import pytest

from lipsync.fit.fit_job import VoiceRange, voice_range
from lipsync.fit.fit_settings import FittingSettings, Sizes
from lipsync.fit.fitting import fit
from lipsync.fit.sizes import lips_of, strengths
from tests.fit.build import MOUTH_SETS, job_of, sounds_from

VOICE = VoiceRange(-40.0, -10.0)


def largest(level_db: float, stress: int = 1, settings: FittingSettings | None = None) -> float:
    """Return how far the widest mouth opens that an AA of 0.2 s between two T wears."""
    job = job_of(sounds_from(f"SIL300 T80 AA{stress}:200 T80", level_db=level_db), settings=settings, voice=VOICE)
    return max(job.mouth_set.by_code[str(code)].lips.opening for code in fit(job).pieces)


def test_a_whisper_is_smaller_than_a_shout_whatever_the_stress() -> None:
    for stress in (0, 1, 2):
        assert largest(-45.0, stress) <= largest(-5.0, stress)
    assert largest(-45.0) < largest(-5.0)
    # Where the studio weighs stress and length alone, loudness still sets the bounds: 0.24 about it.
    blind = Sizes(loudness=0.0, stress=1.0, length=1.0)
    for stress in (0, 1):
        whisper, shout = (strengths(sounds_from(f"AA{stress}:400", level_db=db), VOICE, blind)[0] for db in (-45, -5))
        assert whisper.size <= 0.24
        assert shout.size >= 0.76


def test_stress_and_length_raise_the_size() -> None:
    sounds = sounds_from("AA1:200 AA0:200 AA1:400 AA1:100", level_db=-25.0)
    stressed, weak, long, short = (s.size for s in strengths(sounds, VOICE, Sizes()))
    assert weak < stressed < long
    assert short < stressed
    # By hand: loudness 0.5, stress 1, length 200 of twice the median 200: 0.6 * 0.5 + 0.25 * 1 + 0.15 * 0.5 = 0.625.
    assert stressed == pytest.approx(0.625)


def test_consonants_follow_the_vowels_of_their_word() -> None:
    sounds = (*sounds_from("W80 AO1:100", level_db=-10.0), *sounds_from("| W80 AO1:100", 200_000, level_db=-40.0))
    loud, _, quiet, _ = (s.size for s in strengths(sounds, VOICE, Sizes()))
    assert (loud, quiet) == (1.0, 0.0)


def test_the_range_is_that_of_the_vowels_and_never_narrow() -> None:
    sounds = tuple(
        sound
        for n, level in enumerate(range(-40, -18, 2))
        for sound in sounds_from("AA1:100", n * 100_000, level_db=float(level))
    )
    # Eleven levels from -40 to -20, so a tenth of the way is -38 and nine tenths -22.
    assert voice_range(sounds) == VoiceRange(-38.0, -22.0)
    level = voice_range(sounds_from("AA1:100 S100 AA1:100", level_db=-20.0))
    assert level == VoiceRange(-26.0, -14.0)
    assert voice_range(sounds_from("S100")) is None
    assert voice_range(sounds_from("AA1:100")) is None


def test_each_piece_has_an_equal_share_of_the_sizes() -> None:
    tideline = MOUTH_SETS["tideline"]
    openings = [lips_of(tideline, "open", size)[0] for size in (0.0, 0.33, 0.34, 0.66, 0.67, 1.0)]
    assert openings == [0.42, 0.42, 0.66, 0.66, 1.00, 1.00]
    assert [lips_of(tideline, "ring", size)[0] for size in (0.0, 0.49, 0.51, 1.0)] == [0.28, 0.28, 0.60, 0.60]
    assert lips_of(tideline, "pout", 0.0) == lips_of(tideline, "pout", 1.0)
