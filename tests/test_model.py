"""The values that pass between stages: impossible ones cannot be built, and none can be changed."""

from dataclasses import FrozenInstanceError
from itertools import pairwise

import pytest

from lipsync.model import Breakdown, Cue, Phoneme, Word
from lipsync.phonemes import PHONEMES, VOWELS
from lipsync.track import FrameTrack, Lost, Sound, sounds_of


def word(text="map", at_us=100_000, **more):
    """M AA P from `at_us`, 100 ms each."""
    spans = zip(("M", "AE", "P"), (None, 1, None), range(at_us, at_us + 300_000, 100_000), strict=True)
    return Word(text, tuple(Phoneme(s, start, start + 100_000, stress) for s, stress, start in spans), **more)


@pytest.mark.parametrize(("start_us", "end_us"), [(-1, 10), (10, 10), (11, 10), (0, 0)])
def test_a_span_begins_at_0_or_later_and_ends_after_it_begins(start_us, end_us):
    message = f"must begin at 0 or later and end after it begins, not {start_us} to {end_us} us"
    with pytest.raises(ValueError, match=f"^AA {message}$"):
        Phoneme("AA", start_us, end_us)
    with pytest.raises(ValueError, match=rf"^cue \[laugh\] {message}$"):
        Cue("laugh", start_us, end_us)


@pytest.mark.parametrize("symbol", ["", "aa", "AA1", "Q", "sil", "[breath]"])
def test_a_phoneme_is_arpabet_without_stress_or_silence(symbol):
    with pytest.raises(ValueError, match=r"is no ARPAbet phoneme$"):
        Phoneme(symbol, 0, 1)


@pytest.mark.parametrize("symbol", [*PHONEMES, "SIL"])
@pytest.mark.parametrize("stress", [None, -1, 0, 1, 2, 3])
def test_stress_belongs_to_vowels(symbol, stress):
    if stress is None or (symbol in VOWELS and stress in (0, 1, 2)):
        assert Phoneme(symbol, 0, 1, stress).stress == stress
    else:
        with pytest.raises(
            ValueError, match=f"^stress {stress} on {symbol}: vowels have 0, 1 or 2, other sounds None$"
        ):
            Phoneme(symbol, 0, 1, stress)


def test_a_word_has_phonemes():
    with pytest.raises(ValueError, match=r"^word 'hm' has no phonemes$"):
        Word("hm", ())


@pytest.mark.parametrize("second_us", [99_999, 100_001])
def test_a_words_phonemes_follow_each_other_without_gap_or_overlap(second_us):
    with pytest.raises(ValueError, match=r"^word 'ma': AA must begin where M ends$"):
        Word("ma", (Phoneme("M", 0, 100_000), Phoneme("AA", second_us, 200_000)))


def test_a_word_holds_no_silence():
    with pytest.raises(ValueError, match=r"^word 'ma' holds a silence; split it in two words$"):
        Word("ma", (Phoneme("M", 0, 10), Phoneme("SIL", 10, 20), Phoneme("AA", 20, 30)))


@pytest.mark.parametrize("confidence", [-0.01, 1.01, float("nan")])
def test_confidence_is_a_share(confidence):
    with pytest.raises(ValueError, match=r"^word 'map': confidence .* is not from 0 to 1$"):
        word(confidence=confidence)


@pytest.mark.parametrize(
    ("confidence", "corrected", "doubtful"),
    [(None, False, False), (0.0, False, True), (0.49, False, True), (0.5, False, False), (0.0, True, False)],
)
def test_a_word_is_doubtful_below_a_half_unless_a_person_corrected_it(confidence, corrected, doubtful):
    assert word(confidence=confidence, corrected=corrected).doubtful is doubtful


def test_parts_of_a_breakdown_do_not_overlap():
    with pytest.raises(ValueError, match=r"begins before .* ends$"):
        Breakdown("", 900_000, (word(at_us=0), word(at_us=299_999)))
    with pytest.raises(ValueError, match=r"^Cue\(name='laugh', .* begins before .* ends$"):
        Breakdown("", 900_000, (word(at_us=0), Cue("laugh", 200_000, 500_000)))
    assert len(Breakdown("", 900_000, (word(at_us=0), word(at_us=300_000))).words) == 2


def test_parts_of_a_breakdown_end_within_the_recording():
    assert Breakdown("map", 400_000, (word(),)).words[0].end_us == 400_000
    with pytest.raises(ValueError, match=r"ends after the recording, which lasts 399999 us$"):
        Breakdown("map", 399_999, (word(),))


def test_phonemes_cover_the_recording_without_a_gap_and_cues_are_silence_there():
    parts = (Cue("breath", 10, 60_000), word(at_us=100_000), word(at_us=400_000), word(at_us=800_000))
    breakdown = Breakdown("[breath] map map map", 1_500_000, parts)
    spans = [(p.symbol, p.start_us, p.end_us) for p in breakdown.phonemes]
    assert [symbol for symbol, _, _ in spans] == ["SIL", *("M", "AE", "P") * 2, "SIL", "M", "AE", "P", "SIL"]
    assert spans[0][1] == 0
    assert spans[-1][2] == 1_500_000
    assert all(before[2] == after[1] for before, after in pairwise(spans))
    assert breakdown.cues == (parts[0],)


def test_nothing_said_is_one_silence():
    assert Breakdown("", 5, ()).phonemes == (Phoneme("SIL", 0, 5),)
    assert Breakdown("", 0, ()).phonemes == ()


def test_seconds_are_views_of_microseconds():
    breath = Cue("breath", 1_160_000, 2_000_001)
    assert (breath.start_s, breath.end_s) == (1.16, 2.000001)
    assert (word().start_s, word().end_s) == (0.1, 0.4)
    assert (word().phonemes[1].start_s, word().phonemes[1].end_s) == (0.2, 0.3)


def test_sounds_are_in_shot_time_and_may_begin_before_the_shot():
    breakdown = Breakdown("map [laugh]", 900_000, (word(confidence=0.1), Cue("laugh", 500_000, 700_000)))
    sounds = sounds_of(breakdown, "010-a", -150_000)
    assert [(s.symbol, s.text, s.start_us, s.end_us, s.stress, s.part) for s in sounds] == [
        ("M", "map", -50_000, 50_000, None, 0),
        ("AE", "map", 50_000, 150_000, 1, 0),
        ("P", "map", 150_000, 250_000, None, 0),
        ("[laugh]", "[laugh]", 350_000, 550_000, None, 1),
    ]
    assert [s.is_cue for s in sounds] == [False, False, False, True]
    assert [s.doubtful for s in sounds] == [True, True, True, False]
    assert {s.line for s in sounds} == {"010-a"}


SOUND = Sound("010-a", 0, "M", "map", 0, 1)


def test_a_track_has_a_sound_or_none_for_each_piece():
    with pytest.raises(ValueError, match=r"^heron: 2 pieces for 1 frames$"):
        FrameTrack("heron", ("REST", "SHUT"), (None,))


def test_a_frame_off_camera_shows_no_sound():
    with pytest.raises(ValueError, match=r"^heron: a frame off camera cannot show a sound$"):
        FrameTrack("heron", ("REST", None), (None, SOUND))


@pytest.mark.parametrize(
    ("pieces", "fittings"),
    [
        ((), []),
        ((None, None), []),
        (("A1",), [(0, "A1", 1)]),
        (("A1", "A1", "B2", "A1"), [(0, "A1", 2), (2, "B2", 1), (3, "A1", 1)]),
        # Off camera nobody changes the piece: it is still on when the character comes back.
        ((None, "A1", None, "A1", None, "B2"), [(1, "A1", 2), (5, "B2", 1)]),
    ],
)
def test_fittings_are_where_the_piece_differs_from_the_one_worn_last(pieces, fittings):
    track = FrameTrack("heron", pieces, (None,) * len(pieces))
    assert [(f.frame, f.code, f.hold) for f in track.fittings] == fittings
    assert sum(f.hold for f in track.fittings) == sum(code is not None for code in pieces)


@pytest.mark.parametrize(
    "value",
    [
        Phoneme("AA", 0, 1),
        word(),
        Cue("laugh", 0, 1),
        Breakdown("", 0, ()),
        SOUND,
        Lost(SOUND, "too short"),
        FrameTrack("heron", (), ()),
    ],
    ids=lambda value: type(value).__name__,
)
def test_no_value_can_be_changed_or_given_a_new_field(value):
    field = next(iter(type(value).__dataclass_fields__))
    with pytest.raises(FrozenInstanceError):
        setattr(value, field, None)
    # A frozen class with slots has no room for another name; which exception says so differs between versions.
    with pytest.raises((AttributeError, TypeError)):
        value.anything_else = 1
