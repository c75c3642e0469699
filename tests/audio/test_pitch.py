"""Pitch of sounds whose pitch is known because they were made with it."""

import numpy as np
import pytest

from lipsync.audio.pitch import pitches_hz

RATE_HZ = 16_000
SECOND = [(100_000, 400_000)]


def voiced(f0_hz, seconds=0.6, formants=((600, 90), (1200, 120), (2600, 160))):
    """A buzz of harmonics, louder where a vowel has its formants."""
    t = np.arange(int(RATE_HZ * seconds)) / RATE_HZ
    sound = np.zeros(len(t))
    for n in range(1, int(7000 / f0_hz)):
        hz = n * f0_hz
        gain = sum(1 / (1 + ((hz - f) / w) ** 2) for f, w in formants) + 0.02
        sound += gain / n**0.5 * np.cos(2 * np.pi * hz * t + n * n)
    return (sound / np.abs(sound).max() * 12_000).astype(np.int16)


@pytest.mark.parametrize("f0_hz", [75, 90, 110, 146.8, 200, 261.6, 330, 415.3, 500, 600])
def test_the_pitch_of_a_made_vowel_is_the_one_it_was_made_with(f0_hz):
    (found,) = pitches_hz(voiced(f0_hz), RATE_HZ, SECOND)
    assert found == pytest.approx(f0_hz, rel=0.01)


@pytest.mark.parametrize("f0_hz", [90, 200, 415])
def test_noise_20_db_below_changes_little(f0_hz):
    clear = voiced(f0_hz).astype(float)
    noise = np.random.default_rng(1).normal(0, np.sqrt(np.mean(clear**2) / 100), len(clear))
    (found,) = pitches_hz((clear + noise).astype(np.int16), RATE_HZ, SECOND)
    assert found == pytest.approx(f0_hz, rel=0.02)


def test_noise_silence_and_too_little_sound_have_no_pitch():
    noise = np.random.default_rng(2).normal(0, 3000, RATE_HZ).astype(np.int16)
    assert pitches_hz(noise, RATE_HZ, SECOND) == (None,)
    assert pitches_hz(np.zeros(RATE_HZ, np.int16), RATE_HZ, SECOND) == (None,)
    assert pitches_hz(voiced(200)[:300], RATE_HZ, [(0, 18_000)]) == (None,)
    assert pitches_hz(np.zeros(0, np.int16), RATE_HZ, [(0, 100_000)]) == (None,)


def test_a_vowel_shorter_than_a_window_has_the_pitch_around_it():
    (found,) = pitches_hz(voiced(220), RATE_HZ, [(200_000, 230_000)])
    assert found == pytest.approx(220, rel=0.01)


def test_spans_are_told_apart():
    both = np.concatenate([voiced(120), voiced(240)])
    low, high = pitches_hz(both, RATE_HZ, [(100_000, 500_000), (700_000, 1_100_000)])
    assert low == pytest.approx(120, rel=0.01)
    assert high == pytest.approx(240, rel=0.01)


def test_however_many_windows_there_are_each_span_has_its_own_pitch():
    """Windows are looked at 64 at a time: spans that lie across such a block are found as they are alone."""
    both = np.concatenate([voiced(120), np.zeros(8_000, np.int16), voiced(240)])
    spans = [(start_us, start_us + 130_000) for start_us in range(0, 1_700_000, 70_000)]
    alone = tuple(pitches_hz(both, RATE_HZ, [span])[0] for span in spans)
    assert pitches_hz(both, RATE_HZ, spans * 5) == alone * 5
    assert {None if hz is None else round(hz / 10) for hz in alone} == {None, 12, 24}
