"""Words that no search finds lie over what is heard, in order, none without length."""

import numpy as np
import pytest

from lipsync.align.durations import usual_us
from lipsync.align.spreading import spread, voiced_spans
from lipsync.audio.recording import Recording
from lipsync.errors import LineError

RATE = 16_000
MAY, EYE = ("M", "EY"), ("AY",)


def recording(*parts):
    """A recording of (seconds, level) of noise."""
    chance = np.random.default_rng(3)
    sound = np.concatenate([chance.normal(size=round(seconds * RATE)) * level for seconds, level in parts])
    samples = np.clip(sound * 32_768, -32_768, 32_767).astype(np.int16)
    samples.flags.writeable = False
    return Recording("heron.wav", samples, len(samples) * 1_000_000 // RATE, "0" * 16)


TWO = recording((0.5, 0.0003), (1.0, 0.1), (0.5, 0.0003), (0.5, 0.1), (0.5, 0.0003))


def test_what_is_heard_is_what_stands_out_of_the_room():
    (first, second) = voiced_spans(TWO)
    assert first == pytest.approx((500_000, 1_500_000), abs=30_000)
    assert second == pytest.approx((2_000_000, 2_500_000), abs=30_000)


def test_words_fill_what_is_heard_each_in_one_stretch():
    words = [MAY, MAY, EYE]
    found = spread(TWO, words)
    first, second = voiced_spans(TWO)
    assert (found[0][0], found[1][-1]) == first
    assert (found[2][0], found[2][-1]) == second
    assert found[0][-1] == found[1][0]


def test_phonemes_last_as_they_usually_do_beside_each_other():
    ((start_us, middle_us, end_us),) = spread(recording((0.5, 0.1)), [MAY])
    expected = usual_us("M") / (usual_us("M") + usual_us("EY"))
    assert (middle_us - start_us) / (end_us - start_us) == pytest.approx(expected, abs=0.001)


def test_where_nothing_stands_out_all_of_it_is_filled():
    even = recording((1.0, 0.1))
    assert voiced_spans(even) == [(0, even.duration_us)]
    ((start_us, *_, end_us),) = spread(even, [MAY])
    assert (start_us, end_us) == (0, even.duration_us)


@pytest.mark.parametrize("count", [1, 7, 300, 5_000])
def test_no_phoneme_is_without_length(count):
    edges = [edge for word in spread(TWO, [MAY] * count) for edge in word]
    assert len(edges) == 3 * count
    steps = np.diff(np.array(edges).reshape(count, 3), axis=1)
    assert steps.min() >= 1
    assert edges == sorted(edges)


def test_more_phonemes_than_microseconds_are_refused():
    with pytest.raises(LineError, match="has 200000 phonemes, more than could be laid"):
        spread(recording((0.1, 0.1)), [EYE] * 200_000)
