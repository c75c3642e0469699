"""The rule for rows: a sound stands on the row of the frame that begins nearest, and closures are put on by it."""

from fractions import Fraction

import pytest

from lipsync.fit.fitting import fit
from lipsync.paper.rows import heard_in, row_at, rows_of
from lipsync.paper.sheet_job import SheetCharacter, SheetJob
from lipsync.track import Sound
from tests.fit.build import job_of

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


def cut(track, frames):
    return type(track)(track.character, track.pieces[:frames], track.serves[:frames])
