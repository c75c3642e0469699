"""What the model of lips in time says of sounds in a row: facts of phonetics, and of filmed lips that are not its
own.

Beside each stands its source; the figures of filmed lips are told in tests/MEASURED.md. The limits are wide, so that
a table learned anew from other clips keeps them, and a sign or a rule that is turned round does not.
"""

from __future__ import annotations

import numpy as np
import pytest

from lipsync.fit.lips_in_time import ALL_KEYS, REACH_US, Gesture, keys_of, lips_in_time, phoneme_of, shipped_model
from lipsync.phonemes import LIPS_CLOSED, PHONEMES, split_stress

MODEL = shipped_model()


def said(text: str, size: float = 0.5) -> list[Gesture]:
    """Return gestures from such as "SIL500 T80 AA1:120": ARPAbet and milliseconds, a diphthong in halves."""
    found: list[Gesture] = []
    at_us = 0
    for item in text.split():
        head = item.rstrip("0123456789")
        lasts_us = 1000 * int(item[len(head) :])
        symbol, stress = ("SIL", None) if head == "SIL" else split_stress(head.rstrip(":"))
        keys = keys_of(symbol, stress)
        for at, key in enumerate(keys):
            edges = (at_us + lasts_us * part // len(keys) for part in (at, at + 1))
            found.append(Gesture(key, *edges, size))
        at_us += lasts_us
    return found


def opening(text: str, at_ms: int, size: float = 0.5) -> float:
    return float(lips_in_time(said(text, size), [1000 * at_ms], MODEL).opening[0])


def width(text: str, at_ms: int) -> float:
    return float(lips_in_time(said(text), [1000 * at_ms], MODEL).width[0])


def test_every_phoneme_has_a_class_and_a_target() -> None:
    in_classes = [key for one in MODEL.classes for key in one.keys]
    assert sorted(in_classes) == sorted(ALL_KEYS) == sorted(MODEL.targets)
    assert {phoneme_of(key) for key in ALL_KEYS} == {*PHONEMES, "SIL"}
    assert "GRID" in MODEL.origin
    assert "CC BY 4.0" in MODEL.origin


def test_what_each_sound_has_of_the_lips_adds_up() -> None:
    found = lips_in_time(said("SIL300 B80 AA1:120 T60 W80 IY1:120 SIL300"), range(0, 1_000_000, 7_000), MODEL)
    for shares in (found.opening_shares, found.width_shares):
        assert np.bincount(shares.moment, shares.share) == pytest.approx(1.0)
        assert shares.share.min() > 0
    assert found.opening_unsure.min() > 0.05
    assert found.width_unsure.max() < 1.5


@pytest.mark.parametrize("vowel", ["AA1:", "IY1:", "EY1:", "UW1:", "AE1:"])
@pytest.mark.parametrize("closure", sorted(LIPS_CLOSED))
def test_lips_are_closed_in_closures_whatever_follows(closure: str, vowel: str) -> None:
    """Filmed: closed on 95 to 100 % of the pictures; closed is below a tenth of wide, and means are .04 to .12.

    The model's mean is a little above: the alignment gives P what is said after it, too.
    """
    assert opening(f"SIL300 AE1:120 {closure}90 {vowel}150", 300 + 120 + 40) < 0.25


def test_a_vowel_reaches_through_a_consonant_of_the_tongue_and_not_through_a_closure() -> None:
    """Öhman (1966), JASA 39, 151. Nothing of what lies beyond P has a hand in the opening; beyond T it has."""
    for consonant, reaches in (("T", True), ("K", True), ("P", False), ("M", False), ("F", False)):
        gestures = said(f"SIL300 EH1:100 {consonant}60 AA1:150")
        shares = lips_in_time(gestures, [380_000], MODEL).opening_shares  # in EH, 80 ms before AA
        after = [g.key for g in (gestures[at] for at in shares.gesture)]
        assert ("AA" in after) == reaches
        # Width passes through closures: the corners are free.
        shares = lips_in_time(gestures, [380_000], MODEL).width_shares
        assert "AA" in [gestures[at].key for at in shares.gesture]


def test_what_is_over_does_not_reach_through_a_closure_either() -> None:
    gestures = said("SIL300 AA1:100 B60 EH1:100")
    shares = lips_in_time(gestures, [490_000], MODEL).opening_shares
    assert "AA" not in [gestures[at].key for at in shares.gesture]


def test_nothing_reaches_further_than_the_limit() -> None:
    """Rounding begins a limited time before its vowel (Bell-Berti and Harris 1981, from memory)."""
    assert 200_000 <= REACH_US <= 350_000
    gestures = said("SIL300 T100 S100 T100 S100 T100 UW1:200")
    begins_us = gestures[-1].start_us
    for early_us, is_there in ((REACH_US + 1_000, False), (REACH_US - 1_000, True)):
        shares = lips_in_time(gestures, [begins_us - early_us], MODEL).width_shares
        assert (len(gestures) - 1 in shares.gesture) == is_there


def test_rounding_begins_before_the_sound() -> None:
    """Filmed: half of the way is done 50 ms before UW, 65 ms before R, 30 ms before W."""
    for sound in ("UW1:150", "W90", "R90"):
        text = f"SIL300 IY1:150 T80 {sound} AE1:100"
        wide, narrow = width(text, 400), width(text, 530 + 20)
        assert narrow < wide - 0.5
        assert width(text, 530 - 10) < (wide + narrow) / 2 + 0.3


def test_a_consonant_of_the_tongue_takes_the_lips_of_what_follows() -> None:
    """Filmed: N opens to .81 before EH, to .06 before W."""
    assert opening("SIL300 N70 EH1:150", 360) > opening("SIL300 N70 W80 AH1:100", 360) + 0.3


def test_lips_open_before_the_first_sound_and_close_after_the_last() -> None:
    """Filmed: open 231 ms before L or S; closed soon after the last sound."""
    text = "SIL1000 L80 EH1:120 T60 SIL1000"
    assert opening(text, 500) < 0.15
    assert opening(text, 1000 - 100) > 0.25
    assert opening(text, 1260 + 200) < 0.2


def test_a_weak_vowel_is_its_own_thing() -> None:
    """The mouth of "of" is smaller than that of "box"."""
    assert opening("SIL300 AH0:50 V70", 325) < opening("SIL300 B60 AA1:120 K60 S60", 300 + 60 + 60) - 0.2


def test_a_loud_voice_opens_the_mouth() -> None:
    """Schulman (1989), JASA 85, 295, from memory: loud speech opens jaw and lips further."""
    whisper, spoken, shout = (opening("SIL300 T60 AA1:150 T60", 430, size) for size in (0.0, 0.5, 1.0))
    assert whisper < spoken - 0.1
    assert shout > spoken + 0.1


def test_far_from_any_sound_lips_rest() -> None:
    found = lips_in_time([Gesture("AA", 0, 100_000)], [5_000_000], MODEL)
    assert (found.opening[0], found.width[0]) == MODEL.targets["SIL"]
