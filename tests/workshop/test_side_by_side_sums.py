"""Two ways side by side, on shots written by hand: which frames differ, and by whose lips cost is measured."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest

from lipsync.fit.fit_settings import FittingSettings, Prices
from lipsync.fit.lips import ALIKE, distance
from lipsync.fit.mouthset import MouthSet
from lipsync.workshop.side_by_side import side_by_side
from tests.fit.build import MOUTH_SETS, job_of, small_set, sounds_from

SOUNDS = sounds_from("SIL300 P80 AA1:300 M90 AA1:200")


def changed(mouth_set: MouthSet, **more: object) -> MouthSet:
    """The small set with its open piece changed."""
    pieces = tuple(piece.model_copy(update=more) if piece.shape == "open" else piece for piece in mouth_set.piece)
    return mouth_set.model_copy(update={"piece": pieces})


WIDER = changed(small_set(), lips=next(p for p in small_set().piece if p.shape == "open").lips.model_copy(
    update={"opening": 0.7}
))  # fmt: skip


def test_a_code_that_names_another_mouth_differs() -> None:
    one, other = job_of(SOUNDS, small_set()), job_of(SOUNDS, WIDER)
    both = side_by_side([one], [other], {})
    (present,), (tried,) = both.one.tracks, both.other.tracks
    assert present.pieces == tried.pieces
    (differing,) = both.differing
    assert differing == {frame for frame, code in enumerate(present.pieces) if code == "OP"} != set()
    assert both.frames_that_differ == len(differing)


def test_the_same_mouth_under_another_code_is_the_same() -> None:
    one, other = job_of(SOUNDS, small_set()), job_of(SOUNDS, changed(small_set(), code="WIDE"))
    both = side_by_side([one], [other], {})
    assert "WIDE" in both.other.tracks[0].pieces
    assert (both.frames_that_differ, both.distance) == (0, 0)


@pytest.mark.parametrize("name", sorted(MOUTH_SETS))
def test_no_two_pieces_of_a_set_that_ships_are_alike(name: str) -> None:
    pieces = MOUTH_SETS[name].piece
    assert min(distance(a.lips, b.lips) for a, b in combinations(pieces, 2)) > ALIKE


def test_each_set_is_near_to_what_it_asks_for() -> None:
    both = side_by_side([job_of(SOUNDS, small_set())], [job_of(SOUNDS, WIDER)], {})
    present, tried = both.one, both.other
    assert present.visual_tried is not None
    assert tried.visual_tried is not None
    assert present.visual < tried.visual
    assert tried.visual_tried < present.visual_tried
    again = side_by_side([job_of(SOUNDS, WIDER)], [job_of(SOUNDS, small_set())], {})
    assert (again.one.visual, again.other.visual) == pytest.approx((tried.visual_tried, present.visual_tried))


def test_other_settings_have_one_measure() -> None:
    job = job_of(SOUNDS, small_set())
    dear = replace(job, settings=FittingSettings(price=Prices(fitting=3.0)))
    assert side_by_side([job], [dear], {}).one.visual_tried is None


def test_what_is_filmed_is_the_same_whatever_is_tried() -> None:
    job = job_of(SOUNDS, small_set())
    filmed = {frame: "OP" for frame in range(len(job.on_camera))}
    both = side_by_side([replace(job, filmed=filmed)], [replace(job, mouth_set=WIDER, filmed=filmed)], {})
    assert (both.frames_that_differ, both.distance) == (0, 0)
    assert both.one.visual == both.other.visual


def test_what_is_filmed_needs_no_piece_any_more() -> None:
    job = job_of(SOUNDS, small_set())
    present = set(side_by_side([job], [job], {}).one.tracks[0].pieces)
    assert side_by_side([job], [job], {"heron": 2}).one.pieces_needed == {"heron": 2 * len(present)}
    filmed = {frame: "OP" for frame in range(len(job.on_camera))}
    assert side_by_side([replace(job, filmed=filmed)], [job], {"heron": 2}).one.pieces_needed == {"heron": 0}
