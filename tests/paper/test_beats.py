"""Strong beats: hand-made lines in which it is plain which syllable stands out."""

from dataclasses import replace
from fractions import Fraction

from lipsync.paper.beats import beats_of
from lipsync.track import Sound

RATE = Fraction(24)


def line(*vowels, name="a", apart_us=500_000):
    """Stressed vowels, half a second apart, of these levels."""
    return [
        Sound(name, n, "AA", "ah", n * apart_us, n * apart_us + 150_000, 1, level) for n, level in enumerate(vowels)
    ]


def test_the_loudest_is_the_beat():
    assert beats_of(line(-30, -29, -15, -31, -30), RATE) == (24,)


def test_where_all_are_as_loud_the_highest_is():
    assert beats_of(line(-20, -20, -20, -20), RATE, [110, 112, 108, 190]) == (36,)


def test_two_that_stand_out_as_much_are_both():
    assert beats_of(line(-30, -30, -12, -30, -30, -30, -12, -30), RATE) == (24, 72)


def test_each_line_has_its_strongest_even_where_another_is_louder():
    quiet = [
        replace(s, start_us=s.start_us + 3_000_000, end_us=s.end_us + 3_000_000) for s in line(-40, -34, name="b")
    ]
    assert beats_of([*line(-20, -10), *quiet], RATE) == (12, 84)


def test_unstressed_vowels_and_consonants_are_none():
    loud = replace(line(-5)[0], stress=0, start_us=700_000, end_us=900_000)
    assert beats_of([*line(-30, -20), loud], RATE) == (12,)
    assert beats_of([loud], RATE) == ()
    assert beats_of([], RATE) == ()


def test_beats_closer_than_a_nod_are_one():
    # The second begins at 0.2 s, 4.8 frames: the start of frame 5 is nearest.
    assert beats_of(line(-30, -10, -10, -30, -30, apart_us=200_000), RATE) == (5,)


def test_what_was_not_measured_counts_for_nothing():
    unmeasured = [replace(s, level_db=None) for s in line(-1, -1)]
    assert beats_of(unmeasured, RATE) == ()
    assert beats_of(line(-20, -10), RATE, [None, None]) == (12,)


def test_a_beat_before_the_shot_is_not_in_it():
    early = [replace(s, start_us=s.start_us - 600_000, end_us=s.end_us - 600_000) for s in line(-10, -30)]
    assert beats_of(early, RATE) == ()
