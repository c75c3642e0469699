"""Why a frame wears its piece: the figures are checked by fitting again with the frame pinned."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from lipsync.fit.cost_matrix import UNIT
from lipsync.fit.fit_settings import FittingSettings, Prices
from lipsync.fit.fitting import fit
from lipsync.fit.rules import must_price
from lipsync.fit.schedule import turns_of
from lipsync.fit.weighing import weigh
from lipsync.fit.why import why
from tests.fit.build import job_of, sounds_from

JOB = job_of(sounds_from("SIL400 B90 AA1:150 T50 IY1:120 M80 AH0:60 S90"))


def total(job: object) -> float:
    weighing = weigh(JOB, turns_of(JOB))
    costs = weighing.costs(fit(job).pieces)  # type: ignore[arg-type]
    return costs.total + must_price(JOB) / UNIT * costs.missed


@pytest.mark.parametrize("frame", range(9, 26))
def test_more_is_what_pinning_the_piece_costs(frame: int) -> None:
    found = why(JOB, frame)
    assert found.code == fit(JOB).pieces[frame]
    assert found.pieces[0].code == found.code
    best = total(JOB)
    for piece in found.pieces[:5]:
        if piece.more is not None:
            pinned = total(replace(JOB, pinned={frame: piece.code}))
            assert pinned - best == pytest.approx(piece.more, abs=1e-4)


def test_every_piece_is_there_and_the_weights_are_those_of_the_sounds() -> None:
    found = why(JOB, 13)
    assert {piece.code for piece in found.pieces} == set(JOB.mouth_set.by_code)
    assert found.competing[0].sound is not None
    assert found.competing[0].sound.symbol == "AA"
    assert all(a.weight >= b.weight for a, b in zip(found.competing, found.competing[1:], strict=False))


def test_what_decided() -> None:
    assert why(JOB, 2).decided == "Nothing is said, so the mouth rests on REST."
    assert "nearest to what the lips do" in why(JOB, 14).decided
    assert why(replace(JOB, pinned={14: "GRIT"}), 14).decided == "GRIT was pinned to this frame by hand."
    assert why(replace(JOB, filmed={14: "GRIT"}), 14).decided == "GRIT is filmed on this frame, and stays."
    dear = replace(JOB, settings=FittingSettings(price=Prices(fitting=20.0, missed_stress=0.0)))
    assert re.match(r"OPEN\d would be nearer to what the lips do, but putting it on", why(dear, 12).decided)
    # B from 9.60 to 11.76: frame 10, up to the one on which it ends. M from 17.28 to 19.20.
    assert why(job_of(sounds_from("AA1:125 P20 AA1:200")), 3).decided.startswith("P of 'p' ")


def test_what_fills_a_frame_is_worked_out_by_hand() -> None:
    """At 24: AA from 0, EH from 4.8 (200 ms), L from 9.6, M from 12.0 to 14.4, IY to 19.2; rest to 24."""
    job = job_of(sounds_from("AA1:200 EH1:200 L100 M100 IY1:200"))
    fills = [
        {c.sound.symbol: c.share for c in why(job, frame).competing if c.sound and c.share} for frame in range(15)
    ]
    assert fills[4] == pytest.approx({"AA": 0.8, "EH": 0.2}, abs=1e-4)
    assert fills[9] == pytest.approx({"EH": 0.6, "L": 0.4}, abs=1e-4)
    assert fills[12] == fills[13] == {"M": 1.0}
    assert fills[14] == pytest.approx({"M": 0.4, "IY": 0.6}, abs=1e-4)


def test_what_counts_is_the_part_that_each_sound_has_of_the_lips() -> None:
    """Of frame 10, in L: the vowel before it reaches in, and the one beyond the closure does not (Öhman 1966)."""
    found = why(job_of(sounds_from("AA1:200 EH1:200 L100 M100 IY1:200")), 10)
    weights = {one.sound.symbol: one.weight for one in found.competing if one.sound}
    assert sum(weights.values()) == pytest.approx(1.0, abs=0.05)
    assert set(weights) >= {"EH", "L"}
    assert "IY" not in weights
    assert all(one.coarticulation == (0.0 if one.share else one.weight) for one in found.competing)


def test_the_lips_are_told_in_words() -> None:
    """B from frame 9.6 to 11.76, AA to 15.36: frame 11 is B's, on the way to AA on 12, and AA's own on 13."""
    assert re.fullmatch(r"The lips are 0\.\d\d open and 0\.\d\d wide here, for B of 'b'.*\.", why(JOB, 10).lips)
    assert "for AA of 'aa1'" in why(JOB, 13).lips
    early = why(job_of(sounds_from("SIL500 AA1:200")), 10)  # AA is heard from frame 12.0
    assert "on the way to AA of 'aa1'" in early.lips
    assert early.asked["opening"] > 0.2


def test_frames_that_are_not_there() -> None:
    with pytest.raises(ValueError, match="there is no frame 999; the shot has frames 0 to"):
        why(JOB, 999)
    hidden = replace(JOB, on_camera=(False, *JOB.on_camera[1:]))
    with pytest.raises(ValueError, match="heron is off camera on frame 0"):
        why(hidden, 0)


def test_why_no_other_piece_may_be_worn() -> None:
    """In the middle of speech: what a hand, or a frame in the can, leaves no choice of."""
    sounds = sounds_from("AA1:600")
    by_hand = job_of(sounds, forbidden={5: frozenset(JOB.mouth_set.by_code) - {"OPEN2"}})
    assert why(by_hand, 5).decided == "All other pieces were kept off this frame by hand, so OPEN2 is worn."
    half = job_of(sounds, settings=FittingSettings(on="twos"), filmed={4: "GRIT"})
    assert why(half, 5).decided == "The other frame of this pair is filmed with GRIT, and the two are one pose."


def test_a_filmed_piece_that_the_set_no_longer_has_is_not_named_for_another() -> None:
    """The pair of a frame that was filmed in an older set's piece is free; here it is the silence that decides."""
    job = job_of(sounds_from("SIL800 AA1:200"), settings=FittingSettings(on="twos"), filmed={2: "OLD1"})
    assert why(job, 3).decided == "Nothing is said, so the mouth rests on REST."
