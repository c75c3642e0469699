"""Which turns fill which part of a frame, worked out by hand at 25 frames a second: a frame lasts 40 ms."""

from __future__ import annotations

from fractions import Fraction

import pytest

from lipsync.fit.overlap import overlaps
from lipsync.fit.turns import Turn

RATE = Fraction(25)


def turns(*starts_ms: int) -> list[Turn]:
    lips = (0.0, 0.5, 0.0, 0.0, 0.0)
    return [Turn(None, False, "rest", lips, 1.0, at * 1000, at * 1000, None) for at in starts_ms]


def found(starts_ms: list[int], frames: int, spread_us: int = 0) -> list[tuple[int, int, float]]:
    return [(o.frame, o.turn, pytest.approx(o.share)) for o in overlaps(turns(*starts_ms), frames, RATE, spread_us)]


def test_each_turn_fills_from_its_start_to_that_of_the_next() -> None:
    # From -100 to 50, to 60, to 120 and on: frames 0 to 40, 40 to 80, 80 to 120, 120 to 160.
    assert found([-100, 50, 60, 120], 4) == [
        (0, 0, 1.0),
        (1, 0, 0.25),
        (1, 1, 0.25),
        (1, 2, 0.5),
        (2, 2, 1.0),
        (3, 3, 1.0),
    ]


def test_a_turn_that_begins_with_a_frame_fills_it_and_one_that_begins_with_its_end_does_not() -> None:
    assert found([-100, 40, 80], 2) == [(0, 0, 1.0), (1, 1, 1.0)]


def test_a_frame_before_the_first_turn_is_filled_as_far_as_that_goes() -> None:
    assert found([30], 1) == [(0, 0, 0.25)]
    assert found([50, 70], 2) == [(1, 0, 0.5), (1, 1, 0.25)]


def test_of_turns_that_begin_together_only_the_last_fills_anything() -> None:
    assert found([-100, 20, 20], 1) == [(0, 0, 0.5), (0, 2, 0.5)]


def test_with_a_spread_a_frame_begins_sooner_and_ends_later() -> None:
    # Frame 0 from -10 to 50, frame 1 from 30 to 90: 60 ms each.
    assert found([-100, 45], 2, 10_000) == [
        (0, 0, 55 / 60),
        (0, 1, 5 / 60),
        (1, 0, 15 / 60),
        (1, 1, 45 / 60),
    ]
