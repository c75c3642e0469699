"""Cut-off tops are rounded as they were, and what is not cut off is left as it is."""

import numpy as np
import pytest

from lipsync.align.voice import slowed
from lipsync.audio.cleaning import without_clipping
from lipsync.audio.recording import read_recording

RATE = 16_000


def voice_like(seconds=1.0):
    """A sum of partials that swells and dies away, of known height everywhere."""
    t = np.arange(round(seconds * RATE)) / RATE
    partials = sum(np.sin(2 * np.pi * 140 * k * t + k * k) / k for k in range(1, 12))
    return 12_000 * partials / np.abs(partials).max() * (0.6 + 0.4 * np.sin(2 * np.pi * 3 * t))


def distance(one, other):
    """How much is left of a sound when another is taken from it, whatever their levels, as a share."""
    one, other = one.astype(float), other.astype(float)
    scale = np.dot(one, other) / np.dot(other, other)
    return np.sqrt(((one - scale * other) ** 2).mean() / (one**2).mean())


@pytest.mark.parametrize("level", [3_000, 5_000, 7_000])
def test_it_is_nearer_to_what_was_said(level):
    whole = voice_like()
    cut = np.rint(np.clip(whole, -level, level)).astype(np.int16)
    assert distance(whole, without_clipping(cut)) < 0.7 * distance(whole, cut)


def test_one_side_alone():
    whole = voice_like()
    cut = np.rint(np.clip(whole, -32_000, 4_000)).astype(np.int16)
    rounded = without_clipping(cut)
    assert distance(whole, rounded) < 0.6 * distance(whole, cut)
    below = cut < 3_000
    assert np.array_equal(rounded[below], cut[below])  # what was not cut off is as it was


def test_clipped_at_another_rate():
    """Resampling makes flat tops ripple; they are rounded all the same."""
    whole = voice_like()
    cut = slowed(np.rint(np.clip(whole, -4_000, 4_000)).astype(np.int16), 1.13)
    whole = slowed(np.rint(whole).astype(np.int16), 1.13)
    assert distance(whole, without_clipping(cut)) < 0.75 * distance(whole, cut)


def test_full_scale_is_not_passed():
    cut = np.rint(np.clip(5 * voice_like(), -32_768, 32_767)).astype(np.int16)
    rounded = without_clipping(cut)
    assert rounded.max() == 32_767 or rounded.min() <= -32_767
    assert distance(voice_like(), rounded) < 0.6 * distance(voice_like(), cut)


def test_what_is_not_clipped_is_left_alone(sample_folder):
    for path in sorted((sample_folder / "recordings").glob("*.wav")):
        samples = read_recording(path).samples
        assert without_clipping(samples) is samples
    noise = np.random.default_rng(2).normal(size=RATE) * 3_000
    samples = noise.astype(np.int16)
    assert without_clipping(samples) is samples


@pytest.mark.parametrize(
    "samples", [np.zeros(100), np.ones(100) * 5_000, np.array([5_000]), np.tile([9_000, -9_000], 50)]
)
def test_sounds_without_slopes(samples):
    samples = samples.astype(np.int16)
    assert len(without_clipping(samples)) == len(samples)
