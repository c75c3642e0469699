"""Voice that no word and no cue covers is told of from 120 ms on; noise, and a voice that dies away, are not."""

import numpy as np
import pytest

from lipsync.align.untold import untold_voice
from lipsync.audio.recording import Recording
from lipsync.model import Cue, Phoneme, Word

RATE = 16_000


def tone(seconds, level=0.2):
    """A voice: a sum of harmonics of 120 Hz."""
    turns = 2 * np.pi * 120 * np.arange(round(seconds * RATE)) / RATE
    return level * sum(np.sin(k * turns) / k for k in range(1, 20))


def room(seconds, level=0.0005):
    return np.random.default_rng(1).normal(size=round(seconds * RATE)) * level


def recording(*parts):
    samples = np.clip(np.concatenate(parts) * 32_768, -32_768, 32_767).astype(np.int16)
    samples.flags.writeable = False
    return Recording("heron.wav", samples, len(samples) * 1_000_000 // RATE, "0" * 16)


def word(start_s, end_s):
    return Word("ah", (Phoneme("AA", round(start_s * 1e6), round(end_s * 1e6)),))


def spans(*parts, words, inserted=()):
    return [(one.start_us / 1e6, one.end_us / 1e6) for one in untold_voice(recording(*parts), words, inserted)]


@pytest.mark.parametrize(("lasts_s", "told"), [(0.08, False), (0.2, True), (0.5, True)])
def test_voice_between_words_is_told_of_if_it_lasts(lasts_s, told):
    parts = room(0.2), tone(0.4), room(0.3), tone(lasts_s), room(0.3), tone(0.4), room(0.2)
    words = word(0.2, 0.6), word(1.2 + lasts_s, 1.6 + lasts_s)
    found = spans(*parts, words=words)
    assert bool(found) == told
    if told:
        assert found[0] == pytest.approx((0.9, 0.9 + lasts_s), abs=0.05)


@pytest.mark.parametrize("cover", [word(0.9, 1.3), Cue("hum", 900_000, 1_300_000)])
def test_a_word_or_a_cue_covers_it(cover):
    parts = room(0.2), tone(0.4), room(0.3), tone(0.4), room(0.3)
    assert spans(*parts, words=(word(0.2, 0.6), cover)) == []
    assert spans(*parts, words=(word(0.2, 0.6),))


def test_noise_is_no_voice_and_somebody_far_off_is_not_the_line():
    for other in (room(0.4, 0.1), tone(0.4, 0.02)):
        assert spans(room(0.2), tone(0.4), room(0.3), other, room(0.3), words=(word(0.2, 0.6),)) == []


def test_a_voice_that_dies_away_is_its_words():
    assert spans(room(0.2), tone(0.56), room(0.3), words=(word(0.2, 0.6),)) == []


def test_a_short_gap_is_counted_in_and_a_long_one_is_not():
    for gap_s, count in ((0.03, 1), (0.2, 2)):
        parts = room(0.2), tone(0.4), room(0.3), tone(0.2), room(gap_s), tone(0.2), room(0.3)
        assert len(spans(*parts, words=(word(0.2, 0.6),))) == count


def test_what_was_heard_beside_the_text_is_told_of_outside_the_words():
    parts = room(0.2), tone(0.4), room(1.0)
    found = spans(*parts, words=(word(0.2, 0.6),), inserted=((500_000, 900_000),))
    assert found == [(0.6, 0.9)]
    assert spans(*parts, words=(word(0.2, 0.6),), inserted=((500_000, 710_000),)) == []
