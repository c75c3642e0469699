"""Clicks are taken out where all is quiet around them, and nothing that is said is touched."""

import numpy as np
import pytest

from lipsync.audio.cleaning import without_clicks
from lipsync.audio.recording import read_recording

RATE = 16_000


def room(seconds=2.0):
    return np.random.default_rng(3).normal(size=round(seconds * RATE), scale=10)


def whole(sound):
    return np.clip(np.rint(sound), -32768, 32767).astype(np.int16)


def burst(ms):
    return np.random.default_rng(4).normal(size=RATE * ms // 1000, scale=6000)


@pytest.mark.parametrize("ms", [1, 3, 8, 12])
@pytest.mark.parametrize("at", [0, 801, 16_000, 16_043, 2 * RATE - 300])
def test_a_click_in_a_quiet_room_is_gone(ms, at):
    sound = room()
    sound[at : at + RATE * ms // 1000] += burst(ms)
    cleared = without_clicks(whole(sound))
    assert np.abs(cleared.astype(int)).max() < 120  # the room comes to 45
    rest = np.ones(len(sound), bool)
    rest[max(0, at - RATE // 50) : at + RATE * ms // 1000 + RATE // 50] = False
    assert np.array_equal(cleared[rest], whole(sound)[rest])


@pytest.mark.parametrize("ms", [40, 80])
def test_what_lasts_longer_is_none(ms):
    sound = room()
    sound[RATE : RATE + RATE * ms // 1000] += burst(ms)
    assert np.array_equal(without_clicks(whole(sound)), whole(sound))


@pytest.mark.parametrize("gap_ms", [0, 20, 60, 90])
@pytest.mark.parametrize("before", [True, False])
def test_a_burst_near_a_voice_stays(gap_ms, before):
    """A stop let go before a vowel, or so soon after one."""
    sound = room()
    vowel = 4000 * np.sin(2 * np.pi * 150 * np.arange(RATE // 4) / RATE)
    sound[RATE : RATE + RATE // 4] += vowel
    at = RATE - RATE * (gap_ms + 8) // 1000 if before else RATE + RATE // 4 + RATE * gap_ms // 1000
    sound[at : at + RATE * 8 // 1000] += burst(8)
    assert np.array_equal(without_clicks(whole(sound)), whole(sound))


def test_the_sample_is_speech_and_has_none(sample_folder):
    for path in sorted((sample_folder / "recordings").glob("*.wav")):
        samples = read_recording(path).samples
        assert without_clicks(samples) is samples, path.name


def test_what_is_shorter_than_its_surroundings_would_be_is_left_alone():
    for length in (0, 1, 79, 3000):
        samples = np.zeros(length, np.int16)
        assert without_clicks(samples) is samples
