"""Which sound a frame shows, and which sounds are lost: each rule by itself, worked out by hand, at 25."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from lipsync.fit.fit_job import Job
from lipsync.fit.fit_settings import FittingSettings
from lipsync.fit.lips import distance, row_of
from lipsync.fit.mouthset import MouthSet
from lipsync.fit.overlap import Overlap
from lipsync.fit.serving import (
    _give_frames_to_the_seen,
    _in_order,
    _may_show,
    _reason,
    _shown,
    is_due_on_camera,
    lost_of,
    seen_in,
    wears,
    window_frames,
)
from lipsync.fit.turns import Turn
from lipsync.track import Sound
from tests.fit.build import job_of, small_set, sounds_from


def job(on: str = "ones", frames: int = 12, **more: Any) -> Job:
    made = job_of(
        sounds_from("AA1:200"),
        small_set(),
        Fraction(25),
        settings=FittingSettings(on=on),  # type: ignore[arg-type]
        on_camera=(True,) * frames,
    )
    return replace(made, **more)


def turn(symbol: str | None, window: tuple[int, int] | None = None, **more: Any) -> Turn:
    """A turn of a sound that is heard from frame 4 to 6 and due on 4; its shape is that of the small set."""
    shape = {"M": "shut", "F": "tuck", None: "rest"}.get(symbol, "open")
    sound = None if symbol is None else Sound("l1", 0, symbol, "word", 160_000, 280_000, more.pop("stress", None))
    return replace(Turn(sound, False, shape, (0.0,) * 5, 1.0, 160_000, 160_000, window), **more)


# --- windows ------------------------------------------------------------------------------------------------------


def test_the_frames_of_a_window_are_those_on_camera() -> None:
    seen = [True, True, False, True]
    assert window_frames(turn("M", (-1, 9)), seen) == (0, 1, 3)
    assert window_frames(turn("M", (1, 3)), seen) == (1, 3)
    assert window_frames(turn("M", (3, 3)), seen) == (3,)
    assert window_frames(turn("M", (4, 6)), seen) == ()
    assert window_frames(turn(None), seen) == ()


@pytest.mark.parametrize(
    ("on_camera", "is_due"),
    [
        ({4}, True),
        ({5}, True),
        ({6}, True),  # heard up to 279.999 ms
        ({7}, False),
        ({2}, False),
        ({3}, False),
        (set(), False),
    ],
)
def test_a_sound_is_due_while_it_is_heard_on_camera(on_camera: set[int], is_due: bool) -> None:
    seen = [frame in on_camera for frame in range(12)]
    assert is_due_on_camera(turn("M", (0, 11)), job(), seen) == is_due


def test_a_mouth_is_due_on_its_frame_and_only_where_its_window_is_seen() -> None:
    early = turn("M", (2, 4), start_us=80_000)  # due on frame 2, by a lead
    assert is_due_on_camera(early, job(), [frame == 2 for frame in range(12)])
    # None of its window is on camera: only the frame on which it begins counts.
    assert not is_due_on_camera(turn("M", (2, 3)), job(), [frame >= 5 for frame in range(12)])
    assert is_due_on_camera(turn("M", (2, 3)), job(), [frame >= 4 for frame in range(12)])
    assert not is_due_on_camera(turn(None), job(), [True] * 12)


def test_a_sound_is_heard_up_to_its_last_microsecond() -> None:
    for end_us, is_due in ((280_000, False), (280_001, True)):  # frame 7 begins at 280 ms
        ends = turn("M", (0, 11), sound=Sound("l1", 0, "M", "m", 160_000, end_us))
        assert is_due_on_camera(ends, job(), [frame == 7 for frame in range(12)]) == is_due


def test_a_sound_of_the_first_frame_is_due_on_it() -> None:
    first = turn("M", (-1, 1), sound=Sound("l1", 0, "M", "m", 0, 40_000), start_us=0)
    assert is_due_on_camera(first, job(), [frame == 0 for frame in range(12)])


def test_what_begins_outside_the_shot_is_not_due() -> None:
    before = turn("M", (-3, -1), sound=Sound("l1", 0, "M", "m", -40_000, -1), start_us=-40_000)
    after = turn("M", (12, 13), sound=Sound("l1", 0, "M", "m", 480_000, 500_000), start_us=480_000)
    assert not is_due_on_camera(before, job(), [True] * 12)
    assert not is_due_on_camera(after, job(), [True] * 12)


# --- what a frame shows --------------------------------------------------------------------------------------------


def test_a_piece_is_of_its_shape() -> None:
    assert [wears(job(), code, "shut") for code in ("SH", "OP", "OLD", None)] == [True, False, False, False]


def test_what_may_be_shown_on_a_frame() -> None:
    over = Overlap(3, 0, 1.0)
    assert _may_show(job(), turn("M", (3, 5)), over, "SH")
    assert not _may_show(job(), turn("M", (3, 5)), over, "OP")  # it must be seen, in its shape
    assert not _may_show(job(), turn("M", (4, 5)), over, "SH")  # before its window
    assert _may_show(job(), turn("AA", (1, 2)), over, "SH")  # behind it, and any piece
    assert _may_show(job(), turn("AA"), over, "OLD")


@pytest.mark.parametrize(
    ("lips", "weights", "shown"),
    [
        (("RE", "RE"), (1.0, 1.0), 0),  # as much: the first
        (("RE", "RE"), (1.0, 1.1), 1),
        (("RE", "SH"), (1.0, 1.1), 0),  # less, for the piece is further from its lips
        (("SH", "RE"), (1.1, 1.0), 1),
    ],
)
def test_a_frame_shows_the_sound_with_the_largest_claim(
    lips: tuple[str, str], weights: tuple[float, float], shown: int
) -> None:
    """Half of frame 0 is the one's and half the other's; RE is worn, and SH is some 0.1 from it: by a fifth less."""
    pieces = job().mouth_set.by_code
    apart = distance(pieces["RE"].lips, pieces["SH"].lips)
    assert 0.05 < apart < 0.45
    assert 1.1 / (1 + 2 * apart) < 1
    turns = [
        turn("AA", None, start_us=start_us, lips=row_of(pieces[code].lips), weight=weight)
        for start_us, code, weight in zip((-40_000, 20_000), lips, weights, strict=True)
    ]
    assert _shown(job(), turns, ["RE"]) == [shown]
    assert _shown(job(), turns, [None]) == [None]


@pytest.mark.parametrize(("weight", "shown"), [(1.9, 0), (2.1, 1)])
def test_a_claim_is_halved_where_the_piece_is_half_an_opening_off(weight: float, shown: int) -> None:
    """Each has half of frame 0. RE is worn: it is just the lips of the one, and half an opening off the other's."""
    own = row_of(job().mouth_set.by_code["RE"].lips)
    off = (own[0] + 0.5, *own[1:])
    turns = [
        turn("AA", start_us=start_us, lips=lips, weight=by)
        for start_us, lips, by in ((-40_000, own, 1.0), (20_000, off, weight))
    ]
    assert _shown(job(), turns, ["RE"]) == [shown]


@pytest.mark.parametrize(
    ("shows", "frame", "index", "in_order"),
    [
        ([None] * 20, 10, 0, True),
        ([None] * 20, 0, 9, True),
        ([3, None, None], 1, 3, True),
        ([3, None, None], 1, 2, False),
        ([None, None, 5], 1, 5, True),
        ([None, None, 5], 1, 6, False),
        ([7, 2, None, None], 3, 3, True),  # the nearest one before counts
        ([None, None, 8, 1], 1, 3, True),
        ([5, *[None] * 7, None], 8, 2, False),  # eight frames are looked at
        ([5, *[None] * 8, None], 9, 2, True),
        ([None, *[None] * 7, 2], 0, 5, False),
        ([None, *[None] * 8, 2], 0, 5, True),
        ([None, 3, None], 1, 9, True),  # what the frame itself shows does not count
    ],
)
def test_a_frame_shows_no_turn_out_of_order(shows: list[int | None], frame: int, index: int, in_order: bool) -> None:
    assert _in_order(shows, frame, index, 10) == in_order


def given(turns: list[Turn], pieces: str, shows: list[int | None], **more: Any) -> list[int | None]:
    made = job(frames=len(shows), **more)
    _give_frames_to_the_seen(made, turns, pieces.split(), shows)
    return shows


def test_a_sound_that_must_be_seen_gets_a_frame_of_its_window_that_wears_its_shape() -> None:
    """Due on frame 4: of frames 3 to 6 that wear it the nearest."""
    turns = [turn("AA"), turn("M", (2, 7)), turn("AA")]
    # Frame 3 is as near as 5, but the sound before is still shown on 4.
    assert given(turns, "OP OP OP SH OP SH SH OP", [0, 0, 0, 0, 0, 2, 2, 2]) == [0, 0, 0, 0, 0, 1, 2, 2]
    assert given(turns, "OP OP OP SH OP SH SH OP", [0, 0, 0, 0, 2, 2, 2, 2]) == [0, 0, 0, 1, 2, 2, 2, 2]
    assert given(turns, "OP OP OP OP OP SH SH OP", [0, 0, 0, 0, 0, 0, 2, 2]) == [0, 0, 0, 0, 0, 1, 2, 2]
    assert given(turns, "OP OP OP OP OP OP SH OP", [0, 0, 0, 0, 0, 0, 2, 2]) == [0, 0, 0, 0, 0, 0, 1, 2]
    assert given(turns, "SH SH OP OP OP OP OP SH", [0] * 8) == [0, 0, 0, 0, 0, 0, 0, 1]
    assert given(turns, "SH SH OP OP OP OP OP OP", [0] * 8) == [0] * 8  # its window begins on 2
    assert given(turns, "OP OP OP OP SH OP OP OP", [0, 0, 1, 0, 0, 2, 2, 2]) == [0, 0, 1, 0, 0, 2, 2, 2]  # it has one
    free = [0, 0, None, None, None, None, 2, 2]
    assert given(turns, "OP OP SH OP OP SH OP OP", free) == [0, 0, None, None, None, 1, 2, 2]
    vowel = [turn("AA"), turn("AA", (2, 7)), turn("AA")]
    assert given(vowel, "OP OP OP OP OP OP OP OP", [0, 0, 0, 0, 2, 2, 2, 2]) == [0, 0, 0, 0, 2, 2, 2, 2]


def test_no_sound_that_must_be_seen_loses_its_only_frame_to_another() -> None:
    turns = [turn("M", (2, 7)), turn("M", (2, 7))]
    assert given(turns, "OP OP OP OP SH OP OP OP", [None, None, None, None, 0, None, None, None])[4] == 0
    # Of two frames the other may have the second, and then each has one.
    assert given(turns, "OP OP OP OP SH SH OP OP", [None] * 4 + [0, 0] + [None] * 2)[4:6] == [0, 1]
    three = [turn("M", (2, 7)), turn("M", (2, 7)), turn("M", (2, 7))]
    assert given(three, "OP OP OP OP SH SH OP OP", [None] * 4 + [0, 0] + [None] * 2)[4:6] == [0, 1]
    # An empty frame is free.
    assert given(turns, "OP OP OP OP SH SH OP OP", [None] * 4 + [0, None] + [None] * 2)[4:6] == [0, 1]


def test_in_which_pieces_a_sound_is_seen() -> None:
    """In those of its shape; a vowel also where the lips themselves are nearer to others than to its own."""
    pieces = job().mouth_set.by_code
    rows = {code: row_of(piece.lips) for code, piece in pieces.items()}
    unknown = (float("nan"),) * len(rows["SH"])
    cases = [
        (turn("M", (2, 4)), rows["OP"], {"SH"}),  # it must be seen itself
        (turn("AA", (2, 4)), rows["OP"], {"OP"}),
        (turn("AA", (2, 4)), rows["SH"], {"OP", "RE", "SH", "TU"}),  # no piece is further than its own
        (turn("AA", (2, 4)), unknown, {"OP"}),
        (turn("[laugh]", (2, 4)), rows["SH"], {"OP"}),
        (turn(None), rows["SH"], {"RE"}),
    ]
    found = seen_in(job(), [one for one, _, _ in cases], np.array([lips for _, lips, _ in cases]))
    assert list(found) == [codes for _, _, codes in cases]


def test_a_vowel_is_seen_in_what_is_as_near_as_its_own_shape_or_near_enough() -> None:
    """Pieces that differ in opening alone, OP by 0.25 from 0.5, TU too, RE by 0.125 from OP."""
    openings = {"RE": 0.875, "OP": 0.75, "TU": 0.25, "SH": 0.0}
    told = small_set().model_dump()
    for piece in told["piece"]:
        piece["lips"] = {"opening": openings[piece["code"]], "width": 0.5, "rounding": 0.0}
    made = replace(job(), mouth_set=MouthSet.model_validate(told))

    def seen_at(opening: float) -> frozenset[str]:
        (found,) = seen_in(made, [turn("AA", (2, 4))], np.array([[opening, 0.5, 0.0, 0.0, 0.0]]))
        return found

    assert seen_at(0.5) == {"OP", "TU"}  # just as near, though neither is near
    assert seen_at(0.75) == {"OP", "RE"}  # not as near, but within 0.2
    assert seen_at(0.125) == {"OP", "TU", "SH"}  # 0.625 from its own, and 0.75 from RE


# --- what is lost ---------------------------------------------------------------------------------------------------


def lost(turns: list[Turn], pieces: str, seen_in: str = "OP", **more: Any) -> list[str]:
    weighing = SimpleNamespace(
        job=job(frames=len(pieces.split()), **more), turns=turns, seen_in=[frozenset(seen_in.split())] * len(turns)
    )
    return [one.reason for one in lost_of(weighing, pieces.split())]  # type: ignore[arg-type]


def test_what_should_be_seen_and_is_not_is_lost() -> None:
    open_, shut = "OP OP OP OP OP OP OP OP", "SH SH SH SH SH SH SH SH"
    stressed = turn("AA", (4, 6), stress=1)
    assert len(lost([stressed], shut)) == 1
    assert lost([stressed], open_) == []
    assert lost([stressed], "SH SH SH SH SH SH OP SH") == []  # on one frame of its window is enough
    assert lost([turn("AA", (4, 6))], shut) == []  # not stressed
    assert lost([replace(stressed, second=True)], shut) == []
    assert lost([turn("AA", None, stress=1), turn(None)], shut) == []
    assert len(lost([turn("M", (4, 6))], shut)) == 1
    # A vowel may be seen in a filmed piece that is not in the set; a closure is not.
    assert lost([stressed], "SH SH SH SH SH OLD SH SH") == []
    assert len(lost([turn("M", (4, 6))], "SH SH SH SH SH OLD SH SH")) == 1
    # What is not on camera while it is heard is not lost.
    off = {"on_camera": (True, True, True, True, False, False, False, True)}
    assert lost([stressed], "SH SH SH SH SH SH SH SH", **off) == []


@pytest.mark.parametrize(
    ("fixed", "on", "symbol", "frames", "said"),
    [
        ({}, "ones", "M", (), "the character is on camera on none of the frames on which it could be seen"),
        ({"filmed": {4: "SH", 5: "OP"}}, "ones", "M", (4, 5), "are filmed, and wear SH, OP"),
        ({"pinned": {4: "SH", 5: "OP"}}, "ones", "M", (4, 5), "are pinned by hand, and wear SH, OP"),
        ({"forbidden": {4: frozenset({"RE"}), 5: frozenset({"RE"})}}, "ones", "M", (4, 5), "are ruled by hand, and"),
        ({"filmed": {4: "SH"}, "pinned": {5: "OP"}}, "ones", "M", (4, 5), "are filmed or ruled by hand, and wear"),
        ({"filmed": {4: "SH"}}, "twos", "M", (4, 5), "mouths change on twos only, and its frames wear SH, OP"),
        (
            {"filmed": {4: "SH"}},
            "ones",
            "AA",
            (4, 5),
            "it is too short beside what is seen around it; its frames wear",
        ),
        (
            {"filmed": {4: "SH"}},
            "ones",
            "M",
            (4, 5, 6),
            "fewer frames than sounds that must be seen; .* wear SH, OP$",
        ),
    ],
)
def test_why_a_sound_is_lost(fixed: Any, on: str, symbol: str, frames: tuple[int, ...], said: str) -> None:
    pieces = ["RE", "RE", "RE", "RE", "SH", "OP", "SH", "RE"]
    assert re.search(said, _reason(job(on, 8, **fixed), turn(symbol, (4, 6)), frames, pieces))
