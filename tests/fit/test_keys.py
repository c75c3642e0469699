"""Keys and modelling between them, on tracks written by hand."""

from __future__ import annotations

from lipsync.fit.fit_settings import FittingSettings, Holds
from lipsync.fit.keys import Key, Toward, keys
from lipsync.track import FrameTrack, Sound
from tests.fit.build import MOUTH_SETS, small_set

SETTINGS = FittingSettings(hold=Holds(longest=4))


def track_of(codes: str, serves: dict[int, Sound] | None = None) -> FrameTrack:
    pieces = tuple(None if code == "-" else code for code in codes.split())
    return FrameTrack("heron", pieces, tuple((serves or {}).get(frame) for frame in range(len(pieces))))


def test_far_keys_are_modelled_toward_near_ones_are_not() -> None:
    # In the small set open is about 0.8 from all the others, which lie within 0.2 of each other.
    found = keys(track_of("RE RE RE RE RE OP OP RE SH"), small_set(), FittingSettings())
    assert [key.toward for key in found] == [Toward(2, "OP", 3), Toward(6, "RE", 1), None, None]


def test_a_hold_of_one_frame_leaves_no_frame_for_it() -> None:
    assert [key.toward for key in keys(track_of("RE OP RE"), small_set(), FittingSettings())] == [None] * 3


def test_closed_lips_stay_closed() -> None:
    sound = Sound("l", 0, "M", "me", 0, 1000)
    track = track_of("RE SH SH SH OP OP", {2: sound})
    assert keys(track, small_set(), FittingSettings())[1].toward == Toward(3, "OP", 1)
    track = track_of("RE SH SH SH OP OP", {3: sound})
    assert keys(track, small_set(), FittingSettings())[1].toward is None


def test_hard_pieces_are_not_modelled() -> None:
    assert keys(track_of("RE RE OP OP"), small_set("hard"), FittingSettings())[0].toward is None


def test_long_holds_are_kept_alive_from_the_limit_on() -> None:
    found = keys(track_of("RE RE RE RE - RE RE OP OP OP OP"), small_set("hard"), SETTINGS)
    assert found == (Key(0, "RE", 6, None, 5), Key(7, "OP", 4, None, None))


def test_a_piece_that_is_only_on_film() -> None:
    assert [key.code for key in keys(track_of("OLD OLD OP OP"), small_set(), SETTINGS)] == ["OLD", "OP"]


def test_wide_open_is_modelled_toward_a_ring_in_the_set_that_ships() -> None:
    found = keys(track_of("OPEN3 OPEN3 OPEN3 OPEN3 RING2 RING2"), MOUTH_SETS["tideline"], FittingSettings())
    assert found[0].toward == Toward(1, "RING2", 3)
