"""Where cues go: on what is heard in their gap, in order, and never without a place."""

from itertools import pairwise

import numpy as np
import pytest

from lipsync.align.cues import ROOM_US, with_cues
from lipsync.audio.recording import Recording
from lipsync.model import Breakdown, Phoneme, Word
from lipsync.text.script import CueToken, SpokenWord

RATE = 16_000


def recording(*loud):
    """Four seconds of a quiet room with louder stretches: (from second, to second, level)."""
    generator = np.random.default_rng(4)
    sound = generator.normal(size=4 * RATE) * 5
    for start, end, level in loud:
        part = slice(round(start * RATE), round(end * RATE))
        sound[part] = generator.normal(size=part.stop - part.start) * level
    samples = sound.astype(np.int16)
    samples.flags.writeable = False
    return Recording("line.wav", samples, 4_000_000, "0" * 16)


def word(text, *edges_s):
    edges = [round(edge * 1e6) for edge in edges_s]
    return Word(text, tuple(Phoneme("M", a, b) for a, b in pairwise(edges)))


def cue_spans(sound, text, words):
    tokens = [CueToken(t.strip("[]")) if t.startswith("[") else SpokenWord(t, ((t,),)) for t in text.split()]
    parts = with_cues(sound, tokens, words)
    breakdown = Breakdown(text, sound.duration_us, parts)  # checks order and overlap
    assert [w.text for w in breakdown.words] == [w.text for w in words]
    return [(cue.name, round(cue.start_s, 1), round(cue.end_s, 1)) for cue in breakdown.cues]


def test_on_what_is_heard_in_the_gap():
    sound = recording((0.2, 0.8, 3000), (1.2, 1.6, 300), (2.0, 2.5, 3000))
    words = [word("a", 0.2, 0.8), word("b", 2.0, 2.5)]
    assert cue_spans(sound, "a [breath] b", words) == [("breath", 1.2, 1.6)]


def test_on_the_loudest_of_several():
    sound = recording((1.0, 1.2, 60), (1.4, 1.7, 900), (2.1, 2.4, 80))
    assert cue_spans(sound, "a [gasp] b", [word("a", 0.2, 0.8), word("b", 3, 3.5)]) == [("gasp", 1.4, 1.7)]


def test_several_cues_in_the_order_of_the_text():
    sound = recording((1.0, 1.2, 60), (1.4, 1.7, 900), (2.1, 2.4, 80))
    spans = cue_spans(sound, "a [gasp] [laugh] b", [word("a", 0.2, 0.8), word("b", 3, 3.5)])
    assert spans == [("gasp", 1.4, 1.7), ("laugh", 2.1, 2.4)]


def test_more_cues_than_are_heard_divide_what_is():
    sound = recording((1.0, 2.0, 900))
    spans = cue_spans(sound, "a [gasp] [laugh] b", [word("a", 0.2, 0.8), word("b", 3, 3.5)])
    assert spans == [("gasp", 1.0, 1.5), ("laugh", 1.5, 2.0)]


def test_the_whole_gap_where_nothing_is_heard():
    assert cue_spans(recording(), "a [breath] b", [word("a", 0.2, 0.8), word("b", 3, 3.5)]) == [("breath", 0.8, 3.0)]


def test_before_the_first_word_and_after_the_last():
    sound = recording((0.3, 0.7, 500), (3.2, 3.7, 500))
    spans = cue_spans(sound, "[breath] a [sigh]", [word("a", 1, 2)])
    assert spans == [("breath", 0.3, 0.7), ("sigh", 3.2, 3.7)]


def test_nothing_but_a_cue():
    assert cue_spans(recording((1, 2, 500)), "[laugh]", []) == [("laugh", 1.0, 2.0)]
    assert cue_spans(recording(), "[laugh] [gasp]", []) == [("laugh", 0.0, 2.0), ("gasp", 2.0, 4.0)]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a [breath] b", [word("a", 1, 2), word("b", 2, 3)]),
        ("a [x] [y] [z] b", [word("a", 1, 2), word("b", 2, 3)]),
        ("[breath] a", [word("a", 0, 1)]),
        ("a [breath]", [word("a", 3, 4)]),
        ("[x] a [y]", [word("a", 0, 4)]),
        ("a [breath] b", [word("a", 1, 1.95, 2), word("b", 2.01, 3)]),
    ],
)
def test_where_the_words_leave_no_gap(text, words):
    cues = cue_spans(recording(), text, words)
    assert len(cues) == text.count("[")


def test_the_room_is_no_more_than_is_needed():
    tokens = [SpokenWord("a", (("a",),)), CueToken("breath"), SpokenWord("b", (("b",),))]
    parts = with_cues(recording(), tokens, [word("a", 1, 2), word("b", 2, 3)])
    assert (parts[0].end_us, parts[1].start_us, parts[1].end_us) == (
        2_000_000 - ROOM_US,
        2_000_000 - ROOM_US,
        2_000_000,
    )
    assert parts[2].start_us == 2_000_000


def test_where_the_sound_before_is_short_the_one_behind_gives_the_rest():
    """AH of 10 ms, two cues, AH of 290 ms: they ask for 80 ms; 5 ms come from the one, 75 ms from the other."""
    tokens = [SpokenWord("a", (("a",),)), CueToken("breath"), CueToken("laugh"), SpokenWord("b", (("b",),))]
    parts = with_cues(recording(), tokens, [word("a", 1, 1.01), word("b", 1.01, 1.3)])
    assert [(part.start_us, part.end_us) for part in parts] == [
        (1_000_000, 1_005_000),
        (1_005_000, 1_045_000),
        (1_045_000, 1_085_000),
        (1_085_000, 1_300_000),
    ]
