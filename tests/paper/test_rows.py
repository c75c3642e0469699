"""The rule for rows: a sound stands on the row of the frame that begins nearest, and closures are put on by it."""

from fractions import Fraction

import pytest

from lipsync.fit.fitting import fit
from lipsync.paper.cells import Cell, HeardSpan
from lipsync.paper.rows import (
    _said,
    heard_in,
    row_at,
    rows_of,
    rows_where,
    spelt,
    stamp_from,
    stamp_of_text,
)
from lipsync.paper.sheet_job import KeepAlive, SheetCharacter, SheetJob
from lipsync.track import FrameTrack, Sound
from tests.fit.build import MOUTH_SETS, job_of

RATES = [Fraction(text) for text in ("12", "24", "24000/1001", "25", "30")]


def sheet_of(job, track):
    sounds = tuple(job.sounds)
    who = SheetCharacter("Zoë Wade", job.mouth_set, track, sounds)
    return SheetJob("Low Tide Post", "The pier", "010", job.rate, len(track.pieces), (who,))


@pytest.mark.parametrize("rate", RATES, ids=str)
@pytest.mark.parametrize("symbol", ["P", "B", "M"])
def test_a_closure_and_its_piece_stand_on_one_row_wherever_in_a_frame_it_begins(rate, symbol):
    frame_us = int(1_000_000 / rate)
    for tenth in (0, 1, 2, 3, 4, 6, 7, 8, 9):  # half a frame is no whole number of microseconds
        at_us = 12 * frame_us + tenth * frame_us // 10
        spans = (
            ("AA", at_us - 400_000, at_us),
            (symbol, at_us, at_us + 120_000),
            ("AA", at_us + 120_000, at_us + 500_000),
        )
        sounds = tuple(Sound("a", 0, s, "obey", b, e, 1 if s == "AA" else None, -20.0) for s, b, e in spans)
        job = job_of(sounds, rate=rate)
        rows = rows_of(sheet_of(job, fit(job)))
        (heard,) = [row.frame for row in rows if symbol in row.cells[0].phonemes]
        (put_on,) = [row.frame for row in rows if row.cells[0].fitted and row.cells[0].piece == "SHUT"]
        assert heard == put_on, tenth
        # By hand: up to half a frame the row is that frame's, from then on the next one's.
        assert heard == 12 + (tenth >= 5), tenth


def test_a_word_lasts_up_to_the_row_before_the_next_ones():
    """At 24: "ah" from frame 2.4 to 6.6 stands on 2 to 6, "oh" from there to 9.0 on 7 and 8; none on both."""
    frame_us = 1_000_000 / 24
    spans = (("ah", 2.4, 6.6), ("oh", 6.6, 9.0))
    sounds = tuple(
        Sound("a", n, "AA", t, int(b * frame_us), int(e * frame_us), 1) for n, (t, b, e) in enumerate(spans)
    )
    job = job_of(sounds)
    sheet = sheet_of(job, fit(job))
    assert [(h.text, h.first, h.last) for h in heard_in(sheet, sheet.characters[0])] == [("ah", 2, 6), ("oh", 7, 8)]


def test_what_began_before_the_shot_stands_on_its_first_row_and_nothing_stands_after_its_last():
    assert row_at(-300_000, Fraction(24)) == 0
    sounds = (Sound("a", 0, "AA", "ah", -300_000, 200_000, 1), Sound("a", 1, "AA", "oh", 980_000, 1_400_000, 1))
    job = job_of(sounds)
    track = fit(job)
    whole = sheet_of(job, track)
    short = SheetJob(
        "Low Tide Post",
        "The pier",
        "010",
        job.rate,
        24,
        (SheetCharacter("Z", job.mouth_set, cut(track, 24), sounds),),
    )
    first, *_ = heard_in(whole, whole.characters[0])
    assert (first.first, first.last) == (0, 4)  # 0.2 s is frame 4.8: the next would stand on 5
    # 0.98 s is frame 23.52: nearest is 24, which this shot no longer has; it is heard on 23.
    assert [(h.text, h.first, h.last) for h in heard_in(short, short.characters[0])][-1:] == [("oh", 23, 23)]


def said(line, part, symbol, text, from_ms, to_ms, stress=None):
    return Sound(line, part, symbol, text, round(from_ms * 1000), round(to_ms * 1000), stress)


# At 25 a frame lasts 40 ms.
SPOKEN = (
    said("a", 0, "[breath]", "[breath]", 0, 80),
    said("a", 1, "HH", "ah", 80, 130),
    said("a", 1, "AA", "ah", 130, 200, 1),
    said("a", 2, "OW", "oh", 450, 600, 1),  # 250 ms after "ah": a pause
    said("a", 3, "UW", "oo", 849.999, 1000, 1),  # a microsecond less after "oh": none
    said("b", 0, "EH", "eh", 1600, 1700, 1),  # of another line: none
)
WORN = ("RS",) * 4 + ("OP1",) * 41


def told_job(**changes):
    served = (None,) * 4 + (SPOKEN[2],) * 41
    more = {"sounds": SPOKEN, "modelling": (KeepAlive(6),), "beats": (3,), "untold": ((1_200_000, 1_300_000),)}
    who = SheetCharacter("Z", MOUTH_SETS["tideline"], FrameTrack("heron", WORN, served), **{**more, **changes})
    return SheetJob("Low Tide Post", "The pier", "010", Fraction(25), 45, (who,))


def test_what_is_heard_of_a_character_in_order():
    job = told_job()
    assert heard_in(job, job.characters[0]) == (
        HeardSpan("cue", "[breath]", 0, 1),
        HeardSpan("word", "ah", 2, 4),
        HeardSpan("pause", "", 5, 10),
        HeardSpan("word", "oh", 11, 14),
        HeardSpan("word", "oo", 21, 24),
        HeardSpan("untold", job.settings.words.untold, 30, 32, True),
        HeardSpan("word", "eh", 40, 42),
    )


def test_what_a_row_says_of_a_character():
    cells = [row.cells[0] for row in rows_of(told_job())]
    heard = [*range(5), *range(11, 15), *range(21, 25), *range(30, 33), *range(40, 43)]  # in pauses nothing is
    assert [frame for frame, cell in enumerate(cells) if cell.runs] == heard
    # 130 ms are frame 3.25; a cue is no phoneme.
    phonemes = {frame: cell.phonemes for frame, cell in enumerate(cells) if cell.phonemes}
    assert phonemes == {2: ("HH",), 3: ("AA1",), 11: ("OW1",), 21: ("UW1",), 40: ("EH1",)}
    assert [cell.serves for cell in cells] == [None] * 4 + ["AA1"] * 41
    assert [frame for frame, cell in enumerate(cells) if cell.beat] == [3]
    assert [frame for frame, cell in enumerate(cells) if cell.keep_alive] == [6]


def test_a_shot_that_nobody_is_in_has_a_row_for_each_frame():
    rows = rows_of(SheetJob("Low Tide Post", "The pier", "010", Fraction(25), 3, ()))
    assert [(row.frame, row.number, row.cells) for row in rows] == [(0, 1, ()), (1, 2, ()), (2, 3, ())]


@pytest.mark.parametrize(
    ("start_us", "end_us", "row"),
    [
        (-100_000, 0, ()),  # it ends as the shot begins
        (-100_000, 1, (0,)),
        (1_799_999, 1_900_000, (44,)),  # the last of 45 frames is on screen up to 1.8 s
        (1_800_000, 1_900_000, ()),
        (1_900_000, 2_000_000, ()),
    ],
)
def test_a_sound_has_a_row_if_it_is_heard_in_the_shot(start_us, end_us, row):
    assert rows_where(told_job(), Sound("a", 0, "AA", "ah", start_us, end_us, 1)) == row


def test_a_phoneme_is_spelt_with_its_stress_and_a_cue_in_its_brackets():
    assert [spelt(sound) for sound in SPOKEN[:3]] == ["[breath]", "HH", "AA1"]


def test_a_stamp_is_the_first_40_bits_of_what_is_said():
    # SHA-256 of nothing begins e3b0c44298: in fives 28 14 24 12 8 16 20 24, counted in figures and letters
    # from 2 up to Z, without I and O.
    assert stamp_of_text("") == "WGS-EA-JNS"


def test_without_alerts_or_parts_a_stamp_says_nothing_of_them():
    assert stamp_from(["t"], ["Z"], (), []) == stamp_of_text('{"of":["t"],"names":["Z"],"rows":[]}')
    assert stamp_from(["t"], [], (), ["!"]) == stamp_of_text('{"of":["t"],"names":[],"rows":[],"alerts":["!"]}')
    cell = Cell((HeardSpan("word", "ah", 3, 5),), True, ("AA1",), "OP1", True, "AA1")
    # A word, and how many more frames it lasts; phonemes, piece, what it serves, what is lost, modelling, marks.
    assert _said(cell) == [
        [["word", "ah", 2, False]],
        ("AA1",),
        "OP1",
        "AA1",
        (),
        None,
        [True, False, False],
    ]


def cut(track, frames):
    return type(track)(track.character, track.pieces[:frames], track.serves[:frames])
