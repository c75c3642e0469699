"""Steady noise goes, what changes stays; long recordings are done in blocks without a seam."""

import numpy as np
import pytest

from lipsync.audio.cleaning import DEEPEST_DB, without_steady_noise
from lipsync.audio.features import RATE_HZ


def level_db(sound):
    return 10 * np.log10(np.mean(np.square(sound.astype(float))) + 1e-9)


def speechlike(seconds, seed=7):
    """Tones that come and go, four a second, with silence between: their quietest tenth is silent."""
    t = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    return 8000 * np.sin(2 * np.pi * 500 * t) * (np.sin(2 * np.pi * 2 * t) > 0)


def noise(seconds, level, seed=8):
    return np.random.default_rng(seed).normal(size=round(seconds * RATE_HZ)) * level


def whole(sound):
    return np.rint(sound).astype(np.int16)


def test_what_has_no_steady_noise_is_unchanged():
    sound = whole(speechlike(4))
    assert np.abs(without_steady_noise(sound).astype(int) - sound).max() <= 1


def test_steady_noise_is_turned_down_and_the_voice_kept():
    voice, hiss = speechlike(4), noise(4, 300)
    quieter = without_steady_noise(whole(voice + hiss))
    moment = np.arange(len(voice)) / RATE_HZ % 0.5  # the tone is heard in the first half of each half second
    silent, spoken = (moment > 0.32) & (moment < 0.43), (moment > 0.05) & (moment < 0.2)
    assert level_db(hiss) - DEEPEST_DB - 1 < level_db(quieter[silent]) < level_db(hiss) - DEEPEST_DB / 2
    assert level_db(quieter[spoken]) == pytest.approx(level_db(voice[spoken]), abs=0.5)


@pytest.mark.parametrize("count", [1, 100, 511, 512, 513, 480_000, 480_001, 1_000_000])
def test_every_length_comes_back_as_long(count):
    sound = whole(noise(count / RATE_HZ, 500))
    quieter = without_steady_noise(sound)
    assert len(quieter) == count
    assert quieter.dtype == np.int16


def test_blocks_have_no_seam():
    sound = whole(speechlike(65) + noise(65, 100))
    quieter = without_steady_noise(sound).astype(float)
    for seam in (30 * RATE_HZ, 60 * RATE_HZ):
        jump = np.abs(np.diff(quieter[seam - 2 : seam + 2])).max()
        assert jump <= np.abs(np.diff(quieter[seam - 400 : seam + 400])).max()
        assert level_db(quieter[seam : seam + 400]) == pytest.approx(level_db(sound[seam : seam + 400]), abs=13)
