"""The rules that every track keeps, whichever way it was chosen. Expected pieces are worked out by hand."""

from __future__ import annotations

from fractions import Fraction

import pytest

from lipsync.fit.fit_job import Job
from lipsync.fit.fit_settings import FittingSettings, Leads, Prices
from lipsync.fit.fitting import fit
from lipsync.fit.schedule import turns_of
from lipsync.fit.serving import track_of
from lipsync.fit.weighing import weigh
from lipsync.track import FrameTrack
from tests.fit.build import job_of, sounds_from
from tests.fit.first_form import pieces_by_rule

# The mouth a frame ahead of all but closed lips, as a studio may want it.
AHEAD = FittingSettings(lead=Leads(lip_to_teeth=1, vowels=1, others=1))


def by_rule(job: Job) -> FrameTrack:
    turns = turns_of(job)
    return track_of(weigh(job, turns), pieces_by_rule(job, turns))


@pytest.mark.parametrize("how", [fit, by_rule])
def test_a_word_in_a_long_silence(how: object) -> None:
    # At 24: B from frame 12.0, AA from 14.4, M from 21.6; over at 24.
    job = job_of(sounds_from("SIL500 B100 AA1:300 M100"))
    track = how(job)  # type: ignore[operator]
    assert track.pieces[:12] == ("REST",) * 12
    assert track.pieces[12] == "SHUT"
    assert set(track.pieces[15:21]) <= {"OPEN1", "OPEN2", "OPEN3"}
    assert track.pieces[22:24] == ("SHUT", "SHUT")
    assert set(track.pieces[25:]) == {"REST"}
    assert track.serves[11] is None
    assert track.serves[12] == job.sounds[0]
    assert track.lost == ()


def test_a_short_pause_does_not_flap_to_rest() -> None:
    assert "REST" not in fit(job_of(sounds_from("AA1:200 SIL150 AA1:200"))).pieces[1:12]


def test_a_long_pause_rests() -> None:
    assert fit(job_of(sounds_from("AA1:200 SIL500 AA1:200"))).pieces[8:14] == ("REST",) * 6


def test_a_held_vowel_keeps_its_shape_to_its_end() -> None:
    pieces = fit(job_of(sounds_from("N80 OW1:3000"))).pieces
    assert set(pieces[45:72]) <= {"POUT"}
    assert set(pieces[5:40]) <= {"RING1", "RING2"}


def test_off_camera_has_no_piece() -> None:
    sounds = sounds_from("B100 AA1:300 M100")
    on_camera = (False,) * 5 + (True,) * 3 + (False,) * 20
    track = fit(job_of(sounds, on_camera=on_camera))
    assert [piece is not None for piece in track.pieces] == list(on_camera)
    # B is heard in frames 0 to 2, M in 9 to 11: neither is on camera, so neither is lost.
    assert track.lost == ()


def test_nothing_said_is_rest() -> None:
    assert fit(job_of((), on_camera=(True,) * 5)).pieces == ("REST",) * 5


def test_no_frame_at_all() -> None:
    assert fit(job_of((), on_camera=())).pieces == ()


@pytest.mark.parametrize("rate", [Fraction(12), Fraction(24), Fraction(24000, 1001), Fraction(25), Fraction(30)])
def test_each_lips_closed_sound_between_vowels_is_seen(rate: Fraction) -> None:
    track = fit(job_of(sounds_from("AA1:120 P40 AA1:120 F40 IY1:120 M40 AH0:60"), rate=rate))
    assert track.lost == ()
    assert {"SHUT", "TUCK"} <= set(track.pieces)


def test_a_stressed_vowel_that_is_not_seen_is_named() -> None:
    """AA of 30 ms between closures, where missing it costs nothing: no frame in its tolerance is open."""
    sounds = sounds_from("IY1:200 B90 AA1:30 M90 IY1:200")
    track = fit(job_of(sounds, settings=FittingSettings(price=Prices(missed_stress=0.0, fitting=2.0))))
    assert [(lost.sound, lost.reason) for lost in track.lost if lost.sound.symbol == "AA"] == [
        (sounds[2], "it is too short beside what is seen around it; its frames wear SHUT")
    ]
    assert sounds[2] not in [lost.sound for lost in fit(job_of(sounds)).lost]


def test_impossible_jobs_are_refused() -> None:
    with pytest.raises(ValueError, match="frame 99 is pinned, but the shot has frames 0 to 4"):
        job_of((), on_camera=(True,) * 5, pinned={99: "REST"})
    with pytest.raises(ValueError, match="frame 1 is pinned to 'NOPE', which is no piece"):
        job_of((), on_camera=(True,) * 5, pinned={1: "NOPE"})
    with pytest.raises(ValueError, match="rests on 'NOPE'"):
        job_of((), on_camera=(True,) * 5, rests_on="NOPE")
    every = frozenset(job_of(()).mouth_set.by_code)
    with pytest.raises(ValueError, match="frame 2 has every piece forbidden"):
        job_of((), on_camera=(True,) * 5, forbidden={2: every})


def test_a_lead_takes_at_most_half_of_the_mouth_before_it() -> None:
    """At 24, a frame of lead: IH is due at 558.3 ms; OW would be at 588.3, but leaves IH half of the way to 630."""
    job = job_of(sounds_from("SIL500 T100 IH0:30 OW1:200"), settings=AHEAD)
    due_us = {turn.sound.symbol: turn.due_us for turn in turns_of(job) if turn.sound and not turn.second}
    assert due_us["IH"] == pytest.approx(558_333, abs=1)
    assert due_us["OW"] == pytest.approx((558_333 + 630_000) / 2, abs=1)


def test_from_vowel_to_vowel_the_mouth_goes_10_ms_sooner() -> None:
    """What is weighed from: 10 ms before a mouth is due; 20 ms where a vowel goes over into it, without a gap."""
    for text, early_us in (("IY1:300 AE1:300", 20_000), ("IY1:300 SIL20 AE1:300", 10_000), ("N300 AE1:300", 10_000)):
        *_, turn, _rest = turns_of(job_of(sounds_from(text)))
        assert turn.due_us - turn.start_us == early_us


def test_lip_sounds_keep_their_lips_and_those_of_the_tongue_leave_them() -> None:
    """Between open vowels, two frames and a half each. What filmed lips do is told in tests/MEASURED.md: W and R are
    narrow whatever stands beside them, K, G, N and T open as the vowels are (also Öhman 1966, for tongue and vowels).
    """

    def narrowest(symbol: str) -> float:
        job = job_of(sounds_from(f"AA1:300 {symbol}105 AA1:300"))
        return min(job.mouth_set.by_code[str(code)].lips.opening for code in fit(job).pieces[6:12])

    assert max(map(narrowest, ("W", "R"))) <= 0.3
    assert min(map(narrowest, ("K", "G", "HH", "NG", "N", "T", "D"))) >= 0.4


def test_what_must_be_seen_keeps_its_whole_lead() -> None:
    job = job_of(sounds_from("SIL500 T100 IH0:30 F200"), settings=AHEAD)
    due_us = {turn.sound.symbol: turn.due_us for turn in turns_of(job) if turn.sound}
    assert due_us["F"] == pytest.approx(630_000 - 41_667, abs=1)
