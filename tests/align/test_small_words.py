"""A small word that is said and not in the text is told of, and a wrong one in its place; a line's own are not."""

import numpy as np
import pytest

from lipsync.align.acoustic_model import acoustic_model
from lipsync.align.confidence import Confidence
from lipsync.align.evidence import FoundWord
from lipsync.align.line import listen
from lipsync.align.scored_sound import ScoredSound, SlowedSound
from lipsync.align.settings import LineSettings
from lipsync.align.small_words import SMALL_WORDS, SmallWordsHeard, judged_again
from lipsync.phonemes import PHONEMES


def test_the_words_are_phonemes_and_short():
    assert {("DH", "AH"), ("AH",), ("AO", "L"), ("G", "OW")} <= set(SMALL_WORDS)
    assert all(1 <= len(word) <= 4 and set(word) <= set(PHONEMES) for word in SMALL_WORDS)
    assert len(set(SMALL_WORDS)) == len(SMALL_WORDS)


@pytest.mark.parametrize("phone_us", [10_000, 30_000])
def test_where_there_is_no_room_for_a_word_more_nothing_is_told(phone_us):
    """A phone takes three ticks of 10 ms at least: between words that lie so close there is no room for another."""
    said = [("P", "EY", "P", "ER", "Z"), ("B", "OW", "T", "M", "AH", "N"), ("T", "AY", "D", "Z")] * 2
    words, start_us = [], 200_000
    for symbols in said:
        words.append(FoundWord(symbols, tuple(start_us + place * phone_us for place in range(len(symbols) + 1))))
        start_us = words[-1].end_us
    sound = np.random.default_rng(7).normal(0, 1000, 32_000).astype(np.int16)
    heard = SmallWordsHeard(ScoredSound(SlowedSound(sound, 1.0), acoustic_model()), words)
    assert heard.gained_before(3) is None
    if phone_us == 10_000:  # not even for the text as it is written
        sure = [Confidence(0.95, 0.95)] * len(words)
        assert heard.gained_instead(2, [said[2]]) is None
        assert judged_again(heard, [[word] for word in said], sure) == sure


@pytest.mark.parametrize(
    ("id", "voice_factor", "text", "beside"),
    [
        ("040-b", 0.8, "But the last boat has gone out with tide.", {"with", "tide"}),
        ("020-b", 1.35, "Mind paint, please, Mr Clamp. It’s wet.", {"Mind", "paint"}),
    ],
)
def test_a_small_word_that_the_text_does_not_have_makes_one_beside_it_doubtful(
    sample_folder, sample_lines, id, voice_factor, text, beside
):
    row, settings = next(row for row in sample_lines if row["id"] == id), LineSettings(voice_factor=voice_factor)
    own, other = (listen(sample_folder / row["wav"], said, settings) for said in (row["text"], text))
    assert not [word.text for word in own.words if word.doubtful]
    doubted = {word.text for word in other.words if word.doubtful}
    assert doubted
    assert doubted <= beside
    assert other.rejection is None
