"""Closed lips keep to their sound. The examples are worked out by hand.

Source: common practice, from memory: closed lips fall on the closure itself, and are held about two frames where the
sound lasts that long, rather at the neighbouring vowel's cost.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import ceil

import pytest

from lipsync.fit.closures import (
    _closed,
    _frames,
    _heard_on,
    _spoken_on,
    closure_costs,
    frames_of,
    is_closure,
    kept_until_us,
    lip_to_teeth_costs,
)
from lipsync.fit.fit_job import Job
from lipsync.fit.fit_settings import FittingSettings, Holds, Prices
from lipsync.fit.fitting import fit
from lipsync.fit.overlap import SPREAD_US, Overlap, overlaps
from lipsync.fit.schedule import turns_of
from lipsync.fit.turns import Turn
from lipsync.track import Sound
from tests.fit.build import frame_us, job_of, small_set, sounds_from
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
    assert checked > 70


def not_due(price: float) -> tuple[int, int]:
    """On how many frames a lip is under the teeth over texts of random words, and where no F or V is due."""
    worn = elsewhere = 0
    for sounds in texts()[::2]:
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


# --- the rule by itself, at 25: a frame lasts 40 ms ---------------------------------------------------------------


def closing(kept: int = 2) -> Job:
    sounds = sounds_from("AA1:500 M80 AA1:500")
    return job_of(
        sounds, mouth_set=small_set(), rate=Fraction(25), settings=FittingSettings(hold=Holds(closed_lips=kept))
    )


@pytest.mark.parametrize(
    ("due_ms", "lasts_us", "frames"),
    [
        (520, 80_000, [13, 14]),
        (510, 80_000, [13, 14]),  # 12.75: two frames long, so two are kept although it ends on the fourteenth
        (499, 80_000, [12, 13]),
        (501, 200_000, [13, 14]),
        (520, 79_999, [13]),  # shorter than two frames: up to the frame on which it ends, here 14
        (530, 79_999, [13, 14]),  # it ends on 15
        (520, 10_000, [13]),  # on one at least
        (545, 10_000, [14]),
    ],
)
def test_the_frames_of_a_closure(due_ms: int, lasts_us: int, frames: list[int]) -> None:
    sound = Sound("l1", 0, "M", "m", 0, lasts_us)
    job = closing()
    assert list(_frames(job, sound, due_ms * 1000)) == frames
    # What comes after it is due with the frame after these.
    assert kept_until_us(job, sound, due_ms * 1000) == (frames[-1] + 1) * 40_000


def test_without_frames_to_keep_nothing_is_held_back() -> None:
    sound = Sound("l1", 0, "M", "m", 0, 80_000)
    assert list(_frames(closing(0), sound, 520_000)) == [13]
    assert kept_until_us(closing(0), sound, 520_000) == 520_000
    assert not closure_costs(closing(0), turns_of(closing(0)), {f: f for f in range(20)}, ["SH", "OP"]).any()


def test_what_departs_from_a_closure_costs_on_each_frame() -> None:
    """M is due at 500 ms, 12.5: the nearest is 13. AA is heard before and after it, and nothing from frame 27 on."""
    job = closing()
    (turn,) = [turn for turn in turns_of(job) if turn.sound and turn.sound.symbol == "M"]
    first = frames_of(job, turn).start
    codes = ["RE", "SH", "TU", "OP"]
    place = {frame: frame for frame in range(len(job.on_camera))}
    costs = closure_costs(job, [turn], place, codes)
    price = round(1_000_000 * job.settings.price.closed_lips)
    assert list(costs[first]) == list(costs[first + 1]) == [price, 0, price, price]
    # Rest and shut lips are both closed; on the frame before they may be worn, before that they may not.
    assert list(costs[first - 1]) == [0, 0, 0, 0]
    assert list(costs[first - 2]) == list(costs[5]) == [price, price, 0, 0]
    assert not costs[29:].any()
    # Off camera nothing is worn: those frames have no rows.
    seen = {frame: at for at, frame in enumerate(range(first + 1, first + 4))}
    assert list(closure_costs(job, [turn], seen, codes)[0]) == [price, 0, price, price]


def test_which_pieces_look_closed() -> None:
    job = closing()
    codes = ["RE", "SH", "TU", "OP", "OLD"]  # of one that is not in the set nothing is known
    assert list(_closed(job, codes)) == [True, True, False, False, False]
    assert list(_closed(replace(job, rests_on="OP"), codes)) == [False, True, False, False, False]
    # A rest that opens by 0.06 is not closed any more.
    rest, *others = small_set().piece
    opened = rest.model_copy(update={"lips": rest.lips.model_copy(update={"opening": 0.06})})
    mouth_set = small_set().model_copy(update={"piece": (opened, *others)})
    assert list(_closed(replace(job, mouth_set=mouth_set), codes)) == [False, True, False, False, False]


def test_the_frames_on_which_other_sounds_are_heard_when_their_picture_is_taken() -> None:
    """A picture is taken 5 ms into its frame: AA from 45 ms on is on frame 1, and from 45.001 ms on it is not."""
    for start_us, end_us, frames in (
        (40_000, 120_000, [1, 2]),
        (45_000, 125_000, [1, 2]),
        (45_001, 125_001, [2, 3]),
        (80_000, 84_000, []),
        (80_000, 85_001, [2]),
    ):
        job = replace(closing(), sounds=(Sound("l1", 0, "AA", "ah", start_us, end_us, 1),))
        assert sorted(_spoken_on(job, {"shut"})) == frames, start_us
        assert sorted(_spoken_on(job, {"shut", "open"})) == []


def test_a_closure_is_free_as_long_as_it_is_heard() -> None:
    job = closing(1)
    (turn,) = [turn for turn in turns_of(job) if turn.sound and turn.sound.symbol == "M"]
    own = frames_of(job, turn)
    assert len(own) == 1
    # It is heard from 500 to 580 ms: up to frame 14, that of 579.999 ms.
    assert list(_heard_on(job, turn)) == list(range(own.start, 15))
    assert turn.sound is not None
    for end_us, last in ((600_000, 14), (600_001, 15)):
        ends = replace(turn, sound=replace(turn.sound, end_us=end_us))
        assert _heard_on(job, ends)[-1] == last


def test_only_p_b_and_m_are_closures() -> None:
    sounds = {symbol: Sound("l1", 0, symbol, "x", 0, 1000) for symbol in ("P", "B", "M", "F", "AA", "[breath]")}
    assert [symbol for symbol, sound in sounds.items() if is_closure(sound)] == ["P", "B", "M"]
    assert not is_closure(None)


def test_a_lip_under_the_teeth_costs_where_no_sound_of_its_shape_is_due() -> None:
    job = job_of(sounds_from("AA1:200 F80 AA1:200"), mouth_set=small_set(), rate=Fraction(25))
    turns = turns_of(job)
    (tucked,) = [at for at, turn in enumerate(turns) if turn.shape == "tuck"]
    spans = [Overlap(3, tucked, 0.5), Overlap(4, tucked - 1, 0.9), Overlap(5, tucked, 0.1)]
    place, codes = {2: 0, 3: 1, 4: 2, 5: 3}, ["RE", "SH", "TU", "OP"]
    price = round(1_000_000 * job.settings.price.lip_to_teeth)
    costs = lip_to_teeth_costs(job, turns, spans, place, codes)
    assert costs.tolist() == [[0, 0, price, 0], [0, 0, 0, 0], [0, 0, price, 0], [0, 0, 0, 0]]
    # A mouth that rests so may be worn wherever it rests.
    assert not lip_to_teeth_costs(replace(job, rests_on="TU"), turns, spans, place, codes).any()
