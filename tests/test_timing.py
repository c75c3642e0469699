"""Time against the outside: published film and timecode facts, the library `timecode`, exact arithmetic.

Small domains are enumerated, not sampled: a random test missed an error at 25 frames a second that a loop finds.
"""

import math
import random
from fractions import Fraction

import pytest
from timecode import Timecode

from lipsync import timing
from lipsync.timing import US_PER_S

NTSC = Fraction(30000, 1001)
DOUBLE_NTSC = Fraction(60000, 1001)
RATES = [Fraction(r) for r in (12, 24, 25, 30, 48, 50, 60)] + [Fraction(24000, 1001), NTSC, DOUBLE_NTSC]
TEN_MINUTES_TICKS = 60_000
TICK_US = 10_000

each_rate = pytest.mark.parametrize("rate", RATES, ids=str)


# --- frames and microseconds, against exact fractions -----------------------------------------------------------


@each_rate
def test_the_frame_at_every_tick_of_ten_minutes(rate):
    for tick in range(TEN_MINUTES_TICKS + 1):
        exact = Fraction(tick, 100) * rate
        frame = timing.frame_at(tick * TICK_US, rate)
        assert frame == math.floor(exact), tick
        assert timing.nearest_frame(tick * TICK_US, rate) == math.floor(exact + Fraction(1, 2)), tick
        assert timing.frames_covering(tick * TICK_US, rate) == math.ceil(exact), tick


@each_rate
def test_the_frame_just_before_and_after_every_tick_of_two_minutes(rate):
    for tick in range(1, TEN_MINUTES_TICKS // 5):
        for time_us in (tick * TICK_US - 1, tick * TICK_US + 1):
            exact = Fraction(time_us, US_PER_S) * rate
            assert timing.frame_at(time_us, rate) == math.floor(exact), time_us
            assert timing.nearest_frame(time_us, rate) == math.floor(exact + Fraction(1, 2)), time_us


@each_rate
def test_the_start_of_every_frame_of_ten_minutes(rate):
    for frame in range(math.ceil(600 * rate) + 1):
        start_us = timing.frame_start_us(frame, rate)
        assert start_us == math.ceil(frame / rate * US_PER_S), frame
        # Round trip: the start belongs to its frame, the microsecond before to the frame before.
        assert timing.frame_at(start_us, rate) == frame
        assert timing.frame_at(start_us - 1, rate) == frame - 1
        assert timing.nearest_frame(start_us, rate) == frame


@each_rate
def test_frames_before_the_shot_count_down_from_minus_1(rate):
    for frame in range(-200, 0):
        start_us = timing.frame_start_us(frame, rate)
        assert start_us == math.ceil(frame / rate * US_PER_S)
        assert timing.frame_at(start_us, rate) == frame
        assert timing.frame_at(start_us - 1, rate) == frame - 1


def test_floats_are_wrong_where_this_is_right():
    # Measured once: floor(t / 100 * 25) puts 925 of the first 60,000 ticks on the wrong frame, the first at 1.16 s.
    wrong = [
        t for t in range(TEN_MINUTES_TICKS) if math.floor(t / 100 * 25) != timing.frame_at(t * TICK_US, Fraction(25))
    ]
    assert len(wrong) == 925
    assert wrong[0] == 116
    assert timing.frame_at(1_160_000, Fraction(25)) == 29  # by hand: 1.16 * 25 = 29 exactly


def test_one_two_and_four_frames_at_24():
    # Arithmetic: 1/24 s, 1/12 s, 1/6 s; 24 frames a second is the cinema rate.
    starts = [timing.frame_start_us(frame, Fraction(24)) for frame in (1, 2, 4, 24)]
    assert starts == [41_667, 83_334, 166_667, 1_000_000]


@each_rate
def test_a_second_of_labels_is_the_next_whole_number(rate):
    assert timing.nominal_rate(rate) == math.ceil(rate)


def test_halfway_between_two_frames_the_later_is_nearest():
    assert timing.nearest_frame(62_500, Fraction(24)) == 2  # by hand: 1.5 frames
    assert timing.nearest_frame(62_499, Fraction(24)) == 1


@pytest.mark.parametrize(
    ("frame", "first", "number"), [(0, 1, 1), (0, 1001, 1001), (47, 1, 48), (-1, 1, 0), (5, 0, 5)]
)
def test_the_production_numbers_its_frames(frame, first, number):
    assert timing.number_of(frame, first) == number


# --- samples ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("rate_hz", [8_000, 11_025, 16_000, 22_050, 44_100, 48_000, 96_000, 192_000])
def test_samples_come_back(rate_hz):
    for sample in [*range(30_000), *range(600 * rate_hz, 600 * rate_hz + 1_000)]:
        time_us = timing.us_of_sample(sample, rate_hz)
        assert time_us == math.floor(Fraction(sample * US_PER_S, rate_hz))
        assert timing.sample_of_us(time_us, rate_hz) == sample


# --- seconds ----------------------------------------------------------------------------------------------------


def test_seconds_of_every_tick_of_ten_minutes_come_back():
    for time_us in range(0, 600 * US_PER_S + 1, TICK_US):
        assert timing.us_of_seconds(timing.seconds_of(time_us)) == time_us


def test_seconds_of_any_microsecond_of_a_day_come_back():
    dice = random.Random(5)
    for time_us in (dice.randrange(86_400 * US_PER_S) for _ in range(20_000)):
        assert timing.us_of_seconds(timing.seconds_of(time_us)) == time_us


@pytest.mark.parametrize(
    ("seconds", "time_us"),
    [
        (0, 0),
        (1, 1_000_000),
        ("1.5", 1_500_000),
        (1.16, 1_160_000),
        ("0.0000005", 1),
        ("0.00000049", 0),
        (-0.5, -500_000),
    ],
)
def test_seconds_are_the_decimal_as_written_rounded_half_up(seconds, time_us):
    assert timing.us_of_seconds(seconds) == time_us


@pytest.mark.parametrize(
    "wrong",
    ["", "x", "1_000", "1 000", "٣", "1,5", "nan", "inf", float("nan"), float("inf"), True, "1:30", "1e40", []],
)
def test_what_is_no_number_of_seconds_is_refused(wrong):
    with pytest.raises(ValueError, match=r"is no number of seconds; write one such as 1\.5$"):
        timing.us_of_seconds(wrong)


# --- rates ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "rate"),
    [
        (24, Fraction(24)),
        ("25", Fraction(25)),
        ("24000/1001", Fraction(24000, 1001)),
        (" 30000 / 1001 ", NTSC),
        (1, 1),
    ],
)
def test_exact_rates_are_read(written, rate):
    assert timing.parse_rate(written) == rate


@each_rate
def test_each_rate_is_read_back_as_it_prints(rate):
    assert timing.parse_rate(str(rate)) == rate


@pytest.mark.parametrize(
    "wrong", [0, -24, "0", "24/0", "0/1", "-24", 23.976, "23.976", 24.0, True, None, "", "fast", "1001/1", 1001, [24]]
)
def test_what_is_no_exact_rate_is_refused(wrong):
    with pytest.raises(
        ValueError, match=r' is no frame rate; write an exact one, such as 24, 25, 30, "24000/1001" or '
    ):
        timing.parse_rate(wrong)


# --- feet and frames --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("film", "per_foot", "feet_a_minute"),
    [
        # ISO 491: pitch 4.75 mm, four perforations, so a frame is 19.0 mm and 16 of them a foot; the glossary of the
        # National Film and Sound Archive of Australia: 90 feet = one minute.
        ("35mm", 16, 90),
        # ISO 69, from memory: 40 frames a foot, 36 feet a minute at 24.
        ("16mm", 40, 36),
    ],
)
def test_feet(film, per_foot, feet_a_minute):
    assert timing.feet(24 * 60, film) == f"{feet_a_minute}+00"
    for frames in range(24 * 600):
        whole, rest = timing.feet(frames, film).split("+")
        assert len(rest) == 2
        assert int(rest) < per_foot
        assert int(whole) * per_foot + int(rest) == frames


def test_sixteen_frames_of_19_mm_are_a_foot():
    assert round(304.8 / (4 * 4.75)) == timing.FRAMES_PER_FOOT["35mm"]  # ISO 491; a foot is 304.8 mm


@pytest.mark.parametrize(
    ("frames", "film", "text"),
    [(0, "35mm", "0+00"), (15, "35mm", "0+15"), (16, "35mm", "1+00"), (39, "16mm", "0+39"), (40, "16mm", "1+00")],
)
def test_feet_by_hand(frames, film, text):
    assert timing.feet(frames, film) == text


# --- timecode ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rate", "name", "frames"),
    [
        (NTSC, "29.97", range(107_892)),
        (NTSC, "29.97", range(23 * 107_892, 24 * 107_892)),
        (DOUBLE_NTSC, "59.94", range(2 * 53_946)),
    ],
    ids=["30000/1001 first hour", "30000/1001 last hour", "60000/1001 first half hour"],
)
def test_drop_frame_timecode_of_every_frame_is_the_librarys(rate, name, frames):
    # timecode 1.5.1, an independent implementation; it counts frames from 1.
    library = Timecode(name, frames=1)
    for frame in frames:
        label = timing.timecode(frame, rate, drop=True)
        assert label == library.tc_to_string(*library.frames_to_tc(frame + 1)), frame
        assert timing.parse_timecode(label, rate) == (frame, True), frame


@pytest.mark.parametrize("rate", [24, 25, 30, 50, 60])
def test_timecode_of_every_frame_of_ten_minutes_is_the_librarys(rate):
    library = Timecode(str(rate), frames=1)
    for frame in range(600 * rate):
        label = timing.timecode(frame, Fraction(rate))
        assert label == library.tc_to_string(*library.frames_to_tc(frame + 1)), frame


@pytest.mark.parametrize(
    ("rate", "label"),
    [(1, "00:00:03:00"), (5, "00:00:00:03"), (100, "00:00:00:03"), (101, "00:00:00:003"), (120, "00:00:00:003")],
)
def test_frames_have_as_many_digits_as_the_last_of_a_second_and_two_at_least(rate, label):
    # At 100 frames a second the last is 99, at 101 it is 100.
    assert timing.timecode(3, Fraction(rate)) == label
    assert timing.parse_timecode(label, Fraction(rate)) == (3, False)


@each_rate
def test_timecode_of_every_frame_of_ten_minutes_comes_back(rate):
    for drop in (False, True) if rate in timing.DROPPED_LABELS else (False,):
        for frame in range(math.ceil(600 * rate)):
            assert timing.parse_timecode(timing.timecode(frame, rate, drop=drop), rate) == (frame, drop)


def test_drop_frame_as_published():
    # SMPTE ST 12-1: two labels are left out at each minute but each tenth.
    assert timing.parse_timecode("00:10:00;00", NTSC) == (17_982, True)
    assert timing.parse_timecode("01:00:00;00", NTSC) == (107_892, True)
    assert timing.timecode(17_982, NTSC, drop=True) == "00:10:00;00"
    assert timing.timecode(107_892, NTSC, drop=True) == "01:00:00;00"
    assert [timing.timecode(f, NTSC, drop=True) for f in (1799, 1800)] == ["00:00:59;29", "00:01:00;02"]


@pytest.mark.parametrize("minute", range(60))
@pytest.mark.parametrize("label", [0, 1, 2])
def test_the_labels_that_do_not_exist_at_the_start_of_each_minute(minute, label):
    text = f"00:{minute:02}:00;{label:02}"
    if minute % 10 == 0 or label == 2:
        assert timing.timecode(timing.parse_timecode(text, NTSC)[0], NTSC, drop=True) == text
    else:
        message = f"^'{text}' does not exist: drop-frame timecode leaves out that label; the next is ;02$"
        with pytest.raises(ValueError, match=message):
            timing.parse_timecode(text, NTSC)


def test_a_label_without_drop_exists_at_each_minute():
    assert timing.parse_timecode("00:01:00:00", NTSC) == (1800, False)


@pytest.mark.parametrize(
    ("rate", "drop"), [(NTSC, True), (DOUBLE_NTSC, True), (Fraction(24), False), (Fraction(25), False)]
)
def test_after_midnight_labels_begin_again(rate, drop):
    last = "23:59:59" + (";" if drop else ":") + str(timing.nominal_rate(rate) - 1)
    frame, _ = timing.parse_timecode(last, rate)
    assert timing.timecode(frame, rate, drop=drop) == last
    assert timing.timecode(frame + 1, rate, drop=drop) == "00:00:00" + last[8] + "00"


def test_a_day_of_drop_frame_is_2_589_408_frames():
    # 24 times the published 107,892 frames an hour.
    assert timing.parse_timecode("23:59:59;29", NTSC)[0] + 1 == 24 * 107_892 == 2_589_408


@pytest.mark.parametrize("rate", [r for r in RATES if r not in timing.DROPPED_LABELS], ids=str)
def test_labels_are_dropped_at_two_rates_only(rate):
    message = (
        r"^drop-frame timecode exists at 30000/1001 and 60000/1001 frames a second only, not at "
        rf"{rate}; write ':' for ';'$"
    )
    with pytest.raises(ValueError, match=message):
        timing.parse_timecode("01:00:00;02", rate)
    with pytest.raises(ValueError, match=message):
        timing.timecode(0, rate, drop=True)


@pytest.mark.parametrize(
    "wrong",
    [
        "",
        "1:00:00:00",
        "24:00:00:00",
        "00:60:00:00",
        "00:00:60:00",
        "00:00:00:24",
        "00:00:00",
        "00:00:00.00",
        "00-00-00-00",
    ],
)
def test_what_is_no_timecode_is_refused(wrong):
    message = f"^'{wrong}' is no timecode at 24 frames a second; write HH:MM:SS:FF, FF from 00 to 23$"
    with pytest.raises(ValueError, match=message):
        timing.parse_timecode(wrong, Fraction(24))
