"""Sizes follow loudness, stress and length; a whisper stays small and a shout goes large. Worked out by hand."""

from __future__ import annotations

import pytest

from lipsync.fit.fit_job import VoiceRange, range_of_levels, voice_range
from lipsync.fit.fit_settings import FittingSettings, Sizes
from lipsync.fit.fitting import fit
from lipsync.fit.lips import row_of
from lipsync.fit.mouthset import CUES
from lipsync.fit.sizes import lips_of, strengths
from lipsync.track import Sound
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


def test_the_range_is_in_whole_db_so_that_one_line_more_seldom_moves_it() -> None:
    levels = [-40 + tenth / 10 for tenth in range(201)]
    assert range_of_levels(levels) == VoiceRange(-38.0, -22.0)
    assert range_of_levels([*levels, -5.0, -5.0, -50.0]) == VoiceRange(-38.0, -22.0)
    assert range_of_levels([level + 0.4 for level in levels]) == VoiceRange(-38.0, -22.0)
    assert range_of_levels([level + 0.6 for level in levels]) == VoiceRange(-37.0, -21.0)


def test_each_piece_has_an_equal_share_of_the_sizes() -> None:
    tideline = MOUTH_SETS["tideline"]
    openings = [lips_of(tideline, "open", size)[0] for size in (0.0, 0.33, 0.34, 0.66, 0.67, 1.0)]
    assert openings == [0.42, 0.42, 0.66, 0.66, 1.00, 1.00]
    assert [lips_of(tideline, "ring", size)[0] for size in (0.0, 0.49, 0.51, 1.0)] == [0.28, 0.28, 0.60, 0.60]
    assert lips_of(tideline, "pout", 0.0) == lips_of(tideline, "pout", 1.0)


def sizes_of(text: str, level_db: float | None = None, weights: Sizes | None = None) -> list[float]:
    return [one.size for one in strengths(sounds_from(text, level_db=level_db), VOICE, weights or Sizes())]


def test_sounds_of_which_no_level_is_known_have_a_size_by_stress_and_length() -> None:
    """By weights of 0.25 and 0.15: stress 1, length 200 of twice the median 200: (0.25 + 0.075) / 0.4."""
    sounds = sounds_from("AA1:200 T80 | AA1:200")
    strong = strengths(sounds, VOICE, Sizes(loudness=0.6, stress=0.25, length=0.15))
    assert [one.size for one in strong] == pytest.approx([0.8125, 0.5, 0.8125])
    assert [one.loudness for one in strong] == [0.5, 0.5, 0.5]
    assert strengths(sounds_from("AA1:200", level_db=-10.0), None, Sizes())[0].loudness == 0.5


def test_a_vowel_of_twice_the_usual_length_is_as_large_as_length_makes_it() -> None:
    only_length = Sizes(loudness=0.0, stress=0.0, length=1.0)
    # The median of 100, 200 and 800 is 200: a quarter, a half, and no more than all.
    assert sizes_of("AA1:100 AA1:200 AA1:800", weights=only_length) == pytest.approx([0.25, 0.5, 1.0])


def test_where_only_loudness_weighs_and_is_not_known_the_size_is_middling() -> None:
    assert sizes_of("AA1:100", weights=Sizes(loudness=1.0, stress=0.0, length=0.0)) == [0.5]


def test_the_size_is_at_most_0_24_from_the_loudness() -> None:
    only_length = Sizes(loudness=0.0, stress=0.0, length=1.0)  # 0.5 for a single vowel
    assert sizes_of("AA1:100", -40.0, only_length) == pytest.approx([0.24])
    assert sizes_of("AA1:100", -10.0, only_length) == pytest.approx([0.76])


def test_each_line_has_its_own_usual_length_and_consonants_have_none() -> None:
    only_length = Sizes(loudness=0.0, stress=0.0, length=1.0)
    lines = (*sounds_from("S900 AA1:100", line="a"), *sounds_from("AA1:400", line="b"))
    assert [one.size for one in strengths(lines, VOICE, only_length)] == pytest.approx([0.5, 0.5, 0.5])


def test_a_consonant_is_as_loud_as_the_mean_of_its_words_vowels() -> None:
    sounds = (*sounds_from("T80 AA1:100", level_db=-40.0), *sounds_from("AA1:100", 180_000, level_db=-10.0))
    assert strengths(sounds, VOICE, Sizes())[0].loudness == 0.5
    alone = sounds_from("T80 | AA1:100", level_db=-10.0)
    assert strengths(alone, VOICE, Sizes())[0].loudness == 0.5  # no vowel in its word


@pytest.mark.parametrize(("size", "which"), [(0.0, 0), (0.33, 0), (0.34, 1), (0.66, 1), (0.67, 2), (1.0, 2)])
def test_pieces_of_a_shape_divide_the_sizes_equally(size: float, which: int) -> None:
    for mouth_set in MOUTH_SETS.values():
        for shape, pieces in mouth_set.sizes.items():
            if len(pieces) == 3:
                assert lips_of(mouth_set, shape, size) == row_of(pieces[which].lips)
    assert any(len(pieces) == 3 for mouth_set in MOUTH_SETS.values() for pieces in mouth_set.sizes.values())


def test_a_cue_has_the_size_that_is_set_for_it_however_loud() -> None:
    for cue, size in CUES.items():
        (one,) = strengths((Sound("l1", 0, f"[{cue}]", f"[{cue}]", 0, 1000, level_db=-10.0),), VOICE, Sizes())
        assert (one.loudness, one.size) == (0.5, size)
    assert set(CUES.values()) - {0.5}


def test_a_vowel_is_as_loud_as_its_level_in_the_range_of_its_voice() -> None:
    for level_db, loudness in ((-50.0, 0.0), (-40.0, 0.0), (-25.0, 0.5), (-10.0, 1.0)):
        assert strengths(sounds_from("AA1:100", level_db=level_db), VOICE, Sizes())[0].loudness == loudness
