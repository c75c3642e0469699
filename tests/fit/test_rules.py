"""What may be worn on each frame and what must be seen: each rule by itself, worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import numpy as np
import pytest

from lipsync.fit.cost_matrix import FORBIDDEN, AllowedFittings
from lipsync.fit.fit_job import Job
from lipsync.fit.fit_settings import FittingSettings, Holds, Prices
from lipsync.fit.rules import (
    _half_filmed,
    _in_order,
    allowed_on,
    closures_of,
    demands_of,
    must_price,
    resting,
    ruled,
)
from lipsync.fit.turns import Turn
from lipsync.track import Sound
from tests.fit.build import job_of, small_set, sounds_from

CODES = ["RE", "SH", "TU", "OP", "OLD"]  # the last is on film alone


def job(on: str = "ones", frames: int = 8, **more: Any) -> Job:
    """A job at 25: a frame lasts 40 ms."""
    settings = FittingSettings(on=on)  # type: ignore[arg-type]
    made = job_of(sounds_from("AA1:200"), small_set(), Fraction(25), settings=settings, on_camera=(True,) * frames)
    return replace(made, **more)


def may_be_worn(job: Job, rests: tuple[int, ...] = (), place: dict[int, int] | None = None) -> list[str]:
    """Return for each row the codes that may be worn; all others are forbidden, and these cost what they did."""
    place = place or {frame: frame for frame in range(len(job.on_camera))}
    visual = np.arange(len(place) * len(CODES), dtype=np.int64).reshape(len(place), len(CODES))
    found = ruled(job, rests, place, CODES, visual)
    assert ((found == visual) | (found == FORBIDDEN)).all()
    return [" ".join(code for code, cost in zip(CODES, row, strict=True) if cost != FORBIDDEN) for row in found]


ALL = "RE SH TU OP"


def test_every_piece_of_the_set_may_be_worn_and_no_other() -> None:
    assert may_be_worn(job(frames=2)) == [ALL, ALL]


def test_on_frames_that_rest_only_the_rest_may() -> None:
    assert may_be_worn(job(frames=3), (1,)) == [ALL, "RE", ALL]


def test_what_is_filmed_pinned_or_forbidden_holds_and_the_strongest_rule_wins() -> None:
    ruled_by = job(
        frames=8,
        filmed={0: "OLD", 1: None, 2: "SH"},
        pinned={3: "TU", 4: "OP"},
        forbidden={4: frozenset({"OP"}), 5: frozenset({"SH", "GONE"}), 6: frozenset({"RE"}), 7: frozenset()},
    )
    # Frame 1 was filmed off camera. On 6 a person ruled out the rest alone, on 7 nothing: what is left may be worn.
    assert may_be_worn(ruled_by, (6, 7)) == ["OLD", ALL, "SH", "TU", "OP", "RE TU OP", "SH TU OP", ALL]


def test_what_is_fixed_off_camera_has_no_row() -> None:
    ruled_by = job(on="twos", frames=8, filmed={0: "SH", 3: "OP"}, pinned={4: "TU"}, forbidden={5: frozenset({"RE"})})
    assert may_be_worn(ruled_by, (), {6: 0, 7: 1}) == [ALL, ALL]


@pytest.mark.parametrize(
    ("on", "other"),
    [("ones", ALL), ("twos", "OP"), ("mixed", "SH TU OP")],  # mixed: a closure may be put on on any frame
)
def test_the_other_frame_of_a_filmed_pair_keeps_its_piece(on: str, other: str) -> None:
    assert may_be_worn(job(on, 4, filmed={2: "OP"})) == [ALL, ALL, "OP", other]
    assert may_be_worn(job(on, 4, filmed={3: "OP"})) == [ALL, ALL, other, "OP"]


def test_the_other_frame_of_a_filmed_closure_on_mixed_may_wear_anything_but_in_a_rest() -> None:
    assert may_be_worn(job("mixed", 4, filmed={2: "SH"}))[3] == ALL
    assert may_be_worn(job("mixed", 4, filmed={2: "SH"}), (3,))[3] == "SH"
    assert may_be_worn(job("mixed", 4, filmed={2: "OP"}), (3,))[3] == "OP"


def test_pairs_of_which_one_frame_is_filmed() -> None:
    filmed = {0: "OP", 3: "SH", 4: "OLD", 6: None, 8: "TU", 9: "TU", 10: "RE", 12: "OP"}
    pairs = job("twos", 14, filmed=filmed, pinned={11: "OP"}, forbidden={13: frozenset({"RE"})})
    assert list(_half_filmed(pairs)) == [(1, "OP"), (2, "SH")]
    assert list(_half_filmed(replace(pairs, settings=FittingSettings(on="ones")))) == []


def test_which_pieces_are_closures() -> None:
    assert closures_of(job(), CODES).tolist() == [False, True, True, False, False]


ANY, SHUT, NONE = AllowedFittings.ALL, AllowedFittings.CLOSURES, AllowedFittings.NONE


@pytest.mark.parametrize(
    ("on", "allowed"),
    [
        ("ones", [ANY] * 6),
        ("twos", [ANY, NONE, ANY, NONE, ANY, NONE]),
        ("mixed", [ANY, SHUT, ANY, SHUT, ANY, SHUT]),
    ],
)
def test_the_frames_on_which_pieces_change(on: str, allowed: list[AllowedFittings]) -> None:
    made = job(on, 6)
    assert [allowed_on(made, [True] * 6, frame) for frame in range(6)] == allowed
    # Back on camera on frame 3, and put on by hand on 5.
    seen = [True, True, False, True, True, True]
    assert allowed_on(made, seen, 3) == ANY
    assert allowed_on(made, seen, 1) == allowed[1]
    assert allowed_on(made, [False, *[True] * 5], 1) == ANY
    for by_hand in ({"filmed": {5: "OP"}}, {"pinned": {5: "OP"}}, {"forbidden": {5: frozenset({"OP"})}}):
        assert allowed_on(job(on, 8, **by_hand), [True] * 8, 5) == ANY
    for by_hand in ({"filmed": {0: "OP"}}, {"pinned": {0: "OP"}}, {"forbidden": {0: frozenset({"OP"})}}):
        assert allowed_on(job(on, 8, **by_hand), [True] * 8, 1) == ANY  # what ends there
        assert allowed_on(job(on, 8, **by_hand), [True] * 8, 3) == allowed[3]


def turn(start_ms: int, sound: Sound | None = None) -> Turn:
    return Turn(sound, False, "rest", (0.0,) * 5, 1.0, start_ms * 1000, start_ms * 1000, None)


AA = Sound("l1", 0, "AA", "ah", 0, 1000, 1)


@pytest.mark.parametrize(
    ("on", "rests"),
    [
        # The lips open in the last 250 ms before a sound, six frames. Rests from 40 ms, frame 1, to 440, frame 11.
        ("ones", [2, 3, 4, *range(16, 20)]),
        # One frame more is left free at both ends, but not at those of the shot.
        ("twos", [3, *range(17, 20)]),
    ],
)
def test_the_frames_of_a_silence_that_rest(on: str, rests: list[int]) -> None:
    turns = [turn(0, AA), turn(40), turn(440, AA), turn(600)]
    place = {frame: frame for frame in range(20)}
    assert list(resting(job(on, 20), turns, place)) == rests
    off_camera = {frame: frame for frame in range(20) if frame not in {3, 18}}
    assert list(resting(job(on, 20), turns, off_camera)) == [frame for frame in rests if frame not in {3, 18}]


@pytest.mark.parametrize(("on", "end"), [("ones", 4), ("twos", 3)])
def test_the_rest_before_the_first_sound_begins_with_the_shot(on: str, end: int) -> None:
    turns = [turn(-320), turn(400, AA)]
    assert list(resting(job(on, 20), turns, {frame: frame for frame in range(20)})) == list(range(end))
    later = [turn(-400, AA), turn(-320), turn(400, AA)]  # after a sound before the shot
    assert list(resting(job(on, 20), later, {frame: frame for frame in range(20)})) == list(range(end))
    beyond = [turn(0, AA), turn(720), turn(1600, AA)]  # what comes next is beyond the shot's twenty frames
    assert list(resting(job(on, 20), beyond, {frame: frame for frame in range(20)})) == ([19] if end == 4 else [])


def price_with(**prices: float) -> float:
    nothing = {"fitting": 0, "jump": 0, "short_hold": 0, "closed_lips": 0, "lip_to_teeth": 0, "missed_stress": 0}
    settings = FittingSettings(price=Prices(**{**nothing, **prices}), hold=Holds(shortest=2))
    return must_price(replace(job(), settings=settings)) / 1_000_000


def test_missing_a_sound_costs_more_than_showing_it_can() -> None:
    """Two frames that look as unlike as can be (4) to eight vowels each, and one more."""
    free = price_with()
    assert free == 1 + 2 * 4 * 8
    assert price_with(fitting=1) - free == 2
    assert price_with(jump=1) - free == 2 * 4
    assert price_with(short_hold=1) - free == 3 * 2  # three holds, each short by its two frames at most
    assert price_with(closed_lips=1) - free == 2
    assert price_with(lip_to_teeth=1) - free == 2
    assert price_with(missed_stress=1) - free == 8


SHUT_CODES, OPEN_CODES = frozenset({"SH"}), frozenset({"OP"})


@pytest.mark.parametrize(
    ("spans", "cut"),
    [
        ([(3, 6, False)], [(3, 6)]),
        ([(3, 6, True), (3, 6, False), (5, 8, True)], [(3, 6), (4, 6), (5, 8)]),
        ([(3, 6, True), (5, 9, False), (6, 8, True)], [(3, 6), (5, 7), (6, 8)]),
        ([(3, 6, False), (3, 6, False)], [(3, 6), (3, 6)]),  # vowels do not cut each other
        ([(3, 6, True), (3, 6, True)], [(3, 6), (3, 6)]),  # nor closures
        ([(3, 4, True), (3, 3, False), (5, 5, True)], [(3, 4), (5, 5)]),  # no frame is left
        ([(3, 4, True), (4, 4, False), (3, 5, True)], [(3, 4), (4, 4), (3, 5)]),
        ([(2, 4, False), (3, 5, True)], [(2, 4), (3, 5)]),
        ([(2, 5, False), (3, 5, True)], [(2, 4), (3, 5)]),
    ],
)
def test_a_vowel_leaves_a_frame_to_the_closures_beside_it(spans: list[Any], cut: list[tuple[int, int]]) -> None:
    given = [(first, last, SHUT_CODES if must else OPEN_CODES, must) for first, last, must in spans]
    assert [(first, last) for first, last, _, _ in _in_order(given)] == cut


def sounding(symbol: str, window: tuple[int, int] | None, stress: int | None = None) -> Turn:
    """A turn of a sound that is heard on frames 2 to 4."""
    shape = "shut" if symbol == "M" else "open"
    return Turn(
        Sound("l1", 0, symbol, "x", 80_000, 200_000, stress), False, shape, (0.0,) * 5, 1.0, 0, 80_000, window
    )


def test_what_is_to_be_seen_and_what_missing_it_costs() -> None:
    made = job(frames=8)
    turns = [
        turn(-320),
        sounding("M", (-2, 2)),
        sounding("M", (1, 3)),
        sounding("AA", (2, 5), 0),  # not stressed
        sounding("AA", (5, 6), 1),
        sounding("AA", (5, 6), 1),
        sounding("M", (8, 9)),  # no frame of it is in the shot
        replace(sounding("AA", (5, 6), 1), second=True),
    ]
    seen_in = [frozenset({"SH"}) if one.shape == "shut" else frozenset({"OP", "RE"}) for one in turns]
    demands, must = demands_of(made, turns, seen_in, {frame: frame for frame in range(8)}, CODES)
    stress, missed = round(1_000_000 * made.settings.price.missed_stress), must_price(made)
    assert [(one.first, one.last, one.pieces, one.price) for one in demands] == [
        (0, 2, frozenset({1}), missed),
        (1, 3, frozenset({1}), missed),
        (5, 6, frozenset({0, 3}), 2 * stress),  # two of them, alike
    ]
    assert must == (1, 1, 0)
