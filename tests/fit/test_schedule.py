"""When each mouth is due: each rule by itself, worked out by hand. At 25 a frame lasts 40 ms."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from lipsync.fit.fit_job import Job
from lipsync.fit.fit_settings import FittingSettings, Holds, Leads
from lipsync.fit.schedule import _due, _glides, _spread, _turns, _window, _with_rests, ideal_frame, turns_of
from lipsync.fit.sizes import Strength
from lipsync.fit.turns import Turn, eye_weight
from lipsync.track import Sound
from tests.fit.build import MOUTH_SETS, job_of, small_set, sounds_from

LONG_AGO = -(1 << 62)
EVEN = Strength(0.5, 0.5)


def job(text: str = "AA1:200", **leads: int) -> Job:
    settings = FittingSettings(lead=Leads(**leads), hold=Holds(closed_lips=2, shortest_rest=4))
    return job_of(sounds_from(text), small_set(), Fraction(25), settings=settings)


def sound(symbol: str, start_ms: float, end_ms: float, stress: int | None = None) -> Sound:
    return Sound("l1", 0, symbol, "word", round(start_ms * 1000), round(end_ms * 1000), stress)


def turn(of: Sound | None, due_ms: float = 0) -> Turn:
    shape = "rest" if of is None else {"M": "shut", "F": "tuck"}.get(of.symbol, "open")
    return Turn(of, False, shape, (0.0,) * 5, 1.0, round(due_ms * 1000), round(due_ms * 1000), None)


# --- one sound ------------------------------------------------------------------------------------------------------


def test_a_mouth_counts_from_10_ms_before_it_is_due_but_closed_lips_do_not() -> None:
    vowel, lips = _due(turn(sound("AA", 200, 300)), 200_000, 200_000, LONG_AGO), turn(sound("M", 200, 300))
    assert (vowel.due_us, vowel.start_us) == (200_000, 190_000)
    closed = _due(lips, 200_000, 200_000, LONG_AGO)
    assert (closed.due_us, closed.start_us) == (200_000, 200_000)


def test_after_a_closure_a_mouth_waits_for_its_frames_but_not_longer_than_it_is_heard() -> None:
    vowel = turn(sound("AA", 200, 300))
    waits = _due(vowel, 160_000, 200_000, 180_000)
    assert (waits.due_us, waits.start_us) == (180_000, 180_000)
    heard = _due(vowel, 160_000, 200_000, 240_000)
    assert (heard.due_us, heard.start_us) == (200_000, 200_000)


@pytest.mark.parametrize(
    ("before", "after", "glides"),
    [
        (sound("AA", 0, 100), sound("IY", 100, 200), True),
        (sound("AA", 0, 120), sound("IY", 100, 200), True),  # of another line, over it
        (sound("AA", 0, 99.999), sound("IY", 100, 200), False),
        (sound("T", 0, 100), sound("IY", 100, 200), False),
        (sound("AA", 0, 100), sound("T", 100, 200), False),
        (None, sound("IY", 100, 200), False),
    ],
)
def test_a_vowel_right_after_a_vowel_glides(before: Sound | None, after: Sound, glides: bool) -> None:
    assert _glides(turn(before), after) == glides
    assert not _glides(None, after)


def due_of(given: Sound, before: Turn | None = None, **leads: int) -> tuple[int, int]:
    first, *_ = _turns(job(**leads), given, EVEN, LONG_AGO, before)
    return first.due_us, first.start_us


def test_a_lead_takes_at_most_half_of_the_time_of_the_mouth_before() -> None:
    vowel = sound("AA", 200, 300, 1)
    assert due_of(vowel) == (200_000, 190_000)
    assert due_of(vowel, vowels=1) == (160_000, 150_000)
    # The mouth before is due at 140: half of the way to 200 is 170. At 100 it is 150, and the lead takes its 40 ms.
    assert due_of(vowel, turn(sound("T", 140, 200), 140), vowels=1) == (170_000, 160_000)
    assert due_of(vowel, turn(sound("T", 100, 200), 100), vowels=1) == (160_000, 150_000)
    # One that is due later than this sound is heard leaves no lead.
    assert due_of(vowel, turn(sound("T", 190, 240), 230), vowels=1) == (200_000, 190_000)
    # A mouth behind its sound is not held back further, and one that must be seen keeps its whole lead.
    assert due_of(vowel, turn(sound("T", 140, 200), 140), vowels=-1) == (240_000, 230_000)
    assert due_of(sound("M", 200, 300), turn(sound("T", 140, 200), 140), lips_closed=1) == (160_000, 160_000)
    # From vowel to vowel a mouth counts from 20 ms before.
    assert due_of(vowel, turn(sound("IY", 100, 200), 100)) == (200_000, 180_000)


def with_diphthongs(**leads: int) -> Job:
    return replace(job(**leads), mouth_set=MOUTH_SETS["tideline"], rests_on="REST")


def test_a_diphthong_has_its_second_shape_after_three_fifths() -> None:
    given = Sound("l1", 0, "AY", "eye", 200_000, 300_000, 1)
    tideline = with_diphthongs(vowels=1)
    assert len(tideline.mouth_set.shapes_of("AY")) == 2
    first, second = _turns(tideline, given, EVEN, LONG_AGO, None)
    assert (first.shape, second.shape) == tuple(tideline.mouth_set.shapes_of("AY"))
    assert (first.second, second.second) == (False, True)
    assert (first.due_us, second.due_us, second.start_us) == (160_000, 220_000, 210_000)
    assert first.weight == eye_weight(given, EVEN)
    assert second.weight == pytest.approx(0.7 * first.weight)
    assert second.window is None
    assert first.window is not None
    # A closure that lasts until 250 holds the second shape back too, up to when it is heard, 260.
    _, later = _turns(tideline, given, EVEN, 250_000, None)
    assert later.start_us == 250_000


def test_the_mouth_before_a_lead_is_the_whole_diphthong() -> None:
    """A lead of 120 ms is cut to half of the diphthong's 200, and not to half of the 80 of its second shape."""
    sounds = sounds_from("AY1:200 T100")
    found = _with_rests(with_diphthongs(others=3), sounds)
    assert [(one.second, one.due_us) for one in found if one.sound] == [(False, 0), (True, 120_000), (False, 100_000)]


# --- when it counts as seen -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "due_ms", "lead", "window"),
    [
        # Heard on frames 5 to 7; less than two early and at most one late: 4 to 6.
        (sound("M", 200, 320), 200, 0, (4, 6)),
        (sound("M", 200, 320), 160, 1, (3, 5)),
        (sound("M", 200, 320), 190, 1, (3, 5)),  # though a closure before it has shortened its lead
        # A vowel or a cue is seen as long as it is heard, less its lead.
        (sound("AA", 200, 320, 1), 200, 0, (4, 7)),
        (sound("AA", 200, 320.001, 1), 200, 0, (4, 8)),
        (sound("AA", 200, 320, 1), 160, 1, (3, 6)),
        (sound("AA", 200, 210, 1), 200, 0, (4, 6)),
        # With a lead that was shortened it counts from the frame on which it is due.
        (sound("AA", 200, 320, 1), 190, 1, (3, 7)),
        # F and V only where they are heard, and on one frame of the tolerance at least.
        (sound("F", 200, 320), 200, 0, (5, 6)),
        (sound("F", 200, 239), 200, 0, (5, 5)),
        (sound("F", 200, 320), 160, 1, (5, 5)),
        (sound("F", 200, 320), 120, 2, (4, 4)),
    ],
)
def test_the_frames_on_which_a_sound_counts_as_seen(
    given: Sound, due_ms: int, lead: int, window: tuple[int, int]
) -> None:
    led_us = given.start_us - lead * 40_000
    assert _window(turn(given, due_ms), lead, led_us, job()) == window


# --- one after the other --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wanted", "least", "weights", "bounds", "starts"),
    [
        ([0, 100], [40, 0], [1, 1], [None, None], [0, 100]),
        ([0, 40], [40, 0], [1, 1], [None, None], [0, 40]),
        ([0, 20], [40, 0], [1, 1], [None, None], [-10, 30]),
        ([0, 25], [40, 0], [1, 1], [None, None], [-8, 32]),  # 7.5 each: half a microsecond goes to the even one
        ([0, 20], [40, 0], [3, 1], [None, None], [-5, 35]),  # a quarter of the 20 that are missing, and three
        # The third is pushed into the second, and both into the first: each is 20 too soon after the one before.
        ([0, 20, 40], [40, 40, 0], [1, 1, 1], [None, None, None], [-20, 20, 60]),
        ([0, 20], [40, 0], [1, 1], [0, None], [0, 40]),  # not before the shot, and so the next is later too
        ([0, 20, 200], [40, 0, 0], [1, 1, 1], [0, None, None], [0, 40, 200]),
        ([0, 20], [40, 0], [1, 1], [None, 35], [-10, 35]),
        ([50], [40], [1], [None], [50]),
        ([-100, -50], [10, 0], [1, 1], [None, None], [-100, -50]),
    ],
)
def test_starts_are_shifted_to_both_sides_as_little_as_can_be(
    wanted: list[int], least: list[int], weights: list[float], bounds: list[int | None], starts: list[int]
) -> None:
    assert _spread(wanted, least, weights, bounds) == starts


def rests(text: str, **leads: int) -> list[tuple[str, float]]:
    """Symbols, and from when each counts, in milliseconds."""
    made = job(text, **leads)
    found = _with_rests(made, made.sounds)
    return [(one.sound.symbol if one.sound else "-", one.start_us / 1000) for one in found]


def test_a_silence_of_four_frames_is_a_rest_and_a_shorter_one_is_not() -> None:
    # Before the first sound there is always one, from eight frames before the shot, and one after the last.
    assert rests("AA1:200 SIL160 T100") == [("-", -320), ("AA", -10), ("-", 190), ("T", 350), ("-", 450)]
    assert rests("AA1:200 SIL159 T100") == [("-", -320), ("AA", -10), ("T", 349), ("-", 449)]
    assert rests("") == [("-", -10)]  # at 0, less what every mouth is early
    assert rests("SIL200 T100")[0] == ("-", -320)  # before the shot, however late the first sound is


def test_where_no_silence_is_too_short_for_a_rest_a_microsecond_is_one() -> None:
    made = replace(job(), settings=FittingSettings(hold=Holds(shortest_rest=0)))
    for silence_ms, rest in ((0.001, [None]), (0, [])):
        sounds = (sound("T", 0, 100), sound("K", 100 + silence_ms, 200))
        found = [one.sound and one.sound.symbol for one in _with_rests(made, sounds)]
        assert found == [None, "T", *rest, "K", None]


def test_what_reaches_farthest_is_what_a_rest_begins_after() -> None:
    long, short = sound("AA", 0, 500, 1), sound("T", 100, 200)
    made = replace(job(), sounds=(long, short))
    assert [one.start_us for one in _with_rests(made, made.sounds)][-1] == 490_000
    later = replace(made, sounds=(long, short, sound("K", 600, 700)))
    assert [one.sound is None for one in _with_rests(later, later.sounds)] == [True, False, False, False, True]


def test_a_line_that_began_before_the_shot_has_its_rest_before_it() -> None:
    made = replace(job(), sounds=(sound("AA", -100, 200, 1),))
    assert next(iter(_with_rests(made, made.sounds))).start_us == -420_000


def test_a_closure_holds_back_what_follows_until_its_frames_are_over() -> None:
    """M from 200, frame 5, for 60 ms ends on frame 6, so it is worn on 5 alone; if it lasts for 100, on 5 and 6."""
    assert rests("AA1:200 M60 AA1:200", vowels=1)[2:4] == [("M", 200), ("AA", 240)]
    assert rests("AA1:200 M100 AA1:200", vowels=1)[2:4] == [("M", 200), ("AA", 280)]


def test_in_the_shot_each_that_should_be_seen_has_a_frame_and_closed_lips_are_not_before_it() -> None:
    made = replace(job(), sounds=(sound("M", 0, 10), sound("AA", 10, 200, 1)))
    rest, lips, vowel, _ = turns_of(made)
    assert rest.sound is None
    assert lips.start_us == 0
    assert vowel.start_us == 40_000
    assert [ideal_frame(one, made) for one in (lips, vowel)] == [0, 1]


def test_turns_are_in_the_order_of_their_sounds() -> None:
    made = replace(job(), sounds=(sound("T", 200, 300), sound("AA", 0, 200, 1)))
    assert [one.sound and one.sound.symbol for one in turns_of(made)] == [None, "AA", "T", None]


def test_what_need_not_be_seen_may_be_shorter_than_a_frame() -> None:
    made = replace(job(), sounds=(sound("T", 200, 210), sound("K", 210, 220), sound("AA", 220, 400, 0)))
    assert [one.start_us for one in turns_of(made)[1:]] == [190_000, 200_000, 210_000, 390_000]


def test_what_need_not_be_seen_may_be_due_together() -> None:
    made = replace(job(), sounds=(sound("T", 200, 300), sound("K", 200, 300)))
    assert [one.start_us for one in turns_of(made)] == [-320_000, 190_000, 190_000, 290_000]


def test_what_began_before_the_shot_keeps_its_time() -> None:
    """A rest eight frames before it, and a vowel; only closed lips that are heard in the shot are kept in it."""
    made = replace(job(), sounds=(sound("AA", -100, 200, 1),))
    assert [one.start_us for one in turns_of(made)] == [-420_000, -110_000, 190_000]
