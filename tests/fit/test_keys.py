"""Keys and modelling between them, on tracks written by hand."""

from __future__ import annotations

from lipsync.fit.fit_settings import FittingSettings, Holds
from lipsync.fit.keys import Key, Toward, keys
from lipsync.fit.lips import distance
from lipsync.fit.mouthset import MouthSet
from lipsync.track import FrameTrack, Sound
from tests.fit.build import MOUTH_SETS, frame_us, job_of, small_set

SETTINGS = FittingSettings(hold=Holds(longest=4))


def track_of(codes: str, serves: dict[int, Sound] | None = None) -> FrameTrack:
    pieces = tuple(None if code == "-" else code for code in codes.split())
    return FrameTrack("heron", pieces, tuple((serves or {}).get(frame) for frame in range(len(pieces))))


def found_in(
    track: FrameTrack, mouth_set: MouthSet, sounds: tuple[Sound, ...] = (), **more: object
) -> tuple[Key, ...]:
    return keys(track, job_of(sounds, mouth_set, on_camera=(True,) * len(track.pieces), **more))  # type: ignore[arg-type]


def test_far_keys_are_modelled_toward_near_ones_are_not() -> None:
    # In the small set open is about 0.8 from all the others, which lie within 0.2 of each other.
    found = found_in(track_of("RE RE RE RE RE OP OP RE SH"), small_set())
    assert [key.toward for key in found] == [Toward(2, "OP", 3), Toward(6, "RE", 1), None, None]


def test_a_piece_is_far_beyond_the_setting_and_not_at_it() -> None:
    # From rest to shut lips: less than 0.6.
    assert found_in(track_of("RE RE RE SH SH"), small_set())[0].toward is None
    pieces = small_set().by_code
    apart = distance(pieces["RE"].lips, pieces["OP"].lips)
    for far, toward in ((apart, None), (apart - 1e-9, Toward(1, "OP", 2))):
        found = found_in(track_of("RE RE RE OP OP"), small_set(), settings=FittingSettings(far=far))
        assert found[0].toward == toward


def test_a_hold_of_one_frame_leaves_no_frame_for_it() -> None:
    assert [key.toward for key in found_in(track_of("RE OP RE"), small_set())] == [None] * 3


def test_closed_lips_stay_closed() -> None:
    sound = Sound("l", 0, "M", "me", 0, 1000)
    track = track_of("RE SH SH SH OP OP", {2: sound})
    assert found_in(track, small_set())[1].toward == Toward(3, "OP", 1)
    track = track_of("RE SH SH SH OP OP", {3: sound})
    assert found_in(track, small_set())[1].toward is None


def test_hard_pieces_are_not_modelled() -> None:
    assert found_in(track_of("RE RE OP OP"), small_set("hard"))[0].toward is None


def test_long_holds_are_kept_alive_from_the_limit_on() -> None:
    found = found_in(track_of("RE RE RE RE - RE RE OP OP OP OP"), small_set("hard"), settings=SETTINGS)
    assert found == (Key(0, "RE", 6, None, 5), Key(7, "OP", 4, None, None))


def test_a_piece_that_is_only_on_film() -> None:
    assert [key.code for key in found_in(track_of("OLD OLD OP OP"), small_set(), settings=SETTINGS)] == ["OLD", "OP"]


def test_spread_is_modelled_toward_a_pout_in_the_set_that_ships() -> None:
    found = found_in(track_of("SPRD SPRD SPRD SPRD POUT POUT"), MOUTH_SETS["tideline"])
    assert found[0].toward == Toward(1, "POUT", 3)


def vowel(from_: float, to: float, symbol: str = "AA") -> Sound:
    """A stressed vowel from one time to another, in frames at 24."""
    return Sound("l", 0, symbol, "word", *(round(frame_us(100) * at / 100) for at in (from_, to)), 1)


def test_a_mouth_is_not_modelled_away_before_its_sound_has_begun_a_frame_ago() -> None:
    """Open from frame 2 to 7 for a vowel that begins in frame 5: of the three frames before the next key 6 and 7."""
    own = vowel(5.5, 8)
    track = track_of("RE RE OP OP OP OP OP OP RE RE")
    assert found_in(track, small_set())[1].toward == Toward(5, "RE", 3)
    assert found_in(track, small_set(), (own,))[1].toward == Toward(6, "RE", 2)
    # Of several the last counts.
    assert found_in(track, small_set(), (vowel(2.5, 5.5), own))[1].toward == Toward(6, "RE", 2)
    # Shown on its frames, whatever its shape; and a sound that begins in the frame after the hold keeps all of it.
    shown = track_of("RE RE OP OP OP OP OP OP RE RE", {6: vowel(6.9, 9)})
    assert found_in(shown, small_set())[1].toward == Toward(7, "RE", 1)
    assert found_in(track, small_set(), (vowel(8.1, 9),))[1].toward is None


def test_only_sounds_of_its_shape_that_begin_while_it_is_on_hold_a_mouth() -> None:
    track = track_of("RE RE OP OP OP OP OP OP RE RE")
    for other in (vowel(6.9, 8, "M"), vowel(9.1, 10), vowel(0.5, 1.5)):
        assert found_in(track, small_set(), (other,))[1].toward == Toward(5, "RE", 3)


def test_what_is_filmed_is_not_modelled() -> None:
    track = track_of("RE RE OP OP OP OP OP OP RE RE")
    assert found_in(track, small_set(), filmed={5: "OP"})[1].toward == Toward(6, "RE", 2)
    assert found_in(track, small_set(), filmed={7: "OP"})[1].toward is None


def test_on_twos_pairs_are_modelled_whole() -> None:
    """Pairs are counted from the shot's first frame: of frames 5, 6 and 7 the pair of 6 and 7."""
    track = track_of("RE RE OP OP OP OP OP OP RE RE")
    for on in ("twos", "mixed"):
        settings = FittingSettings(on=on)  # type: ignore[arg-type]
        assert found_in(track, small_set(), settings=settings)[1].toward == Toward(6, "RE", 2)
        # A vowel of frame 6 has not begun a frame ago on 6, and 7 is no pair.
        assert found_in(track, small_set(), (vowel(6.1, 8),), settings=settings)[1].toward is None
        # Before a key on frame 10 it is the pair of 8 and 9.
        later = track_of("RE RE OP OP OP OP OP OP OP OP RE RE")
        assert found_in(later, small_set(), settings=settings)[1].toward == Toward(8, "RE", 2)
