"""Closed lips keep to their sound. The examples are worked out by hand.

Source: common practice, from memory: closed lips fall on the closure itself, and are held about two frames where the
sound lasts that long, rather at the neighbouring vowel's cost.
"""

from __future__ import annotations

from math import ceil

import pytest

from lipsync.fit.fit_settings import FittingSettings, Holds, Prices
from lipsync.fit.fitting import fit
from lipsync.fit.overlap import SPREAD_US, overlaps
from lipsync.fit.schedule import turns_of
from lipsync.fit.turns import Turn
from lipsync.track import Sound
from tests.fit.build import frame_us, job_of
from tests.fit.test_seen import CLASSES, texts


def between_vowels(symbol: str, from_: float, to: float) -> tuple[Sound, ...]:
    """A sound from one time to another, in frames at 24, between stressed vowels of 12 frames."""
    times = [round(frame_us(100) * at / 100) for at in (from_ - 12, from_, to, to + 12)]
    return tuple(
        Sound("l1", 0, what, "word", *times[at : at + 2], stress)
        for at, (what, stress) in enumerate([("AA", 1), (symbol, None), ("UW", 1)])
    )


@pytest.mark.parametrize(
    ("symbol", "from_", "to", "worn"),
    [
        ("M", 13.01, 15.80, [13, 14]),
        ("B", 48.60, 50.64, [49, 50]),
        ("P", 13.11, 15.03, [13, 14]),
        ("B", 26.84, 28.42, [27, 28]),
        ("M", 30.20, 30.90, [30]),
        ("P", 30.60, 30.90, [31]),
    ],
)
def test_the_frames_on_which_closed_lips_are_worn(symbol: str, from_: float, to: float, worn: list[int]) -> None:
    pieces = fit(job_of(between_vowels(symbol, from_, to))).pieces
    shut = [frame for frame, piece in enumerate(pieces) if piece == "SHUT"]
    assert set(worn) <= set(shut)
    # Beyond it lips may be on their way for a frame, and closed as long as the sound is heard.
    assert set(shut) <= {worn[0] - 1, *range(worn[0], max(worn[-1], ceil(to) - 1) + 1)}


def test_a_long_closure_is_the_neighbours_only_beyond_its_frames() -> None:
    pieces = fit(job_of(between_vowels("M", 20.0, 30.0))).pieces
    shut = [frame for frame, piece in enumerate(pieces) if piece == "SHUT"]
    assert set(range(20, 30)) <= set(shut) <= set(range(19, 31))  # lips close a frame before, and part a frame after


@pytest.mark.parametrize("kept", [1, 3])
def test_how_many_frames_are_kept_is_the_studios(kept: int) -> None:
    settings = FittingSettings(hold=Holds(closed_lips=kept))
    pieces = fit(job_of(between_vowels("M", 20.1, 23.2), settings=settings)).pieces
    assert list(pieces[20 : 20 + kept]) == ["SHUT"] * kept


def test_random_words_close_no_sooner_than_a_frame_before_and_for_two_frames() -> None:
    """Of 500 texts: each P B M of a frame or more that no other of the five lip sounds comes within four frames of.

    A shorter one may give way to a stressed vowel.
    """
    # Lips let go up to a frame after a closure is heard, and three frames before the next are looked at.
    checked = 0
    for sounds in texts():
        job = job_of(sounds)
        pieces = fit(job).pieces
        lips = [sound for sound in sounds if sound.symbol in CLASSES]
        for sound in lips:
            from_, to = (float(us * job.rate / 1_000_000) for us in (sound.start_us, sound.end_us))
            near = [
                other
                for other in lips
                if other is not sound
                and other.end_us > sound.start_us - frame_us(4)
                and other.start_us < sound.end_us + frame_us(4)
            ]
            # In a pause the lips may close whenever they like.
            pause = not any(other.end_us == sound.start_us for other in sounds)
            if CLASSES[sound.symbol] != "shut" or near or pause or from_ < 3 or to - from_ < 1:
                continue
            shut = [f for f in range(int(from_) - 3, int(to) + 2) if pieces[f] == "SHUT"]
            assert min(shut) - from_ >= -1.5 - 1e-4  # the frame before the nearest
            assert len(shut) >= (2 if to - from_ >= 2 else 1)
            checked += 1
    assert checked > 200


def not_due(price: float) -> tuple[int, int]:
    """On how many frames a lip is under the teeth over texts of random words, and where no F or V is due."""
    worn = elsewhere = 0
    for sounds in texts():
        job = job_of(sounds, settings=FittingSettings(price=Prices(lip_to_teeth=price)))
        turns = turns_of(job)
        spans = overlaps(turns, len(job.on_camera), job.rate, SPREAD_US)
        due = {over.frame for over in spans if CLASSES.get(symbol_of(turns[over.turn])) == "tuck"}
        tucked = [frame for frame, piece in enumerate(fit(job).pieces) if piece == "TUCK"]
        worn += len(tucked)
        elsewhere += sum(frame not in due for frame in tucked)
    return worn, elsewhere


def symbol_of(turn: Turn) -> str:
    return turn.sound.symbol if turn.sound else ""


def test_a_lip_is_under_the_teeth_for_f_and_v_only() -> None:
    """At most one in 200 is left: an F or V with too few frames beside it, which must be seen all the same."""
    free, priced = not_due(0.0), not_due(Prices().lip_to_teeth)
    assert free[1] > free[0] / 50
    assert priced[1] < priced[0] / 200
